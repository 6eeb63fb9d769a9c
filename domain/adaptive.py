"""Dates that follow what this tank does: when it needs water, when its water is spent, when to test sooner.

Each only ever brings a date of the table forward, or gives a top-up its own; each says why. All follow from
the journal and stay where they are while nothing is logged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from statistics import median
from zoneinfo import ZoneInfo

from domain.bands import TankBands
from domain.due import Due, dated, evening
from domain.facts import Dose, Reading, TopUp, WaterChange
from domain.forecast import Leaves, Trend, trend
from domain.happenings import changes_all, dose_amount
from domain.history import hands, points
from domain.household import Choices
from domain.journal import Entry
from domain.units import US_GALLON_L
from domain.water_use import WaterUse, lately, water_use

__all__ = ["DAILY", "LEAST_LEVEL_SHARE", "adapted", "least_level_l"]

LEAST_LEVEL_SHARE = 0.5
"""What a pump needs where nobody has said, as a share of the tank: common practice, it stays well covered."""
LONGEST_WAIT = timedelta(days=7)
"""A tank is looked at this often however slowly it drinks: common practice."""
DAILY = "FREQ=DAILY"
FEEDS_COMPARED = 2
"""So many of the first feeds in a water are compared with as many of the last."""
ANSWERS_LESS = 0.5
ANSWERS_MORE = 1.6
"""A feed that moves strength by less or more than this, as a share of what the first ones did, no longer
tells what the water holds: common practice puts a change there; the figures are our own design rule."""
_DAY = timedelta(days=1)
_SINCE_CHANGE = timedelta(days=120)
_READ_BEFORE, _READ_AFTER = timedelta(days=2), timedelta(days=1)
_MIXED = timedelta(minutes=20)
_OF_WATER = {"ph": "pH", "ec_ms_cm": "strength"}


def adapted(
    dues: Sequence[Due],
    entries: Sequence[Entry],
    chosen: Choices,
    bands: TankBands | None,
    zone: ZoneInfo,
    *,
    own_interval: frozenset[str] = frozenset(),
) -> list[Due]:
    """The table's dates with those that this tank gives.

    bands : what the water should be; ``None`` leaves the next test where it is.
    own_interval : tasks whose interval the household set itself: its top-up stays as it was set.
    """
    use = water_use(entries, chosen.tank_volume_l) if chosen.tank_volume_l is not None else None
    found = []
    for due in dues:
        if due.task == "top_up" and use is not None and due.task not in own_interval:
            found.append(_top_up(due, use, chosen, zone))
        elif due.task == "water_change":
            found.append(_water_change(due, entries, chosen, use, zone))
        elif due.task == "test_water" and bands is not None:
            found.append(_test(due, entries, bands, zone))
        else:
            found.append(due)
    return found


def least_level_l(chosen: Choices) -> float | None:
    """The lowest level that the pump bears, as said or as usual; ``None`` where nothing is known. [L]"""
    if chosen.minimum_level_l is not None:
        return chosen.minimum_level_l
    return None if chosen.tank_volume_l is None else LEAST_LEVEL_SHARE * chosen.tank_volume_l


def _top_up(due: Due, use: WaterUse, chosen: Choices, zone: ZoneInfo) -> Due:
    """The evening before the pump may run dry at the high end of the loss, at the soonest the next."""
    least = least_level_l(chosen)
    reached = use.reaches(least) if least is not None else None
    latest = use.level_at + LONGEST_WAIT
    wanted = min(reached - _DAY, latest) if reached is not None else latest
    due_at = evening(max(wanted, use.level_at + timedelta(hours=6)), zone)
    loss = _spoken(chosen, use.a_day, use.low_a_day, use.high_a_day)
    needs = f"the pump needs {_spoken(chosen, least or 0.0)}" if chosen.minimum_level_l is not None else ""
    assumed = "" if needs else f"at least {_spoken(chosen, least or 0.0)} kept, common practice"
    why = f"loses about {loss} a day; last known full enough {dated(use.level_at, zone)}, {needs or assumed}"
    return replace(due, due_at=due_at, next_at=due_at, rrule=DAILY, why=why)


def _water_change(
    due: Due, entries: Sequence[Entry], chosen: Choices, use: WaterUse | None, zone: ZoneInfo
) -> Due:
    """The earliest of age, of top-ups that come to the tank's volume, and of feeds that no longer tell."""
    water = _of_this_water(entries, chosen)
    candidates = [due]
    if chosen.tank_volume_l is not None:
        candidates.append(_by_top_ups(due, water, chosen, use, zone))
    candidates.append(_by_feeds(due, water, zone))
    return min(candidates, key=lambda each: each.due_at)


def _of_this_water(entries: Sequence[Entry], chosen: Choices) -> list[Entry]:
    """What happened in the water that is in the tank now."""
    water: list[Entry] = []
    for entry in lately(entries, _SINCE_CHANGE):
        if entry.doubted:
            continue
        is_new = isinstance(entry.fact, WaterChange) and changes_all(
            entry.fact, chosen.tank_volume_l or float("inf")
        )
        water = [] if is_new else [*water, entry]
    return water


