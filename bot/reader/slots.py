"""The names of values: which numbers each takes, and what a number under it sets in a reading."""

from __future__ import annotations

from dataclasses import dataclass

from bot.reader.fillers import words
from bot.reader.items import Item
from bot.reader.numbers import Quantity
from bot.reader.plausibility import US_CM_FROM, ec_from_unnamed, is_plausible, temperature_c
from bot.reader.result import ReaderSettings, Reason
from domain.units import US_GALLON_L

__all__ = [
    "ACCEPTS",
    "BY_UNIT",
    "JOINTS",
    "LEAST_DOOR",
    "LEAST_PPM",
    "MARKS",
    "MARK_NOUNS",
    "MAX_COLUMNS",
    "MAX_LINKS",
    "METERS",
    "POURED",
    "QUANTITIES",
    "SAYS",
    "SIDES",
    "SLIPS",
    "STRICT",
    "Fields",
    "Value",
    "clash_key",
    "fields_of",
    "in_plain_words",
    "suggestions_for",
]

Fields = dict[str, float | str | int | bool]
"""What a value sets in a reading, by the reading's own names."""


@dataclass(slots=True)
class Value:
    """One value, or why it is none.

    fields : what it sets in a reading.
    key : what it is a value of; two values of one key in one reading clash.
    reason : why it cannot be recorded; ``None`` where it can.
    first, last : the items it stands in.
    weak : its name is an everyday word (``water``, ``level``), so that it counts in a clean clause alone.
    """

    key: str
    fields: Fields
    first: int
    last: int
    reason: Reason | None = None
    weak: bool = False
    suggestions: tuple[str, ...] = ()


LEAST_PPM = 50
"""A number below this beside ``ppm500`` is another value."""

LEAST_DOOR = 150
"""A number from here beside ``room`` is that of a door, in whatever unit."""

MAX_COLUMNS = 6
"""So many names at most stand in a row before as many numbers."""

MAX_LINKS = 8
"""So many words at most stand between a name and its number."""

TEMP_SLOTS = {"WTEMP": "water_temp_c", "TEMP": "water_temp_c", "WATER": "water_temp_c", "AIR": "air_temp_c"}
STRENGTHS = frozenset(("EC", "PPM", "STRENGTH", "CF"))
ACCEPTS: dict[str, frozenset[str]] = {
    "PH": frozenset(("#num",)),
    "EC": frozenset(("#num", "#ec", "#ppm", "#cf")),
    "STRENGTH": frozenset(("#num", "#ec", "#ppm", "#cf")),
    "CF": frozenset(("#num", "#cf")),
    "PPM": frozenset(("#num", "#ppm", "#mgl", "#ec")),
    "WTEMP": frozenset(("#num", "#temp")),
    "TEMP": frozenset(("#num", "#temp")),
    "WATER": frozenset(("#num", "#temp")),
    "AIR": frozenset(("#num", "#temp")),
    "RH": frozenset(("#num", "#pct")),
    "LEVEL": frozenset(("#num", "#vol", "#len", "#pct", "#oz")),
    "DO": frozenset(("#num", "#mgl", "#ppm")),
}
STRICT = words("PH EC PPM TEMP WTEMP CF")
QUANTITIES = words("#vol #mass #pct #len #oz #mgl #temp")
POURED = words("#prod DOWN UP BASE FOOD of #part")
JOINTS = words("/ , & + and |")
METERS = {"PHMETER": "PH", "ECMETER": "EC"}
SLIPS = {
    slip: slot
    for slot, slips in {
        "TEMP": "tmep tepm temo tmpe tempe temprature temperture tempature temperatur temparature "
        "tempreature",
        "RH": "humidty humidiy humdity humity humidiity",
        "EC": "conductivty conductvity conductivtiy conductivitiy",
        "STRENGTH": "strenght strengh stregnth strenth",
        "LEVEL": "levle leval lvl",
        "WATER": "watre wter watter",
    }.items()
    for slip in slips.split()
}
"""Slips in the names of values, listed: a rule would find names in everyday words (``team``, ``later``)."""

SAYS = words("says reads shows : = is at reading")
BY_UNIT = {"#ec": "EC", "#ppm": "PPM", "#temp": "TEMP", "#cf": "CF"}
MARKS = words("half full low empty max min minimum maximum quarter high halfway brim")
SIDES = words("below above under over from")
MARK_NOUNS = words("line mark top brim max min")


