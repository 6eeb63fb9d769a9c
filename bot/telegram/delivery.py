"""The one sender: letters of the outbox go out, chats side by side, each chat's letters in order.

The outbox decides what may go when: it gives one letter a chat at a time, and not before its pace allows.
Here the letters are carried and what became of them is written down; all that ended by now, in the same
transaction that takes the next ones, so that a busy sender costs one commit for many letters.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable
from datetime import datetime, timedelta

from bot.assistant.lost import chat_lost
from bot.telegram.outcomes import Failed, Moved, NotSent, Outcome, Sent, Uncertain
from bot.telegram.translate import PLATFORM
from bot.telegram.waiting import Crew, wait_until_set
from storage.engine import Store, Transaction
from storage.outbox import OutboxClaim

__all__ = ["Delivery"]

SIDE_BY_SIDE = 16
IDLE_S = 5.0
"""How long letters that another process posted may lie unseen. [s]"""

LEASE_S = 90.0
"""Longer than the slowest send: connect, write and read time out before it. [s]"""

SHORTEST_WAIT_S = 0.01

logger = logging.getLogger(__name__)


class Delivery:
    """Carries what the outbox holds.

    carry : sends one letter and says what became of it; never raises.
    clock : the present time, aware.
    idle_s : how long to wait for news at most. [s]
    lease_s : how long a letter is ours alone; must be longer than ``carry`` can take. [s]
    side_by_side : how many chats are served at once.
    """

    def __init__(
        self,
        store: Store,
        carry: Callable[[OutboxClaim], Awaitable[Outcome]],
        *,
        clock: Callable[[], datetime],
        idle_s: float = IDLE_S,
        lease_s: float = LEASE_S,
        side_by_side: int = SIDE_BY_SIDE,
    ) -> None:
        self._store = store
        self._carry = carry
        self._clock = clock
        self._idle_s = idle_s
        self._lease = timedelta(seconds=lease_s)
        self._woken = asyncio.Event()
        self._crew = Crew(side_by_side, self._woken.set)
        self._ended: list[tuple[OutboxClaim, Outcome]] = []

    def wake(self) -> None:
        """There may be new letters."""
        self._woken.set()

    async def run(self, stop: asyncio.Event) -> None:
        """Carries until ``stop`` is set (call ``wake`` after setting it), then ends what is under way."""
        while True:
            try:
                wait_s = await self._turn(taking=not stop.is_set())
            except Exception:
                logger.exception("the outbox cannot be reached; next try in %.0f s", self._idle_s)
                if stop.is_set() and self._crew.is_idle:
                    return  # what was carried is not settled; its lease will run out
                await wait_until_set(self._woken, self._idle_s)
                continue
            if stop.is_set() and self._crew.is_idle and not self._ended:
                return
            await wait_until_set(self._woken, wait_s)

    async def _turn(self, *, taking: bool) -> float:
        """Settles what has ended, takes what may go, and returns how long there is nothing else to do. [s]"""
        settling = len(self._ended)
        claims: list[OutboxClaim] = []
        async with self._store.write() as tx:
            now = self._clock()
            for claim, outcome in self._ended[:settling]:
                await _settle(tx, claim, outcome, now)
            if taking and self._crew.room:
                claims = await tx.outbox.claim(
                    now, platform=PLATFORM, limit=self._crew.room, lease=self._lease
                )
            next_at = await tx.outbox.next_at(PLATFORM) if taking and self._crew.room else None
        del self._ended[:settling]
        for claim in claims:
            self._crew.start(self._carried(claim))
        if next_at is None:
            return self._idle_s
        return min(max((next_at - now).total_seconds(), SHORTEST_WAIT_S), self._idle_s)

    async def _carried(self, claim: OutboxClaim) -> None:
        try:
            outcome = await self._carry(claim)
        except Exception:
            # A letter that we cannot even address would otherwise be tried again for ever.
            logger.exception("letter %d cannot be carried", claim.id)
            outcome = Failed("broken")
        self._ended.append((claim, outcome))


async def _settle(tx: Transaction, claim: OutboxClaim, outcome: Outcome, now: datetime) -> None:
    match outcome:
        case Sent(message, lost_topic):
            await tx.outbox.sent(claim, message, now)
            if lost_topic is not None:
                await tx.households.forget_topic(claim.chat.id, lost_topic)
        case NotSent(after_s, _):
            await tx.outbox.not_sent(claim, now + timedelta(seconds=after_s))
        case Uncertain():
            await tx.outbox.uncertain(claim, now)
        case Moved(address):
            await tx.households.readdress(PLATFORM, claim.chat.address, address, now)
            await tx.outbox.not_sent(claim, now)
        case Failed(code, shut_out):
            await tx.outbox.failed(claim, code)
            if shut_out:
                await chat_lost(tx, claim.chat, now, claim.letter)
