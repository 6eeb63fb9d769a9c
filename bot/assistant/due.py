"""What is next, and for whom: the dates of the journal with what was told, put off and paused."""

from __future__ import annotations

from collections.abc import Set

from bot.assistant.replies import DueItem, DueShown
from bot.assistant.scene import Scene
from bot.assistant.schedule import step_in
from domain.digest import DIGEST
from domain.due import OWN_KEY, Due
from storage.engine import Transaction
from storage.reminders import ReminderRow

__all__ = ["due_items", "due_shown", "dues_ahead"]


def dues_ahead(scene: Scene) -> tuple[Due, ...]:
    """What the journal alone gives, the soonest first, whatever was told or put off."""
    ahead = [due for due in scene.jobs if due.next_at is not None]
    return tuple(sorted(ahead, key=lambda due: due.next_at or due.due_at))


async def due_shown(tx: Transaction, scene: Scene, *, whole: bool = False) -> DueShown:
    """What is next, the soonest first.

    whole : with what is far off as well.
    """
    items = await due_items(tx, scene)
    return DueShown(
        dues=tuple(item for item in items if not item.is_paused and item.task != DIGEST),
        now=scene.now,
        paused=tuple(item.text for item in items if item.is_paused),
        whole=whole,
    )


async def due_items(tx: Transaction, scene: Scene) -> tuple[DueItem, ...]:
    """What stands in the plan, the soonest first; not what was to be told once and has been."""
    rows = await _rows(tx, scene)
    private = {chat.id for chat in await tx.households.chats(scene.household_id) if chat.private}
    of_one = private if len(await tx.households.people(scene.household_id)) > 1 else frozenset()
    found = []
    for key, due in scene.dues.items():
        row = rows.get(key)
        if row is not None and _stands(due, row):
            found.append(_item(scene, due, row, of_one))
    return tuple(sorted(found, key=lambda item: item.due_at))


async def _rows(tx: Transaction, scene: Scene) -> dict[str, ReminderRow]:
    await step_in(tx, scene)
    return {row.key: row for row in await tx.reminders.of(scene.household_id, with_ended=True)}


def _stands(due: Due, row: ReminderRow) -> bool:
    if due.task == "own":
        return not row.ended
    return due.rrule is not None or not row.settled


def _item(scene: Scene, due: Due, row: ReminderRow, of_one: Set[int]) -> DueItem:
    # What has been told and is not done still stands at the date for which it was planned. What is only to be
    # told of, and what was left out, stands at its next date.
    told = row.fired_count > 0 and due.task != "own" and not row.settled
    due_at = row.planned_at if told else row.due_at
    whom = scene.choices.keeper_on(due_at.astimezone(scene.zone).date())
    if whom is None and due.task == "own" and row.chat_id in of_one:
        whom = next((e.author for e in scene.entries if due.key == f"{OWN_KEY}{e.id}"), None)
    return DueItem(
        reminder=row.id,
        task=due.task,
        text=due.text,
        brief=due.brief,
        due_at=due_at,
        planned_at=row.planned_at,
        is_now=due_at <= scene.now,
        whom=whom,
        is_paused=row.paused,
    )
