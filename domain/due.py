"""A due date as data; ``domain.routine`` gathers all of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time

__all__ = ["CHORE_TIME", "Due"]

CHORE_TIME = time(18)
"""When household chores fall due, by the wall clock: common practice, people are home."""


@dataclass(frozen=True, slots=True)
class Due:
    """Something that the household should be reminded of.

    key : what it is about, unique in the household: a task's name, or ``own:`` and an entry's number.
    task : of the routine table, ``own``, or of plants: ``look``, ``reseed``, ``pick``, ``stock``.
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
