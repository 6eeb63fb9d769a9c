"""The assistant's line to the platform: python-telegram-bot's ``Bot`` with our time limits.

The library's ``Updater`` and ``Application`` stay unused, for what they promise is less than we do. They
confirm an update before it is handled, cancel a commit that is under way when they stop, end silently on an
error that is none of theirs, and ask again for ever for a batch in which one update cannot be parsed.
Fetching is a dozen lines (``bot.telegram.fetch``); the methods, types and errors of the library are what we
build on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from telegram import Bot

from bot.telegram.line import Line
from bot.telegram.translate import ALLOWED_UPDATES

__all__ = ["Client", "Limits", "make_client"]


@dataclass(frozen=True, slots=True)
class Limits:
    """How long the line may take.

    poll_s : how long the platform holds a request for news, 0 to 50 (it allows no more). [s]
    connect_s, read_s, write_s : for one request. A read that times out may have been taken. [s]
    pool_s : how long a request waits for a free connection; then it was surely not sent. [s]
    connections : how many requests may be under way at once.
    """

    poll_s: int = 30
    connect_s: float = 5.0
    read_s: float = 10.0
    write_s: float = 5.0
    pool_s: float = 2.0
    connections: int = 32


class Client(Bot):
    """A ``Bot`` that can also ask for updates as they came, unparsed."""

    async def fetch(self, offset: int, hold_s: int) -> Sequence[object]:
        """The next updates as bare JSON; the platform forgets those before ``offset``.

        offset : the first number that is wanted; 0: whatever was not yet confirmed.
        hold_s : how long to wait for news. [s]
        Raises TelegramError.
        """
        read_s = (self.request.read_timeout or 0.0) + hold_s
        asked: dict[str, Any] = {"timeout": hold_s, "allowed_updates": list(ALLOWED_UPDATES)}
        if offset:
            asked["offset"] = offset
        # The public get_updates parses the whole batch or none of it.
        answer = await self._post("getUpdates", asked, read_timeout=read_s)
        return answer if isinstance(answer, list) else []


def make_client(token: str, api_url: str, limits: Limits) -> Client:
    """A client for the Bot API at ``api_url`` (what stands before ``/bot<token>``)."""
    return Client(
        token,
        base_url=f"{api_url}/bot",
        base_file_url=f"{api_url}/file/bot",
        request=_line(limits, limits.connections, api_url),
        get_updates_request=_line(limits, 2, api_url),
    )


def _line(limits: Limits, connections: int, api_url: str) -> Line:
    # A proxy of the surroundings must not see a call to this machine.
    local = api_url.startswith(("http://127.0.0.1", "http://localhost"))
    return Line(
        connections=connections,
        connect_s=limits.connect_s,
        read_s=limits.read_s,
        write_s=limits.write_s,
        pool_s=limits.pool_s,
        trust_env=not local,
    )
