"""What a household tells of its water, its animals and its units in words of one's own.

``my tap water has 100 mg/L CaCO3 alkalinity``, ``we use RO water``, ``no fish in the tank``, ``units us``:
outside the message contract, so that it is read in a chat alone. Each is exact: talk about it is none.
"""

from __future__ import annotations

import re
from datetime import datetime
from typing import Literal

from bot.reader import Found, Read
from domain.facts import Setting
from domain.tank import MG_CACO3_PER_EQ
from domain.units import alkalinity_eq_l_from, ec_ms_cm_from

__all__ = ["is_soft_water", "told"]

LONGEST = 120
"""A longer text is none of these sentences. [characters]"""
MOST_ALKALINITY_MG_L = 1000.0
"""Beyond it a unit is wrong: no tap water has more (from memory)."""
SOFT_WATER_MG_L = 5.0
"""Alkalinity of rain and of reverse-osmosis water, which hold 0 to 10 mg/L: common practice. [mg/L CaCO3]"""

_SOFT = r"(?:ro|reverse[ -]osmosis|osmosis|rain|distilled|demineralised|deionised|deionized|di)[ -]?water"
_SOFT_WATER = re.compile(
    rf"(?:(?:we|i) (?:only )?(?:use|have|fill with|top up with) )?(?:only )?{_SOFT}(?: only)?"
    rf"|(?:our|my|the) (?:source )?water is {_SOFT}|(?:we|i) (?:only )?use (?:ro|reverse[ -]osmosis)"
)
_TAP = re.compile(
    r"(?:(?:my|our|the) )?(?:tap|source|mains|well)(?: water)?(?: ?[:=]| has| is| with| at| holds)? (?=\S)"
)
_NUMBER = r"\d{1,4}(?:[.,]\d{1,3})?"
_IS = r" ?(?:is|of|at|has|=|:)? ?"
_ALKALINITY = r"(?:(?:total|carbonate) )?(?:alkalinity|kh)|carbonate hardness"
_HARD = r"(?:(?:total|general|water) )?(?:hardness|gh)"
_ANY_UNIT = r"[a-zµ°][a-z0-9µ°/(). ]{0,17}?"
_UNIT = rf"(?P<unit>{_ANY_UNIT})"
_NAMED = re.compile(rf"(?P<name>{_ALKALINITY}){_IS}(?P<number>{_NUMBER})(?: ?{_UNIT})?")
_TRAILING = re.compile(rf"(?P<number>{_NUMBER}) ?(?:{_UNIT} )?(?:of )?(?P<name>{_ALKALINITY})")
_BY_UNIT = re.compile(rf"(?P<number>{_NUMBER}) ?(?P<unit>°?dkh|(?:mg/l|ppm) (?:as )?\(?caco3\)?)")
_HARDNESS = re.compile(
    rf"{_HARD}{_IS}{_NUMBER}(?: ?(?:{_ANY_UNIT}))?|{_NUMBER} ?(?:{_ANY_UNIT}) {_HARD}|{_NUMBER} ?°?(?:dgh|gh)"
)
_PH = re.compile(rf"ph{_IS}(?P<number>{_NUMBER})")
_EC = re.compile(rf"ec{_IS}(?P<number>{_NUMBER})(?: ?(?P<unit>[mµu]s(?:/cm)?))?")
_PART = re.compile(r" ?(?:[,;](?!\d)| and ) ?")

_ANIMALS = r"(?:fish|fishes|goldfish|shrimps?|snails?|animals?)"
_NO_FISH = re.compile(
    rf"(?:there (?:are|is) )?no(?: more)? {_ANIMALS}(?: (?:in the tank|any ?more|left))*"
    rf"|(?:we|i) (?:have|keep) no(?: more)? {_ANIMALS}(?: in the tank| any ?more)*"
    rf"|(?:we|i) (?:don't|do not) (?:have|keep)(?: any)? {_ANIMALS}(?: in the tank| any ?more)*"
    rf"|(?:the|our|all(?: the)?) {_ANIMALS} (?:are|is) (?:all )?(?:gone|out of the tank)"
)
_US_WORD = r"(?:us|american|gallons?|gal|fahrenheit|°?f)"
_METRIC_WORD = r"(?:metric|litres?|liters?|celsius|°?c)"


