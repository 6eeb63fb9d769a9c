"""One program asks for a bot's updates at a time: of two that ask, the platform refuses each in turn.

The turn is a lease in the database. Whoever has it renews it while it asks; another that was started beside
it waits, and takes over when the first has ended, or has died and its lease has run out.
"""

from __future__ import annotations

import asyncio
import logging
import secrets
from collections.abc import Callable, Coroutine
from datetime import datetime, timedelta
from typing import Any

from bot.telegram.waiting import first_of
from storage.engine import Store

__all__ = ["LEASE_S", "RENEW_S", "Turn"]

LEASE_S = 25.0
"""How long after the death of a program another may take over at the latest. [s]"""

RENEW_S = 8.0
"""A third of the lease: one renewal may fail. [s]"""

logger = logging.getLogger(__name__)


class Turn:
    """The right to ask for one bot's updates.

    bot : the bot, with the platform's name before it.
    clock : the present time, aware.
    lease_s : how long the right lasts by that clock. [s]
    renew_s : how often it is renewed, or asked for. [s]
    """

    def __init__(
        self,
        store: Store,
        bot: str,
        *,
        clock: Callable[[], datetime],
        lease_s: float = LEASE_S,
        renew_s: float = RENEW_S,
    ) -> None:
        self._store = store
        self._bot = bot
        self._holder = secrets.token_hex(8)
        self._clock = clock
        self._lease = timedelta(seconds=lease_s)
        self._renew_s = renew_s

    async def run(
        self, poll: Callable[[asyncio.Event], Coroutine[Any, Any, None]], stop: asyncio.Event
    ) -> None:
        """Lets ``poll`` run while the turn is ours, until ``stop`` is set.

        poll : ends when the event it is given is set. What it raises is raised.
        """
        waits = False
        try:
            while not stop.is_set():
                if await self._is_ours():
                    await self._poll_while_ours(poll, stop)
                    waits = False
                    continue
                if not waits:
                    logger.warning("another program asks for this bot's updates; this one stands by")
                waits = True
                await first_of(asyncio.sleep(self._renew_s), stop)
        finally:
            await self._give_up()

    async def _poll_while_ours(
        self, poll: Callable[[asyncio.Event], Coroutine[Any, Any, None]], stop: asyncio.Event
    ) -> None:
        over = asyncio.Event()
        polling = asyncio.ensure_future(poll(over))
        stopping = asyncio.ensure_future(stop.wait())
        try:
            while not (polling.done() or stopping.done()):
                await asyncio.wait(
                    (polling, stopping), timeout=self._renew_s, return_when=asyncio.FIRST_COMPLETED
                )
                if not (polling.done() or stopping.done() or await self._is_ours()):
                    logger.warning("another program has taken over this bot's updates")
                    break
        finally:
            stopping.cancel()
            over.set()
            await polling

    async def _is_ours(self) -> bool:
        """Whether the turn is ours from now on.

        While the database cannot say, we go on: to ask twice is a nuisance, to ask never leaves the bot deaf.
        """
        try:
            async with self._store.note() as tx:
                return await tx.pollers.take(self._bot, self._holder, self._clock(), self._lease)
        except Exception:
            logger.exception("the turn to ask for updates cannot be renewed")
            return True

    async def _give_up(self) -> None:
        try:
            async with self._store.note() as tx:
                await tx.pollers.give_up(self._bot, self._holder)
        except Exception:
            logger.exception("the turn to ask for updates is not given up; it runs out by itself")
