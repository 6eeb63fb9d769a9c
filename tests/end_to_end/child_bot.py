"""The bot as a process, for tests that kill it: ``child_bot.py BEGIN RATE [deaf | mute] [LEASE_S]``.

BEGIN, RATE : of its clock.
deaf : it fetches and confirms, but nothing that it fetched is handled.
mute : it handles what it hears, but nothing is sent.
LEASE_S : how long what it died on stays locked, in the machine's seconds.
"""

from __future__ import annotations

import asyncio
import sys
from dataclasses import replace
from datetime import datetime
from typing import Any

from bot_at_home import QUICK, FastClock

from bot.logs import set_up_logs
from bot.settings import load_settings
from bot.telegram.application import run_bot
from bot.telegram.client import Client
from bot.telegram.delivery import Delivery
from bot.telegram.inbox import Door
from bot.telegram.workers import Workers


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


def main(begin: str, rate: str, *ways: str) -> None:
    settings = load_settings(_env_file=None)
    set_up_logs("INFO", settings.secrets)
    tell_when_done(Client, "initialize", "ready")
    tell_when_done(Door, "keep", "kept")
    tell_when_done(Workers, "handle", "heard", hang="deaf" in ways)
    if "mute" in ways:
        tell_when_done(Delivery, "run", "sent", hang=True)
    leases = [float(way) for way in ways if way not in {"deaf", "mute"}]
    clock = FastClock(datetime.fromisoformat(begin), float(rate))
    lease_s = (leases[0] if leases else 1.0) * clock.rate
    pace = replace(QUICK, inbox_lease_s=lease_s, outbox_lease_s=lease_s, turn_lease_s=lease_s)
    asyncio.run(run_bot(settings, clock=clock, pace=pace))


if __name__ == "__main__":
    main(*sys.argv[1:])
