"""The room's server, and a bot of the library that talks to it over real HTTP."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest
from telegram import Bot
from telegram.request import HTTPXRequest

from demo.room.platform import Platform


@pytest.fixture
async def platform() -> AsyncIterator[Platform]:
    stage = Platform()
    await stage.start()
    yield stage
    await stage.stop()


@pytest.fixture
async def bot(platform: Platform) -> AsyncIterator[Bot]:
    requests = [HTTPXRequest(read_timeout=2, httpx_kwargs={"trust_env": False}) for _ in range(2)]
    talker = Bot(
        platform.token,
        base_url=platform.base_url,
        base_file_url=platform.file_url,
        request=requests[0],
        get_updates_request=requests[1],
    )
    async with talker:
        yield talker


@pytest.fixture(autouse=True)
def _durations(monkeypatch: pytest.MonkeyPatch) -> None:
    # The library's own way to leave its deprecated whole seconds behind (python-telegram-bot 22.2).
    monkeypatch.setenv("PTB_TIMEDELTA", "1")
