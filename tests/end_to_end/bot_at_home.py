"""A home for the tests: the real bot, over real HTTP, against a stand-in of the platform on this machine.

The room's clock can run fast, so that a pause which the platform asks for takes a moment; every wait is for
something that can be seen, with a deadline.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from bot.settings import Settings
from bot.telegram.application import run_bot
from bot.telegram.client import Limits
from bot.telegram.service import Pace
from demo.room.platform import Chat, Person, Platform
from domain.facts import Fact
from domain.journal import Entry
from storage.engine import Store, open_store
from storage.journal import StoredRevision
from storage.reminders import ReminderRow

CHILD = Path(__file__).with_name("child_bot.py")
ROOT = Path(__file__).parents[2]

QUICK = Pace(
    limits=Limits(poll_s=5, read_s=2.0),
    beat_s=0.1,
    inbox_idle_s=0.05,
    inbox_retry_s=0.05,
    outbox_idle_s=0.05,
    line_retry_s=0.05,
    turn_lease_s=5.0,
    turn_renew_s=0.1,
)
"""The bot's own pauses, shortened. Leases keep their length: the fast clock shortens them."""


class FastClock:
    """A clock of the room's own, which both the platform and the bot go by.

    at : where it begins.
    rate : how many of its seconds pass in one of the machine's.
    """

    def __init__(self, at: datetime, rate: float) -> None:
        self._at = at
        self.rate = rate
        self._began_s = time.monotonic()

    def __call__(self) -> datetime:
        return self._at + timedelta(seconds=(time.monotonic() - self._began_s) * self.rate)

    def jump(self, ahead: timedelta) -> None:
        self._at += ahead

    def run_at(self, rate: float) -> None:
        """From now on so many seconds in one of the machine's."""
        self._at, self._began_s, self.rate = self(), time.monotonic(), rate


class Home:
    """A platform, a database, and the bot that can be started and stopped between them."""

    def __init__(self, platform: Platform, clock: FastClock, folder: Path) -> None:
        self.platform = platform
        self.clock = clock
        self.database_url = f"sqlite:///{folder / 'rillkeeper.db'}"
        self.store: Store = open_store(self.database_url)
        self.pace = QUICK
        self.more_settings: dict[str, str] = {}
        self._stop: asyncio.Event | None = None
        self._task: asyncio.Task[None] | None = None

    @property
    def settings(self) -> Settings:
        return Settings(
            _env_file=None,
            token=self.platform.token,
            api_url=self.platform.base_url,
            database_url=self.database_url,
            **self.more_settings,
        )

    async def run_to_its_end(self) -> None:
        """Runs a bot that is expected to end by itself; raises what it raises."""
        await asyncio.wait_for(run_bot(self.settings, clock=self.clock, pace=self.pace), 10)

    async def start(self, **pace: object) -> None:
        """Starts the bot; it has asked for updates when this returns."""
        self._stop = asyncio.Event()
        polls, hooks = self.polls(), self._calls("setWebhook")
        running = run_bot(self.settings, clock=self.clock, stop=self._stop, pace=replace(self.pace, **pace))
        self._task = asyncio.create_task(running)
        await self.platform.until(
            lambda: self.polls() > polls or self._calls("setWebhook") > hooks, what="the first poll"
        )

    async def stop(self) -> None:
        """Stops the bot as SIGTERM does, and waits for its end."""
        if self._stop is not None and self._task is not None:
            self._stop.set()
            await self._task
        self._stop = self._task = None

    async def ended(self) -> None:
        """Waits until the bot has ended by itself; raises what it raised."""
        assert self._task is not None
        task, self._stop, self._task = self._task, None, None
        await asyncio.wait_for(task, 10)

    def polls(self) -> int:
        """How often the bot has asked for updates."""
        return self._calls("getUpdates")

    def _calls(self, method: str) -> int:
        return sum(call.method == method for call in self.platform.calls)

    async def entries(self, chat: Chat) -> list[Entry]:
        """What stands in the journal of the chat's household."""
        async with self.store.read() as tx:
            known = await tx.households.find_chat("telegram", str(chat.id))
            return await tx.journal.entries(known.household_id) if known else []

    async def facts(self, chat: Chat) -> list[Fact]:
        return [entry.fact for entry in await self.entries(chat)]

    async def history(self, chat: Chat, message: int) -> list[StoredRevision]:
        """All that was ever kept of one message."""
        async with self.store.read() as tx:
            known = await tx.households.find_chat("telegram", str(chat.id))
            return await tx.journal.history(known.id, str(message)) if known else []

    async def reminders(self, chat: Chat) -> list[ReminderRow]:
        """What the chat's household is to be reminded of."""
        async with self.store.read() as tx:
            known = await tx.households.find_chat("telegram", str(chat.id))
            return await tx.reminders.of(known.household_id) if known else []

    async def until_facts(self, chat: Chat, count: int) -> list[Fact]:
        """Waits until so many facts stand in the journal of the chat's household."""

        async def enough() -> bool:
            return len(await self.facts(chat)) >= count

        await eventually(enough, what=f"{count} facts")
        return await self.facts(chat)

    @asynccontextmanager
    async def child(self, *arguments: str) -> AsyncIterator[Child]:
        """The bot in a process of its own, up and running; killed at the end if it still runs."""
        await self.store.upgrade()
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            str(CHILD),
            self.clock().isoformat(),
            str(self.clock.rate),
            *arguments,
            stdout=asyncio.subprocess.PIPE,
            cwd=ROOT,
            env={
                "PATH": os.environ.get("PATH", ""),
                "PYTHONPATH": str(ROOT),
                "RILLKEEPER_TOKEN": self.platform.token,
                "RILLKEEPER_API_URL": self.platform.base_url,
                "RILLKEEPER_DATABASE_URL": self.database_url,
            },
        )
        child = Child(process)
        try:
            await child.says("ready")  # on a busy machine a start takes longer than what is waited for next
            yield child
        finally:
            if process.returncode is None:
                await child.kill()


