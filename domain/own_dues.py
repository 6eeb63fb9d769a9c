"""What the household itself asked to be told, at the wall time it asked for."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from domain.due import OWN_KEY, Due
from domain.facts import Reminder
from domain.journal import Entry
from domain.recurrence import Rule, next_due

__all__ = ["own_due"]

_EARLY_SHARE = 0.25
"""What is done by this part of an interval too early counts for the coming time: common practice, a filter
rinsed on Saturday need not be rinsed on Sunday."""
_MOST_EARLY = timedelta(days=3)
_DAYS = {"HOURLY": 1 / 24, "DAILY": 1, "WEEKLY": 7, "MONTHLY": 30}


def own_due(
    entry: Entry,
    reminder: Reminder,
    now: datetime,
    zone: ZoneInfo,
    *,
    moved_at: datetime | None = None,
    done_at: datetime | None = None,
    past: str = "",
) -> Due | None:
    """When the household is told of it; ``None`` where what it is about has been done instead.

    entry : that holds the reminder.
    moved_at : when the household last set its clock: it keeps its wall times, so that from then on the
        reminder goes by that clock.
    done_at, past : when the task that it is about was last logged, and the verb for it.
    """
    first_at = reminder.at.astimezone(UTC)
    was_done = done_at is not None and done_at > entry.said_at
    if was_done and reminder.rrule is None:
        return None
    due = Due(
        key=f"{OWN_KEY}{entry.id}",
        task="own",
        text=reminder.text,
        why=f"{entry.author} asked for it".strip(),
        due_at=first_at,
        rrule=reminder.rrule,
        next_at=first_at if first_at > now else None,
    )
    if reminder.rrule is None:
        return due
    try:
        rule = Rule.from_rrule(reminder.rrule, at=reminder.at)
    except ValueError:
        return replace(due, rrule=None)
    if moved_at is not None and moved_at > entry.said_at:
        due = replace(due, due_at=next_due(rule, moved_at, zone))
    if was_done and done_at is not None:
        local = done_at.astimezone(zone)
        due = replace(
            due,
            due_at=max(due.due_at, next_due(rule, done_at + _early(rule), zone)),
            why=f"last {past} {local.day} {local:%b}; {due.why}",
        )
    return replace(due, next_at=due.due_at if due.due_at > now else next_due(rule, now, zone))


def _early(rule: Rule) -> timedelta:
    return min(timedelta(days=_EARLY_SHARE * _DAYS[rule.frequency] * rule.interval), _MOST_EARLY)