def _by_top_ups(
    due: Due, water: Sequence[Entry], chosen: Choices, use: WaterUse | None, zone: ZoneInfo
) -> Due:
    """Once as much was topped up as the tank holds, what the tap brings has doubled: common practice."""
    full = chosen.tank_volume_l or 0.0
    told, reached_at = 0.0, None
    for entry in water:
        if isinstance(entry.fact, TopUp) and entry.fact.litres is not None:
            told += entry.fact.litres
            reached_at = reached_at or (entry.happened_at if told >= full else None)
    if reached_at is None and use is not None and use.a_day > 0 and told > 0:
        # Not before the day of the table, so that a guess never brings it nearer than what was poured does.
        ahead = use.level_at + timedelta(days=(full - told) / use.a_day)
        reached_at = ahead if ahead < due.due_at else None
    if reached_at is None:
        return due
    due_at = evening(reached_at, zone)
    why = f"{_spoken(chosen, told)} topped up since the change; the tank holds {_spoken(chosen, full)}"
    return replace(due, due_at=due_at, next_at=due_at, why=f"{why}, common practice")


def _by_feeds(due: Due, water: Sequence[Entry], zone: ZoneInfo) -> Due:
    """Where feeds move strength by far less, or far more, than they did in this water at first."""
    answers = _answers(water)
    if len(answers) < 2 * FEEDS_COMPARED:
        return due
    first = median(rise for _, rise in answers[:FEEDS_COMPARED])
    last = median(rise for _, rise in answers[-FEEDS_COMPARED:])
    if first <= 0 or ANSWERS_LESS * first <= last <= ANSWERS_MORE * first:
        return due
    due_at = evening(answers[-1][0], zone)
    how = "less" if last < first else "more"
    why = f"strength no longer follows the feed; the last {FEEDS_COMPARED} moved it far {how} than the first"
    return replace(due, due_at=due_at, next_at=due_at, why=f"{why}, common practice")


def _answers(water: Sequence[Entry]) -> list[tuple[datetime, float]]:
    """For each feed between two readings of strength: when it was read, and the rise per ml or g.

    A feed beside other hands in the water tells nothing.
    """
    answers = []
    before: tuple[datetime, float] | None = None
    fed: tuple[datetime, float] | None = None
    for entry in water:
        fact, at = entry.fact, entry.happened_at
        match fact:
            case Reading(ec_ms_cm=float(ec)):
                mixed = fed is not None and _MIXED <= at - fed[0] <= _READ_AFTER
                if before and fed and mixed and fed[0] - before[0] <= _READ_BEFORE:
                    answers.append((at, (ec - before[1]) / fed[1]))
                before, fed = (at, ec), None
            case Dose(product="nutrient"):
                amount = dose_amount(fact)[0]
                before, fed = (None, None) if fed is not None else (before, (at, amount))
            case TopUp() | WaterChange():
                before = fed = None
            case _:
                continue
    return answers


def _test(due: Due, entries: Sequence[Entry], bands: TankBands, zone: ZoneInfo) -> Due:
    """Sooner, where the trend since the last hand in the water may take a value out of its band."""
    recent = lately(entries, timedelta(days=14))
    soonest: tuple[datetime, Due] | None = None
    for what in ("ph", "ec_ms_cm"):
        read = points(recent, what)
        last_at = next((point.at for point in reversed(read) if not point.doubted), None)
        if last_at is None:
            continue
        moving = trend(read, hands(recent), what, last_at)
        band = bands.of(what)
        leaves = moving.leaves(band.tolerable_low, band.tolerable_high) if isinstance(moving, Trend) else None
        if leaves is None:
            continue
        due_at = _evening_before(leaves.soonest, last_at, zone)
        if due_at < due.due_at and (soonest is None or due_at < soonest[0]):
            why = _why_sooner(what, leaves, zone)
            soonest = due_at, replace(due, due_at=due_at, next_at=due_at, why=why)
    return soonest[1] if soonest is not None else due


def _evening_before(moment: datetime, read_at: datetime, zone: ZoneInfo) -> datetime:
    """The last time for chores before a moment; not on the day of the reading itself."""
    first = evening(read_at + timedelta(hours=12), zone)
    last = evening(moment - _DAY, zone)
    return max(first, last)


def _why_sooner(what: str, leaves: Leaves, zone: ZoneInfo) -> str:
    edge = f"{leaves.edge:.1f}" + (" mS/cm" if what == "ec_ms_cm" else "")
    passes = "rise above" if leaves.side == "high" else "fall below"
    about = f"by about {dated(leaves.at, zone)}"
    return (
        f"{_OF_WATER[what]} may {passes} {edge} {about}; the trend of the last readings, no hand in between"
    )


def _spoken(chosen: Choices, *litres: float) -> str:
    """``1.5 L``, ``1.5 L (1.2–1.9)``; in gallons for a household that counts so."""
    per, unit = (US_GALLON_L, "gal") if chosen.spoken_units == "us" else (1.0, "L")
    shown = [f"{value / per:.1f}".removesuffix(".0") for value in litres]
    return f"{shown[0]} {unit}" + (f" ({shown[1]}–{shown[2]})" if len(shown) == 3 else "")