class Child:
    """A bot in a process of its own. It writes a line for whatever a test may wait for."""

    def __init__(self, process: asyncio.subprocess.Process) -> None:
        self._process = process

    @property
    def pid(self) -> int:
        return self._process.pid

    @property
    def is_running(self) -> bool:
        return self._process.returncode is None

    async def says(self, word: str) -> None:
        """Waits for a line."""
        assert self._process.stdout is not None
        async with asyncio.timeout(40):
            while line := await self._process.stdout.readline():
                if line.decode().strip() == word:
                    return
        raise AssertionError(f"the bot ended without saying {word!r}")

    async def kill(self) -> None:
        """As a power cut does it: SIGKILL."""
        self._process.kill()
        await self._process.wait()

    async def terminate(self) -> int:
        """SIGTERM; gives the exit code."""
        self._process.send_signal(signal.SIGTERM)
        async with asyncio.timeout(10):
            return await self._process.wait()


def someone(platform: Platform, number: int = 5, name: str = "Ana") -> tuple[Person, Chat]:
    """A person and their own chat with the bot."""
    person = platform.person(number, name)
    return person, platform.private_chat(person)


def crowd(platform: Platform, count: int) -> list[Chat]:
    """So many people, each of whom has sent one reading, all different."""
    chats = []
    for place in range(count):
        person, chat = someone(platform, 100 + place, f"Person {place}")
        platform.say(chat, person, f"ph {5 + place / 100:.2f}")
        chats.append(chat)
    return chats


async def eventually(condition: Callable[[], object], *, deadline_s: float = 10.0, what: str = "it") -> None:
    """Waits until ``condition``, plain or a coroutine function, holds; looked at a hundred times a second."""
    end_s = time.monotonic() + deadline_s
    while True:
        holds = condition()
        if asyncio.iscoroutine(holds):
            holds = await holds
        if holds:
            return
        if time.monotonic() > end_s:
            raise AssertionError(f"not in {deadline_s} s: {what}")
        await asyncio.sleep(0.01)
