"""Updates: numbered, held, given again until confirmed; with the library's own polling on the other side."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta

import pytest
from telegram import Bot, Update
from telegram.error import Conflict
from telegram.ext import Application, CallbackQueryHandler, MessageHandler, filters

from demo.room.platform import Fault, Platform

ALLOWED = ["message", "edited_message", "callback_query", "my_chat_member"]


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.now = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now


async def numbers(bot: Bot, **given: int) -> list[int]:
    return [update.update_id for update in await bot.get_updates(**given)]


async def test_updates_come_again_until_confirmed(platform: Platform, bot: Bot) -> None:
    wren = platform.person(5, "Wren")
    chat = platform.private_chat(wren)
    for text in ("one", "two", "three"):
        platform.say(chat, wren, text)
    assert await numbers(bot) == [101, 102, 103]
    assert await numbers(bot, offset=102) == [102, 103]
    assert await numbers(bot, offset=102, limit=1) == [102]
    assert await numbers(bot, offset=-1) == [103]
    assert await numbers(bot, offset=104) == []
    assert platform.pending == []


async def test_a_poll_is_held_until_something_is_said(platform: Platform, bot: Bot) -> None:
    wren = platform.person(5, "Wren")
    chat = platform.private_chat(wren)
    poll = asyncio.create_task(bot.get_updates(timeout=20))
    await platform.until(lambda: any(call.method == "getUpdates" for call in platform.calls))
    assert not poll.done()
    said = platform.say(chat, wren, "🌱 /log@lab_bot 6 @lab_bot")
    (update,) = await asyncio.wait_for(poll, 2)
    message = update.message
    assert message is not None
    assert message.message_id == said["message_id"]
    # Offsets count UTF-16 units: the seedling takes two (Bot API, MessageEntity).
    assert [message.parse_entity(entity) for entity in message.entities] == ["/log@lab_bot", "@lab_bot"]
    assert message.entities[0].offset == 3


async def test_the_older_of_two_polls_is_told_of_the_conflict(platform: Platform, bot: Bot) -> None:
    older = asyncio.create_task(bot.get_updates(timeout=20))
    await platform.until(lambda: any(call.method == "getUpdates" for call in platform.calls))
    assert await bot.get_updates(timeout=0) == ()
    with pytest.raises(Conflict):
        await asyncio.wait_for(older, 2)


async def test_polling_conflicts_with_a_webhook(platform: Platform, bot: Bot) -> None:
    await bot.set_webhook("https://example.invalid/hook", secret_token="abc")
    with pytest.raises(Conflict):
        await bot.get_updates()
    assert (await bot.get_webhook_info()).url == "https://example.invalid/hook"
    await bot.delete_webhook()
    assert await bot.get_updates() == ()


async def test_kinds_that_are_not_wanted_never_come(platform: Platform, bot: Bot) -> None:
    wren = platform.person(5, "Wren")
    chat = platform.private_chat(wren)
    await bot.get_updates(allowed_updates=["message"])
    said = platform.say(chat, wren, "ph 6.1")
    platform.edit(said, "ph 6.4")
    assert [update.edited_message for update in await bot.get_updates()] == [None]


async def test_a_text_waits_a_day_and_a_press_150_seconds() -> None:
    clock = Clock()
    async with Platform(clock=clock) as platform, Bot(platform.token, base_url=platform.base_url) as bot:
        wren = platform.person(5, "Wren")
        chat = platform.private_chat(wren)
        await bot.send_message(5, "hello")
        platform.say(chat, wren, "ph 6.1")
        platform.press(platform.sent[0], "v1:u:8", wren)
        clock.now += timedelta(seconds=151)
        assert await numbers(bot) == [101]
        clock.now += timedelta(hours=24)
        assert await numbers(bot) == []


async def test_a_far_lower_number_begins_a_new_numbering(platform: Platform, bot: Bot) -> None:
    wren = platform.person(5, "Wren")
    chat = platform.private_chat(wren)
    platform.say(chat, wren, "before the holidays", update_id=90_000)
    assert await numbers(bot) == [90_000]
    assert await numbers(bot, offset=90_001) == []
    platform.say(chat, wren, "a week later", update_id=50)
    platform.say(chat, wren, "and more")
    assert await numbers(bot, offset=90_001) == [50, 51]
    assert await numbers(bot, offset=52) == []
    assert platform.pending == []


async def test_order_and_repetition_can_be_upset(platform: Platform, bot: Bot) -> None:
    wren = platform.person(5, "Wren")
    chat = platform.private_chat(wren)
    platform.say(chat, wren, "one")
    platform.say(chat, wren, "two")
    platform.fail("getUpdates", Fault(shuffle="backwards"))
    platform.fail("getUpdates", Fault(shuffle="twice"))
    assert await numbers(bot) == [102, 101]
    assert await numbers(bot) == [101, 101, 102, 102]
    assert await numbers(bot, offset=103) == []
    platform.redeliver(1)
    assert await numbers(bot, offset=103) == [102]
    assert await numbers(bot, offset=103) == []


async def test_privacy_mode_lets_through_what_is_meant_for_the_bot(platform: Platform, bot: Bot) -> None:
    wren = platform.person(5, "Wren")
    group = platform.group("Sill", [wren], admin=False)
    await bot.send_message(group.id, "How much?")
    platform.say(group, wren, "dinner at 7?")
    platform.say(group, wren, "/log@other_bot 6")
    platform.say(group, wren, "/log@LAB_BOT 6")
    platform.say(group, wren, "40 litres", reply_to=platform.sent[0])
    heard = [update.message.text for update in await bot.get_updates() if update.message]
    assert heard == ["/log@LAB_BOT 6", "40 litres"]


@pytest.fixture
async def echo(platform: Platform) -> AsyncIterator[Application]:
    """A bot as the library runs it: answers texts, edits and presses."""
    application = (
        Application.builder().token(platform.token).base_url(platform.base_url).build()
    )  # fmt: skip

    async def on_message(update: Update, _: object) -> None:
        if update.effective_message:
            kind = "edited" if update.edited_message else "said"
            await update.effective_message.reply_text(f"{kind} {update.effective_message.text}")

    async def on_press(update: Update, _: object) -> None:
        if update.callback_query:
            await update.callback_query.answer(update.callback_query.data)

    application.add_handler(MessageHandler(filters.TEXT, on_message))
    application.add_handler(CallbackQueryHandler(on_press))
    async with application:
        await application.start()
        assert application.updater is not None
        await application.updater.start_polling(allowed_updates=ALLOWED, poll_interval=0, timeout=5)
        yield application
        await application.updater.stop()
        await application.stop()


async def test_a_bot_of_the_library_lives_here(platform: Platform, echo: Application) -> None:
    wren, idris = platform.person(5, "Wren"), platform.person(6, "Idris")
    group = platform.group("Sill", [wren, idris])
    said = platform.say(group, wren, "ph 6.1")
    (first,) = await platform.wait_for_sent(1)
    assert (first.text, first.reply_to, first.chat_id) == ("said ph 6.1", said["message_id"], group.id)
    platform.edit(said, "ph 6.4")
    assert (await platform.wait_for_sent(2))[1].text == "edited ph 6.4"
    query = platform.press(first, "v1:u:8", idris)
    (answer,) = await platform.wait_for_answers(1)
    assert (answer.query, answer.text, answer.alert) == (query, "v1:u:8", False)
    await platform.settled()
    assert platform.pending == []


async def test_a_server_that_went_away_comes_back_with_everything(
    platform: Platform, echo: Application
) -> None:
    wren = platform.person(5, "Wren")
    chat = platform.private_chat(wren)
    port = platform.port
    await platform.stop()
    platform.say(chat, wren, "while it was away")
    await platform.start()
    assert platform.port == port
    (sent,) = await platform.wait_for_sent(1, timeout=20)
    assert sent.text == "said while it was away"
