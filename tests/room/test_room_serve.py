"""The room as it is opened at the command line: a child that lives, dies and comes back, and a memory."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import socket
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from aiohttp import ClientSession

from demo.room.household import GROUP_TITLE, PEOPLE
from demo.room.serve import RoomError, serve

LITTLE_BOT = [sys.executable, str(Path(__file__).with_name("little_bot.py"))]
WREN = PEOPLE[0][0]


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


class Visitor:
    """Somebody at the page, through the paths that the page uses."""

    def __init__(self, session: ClientSession, port: int) -> None:
        self._session = session
        self._base = f"http://127.0.0.1:{port}/room/api/"

    async def get(self, path: str) -> Any:
        async with self._session.get(self._base + path) as response:
            return (await response.json())["result"]

    async def say(self, text: str) -> None:
        said = {"chat": WREN, "person": WREN, "text": text}
        async with self._session.post(self._base + "say", json=said) as response:
            assert response.status == 200

    async def confirmed(self) -> None:
        async with asyncio.timeout(10):
            while (await self.get("state"))["pending"]:  # noqa: ASYNC110 - it is asked over HTTP
                await asyncio.sleep(0.05)

    async def heard(self, count: int) -> list[str]:
        return [item["text"] for item in await self.get(f"sent?n={count}&timeout=20")]


@asynccontextmanager
async def opened(home: Path, said: Callable[[str], None]) -> AsyncIterator[Visitor]:
    port = free_port()
    is_open = asyncio.Event()

    def announce(line: str) -> None:
        said(line)
        is_open.set()

    room = asyncio.create_task(serve(port, home, announce, command=LITTLE_BOT))
    await asyncio.wait_for(is_open.wait(), 10)
    try:
        async with ClientSession() as session:
            yield Visitor(session, port)
    finally:
        os.kill(os.getpid(), signal.SIGTERM)
        await asyncio.wait_for(room, 20)


async def test_the_bot_answers_and_leaves_cleanly(tmp_path: Path) -> None:
    lines: list[str] = []
    async with opened(tmp_path, lines.append) as visitor:
        await visitor.say("ph 6.1")
        assert await visitor.heard(1) == ["heard ph 6.1"]
    assert (tmp_path / "left.txt").read_text() == "cleanly"
    assert lines[0].startswith("The room is open: http://127.0.0.1:")
    assert any("/start" in line for line in lines)


async def test_the_bot_is_given_the_room_and_nothing_of_the_real_world(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RILLKEEPER_WEBHOOK_URL", "https://example.invalid")
    monkeypatch.setenv("RILLKEEPER_TOKEN", "1:somebody-elses")
    async with opened(tmp_path, lambda _: None) as visitor:
        await visitor.say("hello")
        await visitor.heard(1)
        settings = json.loads((tmp_path / "settings.json").read_text())
    assert settings["RILLKEEPER_DATABASE_URL"] == f"sqlite:///{tmp_path}/rillkeeper.db"
    assert settings["RILLKEEPER_TOKEN"] != "1:somebody-elses"
    assert "RILLKEEPER_WEBHOOK_URL" not in settings


async def test_a_bot_that_is_killed_comes_back_to_what_it_had_in_hand(tmp_path: Path) -> None:
    lines: list[str] = []
    async with opened(tmp_path, lines.append) as visitor:
        await visitor.say("one")
        await visitor.heard(1)
        await visitor.say("die")
        assert await visitor.heard(2) == ["heard one", "heard die"]
    assert any(line.startswith("The bot ended (code -9)") for line in lines)


async def test_the_room_remembers(tmp_path: Path) -> None:
    lines: list[str] = []
    async with opened(tmp_path, lines.append) as visitor:
        await visitor.say("ph 6.1")
        await visitor.heard(1)
        # An answer may go out before its update is confirmed; the room would rightly give that one again.
        await visitor.confirmed()
    async with opened(tmp_path, lines.append) as visitor:
        shown = [line["html"] for line in await visitor.get(f"chats/{WREN}")]
        assert shown == ["ph 6.1", "heard ph 6.1"]
        state = await visitor.get("state")
        assert [person["name"] for person in state["people"]] == [name for _, name in PEOPLE]
        assert [chat["title"] for chat in state["chats"] if not chat["private"]] == [GROUP_TITLE]
        await visitor.say("and again")
        assert await visitor.heard(1) == ["heard and again"]
    assert any("remembers" in line for line in lines)


async def test_a_second_signal_does_not_wait_for_a_bot_that_will_not_leave(tmp_path: Path) -> None:
    stubborn = (
        "import signal, time; signal.signal(15, signal.SIG_IGN); open('on.txt', 'w').close(); time.sleep(600)"
    )
    lines: list[str] = []
    room = asyncio.create_task(serve(free_port(), tmp_path, lines.append, [sys.executable, "-c", stubborn]))
    async with asyncio.timeout(10):
        while not (tmp_path / "on.txt").exists():  # noqa: ASYNC110 - another process writes it
            await asyncio.sleep(0.05)
        os.kill(os.getpid(), signal.SIGTERM)
        while not any(line.startswith("Closing") for line in lines):  # noqa: ASYNC110 - as above
            await asyncio.sleep(0.05)
        os.kill(os.getpid(), signal.SIGTERM)
        await room
    assert lines[-1].startswith("Closed")


async def test_a_port_that_is_taken_is_told_in_one_line(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(RoomError) as refused:
            await serve(port, tmp_path, lambda _: None, command=LITTLE_BOT)
    assert str(port) in str(refused.value)
    assert "--port" in str(refused.value)
    assert "\n" not in str(refused.value)
