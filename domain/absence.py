"""What an absence holds: what will fall due meanwhile, and how the tank should stand on return."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from domain.due import CHORE_TIME, Due
from domain.forecast import FARTHEST, Trend, trend
from domain.history import hands, points
from domain.household import Choices
from domain.journal import Entry
from domain.recurrence import Rule, instant_of, next_due
from domain.water_use import WaterUse, lately, water_use

__all__ = ["Ahead", "OnReturn", "falls_due", "on_return"]

_MOST_TIMES = 60
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Ahead:
    """Something that falls due during an absence.

    first_at : the first time, UTC; the start of the absence for what is overdue by then. times : how often.
    """

    due: Due
    first_at: datetime
    times: int


@dataclass(frozen=True, slots=True)
class OnReturn:
    """How the tank should stand if nobody does anything: low, middle, high; four times in five between.

    level_l : [L]; ``None`` where the loss is not known. least_at : when the level may be down at what the
        pump needs; ``None`` for not before the return.
    ec_ms_cm : [mS/cm]; ``None`` where nothing was read lately. by_trend : it follows the readings' own
        trend; else it lies between plants that take the food with the water and plants that leave it.
    """

    level_l: tuple[float, float, float] | None = None
    least_at: datetime | None = None
    ec_ms_cm: tuple[float, float, float] | None = None
    by_trend: bool = False


def falls_due(
    dues: Iterable[Due], start: date, end: date, zone: ZoneInfo, use: WaterUse | None = None
) -> tuple[Ahead, ...]:
    """What falls due from the first to the last day of an absence, the soonest first.

    Each is taken to be done when it is due, and to come again by its rule; the top-up by the tank's own pace.
    """
    begins, ends = instant_of(start, time(), zone), instant_of(end + _DAY, time(), zone)
    found = []
    for due in dues:
        at = due.next_at or (due.due_at if due.task != "own" else None)
        if at is None or at >= ends or due.task == "retest":
            continue
        first_at = at if at >= begins else instant_of(start, CHORE_TIME, zone)
        found.append(Ahead(due, first_at, _times(due, first_at, ends, zone, use)))
    return tuple(sorted(found, key=lambda ahead: (ahead.first_at, ahead.due.key)))


def _times(due: Due, first_at: datetime, ends: datetime, zone: ZoneInfo, use: WaterUse | None) -> int:
    if due.rrule is None:
        return 1
    if due.task == "top_up" and use is not None:
        step = max(_DAY, due.due_at - use.level_at)
        return 1 + int((ends - first_at - timedelta(seconds=1)) / step)
    rule = Rule.from_rrule(due.rrule, at=due.due_at.astimezone(zone))
    rule = replace(rule, anchor=first_at.astimezone(zone).date()) if not rule.by_day else rule
    times, at = 1, first_at
    while times < _MOST_TIMES and (at := next_due(rule, at, zone)) < ends:
        times += 1
    return times


def on_return(entries: Sequence[Entry], chosen: Choices, least_l: float | None, at: datetime) -> OnReturn:
    """How the tank should stand at the return.

    entries : the net journal without doubted entries. least_l : what the pump needs. [L] at : the return.
    """
    full = chosen.tank_volume_l
    use = water_use(entries, full) if full is not None else None
    level = use.level(at) if use is not None else None
    least_at = use.reaches(least_l) if use is not None and least_l is not None else None
    strength, by_trend = _strength(entries, use, at)
    return OnReturn(
        level_l=level,
        least_at=least_at if least_at is not None and least_at < at else None,
        ec_ms_cm=strength,
        by_trend=by_trend,
    )


def _strength(
    entries: Sequence[Entry], use: WaterUse | None, at: datetime
) -> tuple[tuple[float, float, float] | None, bool]:
    recent = lately(entries, timedelta(days=14))
    read = [point for point in points(recent, "ec_ms_cm") if not point.doubted]
    if not read:
        return None, False
    last = read[-1]
    moving = trend(read, hands(recent), "ec_ms_cm", last.at)
    if isinstance(moving, Trend) and at - last.at <= FARTHEST:
        expected = moving.expected(at)
        return (max(0.0, expected.low), max(0.0, expected.middle), max(0.0, expected.high)), True
    if use is None:
        return None, False
    # What is dissolved stays or goes with the water; between these two lies any tank.
    then = min(use.level(last.at)[1], use.level_l) if last.at > use.level_at else use.level_l
    low_level = max(use.level(at)[0], 0.1 * then)
    return (
        last.value,
        (last.value + last.value * then / low_level) / 2,
        last.value * then / low_level,
    ), False
