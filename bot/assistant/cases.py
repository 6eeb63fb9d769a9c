"""What kind of danger a message tells of, so that the first line of the answer is the right one.

Decided by the words alone. The rows are tried in order, the most dangerous first; where a word fits two
dangers (a cough after fumes or after a swallow), it stands after the one whose first aid must not be missed.
"""

from __future__ import annotations

import re
from typing import Literal

from domain.vocabulary import EmergencyAbout

__all__ = ["Case", "advice_code", "case_of", "caution_code"]

Case = Literal["electric", "gas", "swallowed", "eye_skin", "pet", "unknown"]

_DEVICE = (
    r"(?:pump|plug|socket|outlet|cord|cable|charger|adapt[eo]r|heater|lamp|lights|timer|wir(?:e|es|ing)|"
    r"power strip|extension|fan|battery|tank|tower|breaker|fuse ?box)s?"
)
_BURNING = (
    r"(?:on fire|caught fire|flam(?:e|es|ing)|smok(?:e|es|ed|ing|y)|spark(?:s|ed|ing)?|melt(?:s|ed|ing)?)"
)
_PET = (
    r"(?:dog|doggy|cat|kitty|puppy|pup|kitten|pet|rabbit|bunny|hamster|guinea pig|bird|parrot|ferret)s?"
    r"(?! bottle)"
)
_PERSON = (
    r"(?:i|me|my|he|him|his|she|her|they|them|we|us|our|son|daughter|child|children|kids?|toddler|baby|boy|"
    r"girl|wife|husband|partner|friend|mum|mom|dad|and)"
)
_MOUTH = (
    r"(?:swallow\w*|dr[aiu]nk|drinks|drinked|drinking|ate|eats?|eaten|lick\w*|mouth\w*|sip(?:s|ped|ping)?|"
    r"tast(?:e|ed|ing)|ingest\w*|gulp\w*|chew\w*|tongue|throat)"
)
_BODY = (
    r"(?:eyes?|skin|face|hands?|arms?|fingers?|lips?|nose|legs?|foot|feet|neck|wrists?|cheeks?|chest|head|hair|"
    r"clothes|clothing|shirt|trousers|sleeves?|paws?|fur)"
)
_BLEACH = r"(?:bleach|chlorine|hypochlorite|ammonia|sanitiser|sanitizer)"
_ACID = r"(?:acid|vinegar|ph[ -]?(?:down|up|minus|plus)|descaler|adjuster)"
_DOWN = r"(?:(?:the |some |my )?ph[ -]?)?(?:down|minus|acid)"
_UP = r"(?:(?:the |some |my )?ph[ -]?)?(?:up|plus|base|alkali)"
_JOIN = r"(?: (?:and|with|into|in|to|plus|&) )"
_SHOCK = (
    r"(?<!\bph )(?<!nutrient )(?<!transplant )(?<!root )(?<!salt )(?<!cold )(?<!heat )(?<!\bin )"
    r"\bshock(?:s|ed|ing)?\b(?! (?:the |my |our )?(?:pool|plants|roots|treatment))"
)

_URGENT: tuple[tuple[str, Case], ...] = (
    (rf"\belectr[oi]cut\w*|\bzapped\b|{_SHOCK}|\bshort[- ]circuit", "electric"),
    (rf"\b{_DEVICE}(?: (?!(?:my|no|not|{_BODY})\b)\w+){{0,3}} (?:is )?{_BURNING}", "electric"),
    (rf"\b{_BURNING}(?: (?!(?:my|no|not|{_BODY})\b)\w+){{0,3}} {_DEVICE}\b", "electric"),
    (
        rf"\b{_DEVICE}(?:'s| is| are| was| has been| got)? (?:burning|burnt|burned)(?! (?:out|my|{_BODY})\b)",
        "electric",
    ),
    (r"\bburn(?:ing|t)(?: \w+)? smell|\bsmell\w*(?: (?:of|like|something))* burn\w*", "electric"),
    (r"\b(?:water|tank|pump|plug|metal)(?: \w+){0,2} tingl\w*|\btingl\w*[^.!?]{0,30} touch", "electric"),
    (r"\btouch\w*[^.!?]{0,30} tingl\w*|\bflames\b|\b(?:a|the|caught) fire\b", "electric"),
    (r"(?<!\bno )\bspark(?:s|ed|ing)?\b", "electric"),
    (rf"\bdropped (?:\w+ ){{1,3}}?{_DEVICE} (?:in|into) (?:the |my )?(?:tank|water)\b", "electric"),
    (
        rf"\b{_DEVICE} (?:has )?(?:just )?(?:fell|fallen|dropped) (?:in|into) (?:the |my )?(?:tank|water)",
        "electric",
    ),
    (r"(?<!\bno )\bfumes?\b|\bvapou?rs?\b(?! (?:pressure|barrier))", "gas"),
    (r"\bgas(?:es|sed)?\b(?! (?:stove|heater|bill|station))", "gas"),
    (r"\binhal\w+|\bbreath(?:ed|ing|e)(?: (?:it|them|some|that|this))* in\b|\blungs?\b", "gas"),
    (rf"\b{_BLEACH}\b[^.!?;]{{0,40}}\b{_ACID}\b|\b{_ACID}\b[^.!?;]{{0,40}}\b{_BLEACH}\b", "gas"),
    (rf"\bmix\w*(?: up)? (?:{_DOWN}{_JOIN}{_UP}|{_UP}{_JOIN}{_DOWN})\b", "gas"),
    (rf"\b{_UP}{_JOIN}(?:the |my )?ph[ -]?down bottle|\b{_DOWN}{_JOIN}(?:the |my )?ph[ -]?up bottle", "gas"),
    (r"(?<!\bno )\bsmoke\b", "electric"),
)
"""Dangers that come before whatever else the message is about, such as a pump that stopped."""

