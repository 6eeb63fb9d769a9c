"""The bot in a process of its own, for tests that kill it: ``child_bot.py BEGIN [deaf | mute] [LEASE_S]``.

BEGIN : what time it is for the bot when it starts.
deaf : it fetches and confirms, but nothing that it fetched is handled.
mute : it handles what it hears, but nothing is sent.
"""

from __future__ import annotations

import asyncio
import sys
import time
from datetime import datetime, timedelta
from typing import Any

from bot.assistant.assistant import Assistant
from bot.logs import set_up_logs
from bot.settings import load_settings
from bot.telegram.application import run_bot
from bot.telegram.client import Client, Limits
from bot.telegram.delivery import Delivery
from bot.telegram.inbox import Door
from bot.telegram.service import Pace


def say(word: str) -> None:
    print(word, flush=True)  # noqa: T201 - the test reads it


def tell_when_done(owner: type, name: str, word: str, *, hang: bool = False) -> None:
    """Lets a method say ``word`` when it has ended, or hang instead of beginning."""
    real = getattr(owner, name)

    async def method(self: Any, *args: Any, **kwargs: Any) -> Any:
        if hang:
            await asyncio.Event().wait()
        result = await real(self, *args, **kwargs)
        say(word)
        return result

    setattr(owner, name, method)


def main(begin: str, *ways: str) -> None:
    settings = load_settings(_env_file=None)
    set_up_logs("INFO", settings.secrets)
    lease_s = float(next((way for way in ways if way.replace(".", "").isdigit()), 1.0))
    tell_when_done(Client, "initialize", "ready")
    tell_when_done(Door, "keep", "kept")
    tell_when_done(Assistant, "hear", "heard", hang="deaf" in ways)
    if "mute" in ways:
        tell_when_done(Delivery, "run", "sent", hang=True)
    began_s, at = time.monotonic(), datetime.fromisoformat(begin)
    pace = Pace(
        limits=Limits(poll_s=5, read_s=5.0),
        beat_s=0.1,
        inbox_idle_s=0.05,
        inbox_lease_s=lease_s,
        outbox_idle_s=0.05,
        outbox_lease_s=lease_s,
        line_retry_s=0.05,
    )
    asyncio.run(
        run_bot(settings, clock=lambda: at + timedelta(seconds=time.monotonic() - began_s), pace=pace)
    )


if __name__ == "__main__":
    main(*sys.argv[1:])