def _units_pattern(word: str) -> re.Pattern[str]:
    several = rf"{word}(?: units)?(?: ?(?:and|,|&) ?{word})?"
    return re.compile(
        rf"(?:please )?(?:(?:we |i )?use|set units(?: to)?|switch to) {several}"
        rf"|(?:set )?units?(?: are| to| ?[:=])? {several}|{word} units"
    )


_UNITS = (("us", _units_pattern(_US_WORD)), ("metric", _units_pattern(_METRIC_WORD)))


def told(text: str, at: datetime) -> Read | Literal["hardness"] | None:
    """What such a sentence says; ``None`` for any other text.

    ``hardness`` where nothing can be kept, since hardness says nothing of alkalinity. at : when it was said.
    """
    said = " ".join(text.replace("’", "'").replace("μ", "µ").lower().split()).rstrip(".!")
    if not said or len(said) > LONGEST or said.endswith("?"):
        return None
    if _NO_FISH.fullmatch(said):
        return _read(text, at, {"fish": "no"})
    for units, pattern in _UNITS:
        if pattern.fullmatch(said):
            return _read(text, at, {"units": units})
    if _SOFT_WATER.fullmatch(said):
        return _read(text, at, {"source_alkalinity_mg_l_caco3": f"{SOFT_WATER_MG_L:g}"})
    return _water(text, said, at)


def is_soft_water(text: str) -> bool:
    """Whether it says that the household fills with water that holds next to nothing."""
    return _SOFT_WATER.fullmatch(" ".join(text.lower().split()).rstrip(".!")) is not None


def _water(text: str, said: str, at: datetime) -> Read | Literal["hardness"] | None:
    opened = _TAP.match(said)
    parts = _PART.split(said[opened.end() :] if opened else said)
    if any(_HARDNESS.fullmatch(part) for part in parts):
        return "hardness"
    settings: dict[str, str] = {}
    for part in parts:
        setting = _alkalinity(part, of_tap=opened is not None) or (_other(part) if opened else None)
        if setting is None or setting[0] in settings:
            return None
        settings[setting[0]] = setting[1]
    # Of pH and EC alone the reader knows more spellings.
    return _read(text, at, settings) if "source_alkalinity_mg_l_caco3" in settings else None


def _alkalinity(part: str, *, of_tap: bool) -> tuple[str, str] | None:
    hit = (
        _NAMED.fullmatch(part) or _TRAILING.fullmatch(part) or (_BY_UNIT.fullmatch(part) if of_tap else None)
    )
    if hit is None:
        return None
    given = hit.groupdict()
    # KH is told in German degrees, alkalinity in mg/L, where no unit stands: common practice.
    unit = given["unit"] or ("dkh" if given.get("name") in ("kh", "carbonate hardness") else "mg/l")
    try:
        mg_l = alkalinity_eq_l_from(f"{given['number']} {unit}") * MG_CACO3_PER_EQ
    except ValueError:
        return None
    return ("source_alkalinity_mg_l_caco3", f"{round(mg_l, 1):g}") if mg_l <= MOST_ALKALINITY_MG_L else None


def _other(part: str) -> tuple[str, str] | None:
    ph, ec = _PH.fullmatch(part), _EC.fullmatch(part)
    if ph is not None:
        value = float(ph["number"].replace(",", "."))
        return ("source_ph", f"{value:g}") if 4.0 <= value <= 10.5 else None
    if ec is not None:
        value = ec_ms_cm_from(f"{ec['number']} {ec['unit'] or 'ms/cm'}")
        return ("source_ec_ms_cm", f"{value:g}") if value <= 5.0 else None
    return None


def _read(text: str, at: datetime, settings: dict[str, str]) -> Read:
    return Read(
        facts=tuple(
            Found(fact=Setting(name=name, value=value, when=at), span=(0, len(text)))
            for name, value in settings.items()
        ),
        unclear=(),
    )
