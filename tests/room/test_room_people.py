"""Chats, refusals and pace: who may be written to, what may be edited, and how fast."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from aiohttp import ClientSession
from telegram import (
    Bot,
    BotCommand,
    ChatMemberAdministrator,
    InlineKeyboardButton,
    InlineKeyboardMarkup,
    ReplyParameters,
    Update,
)
from telegram.constants import ReactionEmoji
from telegram.error import BadRequest, ChatMigrated, EndPointNotFound, Forbidden, InvalidToken, RetryAfter

from demo.room.keyboards import REACTIONS
from demo.room.methods import METHODS
from demo.room.platform import Platform
from demo.room.state import Chat, Person


@pytest.fixture
def wren(platform: Platform) -> Person:
    return platform.person(5, "Wren", "en")


@pytest.fixture
def chat(platform: Platform, wren: Person) -> Chat:
    return platform.private_chat(wren)


async def test_only_known_chats_can_be_written_to(platform: Platform, bot: Bot, chat: Chat) -> None:
    with pytest.raises(BadRequest, match=r"(?i)chat not found"):
        await bot.send_message(99, "hello")
    platform.person(6, "Idris")
    with pytest.raises(Forbidden, match="can't initiate conversation"):
        await bot.send_message(6, "hello")


async def test_who_blocks_the_bot_is_not_reached(
    platform: Platform, bot: Bot, wren: Person, chat: Chat
) -> None:
    platform.block(wren)
    with pytest.raises(Forbidden, match="bot was blocked by the user"):
        await bot.send_message(5, "hello")
    platform.unblock(wren)
    await bot.send_message(5, "hello")
    changes = [update.my_chat_member for update in await bot.get_updates()]
    statuses = [(c.old_chat_member.status, c.new_chat_member.status) for c in changes if c]
    assert statuses == [("member", "kicked"), ("kicked", "member")]


async def test_a_group_that_threw_the_bot_out(platform: Platform, bot: Bot, wren: Person) -> None:
    group = platform.group("Sill", [wren])
    platform.membership(group, wren, "kicked")
    with pytest.raises(Forbidden, match="kicked from the supergroup chat"):
        await bot.send_message(group.id, "hello")
    platform.say(group, wren, "nobody hears this")
    assert [update.message for update in await bot.get_updates()] == [None]


async def test_a_group_moves_to_another_number(platform: Platform, bot: Bot, wren: Person) -> None:
    old = platform.group("Sill", [wren], kind="group")
    new = platform.migrate(old, wren)
    with pytest.raises(ChatMigrated) as moved:
        await bot.send_message(old.id, "hello")
    assert moved.value.new_chat_id == new.id
    notes = [update.message for update in await bot.get_updates()]
    assert [(n.migrate_to_chat_id, n.migrate_from_chat_id) for n in notes if n] == [
        (new.id, None),
        (None, old.id),
    ]


async def test_topics_have_to_exist(platform: Platform, bot: Bot, wren: Person) -> None:
    group = platform.group("Sill", [wren], forum=True)
    thread = platform.topic(group, "Tank")
    platform.say(group, wren, "ph 6.1", thread=thread)
    (update,) = await bot.get_updates()
    assert update.message is not None
    assert (update.message.message_thread_id, update.message.is_topic_message) == (thread, True)
    sent = await bot.send_message(group.id, "hello", message_thread_id=thread)
    assert sent.message_thread_id == thread
    for missing in (1, thread + 50):
        with pytest.raises(BadRequest, match="thread not found"):
            await bot.send_message(group.id, "hello", message_thread_id=missing)


async def test_an_answer_needs_its_message_or_leave_to_go_without(
    platform: Platform, bot: Bot, wren: Person, chat: Chat
) -> None:
    said = platform.say(chat, wren, "ph 6.1")
    platform.remove(said)
    with pytest.raises(BadRequest, match="replied not found"):
        await bot.send_message(5, "hello", reply_parameters=ReplyParameters(said["message_id"]))
    free = ReplyParameters(said["message_id"], allow_sending_without_reply=True)
    assert (await bot.send_message(5, "hello", reply_parameters=free)).reply_to_message is None


async def test_edits_change_what_stands_there(platform: Platform, bot: Bot, wren: Person, chat: Chat) -> None:
    keys = InlineKeyboardMarkup([[InlineKeyboardButton("Undo", callback_data="v1:u:8")]])
    message = await bot.send_message(5, "Saved 6.1", reply_markup=keys)
    with pytest.raises(BadRequest, match="not modified"):
        await bot.edit_message_text("Saved 6.1", 5, message.message_id, reply_markup=keys)
    edited = await bot.edit_message_text("Saved 6.4", 5, message.message_id)
    assert edited.edit_date is not None
    assert edited.reply_markup is None
    assert (await bot.edit_message_reply_markup(5, message.message_id, reply_markup=keys)).text == "Saved 6.4"
    assert [item.labels for item in platform.sent] == [["Undo"], [], ["Undo"]]
    said = platform.say(chat, wren, "mine")
    with pytest.raises(BadRequest, match="can't be edited"):
        await bot.edit_message_text("yours", 5, said["message_id"])
    await bot.delete_message(5, message.message_id)
    with pytest.raises(BadRequest, match="to edit not found"):
        await bot.edit_message_text("gone", 5, message.message_id)
    with pytest.raises(BadRequest, match="to delete not found"):
        await bot.delete_message(5, message.message_id)


# 64 bytes, not characters (Bot API, InlineKeyboardButton): 32 letters of two bytes fit, 33 do not.
@pytest.mark.parametrize(
    ("data", "fits"), [("x" * 64, True), ("x" * 65, False), ("ä" * 32, True), ("ä" * 33, False)]
)
async def test_button_data_is_counted_in_bytes(
    platform: Platform, bot: Bot, chat: Chat, data: str, fits: bool
) -> None:
    keys = InlineKeyboardMarkup([[InlineKeyboardButton("Undo", callback_data=data)]])
    if fits:
        await bot.send_message(5, "hello", reply_markup=keys)
        assert platform.sent[0].buttons[0][0].data == data
    else:
        with pytest.raises(BadRequest, match=r"(?i)button_data_invalid"):
            await bot.send_message(5, "hello", reply_markup=keys)


async def test_presses_carry_what_the_button_says(
    platform: Platform, bot: Bot, wren: Person, chat: Chat
) -> None:
    keys = InlineKeyboardMarkup([[InlineKeyboardButton("Undo", callback_data="v1:u:8")]])
    await bot.send_message(5, "Saved", reply_markup=keys)
    platform.press(platform.sent[0], "Undo", wren)
    platform.press(platform.sent[0], "v1:forged", wren)
    platform.press(platform.sent[0], "Undo", wren, inaccessible=True)
    queries = [update.callback_query for update in await bot.get_updates()]
    assert [query.data for query in queries if query] == ["v1:u:8", "v1:forged", "v1:u:8"]
    assert [query.message.is_accessible for query in queries if query and query.message] == [
        True,
        True,
        False,
    ]
    with pytest.raises(BadRequest, match=r"(?i)query is too old"):
        await bot.answer_callback_query("123")


async def test_reactions_are_those_of_the_platform(
    platform: Platform, bot: Bot, wren: Person, chat: Chat
) -> None:
    # The library's list is drawn from the Bot API's, independently of ours.
    assert {str(emoji.value).replace("\N{VARIATION SELECTOR-16}", "") for emoji in ReactionEmoji} == REACTIONS
    said = platform.say(chat, wren, "ph 6.1")
    await bot.set_message_reaction(5, said["message_id"], "👌")
    assert platform.room.reactions == [(5, said["message_id"], "👌")]
    with pytest.raises(BadRequest, match=r"(?i)reaction_invalid"):
        await bot.set_message_reaction(5, said["message_id"], "🌱")


async def test_what_the_bot_says_about_itself(platform: Platform, bot: Bot, wren: Person, chat: Chat) -> None:
    await bot.set_my_commands([BotCommand("due", "What is due")])
    assert [command.command for command in await bot.get_my_commands()] == ["due"]
    with pytest.raises(BadRequest, match=r"(?i)bot_command_invalid"):
        await bot.set_my_commands([BotCommand("Due!", "What is due")])
    await bot.delete_my_commands()
    assert await bot.get_my_commands() == ()
    assert await bot.set_my_description("Keeps a log")
    assert await bot.set_my_short_description("Keeps a log")
    with pytest.raises(BadRequest):
        await bot.set_my_short_description("x" * 121)
    assert await bot.send_chat_action(5, "typing")
    group = platform.group("Sill", [wren])
    assert isinstance(await bot.get_chat_member(group.id, 42), ChatMemberAdministrator)
    assert (await bot.get_chat_member(group.id, 5)).status == "creator"
    assert (await bot.get_chat(group.id)).title == "Sill"


async def test_strangers_and_strange_methods(platform: Platform) -> None:
    stranger = Bot("43:another-token", base_url=platform.base_url)
    with pytest.raises(InvalidToken):
        await stranger.initialize()
    await stranger.shutdown()
    async with Bot(platform.token, base_url=platform.base_url) as bot:
        assert (await bot.do_api_request("GETME", api_kwargs={}))["username"] == "lab_bot"
        with pytest.raises(EndPointNotFound):
            await bot.do_api_request("sendUnicorn")


async def test_the_pace_is_kept_where_it_is_switched_on() -> None:
    now = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)
    async with (
        Platform(clock=lambda: now, limits=True) as platform,
        Bot(platform.token, base_url=platform.base_url) as bot,
    ):
        wren = platform.person(5, "Wren")
        platform.private_chat(wren)
        group = platform.group("Sill", [wren])
        await bot.send_message(5, "one")
        with pytest.raises(RetryAfter) as early:
            await bot.send_message(5, "two")
        assert early.value.retry_after == timedelta(seconds=1)
        for _ in range(20):
            await bot.send_message(group.id, "tick")
            now += timedelta(seconds=1)
        with pytest.raises(RetryAfter) as full:
            await bot.send_message(group.id, "one too many")
        assert full.value.retry_after == timedelta(seconds=40)
        await bot.send_message(5, "another chat goes on")


async def test_raw_updates_are_passed_on_as_they_are(platform: Platform, bot: Bot) -> None:
    platform.deliver({"update_id": 700, "unheard_of": {"x": 1}})
    platform.deliver(
        {"message": {"message_id": 1, "date": 0, "chat": {"id": 5, "type": "private"}, "text": "hi"}}
    )
    updates: tuple[Update, ...] = await bot.get_updates()
    assert [update.update_id for update in updates] == [700, 701]
    assert updates[0].api_kwargs["unheard_of"] == {"x": 1}


GARBAGE = [
    "x",
    "[]",
    "{}",
    "null",
    "-1",
    "1e999",
    '"text"',
    '[{"a": 1}]',
    "[[{}]]",
    "\0",
    "1.5",
    '{"type": []}',
]
NAMES = [
    "chat_id",
    "message_id",
    "text",
    "parse_mode",
    "reply_markup",
    "reply_parameters",
    "message_thread_id",
    "caption",
    "photo",
    "document",
    "commands",
    "scope",
    "language_code",
    "offset",
    "limit",
    "timeout",
    "allowed_updates",
    "url",
    "secret_token",
    "max_connections",
    "reaction",
    "action",
    "user_id",
    "callback_query_id",
    "file_id",
    "description",
    "short_description",
]
GOOD = {"chat_id": "5", "text": "hello", "timeout": "0"}


async def refused_or_done(session: ClientSession, url: str, given: dict[str, str]) -> None:
    async with session.post(url, data=given) as response:
        answer = await response.json()
    assert response.status in {200, 400, 403, 404, 409}, (given, answer)
    assert answer["ok"] is (response.status == 200)


@pytest.mark.parametrize("method", [*METHODS, "getUpdates"])
async def test_no_arguments_break_the_server(platform: Platform, method: str) -> None:
    platform.private_chat(platform.person(5, "Wren"))
    url = f"{platform.base_url}{platform.token}/{method}"
    async with ClientSession() as session:
        for bad in GARBAGE:
            await refused_or_done(session, url, dict.fromkeys(NAMES, bad))
            await refused_or_done(session, url, {**dict.fromkeys(NAMES, bad), **GOOD})


@pytest.mark.parametrize("method", ["sendMessage", "setMyCommands", "setMessageReaction", "editMessageText"])
async def test_no_single_argument_breaks_the_server(platform: Platform, bot: Bot, method: str) -> None:
    platform.private_chat(platform.person(5, "Wren"))
    good = {**GOOD, "message_id": str((await bot.send_message(5, "hello")).message_id), "commands": "[]"}
    url = f"{platform.base_url}{platform.token}/{method}"
    async with ClientSession() as session:
        for bad in GARBAGE:
            for name in NAMES:
                await refused_or_done(session, url, {**good, name: bad})
