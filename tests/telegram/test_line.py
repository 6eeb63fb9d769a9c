"""The line itself, against a server on this machine."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

import pytest
from aiohttp import web
from telegram.error import TimedOut
from telegram.request import RequestData

from bot.telegram.line import Line

PIECES, PAUSE_S = 8, 0.1


@asynccontextmanager
async def served(**handlers: Any) -> AsyncIterator[tuple[str, Line]]:
    """A server with these paths, and a line to it with short limits."""
    app = web.Application()
    app.add_routes([web.route("*", f"/{name}", handler) for name, handler in handlers.items()])
    runner = web.AppRunner(app)
    await runner.setup()
    site = web.TCPSite(runner, "127.0.0.1", 0)
    await site.start()
    port = runner.addresses[0][1]
    line = Line(connections=2, connect_s=0.2, read_s=0.3, write_s=0.1, pool_s=0.2, trust_env=False)
    await line.initialize()
    try:
        yield f"http://127.0.0.1:{port}", line
    finally:
        await line.shutdown()
        await runner.cleanup()


async def dripping(request: web.Request) -> web.StreamResponse:
    """A file over a slow line: longer than all limits together, never silent for as long as one."""
    answer = web.StreamResponse()
    await answer.prepare(request)
    for _ in range(PIECES):
        await asyncio.sleep(PAUSE_S)
        await answer.write(b"x")
    return answer


async def silent(_: web.Request) -> web.Response:
    await asyncio.sleep(5)
    return web.Response()


async def test_a_file_may_take_long_as_long_as_bytes_come() -> None:
    async with served(file=dripping) as (address, line):
        assert await line.do_request(f"{address}/file", "GET") == (200, b"x" * PIECES)


async def test_a_server_that_falls_silent_is_given_up() -> None:
    async with served(file=silent) as (address, line):
        with pytest.raises(TimedOut):
            await line.do_request(f"{address}/file", "GET")


async def test_what_was_said_is_sent_nowhere_else() -> None:
    reached: list[str] = []

    async def elsewhere(request: web.Request) -> web.Response:
        reached.append(await request.text())
        return web.Response()

    async def moved(_: web.Request) -> web.Response:
        raise web.HTTPTemporaryRedirect("/elsewhere")

    async with served(say=moved, elsewhere=elsewhere) as (address, line):
        status, _ = await line.do_request(f"{address}/say", "POST", RequestData([]))
    assert (status, reached) == (307, [])
