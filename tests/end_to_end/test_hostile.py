"""What nobody should send, and somebody will."""

from __future__ import annotations

import io
from typing import Any

import pytest
from bot_at_home import Home, eventually, someone

from demo.room.platform import Fault, Platform
from domain.facts import Reading

MARK_UP = "<b>&</a><script>"


async def test_update_that_cannot_be_parsed_between_two_that_can(home: Home, platform: Platform) -> None:
    """Case 7: callback_query without chat_instance between two texts: both handled, the bad one set aside."""
    ana, hers = someone(platform)
    ben, his = someone(platform, 6, "Ben")
    platform.say(hers, ana, "ph 6.1")
    platform.deliver({"callback_query": {"id": "1", "from": ana.user(), "data": "v1:why"}})
    platform.say(his, ben, "ph 6.2")
    await home.start()
    polls = home.polls()
    await platform.wait_for_sent(2)
    await platform.settled()
    assert (len(await home.facts(hers)), len(await home.facts(his))) == (1, 1)
    assert not platform.pending
    assert home.polls() - polls < 5

    async def is_aside() -> bool:
        async with home.store.read() as tx:
            return [aside.code for aside in await tx.inbox.aside()] == ["unreadable"]

    await eventually(is_aside, what="the bad one set aside")


@pytest.mark.parametrize(
    "update",
    [
        {"weather_report": {"cloud": 7, "chat": {"id": 5}}},
        {"message": {"message_id": 70, "date": 1, "chat": {"id": 5, "type": "private"}, "mood": {}}},
        {"poll": {"id": "1"}},
    ],
    ids=["unknown kind", "unknown fields", "kind we do not ask for"],
)
async def test_update_of_a_kind_we_do_not_know(
    home: Home, platform: Platform, update: dict[str, Any]
) -> None:
    """Case 8: update with unknown type and unknown fields: ignored, offset moves."""
    ana, chat = someone(platform)
    platform.deliver(update)
    platform.say(chat, ana, "ph 6.1")
    await home.start()
    await platform.wait_for_sent(1)
    await platform.settled()
    assert not platform.pending
    assert len(platform.sent) == 1


async def test_mark_up_in_names_and_notes_is_shown_as_typed(home: Home, platform: Platform) -> None:
    """Case 60: name `<b>&</a><script>` and `_*[x](y)`: sent escaped, accepted, shown literally."""
    mallory = platform.person(5, MARK_UP)
    group = platform.group("_*[x](y)", [mallory])
    await home.start()
    platform.say(group, mallory, f"note: {MARK_UP} on B2")
    await home.until_facts(group, 1)
    platform.say(group, mallory, "/journal@lab_bot")
    shown = (await platform.wait_for_sent(1, chat=group))[-1]
    assert MARK_UP in shown.text
    assert "<script" not in shown.html
    calls = [call for call in platform.calls if call.method == "sendMessage"]
    assert all(call.params["parse_mode"] == "HTML" for call in calls)  # none had to be sent as plain text


@pytest.mark.parametrize(
    "number",
    ["NaN", "nan", "inf", "-inf", "1e999", "1_000", "9" * 400, "-0", "1,000"],
)
async def test_numbers_that_are_none(home: Home, platform: Platform, number: str) -> None:
    """Case 65: NaN, inf, 1e999, 1_000, 400 digits, -0, "1,000": asked about, never kept as a pH."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, f"ph {number}")
    platform.say(chat, ana, "ppm 720")
    await home.until_facts(chat, 1)
    kept = await home.facts(chat)
    assert [fact.ph for fact in kept if isinstance(fact, Reading)] == [None]


async def test_comma_is_a_decimal_point(home: Home, platform: Platform) -> None:
    """Case 65: "6,1": the rule for commas is fixed."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6,1")
    await platform.wait_for_sent(1)
    assert [fact.ph for fact in await home.facts(chat) if isinstance(fact, Reading)] == [6.1]


@pytest.mark.parametrize(
    "text",
    [
        "note: '); DROP TABLE entries;--",
        "note: nul \0 in it",
        "note: half \ud83c a pair",
        "note: \u202e\u200b over",
    ],
    ids=["SQL", "NUL", "lone surrogate", "bidi"],
)
async def test_text_that_hurts_databases(home: Home, platform: Platform, text: str) -> None:
    """Case 66: stored literally or cleaned; tables intact."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, text)
    platform.say(chat, ana, "ph 6.1")
    facts = await home.until_facts(chat, 2)
    assert [type(fact).kind for fact in facts] == ["observation", "reading"]


@pytest.mark.parametrize("data", ["v1:undo:99999999", "v0:undo:1", "v1:undo:x", "é" * 32, "v1:undo:1\0"])
async def test_button_that_stands_nowhere(home: Home, platform: Platform, data: str) -> None:
    """Cases 17, 21: forged or old data: answered, no effect."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.1")
    (reply,) = await platform.wait_for_sent(1)
    before = await home.facts(chat)
    platform.press(reply, data, ana)
    await platform.wait_for_answers(1)
    await platform.settled()
    assert await home.facts(chat) == before
    assert len(platform.sent) == 1


async def test_button_of_another_household(home: Home, platform: Platform) -> None:
    """What a button carries is checked against the household of whoever pressed."""
    ana, hers = someone(platform)
    eve, chat = someone(platform, 6, "Eve")
    await home.start()
    platform.say(hers, ana, "ph 6.1")
    (hers_reply,) = await platform.wait_for_sent(1)
    platform.say(chat, eve, "ph 6.6")
    _, eves_reply = await platform.wait_for_sent(2)
    undo = next(key.data for row in hers_reply.buttons for key in row if key.label == "Undo")
    platform.press(eves_reply, undo, eve)
    await platform.wait_for_answers(1)
    await platform.settled()
    assert (len(await home.facts(hers)), len(await home.facts(chat))) == (1, 1)


@pytest.mark.parametrize("logs", ["INFO", "DEBUG"], indirect=True)
async def test_nothing_secret_in_the_logs(home: Home, platform: Platform, logs: io.StringIO) -> None:
    """Case 73: full run at INFO and at DEBUG: token and texts absent, with things going wrong as well."""
    ana, chat = someone(platform, name="Ana Secretname")
    platform.fail("sendMessage", Fault.bad_gateway())
    await home.start()
    said = platform.say(chat, ana, "ph 6.1 and note: purple elephant on B2")
    (reply,) = await platform.wait_for_sent(1)
    platform.deliver({"callback_query": {"id": "1", "from": ana.user(), "data": "purple elephant"}})
    platform.edit(said, "ph 6.4 and note: purple elephant on B3")
    await platform.wait_for_sent(2)
    platform.fail("sendMessage", Fault(status=200, body="purple elephant"))
    platform.say(chat, ana, "ph 6.5")
    await platform.settled(calm=0.3)
    await home.stop()
    written = logs.getvalue()
    assert "ready as @lab_bot" in written
    assert "unreadable" in written or "cannot be parsed" in written
    for secret in (
        platform.token,
        platform.token.partition(":")[2],
        "elephant",
        "6.1",
        "Secretname",
        reply.text,
    ):
        assert secret not in written
