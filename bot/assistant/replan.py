"""Reminders paused, gone on with, moved and dropped: in words and by buttons."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta

from bot.assistant import remind
from bot.assistant.due import due_items
from bot.assistant.replies import DueItem, Hint, RemindersShown, Replanned
from bot.assistant.scene import Outcome, Scene
from bot.reader.reminder_orders import ReminderOrder
from domain.due import CHORE_TIME
from domain.recurrence import instant_of
from domain.routine import task_meant
from storage.engine import Transaction
from storage.reminders import ReminderRow

__all__ = ["moved_by", "obey", "set_paused"]

_WORD = re.compile(r"\w+")
_LITTLE = frozenset({"the", "our", "my", "a", "to", "of", "and", "for"})


async def obey(tx: Transaction, scene: Scene, order: ReminderOrder) -> Outcome:
    """Does what was said about a reminder. Words that fit none, or several, change nothing and say so."""
    items = await due_items(tx, scene)
    wanted = _meant(items, order.about)
    if not wanted:
        return Outcome(scene, replies=(Hint(code="no_such_reminder", about=order.about),))
    if order.action in ("pause", "resume"):
        return await _all_paused(tx, scene, wanted, paused=order.action == "pause")
    if len(wanted) > 1:
        return Outcome(scene, replies=(RemindersShown(dues=wanted, now=scene.now, asked=order.about),))
    row = await tx.reminders.get(wanted[0].reminder, household_id=scene.household_id)
    if row is None:
        return Outcome(scene)
    if order.action == "stop":
        return await remind.stopped(tx, scene, row) or Outcome(scene)
    if order.to is None or order.to <= scene.now:
        return Outcome(scene, replies=(Hint(code="no_such_time", about=wanted[0].text),))
    return await _moved(tx, scene, row, order.to)


def _meant(items: Sequence[DueItem], about: str) -> tuple[DueItem, ...]:
    """The reminders that words name: all their words stand in the text, or both mean the same task."""
    words = set(_WORD.findall(about)) - _LITTLE
    task = task_meant(about)
    fits = [item for item in items if words <= set(_WORD.findall(item.text.casefold()))]
    if not fits and task is not None:
        fits = [item for item in items if task in (item.task, task_meant(item.text))]
    return tuple(fits)


async def _all_paused(tx: Transaction, scene: Scene, items: Sequence[DueItem], *, paused: bool) -> Outcome:
    changed = [item for item in items if item.is_paused != paused]
    for item in changed:
        row = await tx.reminders.get(item.reminder, household_id=scene.household_id)
        if row is not None:
            await set_paused(tx, scene, row, paused)
    texts = tuple(item.text for item in changed or items)
    action = "pause" if paused else "resume"
    return Outcome(scene, replies=(Replanned(action=action, texts=texts, now=scene.now),))  # type: ignore[arg-type]


async def set_paused(tx: Transaction, scene: Scene, row: ReminderRow, paused: bool) -> None:
    """Keeps a reminder silent, or lets it go on: what was missed meanwhile is not told in a flood."""
    await tx.reminders.pause(scene.household_id, row.key, paused)
    if not paused and row.rrule is not None and row.due_at < scene.now and row.fired_count:
        upcoming = remind.next_of(row, scene)
        await tx.reminders.put_off(row.id, upcoming or row.due_at)


async def moved_by(tx: Transaction, scene: Scene, row: ReminderRow, days: int) -> Outcome:
    """Moves one by so many days, from its own date or from today where that has passed."""
    local = max(row.due_at, scene.now).astimezone(scene.zone)
    wall = row.due_at.astimezone(scene.zone).time() if row.task == "own" else CHORE_TIME
    return await _moved(tx, scene, row, instant_of(local.date() + timedelta(days=days), wall, scene.zone))


async def _moved(tx: Transaction, scene: Scene, row: ReminderRow, to: datetime) -> Outcome:
    await tx.reminders.move(row.id, to)
    return Outcome(scene, replies=(Replanned(action="move", texts=(row.text,), now=scene.now, to=to),))
