"""A reminder that is answered by typing instead of by its button: ``done``, ``later``, ``skip``."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from types import MappingProxyType

from bot.assistant import press as presses
from bot.assistant import remind, schedule
from bot.assistant.buttons import button
from bot.assistant.exchange import Heard, Pressed
from bot.assistant.replies import Hint, Reminded, Reply
from bot.assistant.scene import Outcome, Scene
from storage.engine import Transaction
from storage.reminders import ReminderRow

__all__ = ["settled_in_words"]

FRESH = timedelta(hours=6)
"""So long after a reminder a bare word in a group may be meant for it: our own design rule."""
_WORDS: Mapping[str, str] = MappingProxyType(
    {
        **dict.fromkeys(
            ("done", "did it", "done it", "did that", "all done", "it's done", "finished"), "done"
        ),
        **dict.fromkeys(("later", "not now", "remind me later"), "later"),
        **dict.fromkeys(("skip", "skip it", "skip this one", "skip this time"), "pass"),
    }
)
"""What is typed, by the verb of the button that it stands for."""


async def settled_in_words(tx: Transaction, scene: Scene, heard: Heard) -> Outcome | None:
    """Does what the button of the one unanswered reminder of this chat does; asks where there are several.

    ``None`` for a text that is no such word, and where nothing waits.
    """
    said = " ".join(heard.text.replace("’", "'").lower().split()).strip(".!")
    verb = _WORDS.get(said)
    if verb is None or not await _is_for_us(tx, scene, heard):
        return None
    told = [row for row in await tx.reminders.of(scene.household_id, with_ended=True) if _waits(scene, row)]
    if not told:
        return None
    if len(told) > 1:
        shown = Reminded(dues=tuple(remind.item_of(row) for row in told), now=scene.now)
        return Outcome(scene, replies=(Hint(code="which_reminder", about=said), shown))
    (row,) = told
    data = button(said, verb, row.id, int(row.planned_at.timestamp())).data
    effect = await presses.press(
        tx,
        scene,
        Pressed(
            chat=heard.chat,
            person=heard.person,
            press=f"typed:{heard.message}",
            pressed_at=heard.said_at,
            data=data,
        ),
    )
    outcome = effect.outcome or Outcome(scene)
    answered: tuple[Reply, ...] = outcome.replies or (Hint(code="settled", about=effect.answer.text),)
    return Outcome(outcome.scene, facts=outcome.facts, replies=answered)


def _waits(scene: Scene, row: ReminderRow) -> bool:
    """It was told in this chat, and nobody has answered it or done what it is about."""
    is_told = row.fired_count > 0 and not row.settled and row.planned_at <= scene.now
    return is_told and row.chat_id in (scene.chat.id, None) and schedule.still_due(scene, row)


async def _is_for_us(tx: Transaction, scene: Scene, heard: Heard) -> bool:
    """In a group a bare word is talk, unless it is addressed to us or a reminder came just before."""
    if scene.chat.private or heard.addressed:
        return True
    return await tx.outbox.reminded_since(scene.household_id, scene.now - FRESH, apart="") > 0
