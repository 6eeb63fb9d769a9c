"""Waiting and side-by-side work, such that no task is ever left behind."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from datetime import timedelta
from typing import Any, TypeVar

from telegram.error import RetryAfter

__all__ = ["Crew", "first_of", "seconds_of", "wait_until_set"]

T = TypeVar("T")


async def first_of(work: Coroutine[Any, Any, T], stop: asyncio.Event) -> T | None:
    """What ``work`` gives, or ``None`` if ``stop`` is set before; then ``work`` is cancelled and has ended.

    Meant for work that may be broken off at any time: a request for news, a sleep. Never for a commit.
    """
    working = asyncio.ensure_future(work)
    stopping = asyncio.ensure_future(stop.wait())
    try:
        await asyncio.wait((working, stopping), return_when=asyncio.FIRST_COMPLETED)
        return working.result() if working.done() else None
    finally:
        for task in (working, stopping):
            task.cancel()
        await asyncio.gather(working, stopping, return_exceptions=True)


async def wait_until_set(event: asyncio.Event, at_most_s: float) -> None:
    """Returns when ``event`` is set or the time is over, and clears it."""
    if not event.is_set() and at_most_s > 0:
        timer = asyncio.get_running_loop().call_later(at_most_s, event.set)
        try:
            await event.wait()
        finally:
            timer.cancel()
    event.clear()


def seconds_of(error: RetryAfter) -> float:
    """How long the platform wants us to wait. [s]"""
    after = error.retry_after  # a number where the surroundings tell the library so
    return after.total_seconds() if isinstance(after, timedelta) else float(after)


class Crew:
    """Tasks that run side by side, at most ``size`` of them.

    on_done : called when one of them has ended.
    """

    def __init__(self, size: int, on_done: Callable[[], None]) -> None:
        self._size = size
        self._on_done = on_done
        self._tasks: set[asyncio.Task[None]] = set()

    @property
    def room(self) -> int:
        """How many more may be started."""
        return max(0, self._size - len(self._tasks))

    @property
    def is_half_free(self) -> bool:
        """At least half of them may be started: worth a trip to the database."""
        return 2 * self.room >= self._size

    @property
    def is_idle(self) -> bool:
        return not self._tasks

    def start(self, work: Coroutine[Any, Any, None]) -> None:
        task = asyncio.create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._ended)

    def _ended(self, task: asyncio.Task[None]) -> None:
        self._tasks.discard(task)
        self._on_done()