_EXPOSED: tuple[tuple[str, Case], ...] = (
    (r"\bfire\b(?<!on fire)", "electric"),
    (rf"\b{_MOUTH}\b", "swallowed"),
    (r"\bcough\w*|\bsmell\w*|\bstinks?\b|\bwheez\w*|\bbreath\w*|\bchok(?:e|ed|ing)\b", "gas"),
    (rf"\b{_BODY}\b|\b(?:on|over|all over) (?:me|him|her|us|them|myself)\b", "eye_skin"),
)
_LAST: tuple[tuple[str, Case], ...] = ((rf"\b{_PET}\b", "pet"), (rf"\b{_BLEACH}\b", "gas"))

_OF_A_PET = re.compile(
    rf"\b{_PET}(?:'s)?(?: (?!{_PERSON}\b)[\w']+){{0,8}}? (?:{_MOUTH}|{_BODY})\b(?: and {_MOUTH}\b)*"
    rf"|\b(?:{_MOUTH}|{_BODY}) of (?:the|my|our|his|her) {_PET}\b"
)
"""A mouth, an eye or a paw that is an animal's, with no person between."""


def case_of(text: str) -> Case:
    """How somebody was exposed, by what the message says of it; the most dangerous where it says several.

    text : the message as typed.
    """
    said = _plain(text)
    peoples = _OF_A_PET.sub(" pet ", said)
    return _first(_URGENT, said) or _first(_EXPOSED, peoples) or _first(_LAST, peoples) or "unknown"


def advice_code(about: EmergencyAbout, text: str) -> str:
    """The key of ``domain.safety.EMERGENCY`` that answers this message.

    about : what the reader took it for. A shock, a fire or a gas outranks that.
    """
    if about != "exposure":
        urgent = _first(_URGENT, _plain(text))
        return f"exposure_{urgent}" if urgent else about
    case = case_of(text)
    return about if case == "unknown" else f"exposure_{case}"


_POURS = r"(?:add(?:ed)?|put|pour(?:ed)?|mix(?:ed)?|combine[d]?|use[d]?|dump(?:ed)?|tip(?:ped)?)"
_MAY = r"(?:can|could|may|should|shall|is it|is there|ok(?:ay)? to|safe to|what (?:if|happens)|do i)"
_MAY_MIX = re.compile(
    rf"\b{_MAY}\b[^.!;]{{0,30}}\b(?:{_POURS}\b[^.!;]{{0,40}}\b{_BLEACH}|"
    rf"(?:mix|combine)\w*(?: up)? (?:{_DOWN}{_JOIN}{_UP}|{_UP}{_JOIN}{_DOWN}))\b"
)
_BLEACH_IN = re.compile(
    rf"\b(?:{_POURS}(?: \w+){{0,5}} {_BLEACH}|{_BLEACH} (?:went |got |fell )?(?:in|into) (?:the |my )?"
    r"(?:tank|water|reservoir|tower))\b"
)
_NOT_IN = re.compile(
    r"\b(?:not?|never|didn't|dont|don't|without|laundry|toilet|sink|clothes|hair|wash|removed?|remover|"
    r"dechlorinat\w+|clean\w*)\b"
)
_WHAT_IF = re.compile(r"\bwhat (?:if|happens|do i do|should i do|to do|can i do)\b")
_CAUSTIC = re.compile(rf"\b(?:{_ACID}|{_BLEACH}|lye|hydroxide|nutrients?|plant food|concentrate)\b")
_EMERGENCY_NUMBER = re.compile(r"(?:call |dial |ring )?(?:911|112)[ !.?]*")


def caution_code(text: str) -> str | None:
    """The key of ``domain.safety.EMERGENCY`` for what must be said before anything has happened.

    text : the message as typed: a question about mixing or about an accident to come, bleach that went into
        the water, a bare emergency number. ``None`` where it is nothing of that.
    """
    said = _plain(text)
    if _EMERGENCY_NUMBER.fullmatch(said):
        return "caution_number"
    if _MAY_MIX.search(said):
        return "caution_mix"
    if _WHAT_IF.search(said) and _CAUSTIC.search(said):
        case = case_of(said)
        return f"exposure_{case}" if case in ("eye_skin", "swallowed") else None
    return "caution_bleach" if _BLEACH_IN.search(said) and not _NOT_IN.search(said) else None


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace("’", "'").split())


def _first(rows: tuple[tuple[str, Case], ...], said: str) -> Case | None:
    return next((case for pattern, case in rows if re.search(pattern, said)), None)
