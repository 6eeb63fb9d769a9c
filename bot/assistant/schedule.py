"""The table of reminders, kept in step with the journal: which dates stand, which were told or put off."""

from __future__ import annotations

from datetime import timedelta

from bot.assistant.scene import Scene
from domain.routine import Due, after_telling
from storage.engine import Transaction
from storage.reminders import ReminderRow

__all__ = ["FORGETTING", "ROUTINE", "URGENT", "step_in", "still_due"]

CLOCKS_APART = timedelta(hours=26)
"""The most that one wall time lies apart in two zones: UTC+14 and UTC-12."""
NEWS = timedelta(days=1)
"""A repeating reminder that is new to us and began longer ago waits for its next time."""
URGENT, ROUTINE = "urgent", "routine"
"""Who wants it told: what is urgent waits neither for the morning nor for the day's bundle."""
FORGETTING = "forgetting"
"""Not told but done (``forgetting``); the journal says nothing of it."""


async def step_in(tx: Transaction, scene: Scene) -> None:
    """Brings the table of reminders in step with what the journal now says.

    A row whose planned date is unchanged is left alone: it may have been put off, or have been told. What
    was told before the household's clock changed is not told anew because 18:00 is another instant now.
    """
    dues = scene.dues
    rows = {row.key: row for row in await tx.reminders.of(scene.household_id, with_ended=True)}
    for key, due in dues.items():
        row = rows.get(key)
        if row is None or _is_planned_otherwise(row, due) or _was_withdrawn(row) or _says_otherwise(row, due):
            await _put(tx, scene, row, due)
        elif row.ended and due.rrule is not None:
            # Telling never ends what repeats: it was stopped after it had been told, and now goes on.
            upcoming = after_telling(due.rrule, due.due_at, scene.now, scene.zone)
            await tx.reminders.put_off(row.id, upcoming or due.due_at)
    for key, row in rows.items():
        if key not in dues and not row.ended and row.source != FORGETTING:
            await tx.reminders.end(scene.household_id, key)


async def _put(tx: Transaction, scene: Scene, row: ReminderRow | None, due: Due) -> None:
    stays = row is not None and not due.urgent
    asked_here = due.urgent or due.task == "own"
    number = await tx.reminders.put(
        scene.household_id,
        due.key,
        chat_id=row.chat_id if row and stays else scene.chat.id,
        thread=row.thread if row and stays else scene.thread if asked_here else None,
        task=due.task,
        text=due.text,
        why=due.why,
        rrule=due.rrule,
        due_at=due.due_at,
        source=URGENT if due.urgent else ROUTINE,
        now=scene.now,
    )
    is_old = row is None and due.task == "own" and scene.now - due.due_at > NEWS
    if is_old and due.next_at is not None:
        # It has been told under another number: its message was edited, or lost another of its reminders.
        await tx.reminders.put_off(number, due.next_at)


def _is_planned_otherwise(row: ReminderRow, due: Due) -> bool:
    """The journal gives another date; not one that merely reads otherwise by another clock, once it was told.

    The reason names when the task was last done: where it is the same, nothing was done since the telling.
    What goes by hours, or by a clock time that was asked for, is planned anew.
    """
    if row.fired_count == 0 or due.urgent or due.task == "own" or "HOURLY" in (due.rrule or ""):
        return row.planned_at != due.due_at
    is_same = (row.task, row.text, row.why, row.rrule) == (due.task, due.text, due.why, due.rrule)
    return row.planned_at != due.due_at and not (is_same and abs(row.planned_at - due.due_at) <= CLOCKS_APART)


def _says_otherwise(row: ReminderRow, due: Due) -> bool:
    """What it is to say has changed before it was told or put off: other sites, another count."""
    is_fresh = row.fired_count == 0 and not row.ended and row.due_at == row.planned_at
    return is_fresh and (row.text, row.why) != (due.text, due.why)


def _was_withdrawn(row: ReminderRow) -> bool:
    """Ended before it was ever told: what made it needless has been taken back."""
    return row.ended and row.fired_count == 0


def still_due(scene: Scene, row: ReminderRow) -> bool:
    """Whether the journal still asks for it: nobody took it back, or did what it is about."""
    return row.key in scene.dues
