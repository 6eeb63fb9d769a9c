"""How much light the plants get in a day, and what of it suits them.

Lamps differ: every figure here that comes from a lux meter or a distance is a rough one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from types import MappingProxyType

from domain.crops import crop_names, crops
from domain.stages import Stage

__all__ = [
    "BOLTS_FROM_HOURS",
    "LAMP_DISTANCE_CM",
    "LUX_PER_PPFD",
    "DayLength",
    "daily_light_mol_m2",
    "day_length",
    "hours_for",
    "ppfd_for",
    "ppfd_from_lux",
    "share_left",
]

MOL_PER_PPFD_HOUR = 3600 / 1_000_000
"""Seconds of an hour over micromoles of a mole: exact. [mol h-1 per umol s-1]"""

LUX_PER_PPFD = MappingProxyType(
    {
        "sun": 54.0,
        "metal halide": 71.0,
        "high-pressure sodium": 82.0,
        "fluorescent": 74.0,
        "incandescent": 50.0,
        "white LED": 70.0,
    }
)
"""Lux of 1 umol/m2/s by lamp: Thimijan and Heins 1983, HortScience 18:818; white LED of about 4000 K from
memory, 65 to 75. For red and blue lamps a lux meter tells nothing."""

LAMP_DISTANCE_CM: MappingProxyType[Stage, tuple[float, float]] = MappingProxyType(
    {
        "germinating": (15.0, 30.0),
        "seedling": (15.0, 30.0),
        "vegetative": (20.0, 40.0),
        "flowering": (30.0, 45.0),
        "fruiting": (30.0, 45.0),
    }
)
"""Between a household LED lamp and the leaves: common practice. The lamp's own sheet goes before. [cm]"""

BOLTS_FROM_HOURS = MappingProxyType(
    {"spinach": 13.0, "dill": 14.0, "cilantro": 14.0, "arugula": 14.0, "radish": 15.0}
)
"""From so many hours of light a day these long-day plants run to flower: from memory. [h]"""


def daily_light_mol_m2(ppfd_umol_m2_s: float, hours: float) -> float:
    """The light of one day (DLI).

    ppfd_umol_m2_s : at the leaves, 0 to 3000. [umol/m2/s]
    hours : that the lamp is on, 0 to 24. [h]
    Returns [mol/m2/d]. Raises ValueError outside these ranges. Exact by definition.
    """
    _within("light at the leaves", ppfd_umol_m2_s, 0.0, 3000.0)
    _within("hours of light", hours, 0.0, 24.0)
    return ppfd_umol_m2_s * hours * MOL_PER_PPFD_HOUR


def hours_for(dli_mol_m2: float, ppfd_umol_m2_s: float) -> float | None:
    """How long the lamp must be on to give so much light. [h]

    dli_mol_m2 : 0 to 80. [mol/m2/d]. ppfd_umol_m2_s : as in ``daily_light_mol_m2``, above 0.
    ``None`` where a whole day is not enough.
    """
    _within("light of a day", dli_mol_m2, 0.0, 80.0)
    _within("light at the leaves", ppfd_umol_m2_s, 1e-9, 3000.0)
    hours = dli_mol_m2 / (ppfd_umol_m2_s * MOL_PER_PPFD_HOUR)
    return hours if hours <= 24.0 else None


def ppfd_for(dli_mol_m2: float, hours: float) -> float:
    """How bright it must be at the leaves to give so much light in so many hours. [umol/m2/s]

    dli_mol_m2 : 0 to 80. [mol/m2/d]. hours : above 0, up to 24. [h]
    """
    _within("light of a day", dli_mol_m2, 0.0, 80.0)
    _within("hours of light", hours, 1e-9, 24.0)
    return dli_mol_m2 / (hours * MOL_PER_PPFD_HOUR)


def ppfd_from_lux(lux: float, lamp: str) -> float:
    """What a lux meter's figure is in light for plants. [umol/m2/s]

    lux : 0 to 200 000. [lx]. lamp : a key of ``LUX_PER_PPFD``; KeyError for another.
    Accuracy: tables differ by a few per cent for one kind of lamp.
    """
    _within("lux", lux, 0.0, 200_000.0)
    return lux / LUX_PER_PPFD[lamp]


def share_left(from_cm: float, to_cm: float, lamp_length_cm: float = 0.0) -> float:
    """What is left of the light below a lamp that is moved away (above 1: what it gains, moved nearer).

    from_cm, to_cm : between lamp and leaves, 1 to 500. [cm]
    lamp_length_cm : of a tube or bar, 0 to 500; 0 for a point. [cm]
    Source: inverse square for a point, which holds from about five lamp widths on; for a bar the integral of
    cosine emitters over its length, seen from below its middle.
    """
    for distance in (from_cm, to_cm):
        _within("lamp distance", distance, 1.0, 500.0)
    _within("lamp length", lamp_length_cm, 0.0, 500.0)
    if lamp_length_cm == 0.0:
        return (from_cm / to_cm) ** 2
    return _below_bar(to_cm, lamp_length_cm) / _below_bar(from_cm, lamp_length_cm)


def _below_bar(distance_cm: float, length_cm: float) -> float:
    """The integral of h2 / (h2 + x2)2 over the bar: each piece sends, and the leaf takes, by the cosine."""
    half = length_cm / 2
    ratio = half / distance_cm
    return (ratio / (1 + ratio**2) + math.atan(ratio)) / distance_cm


@dataclass(frozen=True, slots=True)
class DayLength:
    """A lamp's hours beside what crops bear.

    bolting : crops that such a day sends to flower, with the hours from which it does. [h]
    """

    hours: float
    bolting: tuple[tuple[str, float], ...]


def day_length(crop_names_standing: Iterable[str], hours: float) -> DayLength:
    """Which of the crops would run to flower under so many hours of light a day, 0 to 24. [h]"""
    _within("hours of light", hours, 0.0, 24.0)
    known = dict.fromkeys(crop_names().get(name.lower(), name) for name in crop_names_standing)
    bolting = [
        (name, BOLTS_FROM_HOURS[name]) for name in known if name in BOLTS_FROM_HOURS and name in crops()
    ]
    return DayLength(hours, tuple(pair for pair in bolting if hours >= pair[1]))


def _within(what: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise ValueError(f"{what} must lie between {low:g} and {high:g}, not {value:g}")
