"""When the database is not to be had for a while.

Both troubles are real: another program holds the file's write lock, or the disk takes no more bytes. Ten
seconds of the platform's clock are two of the machine's here; a write waits 0.2 s for the lock (``timeout``
in the database URL; 5 s by default) and the first new try comes 0.05 s after a failure
(``Pace.line_retry_s``; 1 s by default).
"""

from __future__ import annotations

import asyncio
import resource
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import timedelta

from bot_at_home import Child, FastClock, Home, crowd, eventually, someone

from demo.room.platform import Chat, Platform
from domain.facts import Reading

OUTAGE = timedelta(seconds=10)

HOLD_THE_LOCK = """
import sqlite3, sys
held = sqlite3.connect(sys.argv[1], isolation_level=None)
held.execute("BEGIN EXCLUSIVE")
print("held", flush=True)
sys.stdin.read()
"""


@asynccontextmanager
async def locked(home: Home) -> AsyncIterator[None]:
    """Another program has the database to itself."""
    path = home.database_url.removeprefix("sqlite:///").partition("?")[0]
    process = await asyncio.create_subprocess_exec(
        sys.executable,
        "-c",
        HOLD_THE_LOCK,
        path,
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        assert await process.stdout.readline() == b"held\n"
        yield
    finally:
        process.stdin.close()
        await process.wait()


@asynccontextmanager
async def full_disk(child: Child) -> AsyncIterator[None]:
    """No file takes another byte from the bot: its file size limit is nought."""
    before = resource.prlimit(child.pid, resource.RLIMIT_FSIZE)
    resource.prlimit(child.pid, resource.RLIMIT_FSIZE, (0, before[1]))
    try:
        yield
    finally:
        resource.prlimit(child.pid, resource.RLIMIT_FSIZE, before)


async def outlast(home: Home, platform: Platform, clock: FastClock, count: int) -> None:
    """Lets the outage take its time: the bot keeps asking, and neither confirms nor answers anything."""
    sent, polls, ends_at = len(platform.sent), home.polls(), clock() + OUTAGE
    await eventually(lambda: clock() > ends_at and home.polls() > polls + 3, what="polling goes on")
    assert len(platform.pending) == count
    assert len(platform.sent) == sent


async def all_handled_once(home: Home, platform: Platform, chats: list[Chat]) -> None:
    await platform.until(lambda: all(platform.sent_to(chat) for chat in chats), what="a reply for each")
    await platform.settled()
    assert not platform.pending
    for place, chat in enumerate(chats):
        assert [reading.ph for reading in await home.facts(chat) if isinstance(reading, Reading)] == [
            5 + place / 100
        ]
        assert len(platform.sent_to(chat)) == 1


async def test_another_program_locks_the_database(home: Home, platform: Platform, clock: FastClock) -> None:
    """Case 48: inbox database down for 10 s during polling: nothing confirmed; all handled after."""
    home.database_url += "?timeout=0.2"
    await home.start()
    async with locked(home):
        chats = crowd(platform, 3)
        await outlast(home, platform, clock, 3)
    await all_handled_once(home, platform, chats)


async def test_disk_is_full(home: Home, platform: Platform, clock: FastClock) -> None:
    """Case 48: the disk takes no more for 10 s: nothing confirmed; all handled after, by the same process."""
    ana, hers = someone(platform)
    async with home.child() as child:
        platform.say(hers, ana, "ph 6.9")
        await platform.wait_for_sent(1)
        await platform.settled()
        async with full_disk(child):
            chats = crowd(platform, 3)
            await outlast(home, platform, clock, 3)
        await all_handled_once(home, platform, chats)
        assert child.is_running
    assert len(platform.sent_to(hers)) == 1
