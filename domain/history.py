"""The water looked back on: what was read, what was done, and where each value should have been that day.

Pure folds over the entries. Where the values go from here is ``domain.forecast``; what their patterns mean,
``domain.diagnosis``.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, get_args

from domain.bands import TankBands, tank_bands
from domain.bed import PLANT_FACTS, Bed
from domain.facts import Dose, Fact, Reading, Setting, TopUp, WaterChange
from domain.folds import Start, folded
from domain.happenings import level_at_mark
from domain.household import choices
from domain.journal import Entry
from domain.own_crops import CROP_SETTINGS
from domain.plantings import garden, settled, standing_on_tank
from domain.tank import DEFAULTS

__all__ = [
    "HANDS",
    "QUANTITIES",
    "BandSpan",
    "Hand",
    "HandKind",
    "Point",
    "Quantity",
    "bands_over",
    "hands",
    "points",
]

Quantity = Literal["ph", "ec_ms_cm", "water_temp_c", "level_l"]
"""What is read day by day; strength in mS/cm at 25 degC, level in litres."""

QUANTITIES: tuple[Quantity, ...] = get_args(Quantity)

HandKind = Literal["ph_down", "ph_up", "nutrient", "other", "top_up", "water_change"]
"""What a hand in the water did."""

HANDS: tuple[HandKind, ...] = get_args(HandKind)

_TANK_SETTINGS = ("tank_volume_l", "minimum_level_l")

MOST_BANDS = 40
"""So many moments are enough for the bands of any time: plants change over weeks, a picture has 300 units."""


@dataclass(frozen=True, slots=True)
class Point:
    """One value that was read.

    value : in the unit of its quantity.
    doubted : kept, but nobody has confirmed it. approx : read off a strip, or by eye.
    """

    at: datetime
    value: float
    doubted: bool = False
    approx: bool = False


@dataclass(frozen=True, slots=True)
class Hand:
    """Something that was done to the water."""

    at: datetime
    kind: HandKind


@dataclass(frozen=True, slots=True)
class BandSpan:
    """Where a value should have been from ``start`` to ``end``.

    ideal, tolerable : the low and the high end of each. [unit of its quantity]
    """

    start: datetime
    end: datetime
    ideal: tuple[float, float]
    tolerable: tuple[float, float]


def points(entries: Iterable[Entry], what: Quantity) -> tuple[Point, ...]:
    """Every value of one quantity, in the order in which they were read, doubted ones among them.

    A mark on the tank (``half``) counts as so many litres of what the tank was said to hold by then.
    """
    found = []
    full_l = DEFAULTS.volume_l
    for entry in entries:
        fact = entry.fact
        if isinstance(fact, Setting) and fact.name == "tank_volume_l" and fact.value is not None:
            full_l = float(fact.value)
        if isinstance(fact, Reading) and (value := _value(fact, what, full_l)) is not None:
            approx = bool(fact.approx or fact.ph_span) if what == "ph" else bool(fact.approx)
            found.append(Point(entry.happened_at, value, entry.doubted, approx))
    return tuple(found)


def hands(entries: Iterable[Entry]) -> tuple[Hand, ...]:
    """Everything that was done to the water, in order."""
    return tuple(
        Hand(entry.happened_at, kind)
        for entry in entries
        if not entry.doubted and (kind := _hand(entry.fact)) is not None
    )


def bands_over(
    entries: Sequence[Entry], whats: Sequence[Quantity], moments: Sequence[datetime], until: datetime
) -> Mapping[Quantity, tuple[BandSpan, ...]]:
    """Where values should have been, as the plants of each time wanted it.

    entries : the net journal, in the order in which things happened; doubted ones do not count.
    moments : when to look; of more than ``MOST_BANDS`` so many are taken, evenly.
    until : where the last span ends.
    Spans that follow each other with the same ends are one. A level has a band only where the household set
    its lowest level.
    """
    taken = _evenly(moments)
    bands = _bands_at(entries, taken) if any(what != "level_l" for what in whats) else []
    return {
        what: _spans(
            taken,
            _level_ends(entries, taken) if what == "level_l" else [_ends(b, what) for b in bands],
            until,
        )
        for what in whats
    }


_Ends = tuple[tuple[float, float], tuple[float, float]]


def _value(reading: Reading, what: Quantity, full_l: float) -> float | None:
    if what == "level_l" and reading.level_l is None and reading.level_mark is not None:
        return level_at_mark(reading.level_mark, full_l)
    value: float | None = getattr(reading, what)
    return value


def _hand(fact: Fact) -> HandKind | None:
    match fact:
        case Dose():
            return fact.product
        case TopUp():
            return "top_up"
        case WaterChange():
            return "water_change"
        case _:
            return None


def _evenly(moments: Sequence[datetime]) -> list[datetime]:
    each = sorted(set(moments))
    if len(each) <= MOST_BANDS:
        return each
    step = (len(each) - 1) / (MOST_BANDS - 1)
    return [each[round(place * step)] for place in range(MOST_BANDS)]


def _spans(
    moments: Sequence[datetime], ends: Sequence[_Ends | None], until: datetime
) -> tuple[BandSpan, ...]:
    spans: list[BandSpan] = []
    for place, (at, found) in enumerate(zip(moments, ends, strict=True)):
        end = moments[place + 1] if place + 1 < len(moments) else max(until, at)
        if found is None:
            continue
        ideal, tolerable = found
        last = spans[-1] if spans else None
        if last is not None and last.end == at and (last.ideal, last.tolerable) == (ideal, tolerable):
            spans[-1] = BandSpan(last.start, end, ideal, tolerable)
        else:
            spans.append(BandSpan(at, end, ideal, tolerable))
    return tuple(spans)


def _ends(bands: TankBands, what: Quantity) -> _Ends:
    band = bands.of(what)  # type: ignore[arg-type]  # a level is not asked for here
    return (band.ideal_low, band.ideal_high), (band.tolerable_low, band.tolerable_high)


def _bands_at(entries: Sequence[Entry], moments: Sequence[datetime]) -> list[TankBands]:
    """The bands at each moment. The bed is folded on from one moment to the next, and alike plants are
    weighed once: a chart of this month must not cost ten years."""
    trusted = [entry for entry in entries if not entry.doubted]
    planted = [entry for entry in trusted if isinstance(entry.fact, PLANT_FACTS)]
    set_by_household = [
        entry for entry in trusted if isinstance(entry.fact, Setting) and entry.fact.name in CROP_SETTINGS
    ]
    known: dict[object, TankBands] = {}
    found = []
    start = Start(0, Bed())
    for at in moments:
        count = bisect_right(planted, at, key=lambda entry: entry.happened_at)
        by_then = planted[:count]
        start = Start(count, settled(folded(Bed(), by_then, start)))
        standing = standing_on_tank(garden(by_then, at, start).plantings, at)
        chosen = choices([entry for entry in set_by_household if entry.happened_at <= at]).bands
        key = (tuple((each.crop, each.stage, each.count) for each in standing), chosen)
        if key not in known:
            known[key] = tank_bands(standing, chosen)
        found.append(known[key])
    return found


def _level_ends(entries: Sequence[Entry], moments: Sequence[datetime]) -> list[_Ends | None]:
    of_tank = [
        entry for entry in entries if isinstance(entry.fact, Setting) and entry.fact.name in _TANK_SETTINGS
    ]
    found: list[_Ends | None] = []
    for at in moments:
        chosen = choices([entry for entry in of_tank if entry.happened_at <= at])
        if chosen.minimum_level_l is None:
            found.append(None)
            continue
        full_l = chosen.tank_volume_l or DEFAULTS.volume_l
        ends = (min(chosen.minimum_level_l, full_l), full_l)
        found.append((ends, ends))
    return found
