"""A due date as data; ``domain.routine`` gathers all of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from domain.plots import spoken
from domain.recurrence import instant_of

__all__ = ["CHORE_TIME", "OWN_KEY", "Due", "dated", "dated_key", "evening", "once_due", "where"]

OWN_KEY = "own:"
"""What the key of a household's own reminder begins with; the number of its entry follows."""

CHORE_TIME = time(18)
"""When household chores fall due, by the wall clock: common practice, people are home."""

SITES_NAMED = 4
"""More sites than these are counted, not named: a reminder is one line."""


@dataclass(frozen=True, slots=True)
class Due:
    """Something that the household should be reminded of.

    key : what it is about, unique in the household: a task's name, or ``own:`` and an entry's number.
    task : of the routine table, or ``own``.
    text, why : ready to show.
    due_at : the first time since it was last done, UTC. It stays the same while nothing is logged, so that it
        lies in the past once it is overdue.
    rrule : how it goes on from ``due_at`` while it is not done; ``None`` for once.
    urgent : it cannot wait for the bundle of the day.
    next_at : when it next stands in the plan, UTC: ``due_at`` for what must be done; for the household's own
        reminders their next time after now, ``None`` where a single one has passed.
    """

    key: str
    task: str
    text: str
    why: str
    due_at: datetime
    rrule: str | None
    urgent: bool = False
    next_at: datetime | None = None

    @property
    def brief(self) -> str:
        """Why now, in few words: what stands before the first semicolon of the reason."""
        return self.why.split(";")[0]


def once_due(key: str, task: str, text: str, why: str, due_at: datetime) -> Due:
    """What is told of once."""
    return Due(key=key, task=task, text=text, why=why, due_at=due_at, rrule=None, next_at=due_at)


def evening(moment: datetime, zone: ZoneInfo) -> datetime:
    """The first time for chores at or after a moment, UTC."""
    day = moment.astimezone(zone).date()
    at = instant_of(day, CHORE_TIME, zone)
    return (at if at >= moment else instant_of(day + timedelta(days=1), CHORE_TIME, zone)).astimezone(UTC)


def dated_key(moment: datetime, zone: ZoneInfo) -> str:
    """The day of a moment, for a key: ``2026-05-04``."""
    return f"{moment.astimezone(zone):%Y-%m-%d}"


def dated(moment: datetime, zone: ZoneInfo) -> str:
    """The day of a moment, to show: ``4 May``."""
    local = moment.astimezone(zone)
    return f"{local.day} {local:%b}"


def where(sites: Iterable[str]) -> str:
    """`` in A1, A2 and A3``; nothing where there are none."""
    named = [spoken(site) for site in dict.fromkeys(sites)]
    if not named:
        return ""
    if len(named) > SITES_NAMED:
        return f" in {', '.join(named[: SITES_NAMED - 1])} and {len(named) - SITES_NAMED + 1} more"
    return f" in {', '.join(named[:-1])} and {named[-1]}" if len(named) > 1 else f" in {named[0]}"
