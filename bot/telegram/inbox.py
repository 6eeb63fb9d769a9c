"""The door: whatever comes from the platform is committed to the inbox before it is confirmed."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable, Collection, Sequence
from datetime import datetime

from bot.telegram.translate import PLATFORM, Envelope, envelope
from storage.engine import Store, Transaction

__all__ = ["Door"]

logger = logging.getLogger(__name__)


class Door:
    """Takes updates in, each exactly once by its number.

    store : where the inbox is.
    clock : the present time, aware.
    allowed_chats : the chats that are served; empty: any. What comes from elsewhere is not kept.
    on_kept : called when there is something new for the workers.
    """

    def __init__(
        self,
        store: Store,
        *,
        clock: Callable[[], datetime],
        on_kept: Callable[[], None],
        allowed_chats: Collection[str] = (),
    ) -> None:
        self._store = store
        self._clock = clock
        self._on_kept = on_kept
        self._allowed_chats = frozenset(allowed_chats)

    async def keep(self, updates: Sequence[object]) -> int | None:
        """Commits a batch as it came, in one transaction, and returns the last update's number.

        Only when this has returned may the platform be told that the updates arrived. ``None``: none of them
        has a number. Raises what the store raises; then nothing of the batch is kept.
        """
        last: int | None = None
        async with self._store.write() as tx:
            for update in updates:
                outside = envelope(update)
                if outside is None:
                    await tx.inbox.set_aside(None, json.dumps(update), "no_update_id", self._clock())
                    continue
                last = outside.update_id
                if self._is_served(outside):
                    await self._put(tx, outside, update)
        self._on_kept()
        return last

    def _is_served(self, outside: Envelope) -> bool:
        return not self._allowed_chats or outside.chat in self._allowed_chats

    async def _put(self, tx: Transaction, outside: Envelope, update: object) -> None:
        now = self._clock()
        if outside.chat is None:
            household = f"update:{outside.update_id}"  # nobody's: no order to keep
        else:
            household = await tx.inbox.household_key(PLATFORM, outside.chat)
        # ASCII JSON: a half surrogate pair or a NUL stays an escape and any database can keep it.
        await tx.inbox.put(
            f"{PLATFORM}:{outside.update_id}", household, outside.sent_at or now, json.dumps(update), now
        )
