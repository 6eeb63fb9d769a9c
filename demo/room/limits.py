"""The platform's pace: a chat, a group, and everybody together."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable
from datetime import datetime, timedelta

from demo.room.wire import Refusal

__all__ = ["Pace"]

# One message a second in a chat, 20 a minute in a group, about 30 a second overall (Telegram, Bots FAQ).
# The real figures move; a bot obeys the 429, not the number.
_CHAT = (1, timedelta(seconds=1))
_GROUP = (20, timedelta(minutes=1))
_OVERALL = (30, timedelta(seconds=1))


class Pace:
    """Counts sends and edits, and refuses with 429 what comes too fast. A refused call does not count."""

    def __init__(self, clock: Callable[[], datetime]) -> None:
        self._clock = clock
        self._seen: dict[str, deque[datetime]] = {}

    def check(self, chat_id: int) -> None:
        """Count one send to a chat. Raises Refusal 429 with ``retry_after``, at least 1. [s]"""
        now = self._clock()
        windows = [("all", _OVERALL), (f"chat {chat_id}", _CHAT)]
        if chat_id < 0:
            windows.append((f"group {chat_id}", _GROUP))
        wait = max((self._wait(name, most, span, now) for name, (most, span) in windows), default=timedelta())
        if wait > timedelta():
            seconds = max(1, math.ceil(wait.total_seconds()))
            raise Refusal(429, f"Too Many Requests: retry after {seconds}", {"retry_after": seconds})
        for name, _ in windows:
            self._seen.setdefault(name, deque()).append(now)

    def _wait(self, name: str, most: int, span: timedelta, now: datetime) -> timedelta:
        seen = self._seen.get(name, deque())
        while seen and now - seen[0] >= span:
            seen.popleft()
        return span - (now - seen[0]) if len(seen) >= most else timedelta()
