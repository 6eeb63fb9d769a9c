"""What a newcomer tells of the tank in a sentence of one's own, read by the parsers of the set-up.

``growing lettuce and basil``, ``ph down is 10% phosphoric acid``, ``I live in Lisbon``: outside the message
contract, so that it is read in a chat alone, and only where the reader itself finds nothing in the text.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import datetime

from bot.assistant import setup
from bot.reader import Found, Read
from bot.reader.places import zones_named
from domain.facts import Fact, Growing, Product, Setting
from domain.household import Choices

__all__ = ["Introduced", "introduced"]

LONGEST = 200
"""A longer text is no introduction. [characters]"""
_OWN = r"(?:my|our|the|we use|i use)?\s*"
_IS = r"\s*(?:bottle|label|bag)?\s*(?:'s label)?\s*(?:is|are|says|reads|has|contains|=|:)\s*"
_OPENINGS: tuple[tuple[str, str], ...] = (
    ("crops", r"(?:(?:i|we)(?:'m| am|'re| are)?\s+)?(?:currently |now )?grow(?:ing)?\s*:?\s+(?P<rest>.+)"),
    ("ph_down", _OWN + r"(?:ph[ -]?(?:down|minus)|acid)" + _IS + r"(?P<rest>.+)"),
    ("ph_up", _OWN + r"(?:ph[ -]?(?:up|plus)|base)" + _IS + r"(?P<rest>.+)"),
    ("nutrient", _OWN + r"(?:nutrients?|feed|plant food|fertili[sz]er)" + _IS + r"(?P<rest>.+)"),
    ("zone", r"(?:i|we) (?:live|are based) in (?P<rest>.+)"),
)
"""How such a sentence opens, by the step of the set-up whose answer the rest of it is."""
_PATTERNS = tuple((step, re.compile(opening, re.IGNORECASE)) for step, opening in _OPENINGS)


@dataclass(frozen=True, slots=True)
class Introduced:
    """step : of the set-up, that the sentence answers. facts : empty where its rest is not understood."""

    step: str
    facts: tuple[Fact, ...]

    def read(self, text: str) -> Read:
        """The facts as if the reader had found them in the text."""
        return Read(facts=tuple(Found(fact=fact, span=(0, len(text))) for fact in self.facts), unclear=())


def introduced(text: str, chosen: Choices, *, at: datetime) -> Introduced | None:
    """What a sentence tells of the household; ``None`` for one that opens otherwise, or asks.

    at : when it was said.
    """
    said = " ".join(text.replace("’", "'").split()).rstrip(".!")
    if len(said) > LONGEST or said.endswith("?"):
        return None
    for name, pattern in _PATTERNS:
        opened = pattern.fullmatch(said)
        step = setup.step_named(name) if opened else None
        if opened and step is not None:
            facts = setup.answered(step, opened["rest"], chosen, now=at) or ()
            if name == "zone" and not facts and zones_named(opened["rest"]):
                # A country with several clocks: which one is asked by buttons.
                facts = (Setting(name="time_zone", value=opened["rest"]),)
            return Introduced(name, tuple(_at(fact, at) for fact in facts))
    return None


def _at(fact: Fact, at: datetime) -> Fact:
    return replace(fact, when=at) if isinstance(fact, Growing | Product | Setting) else fact
