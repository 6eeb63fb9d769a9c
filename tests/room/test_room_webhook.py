"""Webhook delivery: the secret goes along, what is refused comes again, no chat waits for another."""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from aiohttp import web
from telegram import Bot

from demo.room.platform import Platform


@dataclass
class Receiver:
    """Somebody's web server: takes updates, and refuses the texts it is told to."""

    url: str = ""
    taken: list[dict[str, Any]] = field(default_factory=list)
    secrets: list[str | None] = field(default_factory=list)
    refusals: Counter[str] = field(default_factory=Counter)
    news: asyncio.Event = field(default_factory=asyncio.Event)

    async def take(self, request: web.Request) -> web.Response:
        update = await request.json()
        self.secrets.append(request.headers.get("X-Telegram-Bot-Api-Secret-Token"))
        text = update["message"]["text"]
        if self.refusals[text]:
            self.refusals[text] -= 1
            return web.Response(status=500)
        self.taken.append(update)
        self.news.set()
        return web.Response()

    @property
    def texts(self) -> list[str]:
        return [update["message"]["text"] for update in self.taken]

    async def wait(self, count: int) -> None:
        async with asyncio.timeout(5):
            while len(self.taken) < count:
                self.news.clear()
                await self.news.wait()


@pytest.fixture
async def receiver() -> AsyncIterator[Receiver]:
    one = Receiver()
    app = web.Application()
    app.router.add_post("/hook", one.take)
    runner = web.AppRunner(app, access_log=None, shutdown_timeout=0.2)
    await runner.setup()
    await web.TCPSite(runner, "127.0.0.1", 0).start()
    one.url = f"http://127.0.0.1:{runner.addresses[0][1]}/hook"
    yield one
    await runner.cleanup()


async def test_updates_are_brought_with_the_secret(platform: Platform, bot: Bot, receiver: Receiver) -> None:
    wren = platform.person(5, "Wren")
    chat = platform.private_chat(wren)
    platform.say(chat, wren, "before")
    await bot.set_webhook(receiver.url, secret_token="invented_secret")
    platform.say(chat, wren, "after")
    await receiver.wait(2)
    await platform.until(lambda: not platform.pending)
    assert receiver.texts == ["before", "after"]
    assert set(receiver.secrets) == {"invented_secret"}


async def test_what_is_refused_comes_again_and_holds_up_its_own_chat_only(receiver: Receiver) -> None:
    async with (
        Platform(webhook_pause_s=0.2) as platform,
        Bot(platform.token, base_url=platform.base_url) as bot,
    ):
        wren, idris = platform.person(5, "Wren"), platform.person(6, "Idris")
        receiver.refusals["one"] = 3
        await bot.set_webhook(receiver.url)
        platform.say(platform.private_chat(wren), wren, "one")
        platform.say(platform.private_chat(wren), wren, "two")
        platform.say(platform.private_chat(idris), idris, "three")
        await receiver.wait(3)
        assert receiver.texts == ["three", "one", "two"]
        info = await bot.get_webhook_info()
        assert "500" in (info.last_error_message or "")


async def test_a_webhook_that_is_taken_away_leaves_the_rest_to_polling(
    platform: Platform, bot: Bot, receiver: Receiver
) -> None:
    wren = platform.person(5, "Wren")
    chat = platform.private_chat(wren)
    await bot.set_webhook(receiver.url)
    await bot.delete_webhook()
    platform.say(chat, wren, "for the poll")
    (update,) = await bot.get_updates()
    assert update.message is not None
    assert update.message.text == "for the poll"
    assert receiver.taken == []
