"""The bot as one program: settings in, and it runs until somebody says stop."""

from __future__ import annotations

import asyncio
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

from bot.assistant.assistant import Assistant
from bot.logs import watch_loop
from bot.settings import Settings, SettingsError
from bot.telegram.patience import Refused
from bot.telegram.service import Pace, serve
from storage.engine import open_store

__all__ = ["Pace", "Refused", "run_bot"]


def utc_now() -> datetime:
    """The present time."""
    return datetime.now(UTC)


async def run_bot(
    settings: Settings,
    *,
    clock: Callable[[], datetime] = utc_now,
    stop: asyncio.Event | None = None,
    pace: Pace | None = None,
) -> None:
    """Runs the assistant on Telegram until ``stop`` is set, or SIGTERM or SIGINT comes.

    clock : the present time, aware; everything that is written down is dated by it.
    pace : how long the parts wait.
    Raises Refused when the platform does not accept the token; SettingsError when there is none, or when the
    address for a webhook cannot be taken.
    """
    if settings.token is None:
        raise SettingsError("Set RILLKEEPER_TOKEN to your bot's token; @BotFather in Telegram gives one")
    stop = stop or asyncio.Event()
    watch_loop(asyncio.get_running_loop())
    store = open_store(settings.database_url)
    try:
        await store.upgrade()
        with _signals_set(stop):
            await serve(settings, store, Assistant(store, clock), clock=clock, stop=stop, pace=pace or Pace())
    finally:
        await store.close()


@contextmanager
def _signals_set(stop: asyncio.Event) -> Iterator[None]:
    """SIGTERM and SIGINT set ``stop``, where the system allows it (in the main thread, not on Windows).

    A second one ends the program at once, as signals do by themselves: the inbox makes that harmless.
    """
    loop = asyncio.get_running_loop()
    caught: list[signal.Signals] = []

    def let_go() -> None:
        while caught:
            loop.remove_signal_handler(caught.pop())

    def asked_to_stop() -> None:
        let_go()
        stop.set()

    for number in (signal.SIGTERM, signal.SIGINT):
        try:
            loop.add_signal_handler(number, asked_to_stop)
        except (NotImplementedError, RuntimeError, ValueError):
            continue
        caught.append(number)
    try:
        yield
    finally:
        let_go()
