"""When a sowing should come up at the temperature of the room, and what to do when it does not.

Days by temperature are those of ``data/emergence.csv`` where a publication gives them (Harrington and Minges
1954 by way of later copies; each row says whether it was read or recalled). For other crops the table's range
of days stands, said for its best temperature and stretched below it by thermal time.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from itertools import pairwise
from typing import Literal

from domain import tables
from domain.crops import Crop, crops
from domain.facts import Reading
from domain.journal import Entry
from domain.plots import Sowing

__all__ = ["Caution", "Outlook", "chance_still", "days_to_emergence", "outlook", "outlooks", "warmth_since"]

_DAY = timedelta(days=1)

Caution = Literal["needs_light", "needs_cold", "too_warm", "too_cold", "may_be_dry"]

SPREAD = (0.8, 1.4)
"""From the first to the last seedlings, as parts of the days that a publication gives for one temperature:
common practice."""
STRETCH_MOST = 3.0
"""Thermal time is not carried further than this: from memory, cold seed rots before it comes up."""
SLOW_HERBS = frozenset(("parsley", "celery", "rosemary", "lavender"))
SLOW_FACTOR = 1.5
"""So much longer is it worth waiting for these (fao589 gives parsley 2 to 5 weeks)."""
GRACE_DAYS = 4.0
"""So long after the window at the least before sowing anew: nobody looks every day (common practice)."""
NEEDS_COLD = frozenset(("lavender",))
"""Dormant seed that wants some weeks in the fridge, or comes up thin: from memory."""
USUAL_VIABLE = 0.85
"""The share of a good packet that comes up, where its own record says nothing: from memory."""
NEAR_COLDEST_C, FAR_BELOW_BEST_C = 2.0, 12.0
"""So near its coldest, or so far below its best, seed is said to be cold: common practice. [degC]"""
DRY_FROM_C = 24.0
"""From here on a plug under a lamp dries within a day: common practice. [degC]"""
WARM_LIMIT_C = {"spinach": 20.0, "lettuce": 27.0}
"""Where seed fails below the limit of its table: spinach 82 % at 15, 52 % at 20 degC (hm_pct); lettuce by
variety from 27 degC on (common practice; 99 % at 25, 12 % at 30, hm_pct). [degC]"""
STILL_WARM = timedelta(days=14)
"""How long before a sowing a temperature still says something of its room: common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What to expect of a sowing that is not all up.

    temperature_c : the mean since it was sown of the air, else of the water; ``None`` where none was logged.
    days_low, days_high : from sowing, until the first and the last seedlings. [days]
    opens_at, closes_at : the same as moments, UTC. give_up_at : when sowing anew is the better bet.
    chance : that a seed which is not up still comes, by ``chance_still``.
    cautions : what may be in the way, the likeliest first.
    sources : keys of ``data/sources.csv``. from_memory : a figure behind the window was recalled, not read.
    """

    sowing: Sowing
    temperature_c: float | None
    days_low: float
    days_high: float
    opens_at: datetime
    closes_at: datetime
    give_up_at: datetime
    chance: float
    cautions: tuple[Caution, ...]
    sources: tuple[str, ...]
    from_memory: bool


@dataclass(frozen=True, slots=True)
class _Row:
    temp_c: float
    days: float | None
    source: tuple[str, ...]
    was_read: bool


def outlooks(
    sowings: Sequence[Sowing], entries: Sequence[Entry], now: datetime, viable: float = USUAL_VIABLE
) -> tuple[Outlook, ...]:
    """One for each sowing that still waits for seedlings, the first to open first.

    sowings : of ``domain.plantings.garden``. entries : the net journal. viable : as for ``chance_still``.
    What is twice past giving up is no longer looked for: nobody told what became of it.
    """
    waiting = [sowing for sowing in sowings if sowing.waiting > 0 and not sowing.picked]
    found = [outlook(sowing, warmth_since(entries, sowing.sown_at), now, viable) for sowing in waiting]
    alive = [
        each
        for each in found
        if each is not None and now <= each.sowing.sown_at + 2 * (each.give_up_at - each.sowing.sown_at)
    ]
    return tuple(sorted(alive, key=lambda each: (each.opens_at, each.sowing.entry_id)))


def outlook(
    sowing: Sowing, temperature_c: float | None, now: datetime, viable: float = USUAL_VIABLE
) -> Outlook | None:
    """What to expect of one sowing; ``None`` for a crop of which no table knows how long it takes."""
    crop = crops().get(sowing.crop)
    window = days_to_emergence(sowing.crop, temperature_c)
    if crop is None or window is None:
        return None
    low, high, keys, recalled = window
    age = max(0.0, (now - sowing.sown_at) / _DAY)
    patience = SLOW_FACTOR if crop.name in SLOW_HERBS else 1.0
    return Outlook(
        sowing=sowing,
        temperature_c=temperature_c,
        days_low=low,
        days_high=high,
        opens_at=sowing.sown_at + low * _DAY,
        closes_at=sowing.sown_at + high * _DAY,
        give_up_at=sowing.sown_at + max(patience * high, high + GRACE_DAYS) * _DAY,
        chance=chance_still(age, low, high * patience, viable),
        cautions=tuple(_cautions(crop, temperature_c, is_late=age > high)),
        sources=keys,
        from_memory=recalled,
    )


def days_to_emergence(
    name: str, temperature_c: float | None
) -> tuple[float, float, tuple[str, ...], bool] | None:
    """The days from sowing to the first and the last seedlings, their sources, and whether any was recalled.

    name : a crop's canonical name. temperature_c : of the plug, -10 to 60; ``None``: near its best. [degC]
    ``None`` where no source says. Outside the temperatures that a source covers its nearest figure stands.
    Raises ValueError outside the range.
    """
    if temperature_c is not None and not -10.0 <= temperature_c <= 60.0:
        raise ValueError(f"no temperature of a room: {temperature_c:g} degC")
    crop = crops().get(name)
    if crop is None or crop.days_to_emergence.low is None or crop.days_to_emergence.high is None:
        return None
    rows = [row for row in _rows().get(_row_name(name), ()) if row.days is not None]
    if rows and temperature_c is not None:
        days, near = _between(rows, temperature_c)
        keys = tuple(dict.fromkeys(key for row in near for key in row.source))
        return SPREAD[0] * days, SPREAD[1] * days, keys, not all(row.was_read for row in near)
    stretch = 1.0 if temperature_c is None else _stretch(crop, temperature_c)
    low, high = crop.days_to_emergence.low * stretch, crop.days_to_emergence.high * stretch
    keys = crop.sources.get("germination", ())
    return low, max(high, low * SPREAD[1] / SPREAD[0]), keys, "memory" in keys or stretch != 1.0


def chance_still(age_days: float, days_low: float, days_high: float, viable: float = USUAL_VIABLE) -> float:
    """The chance that a seed which is not up yet comes up after all.

    age_days : since it was sown, 0 or more. [days]
    days_low, days_high : the window, 0 < low < high. [days]
    viable : the share of seeds that come up at all, 0 to 1.
    It is assumed that of the seeds which can come up one in twenty is there before the window and one in
    twenty comes after it, times being spread log-normally. Falls with age, from ``viable`` to 0.
    """
    if not (age_days >= 0 and 0 < days_low < days_high < math.inf and 0 <= viable <= 1):
        raise ValueError(f"no such wait: {age_days} days of {days_low} to {days_high}, {viable} viable")
    if age_days == 0:
        return viable
    middle = (math.log(days_low) + math.log(days_high)) / 2
    deviation = (math.log(days_high) - math.log(days_low)) / (2 * 1.6449)
    later = 0.5 * math.erfc((math.log(age_days) - middle) / deviation / math.sqrt(2))
    left = viable * later
    return left / (left + (1 - viable)) if left else 0.0


def warmth_since(entries: Sequence[Entry], since: datetime) -> float | None:
    """The mean of what was read of the air since then, else of the water; ``None`` where nothing was. [degC]

    Where nothing was, the newest of the two weeks before counts: rooms change slowly.
    """
    air: list[float] = []
    water: list[float] = []
    for entry in reversed(entries):
        if entry.happened_at < since - STILL_WARM:
            break
        fact = entry.fact
        if not isinstance(fact, Reading) or entry.doubted:
            continue
        for value, read in ((fact.air_temp_c, air), (fact.water_temp_c, water)):
            if value is not None and (entry.happened_at >= since or not read):
                read.append(value)
    known = air or water
    return sum(known) / len(known) if known else None


def _cautions(crop: Crop, temperature_c: float | None, *, is_late: bool) -> list[Caution]:
    found: list[Caution] = []
    if temperature_c is not None:
        warmest = WARM_LIMIT_C.get(_row_name(crop.name), crop.germination_temp_c.high)
        coldest = crop.germination_temp_c.low
        best = crop.germination_temp_best_c
        if warmest is not None and temperature_c > warmest:
            found.append("too_warm")
        elif (coldest is not None and temperature_c < coldest + NEAR_COLDEST_C) or (
            best is not None and temperature_c < best - FAR_BELOW_BEST_C
        ):
            found.append("too_cold")
    if is_late or (temperature_c is not None and temperature_c >= DRY_FROM_C):
        found.append("may_be_dry")
    if crop.needs_light_to_germinate:
        found.append("needs_light")
    if crop.name in NEEDS_COLD:
        found.append("needs_cold")
    return found


def _between(rows: Sequence[_Row], temperature_c: float) -> tuple[float, tuple[_Row, ...]]:
    """The days at a temperature, the speed (1 / days) drawn straight between the two nearest rows."""
    for cold, warm in pairwise(rows):
        if cold.temp_c <= temperature_c <= warm.temp_c:
            part = (temperature_c - cold.temp_c) / (warm.temp_c - cold.temp_c)
            slow, fast = 1 / (cold.days or 1), 1 / (warm.days or 1)
            near = (cold,) if part == 0 else (warm,) if part == 1 else (cold, warm)
            return 1 / (slow + part * (fast - slow)), near
    row = rows[0] if temperature_c < rows[0].temp_c else rows[-1]
    return row.days or 1.0, (row,)


def _stretch(crop: Crop, temperature_c: float) -> float:
    """How much longer it takes below the best temperature, speed being in proportion to the degrees above
    the coldest at which it comes up (thermal time); never shorter."""
    coldest, best = crop.germination_temp_c.low, crop.germination_temp_best_c
    if coldest is None or best is None or temperature_c >= best:
        return 1.0
    return min(STRETCH_MOST, (best - coldest) / max(temperature_c - coldest, 1e-6))


def _row_name(name: str) -> str:
    """The crop whose rows stand for it: all lettuces germinate alike, and so do all tomatoes and peppers."""
    for ending, of in (("lettuce", "lettuce"), ("tomato", "tomato"), ("pepper", "sweet pepper")):
        if name.endswith(ending):
            return of
    return name


@cache
def _rows() -> dict[str, tuple[_Row, ...]]:
    found: dict[str, list[_Row]] = {}
    for row in tables.rows("emergence"):
        found.setdefault(row["crop"], []).append(
            _Row(
                float(row["temp_c"]),
                tables.number(row["days"]),
                tables.parts(row["source"]),
                row["basis"] == "read",
            )
        )
    return {crop: tuple(sorted(rows, key=lambda row: row.temp_c)) for crop, rows in found.items()}
