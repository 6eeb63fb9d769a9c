"""A chat that can no longer be written to: what was told there is told elsewhere, and that is said."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from bot.assistant.exchange import GENERAL
from bot.assistant.household_replies import ChatLost
from bot.rendering import Voice, render
from domain.household import choices
from storage.engine import Transaction
from storage.households import Chat

__all__ = ["chat_lost"]


async def chat_lost(
    tx: Transaction, chat: Chat, now: datetime, undelivered: Mapping[str, Any] | None = None
) -> None:
    """Closes the chat; tells another chat of the household once, and lets its reminders go there.

    undelivered : the letter that could not be delivered; a reminder is told in the other chat.

    What somebody asked for in their own words waits for them. Where the household has no other chat, all of
    it waits. Needs a write transaction; idempotent.
    """
    known = await tx.households.chat_by_id(chat.id)
    if known is None or not known.active:
        return
    await tx.households.set_active(chat.id, False, now)
    others = [each for each in await tx.households.chats(known.household_id) if each.active]
    told = next((each for each in others if not each.private), None) or next(iter(others), None)
    if told is None:
        return
    await tx.reminders.release(chat.id)
    chosen = choices(await tx.journal.entries(known.household_id))
    letter = render(ChatLost(title=known.title, private=known.private), Voice.of(chosen))
    key = f"lost:{chat.id}:{int(now.timestamp())}"
    await tx.outbox.post(known.household_id, told.id, letter.as_json(), dedupe_key=key, now=now)
    if undelivered is not None and undelivered.get("kind") == "reminder":
        again = {**undelivered, "thread": GENERAL}
        await tx.outbox.post(known.household_id, told.id, again, dedupe_key=f"{key}:again", now=now)
