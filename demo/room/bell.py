"""A bell that wakes whoever waits for a change."""

from __future__ import annotations

import asyncio
import contextlib

__all__ = ["Bell"]


class Bell:
    """Wakes every waiter at each ring; a ring with nobody waiting is not kept.

    A waiter looks at the state and then waits, in one step of the event loop, so no ring is missed.
    """

    def __init__(self) -> None:
        self._rung = asyncio.Event()

    def ring(self) -> None:
        """Wake everybody who waits now."""
        self._rung.set()
        self._rung = asyncio.Event()

    async def wait(self, timeout_s: float | None = None) -> None:
        """Return at the next ring, or after ``timeout_s``. [s]"""
        rung = self._rung
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(rung.wait(), timeout_s)
