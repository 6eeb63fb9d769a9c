"""HTTP under python-telegram-bot, by aiohttp instead of httpx.

Most of what a bot does is requests, and each costs the processor a fraction of what it costs there
(``make bench`` shows the whole path). The library leaves this place for it: ``BaseRequest``.
"""

from __future__ import annotations

import asyncio
import ssl
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any
from urllib.parse import urlencode

import aiohttp
import certifi
from telegram.error import NetworkError, TimedOut
from telegram.request import BaseRequest, RequestData

__all__ = ["Line", "NoFreeConnection"]

IDLE_S = 5.0
"""A connection that was idle for so long is not used again: the platform may be closing it. [s]"""

FORM = "application/x-www-form-urlencoded"


class NoFreeConnection(TimeoutError):
    """Every connection was in use for as long as we wait for one; nothing was sent."""


class Line(BaseRequest):
    """Requests to one server.

    connections : how many may be under way at once.
    connect_s, read_s, write_s : time limits; a read counts from the last byte that came. [s]
    pool_s : how long a request waits for a free connection. [s]
    trust_env : go through the proxy that the surroundings name.
    Every TelegramError of the line's making has the fault itself as its cause.
    """

    def __init__(
        self,
        *,
        connections: int,
        connect_s: float,
        read_s: float,
        write_s: float,
        pool_s: float,
        trust_env: bool,
    ) -> None:
        self._free = asyncio.Semaphore(connections)
        self._connect_s = connect_s
        self._read_s = read_s
        self._write_s = write_s
        self._pool_s = pool_s
        self._trust_env = trust_env
        self._session: aiohttp.ClientSession | None = None

    @property
    def read_timeout(self) -> float:
        """How long an answer may take. [s]"""
        return self._read_s

    async def initialize(self) -> None:
        """Opens no connection yet."""
        if self._session is None:
            known = ssl.create_default_context(cafile=certifi.where())
            # How many there are at once is counted here, where waiting for one can be told from connecting.
            connector = aiohttp.TCPConnector(limit=0, keepalive_timeout=IDLE_S, ssl=known)
            self._session = aiohttp.ClientSession(
                connector=connector,
                trust_env=self._trust_env,
                cookie_jar=aiohttp.DummyCookieJar(),
                headers={"User-Agent": self.USER_AGENT},
            )

    async def shutdown(self) -> None:
        """Closes all connections."""
        session, self._session = self._session, None
        if session is not None:
            await session.close()

    async def do_request(
        self,
        url: str,
        method: str,
        request_data: RequestData | None = None,
        read_timeout: Any = BaseRequest.DEFAULT_NONE,
        write_timeout: Any = BaseRequest.DEFAULT_NONE,
        connect_timeout: Any = BaseRequest.DEFAULT_NONE,
        pool_timeout: Any = BaseRequest.DEFAULT_NONE,
    ) -> tuple[int, bytes]:
        """The status and the body of the answer. Raises TimedOut and NetworkError.

        A time limit that the caller does not set is the one of this line.
        """
        read_s = _chosen(read_timeout, self._read_s)
        connect_s = _chosen(connect_timeout, self._connect_s)
        write_s = _chosen(write_timeout, self._write_s)
        # A file that is fetched may be long and the line slow; while bytes come, it is going well.
        total_s = None if request_data is None else connect_s + write_s + read_s
        limits = aiohttp.ClientTimeout(total=total_s, sock_connect=connect_s, sock_read=read_s)
        try:
            async with self._connection(_chosen(pool_timeout, self._pool_s)) as session:
                # The platform sends nobody elsewhere; what does must not get what was said.
                sending = session.request(
                    method, url, timeout=limits, allow_redirects=False, **_body(request_data)
                )
                async with sending as answer:
                    return answer.status, await answer.read()
        except TimeoutError as error:
            raise TimedOut from error
        except aiohttp.ClientError as error:
            # What the library's errors say can name the address, and with it the token.
            raise NetworkError(type(error).__name__) from error

    @asynccontextmanager
    async def _connection(self, wait_s: float) -> AsyncIterator[aiohttp.ClientSession]:
        if self._session is None:
            raise RuntimeError("the line is closed")
        try:
            await asyncio.wait_for(self._free.acquire(), wait_s)
        except TimeoutError:
            raise NoFreeConnection from None
        try:
            yield self._session
        finally:
            self._free.release()


def _chosen(given: Any, else_s: float) -> float:
    return else_s if given is None or given is BaseRequest.DEFAULT_NONE else float(given)


def _body(given: RequestData | None) -> dict[str, Any]:
    if given is None:
        return {}
    if not given.contains_files:
        return {"data": urlencode(given.json_parameters).encode(), "headers": {"Content-Type": FORM}}
    form = aiohttp.FormData()
    for name, value in given.json_parameters.items():
        form.add_field(name, value)
    for name, (file_name, content, mime_type) in given.multipart_data.items():
        form.add_field(name, content, filename=file_name, content_type=mime_type)
    return {"data": form}
