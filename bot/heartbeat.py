"""The beat that moves what is due into the outbox, and the upkeep once a day.

APScheduler beats, and that is all it does: when something falls due is computed in ``domain.routine`` and
stands in the table of reminders, so a beat that came late, twice or not at all changes nothing but the delay.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime, timedelta

from apscheduler.schedulers.asyncio import AsyncIOScheduler
from apscheduler.triggers.interval import IntervalTrigger

from storage.engine import Store

__all__ = ["BEAT_S", "INBOX_KEPT", "OUTBOX_KEPT", "Heartbeat", "tidy"]

BEAT_S = 20.0
"""How late a reminder may be because of the beat alone. [s]"""

UPKEEP_S = 24 * 3600.0

INBOX_KEPT = timedelta(days=7)
"""How long handled messages lie in the inbox as they came: longer than a platform may repeat them (a day),
and long enough to look into a fault. What they said stands in the journal."""

QUESTIONS_KEPT = timedelta(days=7)
"""How long a question of ours is kept that is too old to be answered."""

ASKED_ONCE = frozenset({"ppm_scale"})
"""What is asked once in a household's life, answered or not."""

OUTBOX_KEPT = timedelta(days=90)
"""How long what was sent is kept, for the buttons under it."""

logger = logging.getLogger(__name__)


class Heartbeat:
    """Calls ``tick`` with the time, at the start and every ``every_s`` seconds; ``upkeep`` every day.

    tick : moves what is due at the given time, and returns how many letters that made.
    upkeep : deletes what need not be kept at the given time.
    clock : the present time, aware.
    on_letters : called after a beat that made letters.
    every_s : the time between two beats, above 0. [s]
    """

    def __init__(
        self,
        tick: Callable[[datetime], Awaitable[int]],
        upkeep: Callable[[datetime], Awaitable[None]],
        *,
        clock: Callable[[], datetime],
        on_letters: Callable[[], None],
        every_s: float = BEAT_S,
    ) -> None:
        self._tick = tick
        self._upkeep = upkeep
        self._clock = clock
        self._on_letters = on_letters
        self._at_work = asyncio.Lock()
        self._is_stopping = False
        self._scheduler = AsyncIOScheduler(timezone=UTC)
        for work, interval_s in ((self.beat, every_s), (self.keep_up, UPKEEP_S)):
            self._scheduler.add_job(
                work,
                IntervalTrigger(seconds=interval_s, timezone=UTC),
                next_run_time=datetime.now(UTC),
                coalesce=True,
                max_instances=1,
                misfire_grace_time=None,  # what is late is done all the same
            )

    def start(self) -> None:
        """Begins to beat; needs the running event loop."""
        self._scheduler.start()

    async def stop(self) -> None:
        """Beats no more. A beat that is under way is waited for: the scheduler would break it off."""
        self._is_stopping = True
        self._scheduler.remove_all_jobs()
        async with self._at_work:
            self._scheduler.shutdown(wait=False)
        await asyncio.sleep(0)  # the scheduler ends in the next turn of the loop

    async def beat(self) -> None:
        """One beat. A failure is logged and the next beat tries again: nothing due is lost by it."""
        async with self._at_work:
            if self._is_stopping:
                return
            try:
                moved = await self._tick(self._clock())
            except Exception:
                logger.exception("a beat failed; the next one tries again")
                return
        if moved:
            logger.info("%d letters are due", moved)
            self._on_letters()

    async def keep_up(self) -> None:
        """The day's upkeep. A failure is logged; the next day makes up for it."""
        async with self._at_work:
            if self._is_stopping:
                return
            try:
                await self._upkeep(self._clock())
            except Exception:
                logger.exception("the upkeep failed; it is tried again in a day")


async def tidy(store: Store, now: datetime) -> None:
    """Deletes from both mailboxes what was settled long ago."""
    async with store.write() as tx:
        updates = await tx.inbox.forget(now - INBOX_KEPT)
        letters = await tx.outbox.forget(now - OUTBOX_KEPT)
        await tx.photos.forget_loose(now - INBOX_KEPT)
        await tx.questions.forget(now - QUESTIONS_KEPT, but=ASKED_ONCE)
    await store.scrub()
    logger.info("upkeep: %d updates and %d letters deleted", updates, letters)
