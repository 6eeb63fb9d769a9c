"""The week looked back on in a few figures: the water, what came up, what was picked, what was looked after.

When it is told is counted like everything else that falls due: from the journal, by the household's clock.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from domain.bands import TankBands, verdict
from domain.due import Due
from domain.facts import Chore, Setting, TopUp, WaterChange
from domain.history import Quantity, points
from domain.household import Choices
from domain.journal import Entry
from domain.plantings import Garden
from domain.recurrence import Rule, next_due

__all__ = ["DIGEST", "LOOKED_BACK", "Values", "Week", "digest_due", "week_of"]

DIGEST = "digest"
"""The task of the reminder that brings the week; a setting ``interval`` turns it off and on again."""

LOOKED_BACK = timedelta(days=7)
USUAL_RULE = "FREQ=WEEKLY;BYDAY=SU"
USUAL_TIME = time(20)
"""Sunday evening, after the chores have been told: the week gives way to them (our own design rule)."""
FIRST_AFTER = timedelta(days=5)
"""Less than so many days of a log are no week to look back on: our own design rule."""


@dataclass(frozen=True, slots=True)
class Values:
    """One value of the water over the week.

    low, high : the least and the most that was read. [unit of the value]
    readings, borne : how many, and how many of them lay where the plants of today bear it; ``None`` for a
        value without a band.
    """

    what: Quantity
    low: float
    high: float
    readings: int
    borne: int | None


@dataclass(frozen=True, slots=True)
class Week:
    """What a week came to.

    up : plants that came up, by crop. picked : what was picked, by crop; grams, ``None`` where unweighed.
    cared : how often each task was done: chores, ``top_up`` and ``water_change``.
    missed : what was due in it and is not done, the oldest first. ahead : what comes next, the soonest first.
    """

    since: datetime
    until: datetime
    water: tuple[Values, ...]
    up: Mapping[str, int]
    picked: Mapping[str, float | None]
    cared: Mapping[str, int]
    missed: tuple[Due, ...]
    ahead: tuple[Due, ...]
    entries: int


def week_of(
    entries: Sequence[Entry], garden: Garden, bands: TankBands, dues: Sequence[Due], now: datetime
) -> Week:
    """The week that ends now.

    entries : the net journal, in the order in which things happened; doubted ones do not count.
    garden : what they say of plants. bands : what the water should be. dues : what falls due.
    """
    since = now - LOOKED_BACK
    these = [entry for entry in entries if since < entry.happened_at <= now and not entry.doubted]
    whats: tuple[Quantity, ...] = ("ph", "ec_ms_cm", "water_temp_c")
    water = tuple(found for what in whats if (found := _values(these, what, bands)) is not None)
    up: Counter[str] = Counter()
    for sowing in garden.sowings:
        up[sowing.crop] += sum(each.count for each in sowing.came if since < each.at <= now)
    chores = [due for due in dues if due.task not in (DIGEST, "own")]
    return Week(
        since=since,
        until=now,
        water=water,
        up={crop: count for crop, count in up.items() if count},
        picked=_picked(garden, since, now),
        cared=Counter(task for entry in these if (task := _task(entry)) is not None),
        missed=tuple(due for due in chores if due.rrule is not None and due.due_at <= now),
        ahead=tuple(due for due in dues if due.task != DIGEST and _is_ahead(due, now)),
        entries=len(these),
    )


def digest_due(entries: Sequence[Entry], chosen: Choices, now: datetime, zone: ZoneInfo) -> Due | None:
    """When the week is next told; ``None`` where nobody wants it or there is no log.

    entries : without doubted ones, in order. chosen : what they say the household chose.
    """
    if not entries:
        return None
    setting = next((each for each in reversed(chosen.intervals) if each.task == DIGEST), None)
    text = USUAL_RULE if setting is None else setting.rrule
    if not text:
        return None
    began_at = entries[0].happened_at
    start = (began_at + FIRST_AFTER).astimezone(zone)
    try:
        rule = Rule.from_rrule(text, at=datetime.combine(start.date(), USUAL_TIME))
        due_at = next_due(rule, start, zone)
    except (ValueError, OverflowError):
        return None
    return Due(
        key=DIGEST,
        task=DIGEST,
        text="weekly digest",
        why=f"{rule.in_words()}, {'yours' if isinstance(setting, Setting) else 'common practice'}",
        due_at=due_at,
        rrule=rule.as_rrule(),
        next_at=due_at if due_at > now else next_due(rule, now, zone),
    )


def _is_ahead(due: Due, now: datetime) -> bool:
    return now < (due.next_at or due.due_at) <= now + LOOKED_BACK


def _values(entries: Sequence[Entry], what: Quantity, bands: TankBands) -> Values | None:
    read = [point.value for point in points(entries, what)]
    if not read:
        return None
    band = bands.of(what)  # type: ignore[arg-type]  # a level is not asked for
    borne = sum(not verdict(value, band).needs_action for value in read)
    return Values(what, min(read), max(read), len(read), borne)


def _picked(garden: Garden, since: datetime, now: datetime) -> dict[str, float | None]:
    picked: dict[str, float | None] = {}
    for pick in garden.picks:
        if since < pick.at <= now:
            before = picked.get(pick.crop)
            picked[pick.crop] = (before or 0.0) + pick.grams if pick.grams is not None else before
    return picked


def _task(entry: Entry) -> str | None:
    match entry.fact:
        case Chore(task=task):
            return task
        case TopUp():
            return "top_up"
        case WaterChange():
            return "water_change"
        case _:
            return None
