"""A platform, a clock and a bot for every test."""

from __future__ import annotations

import io
import logging
import os
from collections.abc import AsyncIterator, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from bot_at_home import FastClock, Home

from bot.logs import set_up_logs
from demo.room.platform import Platform


@pytest.fixture(autouse=True)
def clean_surroundings(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in list(os.environ):
        if name.startswith("RILLKEEPER_"):
            monkeypatch.delenv(name)


@pytest.fixture
def logs(request: pytest.FixtureRequest) -> Iterator[io.StringIO]:
    """What the bot writes, at its most talkative unless a test names the level.

    The logging of the test run is put back afterwards.
    """
    named = [logging.getLogger(name) for name in ("", "bot", "domain", "storage", "demo")]
    handlers, levels = list(named[0].handlers), [logger.level for logger in named]
    written = io.StringIO()
    set_up_logs(getattr(request, "param", "DEBUG"), [], written)
    yield written
    named[0].handlers[:] = handlers
    for logger, level in zip(named, levels, strict=True):
        logger.setLevel(level)


@pytest.fixture
def clock() -> FastClock:
    """Monday morning, five seconds a second: a chat's pace of one letter a second takes little time."""
    return FastClock(datetime(2026, 5, 4, 9, 0, tzinfo=UTC), rate=5)


@pytest.fixture
async def platform(clock: FastClock) -> AsyncIterator[Platform]:
    async with Platform(clock=clock) as platform:
        yield platform


@pytest.fixture
async def home(platform: Platform, clock: FastClock, tmp_path: Path) -> AsyncIterator[Home]:
    home = Home(platform, clock, tmp_path)
    try:
        yield home
    finally:
        await home.stop()
        await home.store.close()
