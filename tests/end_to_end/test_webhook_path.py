"""The same bot, called by the platform instead of asking it."""

from __future__ import annotations

from typing import Any

import aiohttp
import pytest
from aiohttp.test_utils import unused_port
from bot_at_home import Home, eventually, someone

from demo.room.platform import Platform

SECRET = "invented-secret"


@pytest.fixture
def call_us(home: Home) -> Any:
    """What the platform's side of the proxy does with an update; gives the status."""
    port = unused_port()
    home.more_settings = {
        "webhook_url": "https://balcony.example/hook",
        "webhook_listen": f"127.0.0.1:{port}",
        "webhook_secret": SECRET,
    }

    async def call(update: dict[str, Any], secret: str = SECRET) -> int:
        headers = {"X-Telegram-Bot-Api-Secret-Token": secret}
        async with aiohttp.ClientSession() as session:
            address = f"http://127.0.0.1:{port}/hook"
            async with session.post(address, json=update, headers=headers) as answer:
                return answer.status

    return call


async def test_message_by_webhook(home: Home, platform: Platform, call_us: Any) -> None:
    ana, chat = someone(platform)
    await home.start()
    said = {"message_id": 7, "date": int(home.clock().timestamp()), "chat": chat.brief(), "from": ana.user()}
    update = {"update_id": 101, "message": {**said, "text": "ph 6.1"}}
    assert [await call_us(update), await call_us(update)] == [200, 200]
    assert await call_us({**update, "update_id": 102}, secret="wrong") == 403
    await platform.wait_for_sent(1)
    await platform.settled()
    assert [reading.ph for reading in await home.facts(chat)] == [6.1]
    assert len(platform.sent) == 1


async def test_platform_is_told_where_and_with_which_secret(
    home: Home, platform: Platform, call_us: Any
) -> None:
    await home.start()
    (told,) = [call for call in platform.calls if call.method == "setWebhook"]
    assert told.params["url"] == "https://balcony.example/hook"
    assert told.params["secret_token"] == SECRET
    assert told.params.get("drop_pending_updates", "false") == "false"
    assert home.polls() == 0


async def test_polling_takes_an_old_webhook_back(home: Home, platform: Platform, call_us: Any) -> None:
    """While a webhook is set, every poll is refused."""
    await home.start()
    await home.stop()
    home.more_settings = {}
    await home.start()
    ana, chat = someone(platform)
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    await eventually(lambda: not platform.pending, what="all confirmed")