def fields_of(slot: str, amount: float, item: Item, settings: ReaderSettings, scale: int) -> Fields | Reason:
    """What ``amount``, the number of ``item``, sets under the name ``slot``; or why nothing.

    scale : ppm per mS/cm that goes for this message.
    """
    if slot == "PH":
        return {"ph": amount} if is_plausible("ph", amount) else "implausible"
    if slot in STRENGTHS:
        return _strength(slot, amount, item, settings, scale)
    if slot in TEMP_SLOTS:
        name = TEMP_SLOTS[slot]
        unit = item.value.unit if isinstance(item.value, Quantity) else "deg"
        temp_c = temperature_c(name, amount, unit, fahrenheit=settings.units == "us")
        return "implausible" if temp_c is None else {name: temp_c}
    if slot == "RH":
        return {"humidity_pct": amount} if is_plausible("humidity_pct", amount) else "implausible"
    if slot == "DO":
        name = "dissolved_oxygen_mg_l"
        return {name: amount} if is_plausible(name, amount) else "implausible"
    if item.key in ("#vol", "#oz"):
        litres = item.value.value / 1000
    else:
        litres = amount * (US_GALLON_L if settings.units == "us" else 1)
    return {"level_l": litres} if is_plausible("level_l", litres) else "implausible"


def _strength(slot: str, amount: float, item: Item, settings: ReaderSettings, scale: int) -> Fields | Reason:
    """Rule 4: what a strength comes to, by its unit, its name or its size."""
    if item.key == "#ec":
        return _ec(item.value.value)
    if item.key == "#cf" or slot == "CF":
        return _ec(amount / 10)
    if item.key in ("#ppm", "#mgl") or slot == "PPM":
        return _ppm(amount, scale)
    if slot == "STRENGTH" and amount >= US_CM_FROM:
        if settings.strength_unit == "ask":
            return "ambiguous"
        if settings.strength_unit == "ppm":
            return _ppm(amount, scale)
    ec_ms_cm = ec_from_unnamed(amount)
    return ec_ms_cm if isinstance(ec_ms_cm, str) else _ec(ec_ms_cm)


def _ppm(ppm: float, scale: int) -> Fields | Reason:
    if not is_plausible("ec_ms_cm", ppm / scale):
        return "implausible"
    return {"ec_ms_cm": ppm / scale, "ppm": ppm, "ppm_scale": scale}


def _ec(ec_ms_cm: float) -> Fields | Reason:
    return {"ec_ms_cm": ec_ms_cm} if is_plausible("ec_ms_cm", ec_ms_cm) else "implausible"


def clash_key(slot: str) -> str:
    """What a slot's value clashes with."""
    if slot in STRENGTHS:
        return "ppm" if slot == "PPM" else "ec"
    return {"PH": "ph", "RH": "rh", "LEVEL": "level", "DO": "do", "AIR": "air"}.get(slot, "water")


_NAMES = {
    "PH": "ph",
    "EC": "ec",
    "TEMP": "temp",
    "WTEMP": "water temp",
    "WATER": "water",
    "AIR": "air",
    "PPM": "ppm",
}


def suggestions_for(slot: str, amount: float | None, reason: Reason) -> tuple[str, ...]:
    """What was likely meant: a lost decimal point."""
    name = _NAMES.get(slot)
    if name is None or amount is None:
        return ()
    if reason == "ambiguous" and slot == "EC":
        return (f"ec {amount / 10:g}", f"ec {amount:g} uS")
    if slot == "PH":
        return tuple(f"ph {amount / by:g}" for by in (10, 100) if 4 <= amount / by <= 9)
    if slot in ("TEMP", "WTEMP", "WATER", "AIR"):
        return tuple(f"{name} {amount / by:g}" for by in (10,) if 5 <= amount / by <= 45)
    return ()


_PLAIN = {
    "ph": "ph {:g}",
    "ppm": "ppm {:g}",
    "ec_ms_cm": "ec {:g} mS/cm",
    "water_temp_c": "water temp {:.1f} C",
    "air_temp_c": "air temp {:.1f} C",
    "humidity_pct": "humidity {:g}%",
    "level_l": "level {:g} L",
    "level_mark": "level {}",
    "dissolved_oxygen_mg_l": "DO {:g} mg/L",
}


def in_plain_words(fields: Fields) -> str:
    """One value as it would surely be read."""
    name = next(name for name in _PLAIN if name in fields)
    return _PLAIN[name].format(fields[name])
