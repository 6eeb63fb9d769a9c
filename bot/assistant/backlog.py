"""After we were away: all that was written meanwhile is kept, and the newest of it is answered.

Advice on a reading of last night, hundredfold and at the pace of a group, would bury the one that counts.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from bot.assistant.exchange import Heard
from bot.assistant.replies import Hint, Logged
from bot.assistant.scene import Outcome
from bot.rendering import Voice, render
from storage.engine import Transaction
from storage.inbox import InboxClaim

__all__ = ["LATE", "considered"]

LATE = timedelta(minutes=30)
"""A message that we come to so much later is old where another waits behind it: our own design rule."""


async def considered(tx: Transaction, outcome: Outcome, heard: Heard, claim: InboxClaim | None) -> Outcome:
    """The outcome of an old log without its answer, where more of the household waits; that we were away is
    said once. Questions, doubts and whoever is in trouble are answered however late it is."""
    scene = outcome.scene
    is_old_log = scene.now - heard.said_at > LATE and all(isinstance(r, Logged) for r in outcome.replies)
    if claim is None or heard.edited_at is not None or not outcome.replies or not is_old_log:
        return outcome
    if not await tx.inbox.more_waits(scene.household_id, claim):
        return outcome
    told = replace(render(Hint(code="caught_up"), Voice.of(scene.choices)), thread=scene.thread)
    await tx.outbox.post(
        scene.household_id,
        scene.chat.id,
        told.as_json(),
        dedupe_key=f"caught_up:{scene.chat.id}:{scene.now:%Y-%m-%dT%H}",
        now=scene.now,
    )
    return replace(outcome, replies=())
