"""The room, open: the stand-in platform, the page, and the real bot as a child beside them."""

from __future__ import annotations

import asyncio
import contextlib
import errno
import os
import signal
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from time import monotonic

from demo.room.household import SUGGESTIONS, move_in
from demo.room.memory import Memory
from demo.room.pages import add_page
from demo.room.platform import TOKEN, Platform
from demo.room.playing import Playing
from demo.room.understood import Understanding

__all__ = ["BotProcess", "RoomError", "environment", "serve"]

Announce = Callable[[str], None]

_CHECKOUT = Path(__file__).resolve().parents[2]
_REAL_BOT = (sys.executable, "-m", "bot", "run")
_LONGEST_PAUSE_S = 30.0
_HEALTHY_S = 20.0
"""A bot that lived this long was well: the next restart comes at once again. [s]"""
_LAST_WORDS_S = 15.0
"""How long the bot may take to finish what it has in hand. [s]"""


class RoomError(Exception):
    """The room cannot open. Its text is one line that says what to do."""


async def serve(
    port: int = 8765,
    home: Path = Path(".room"),
    announce: Announce = print,
    command: Sequence[str] | None = None,
) -> None:
    """Open the room on http://127.0.0.1:``port`` until Ctrl-C or SIGTERM.

    home : the folder that remembers people, chats and the bot's journal between visits.
    announce : is given each line for the person at the terminal.
    command : what to run as the bot; default: this Python with ``-m bot run``.
    Raises RoomError, with one line that says what to do, where the port is taken.
    """
    home = _made(home)
    platform = Platform(token=TOKEN, username="rillkeeper_room_bot")
    memory = Memory(platform.room, home)
    remembered = memory.recall()
    move_in(platform)
    platform.extend(add_page)
    understanding = Understanding(_database(home))
    platform.extend(understanding.add_route)
    platform.extend(Playing(platform).add_route)
    try:
        await platform.start(port)
    except OSError as error:
        raise RoomError(_cannot_open(port, error)) from None
    _greet(announce, platform, home, remembered=remembered)
    bot = BotProcess(command or _REAL_BOT, environment(platform, home), home, announce)
    bot.on_change = platform.control.tell_awake
    keeping = asyncio.create_task(memory.keep_up())
    running = asyncio.create_task(bot.run())
    with _signals(again=bot.kill) as stop:
        try:
            await stop.wait()
            announce("Closing: the bot finishes what it has in hand ...")
        finally:
            running.cancel()
            await asyncio.gather(running, return_exceptions=True)
            await platform.stop()
            keeping.cancel()
            await asyncio.gather(keeping, return_exceptions=True)
            await understanding.close()
    announce("Closed. Everything is kept in " + str(home))


def _database(home: Path) -> Path:
    return home / "rillkeeper.db"


def _made(folder: Path) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    return folder.resolve()


def _cannot_open(port: int, error: OSError) -> str:
    if error.errno == errno.EADDRINUSE:
        other = port + 1 if port < 65535 else 8765
        return f"Port {port} is taken. Close what uses it, or choose another: rillkeeper room --port {other}"
    return f"Port {port} cannot be opened ({error.strerror}). Choose another: rillkeeper room --port 8765"


def environment(platform: Platform, home: Path) -> dict[str, str]:
    """The surroundings of the bot: ours, with its settings for the room in place of any others."""
    ours = {name: value for name, value in os.environ.items() if not name.startswith("RILLKEEPER_")}
    path = os.pathsep.join(filter(None, [str(_CHECKOUT), ours.get("PYTHONPATH", "")]))
    return {
        **ours,
        "PYTHONPATH": path,
        "NO_PROXY": "127.0.0.1,localhost",
        "RILLKEEPER_TOKEN": platform.token,
        "RILLKEEPER_API_URL": platform.base_url,
        "RILLKEEPER_DATABASE_URL": f"sqlite:///{_database(home).as_posix()}",
        "RILLKEEPER_LOG_LEVEL": os.environ.get("RILLKEEPER_LOG_LEVEL") or "WARNING",
    }


def _greet(announce: Announce, platform: Platform, home: Path, *, remembered: bool) -> None:
    announce(f"The room is open: http://127.0.0.1:{platform.port}")
    if remembered:
        announce(f"It remembers your last visit ({home}); delete that folder to start afresh.")
    first = ", then ".join(f"`{text}`" for text in SUGGESTIONS["private"][:3])
    announce(f"Open it in a browser and type {first}.")
    announce("Nothing leaves this machine. Ctrl-C closes the room.")


class BotProcess:
    """The bot as a child process: started again whenever it ends, stopped with SIGTERM.

    command : the program and its arguments.
    env : its environment, whole.
    folder : where it runs; it reads no ``.env`` of the checkout there.
    """

    def __init__(
        self, command: Sequence[str], env: Mapping[str, str], folder: Path, announce: Announce
    ) -> None:
        self.on_change: Callable[[bool], None] | None = None
        self.starts = 0
        self._process: asyncio.subprocess.Process | None = None
        self._command = list(command)
        self._env = dict(env)
        self._folder = folder
        self._announce = announce

    def kill(self) -> None:
        """End the bot at once. It loses nothing: what it has in hand stands in its inbox."""
        if self._process is not None and self._process.returncode is None:
            self._process.kill()

    async def run(self) -> None:
        """Keep the bot alive until cancelled; then stop it cleanly."""
        pause_s = 0.0
        while True:
            began = monotonic()
            starting = asyncio.ensure_future(
                asyncio.create_subprocess_exec(*self._command, env=self._env, cwd=self._folder)
            )
            try:
                self._process = await asyncio.shield(starting)
                self.starts += 1
                self._tell(True)
                code = await self._process.wait()
            except asyncio.CancelledError:
                # Also where the child was only just being started: it must not outlive us.
                await _stop(await starting)
                raise
            self._tell(False)
            lived_s = monotonic() - began
            pause_s = 1.0 if lived_s >= _HEALTHY_S else min(max(2 * pause_s, 1.0), _LONGEST_PAUSE_S)
            self._announce(f"The bot ended (code {code}); it is started again in {pause_s:.0f} s.")
            await asyncio.sleep(pause_s)

    def _tell(self, awake: bool) -> None:
        if self.on_change is not None:
            self.on_change(awake)


async def _stop(process: asyncio.subprocess.Process) -> None:
    with contextlib.suppress(ProcessLookupError):
        process.terminate()
    try:
        await asyncio.wait_for(process.wait(), _LAST_WORDS_S)
    except TimeoutError:
        with contextlib.suppress(ProcessLookupError):
            process.kill()
        await process.wait()


@contextlib.contextmanager
def _signals(again: Callable[[], None]) -> Iterator[asyncio.Event]:
    """An event that is set by Ctrl-C or SIGTERM; ``again`` is called at the second and any later one."""
    stop = asyncio.Event()
    loop = asyncio.get_running_loop()

    def heard() -> None:
        if stop.is_set():
            again()
        stop.set()

    caught = []
    for number in (signal.SIGINT, signal.SIGTERM):
        # Where the loop takes no handlers (Windows), Ctrl-C cancels the task instead.
        with contextlib.suppress(NotImplementedError, ValueError, RuntimeError):
            loop.add_signal_handler(number, heard)
            caught.append(number)
    try:
        yield stop
    finally:
        for number in caught:
            loop.remove_signal_handler(number)
