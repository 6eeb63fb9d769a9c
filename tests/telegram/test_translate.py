"""From the platform's updates to what the assistant hears: what counts, for whom, and what is not for us."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from telegram import Update

from bot.assistant.exchange import ChatRef, Heard, PersonRef, Pressed
from bot.telegram.translate import Envelope, Me, Migration, Presence, envelope, news, translate

ME = Me(42, "lab_bot")
NOW = datetime(2026, 5, 4, 18, 30, tzinfo=UTC)
SENT_UNIX_S = 1_777_919_100
SENT_AT = datetime(2026, 5, 4, 18, 25, tzinfo=UTC)
ANA = {"id": 5, "is_bot": False, "first_name": "Ana", "last_name": "Sol", "language_code": "pt"}
BOT = {"id": 42, "is_bot": True, "first_name": "Lab", "username": "lab_bot"}
ANONYMOUS_ADMIN = {"id": 1087968824, "is_bot": True, "first_name": "Group", "username": "GroupAnonymousBot"}
PRIVATE = {"id": 5, "type": "private", "first_name": "Ana", "last_name": "Sol"}
GROUP = {"id": -1001, "type": "supergroup", "title": "Balcony"}


def units(text: str) -> int:
    """Its length as the platform counts it, in UTF-16 units."""
    return len(text.encode("utf-16-le")) // 2


def marked(text: str, part: str, kind: str, **more: Any) -> dict[str, Any]:
    """An entity over ``part``, where it first stands in ``text``."""
    before = text[: text.index(part)]
    return {"type": kind, "offset": units(before), "length": units(part), **more}


def message(text: str | None = "ph 6.1", **fields: Any) -> dict[str, Any]:
    said = {"message_id": 7, "date": SENT_UNIX_S, "chat": PRIVATE, "from": ANA, "text": text, **fields}
    return {key: value for key, value in said.items() if value is not None}


def heard(fields: dict[str, Any], *, kind: str = "message") -> Heard | None:
    """What the assistant hears of a message."""
    update = Update.de_json({"update_id": 101, kind: fields}, None)
    found = translate(update, ME, received_at=NOW)
    assert not isinstance(found, Pressed)
    return found


def heard_text(fields: dict[str, Any]) -> str:
    found = heard(fields)
    assert found is not None
    return found.text


def test_envelope_tells_the_topic() -> None:
    """In groups without topics the same field only marks the root of a chain of replies."""
    said = {"message_id": 7, "date": 1, "chat": {"id": -5, "type": "supergroup"}, "message_thread_id": 9}
    for marked, thread in ((True, "9"), (False, None)):
        outside = envelope({"update_id": 1, "message": {**said, "is_topic_message": marked}})
        assert outside is not None
        assert outside.thread == thread


def test_private_message_is_heard_as_said() -> None:
    assert heard(message()) == Heard(
        chat=ChatRef("telegram", "5", private=True, title="Ana Sol"),
        person=PersonRef("5", "Ana Sol", "pt"),
        message="7",
        said_at=SENT_AT,
        text="ph 6.1",
    )


def test_edit_keeps_the_time_of_the_original() -> None:
    found = heard(message(edit_date=SENT_UNIX_S + 90), kind="edited_message")
    assert found is not None
    assert found.said_at == SENT_AT
    assert found.edited_at == datetime(2026, 5, 4, 18, 26, 30, tzinfo=UTC)


def test_group_message_is_heard_but_not_as_meant_for_us() -> None:
    found = heard(message(chat=GROUP))
    assert found is not None
    assert found.chat == ChatRef("telegram", "-1001", private=False, title="Balcony")
    assert not found.addressed


def test_reply_to_our_message_is_meant_for_us() -> None:
    ours = message("Saved.", message_id=6, chat=GROUP, **{"from": BOT})
    found = heard(message(chat=GROUP, reply_to_message=ours))
    assert found is not None
    assert found.addressed


def test_reply_to_somebody_else_is_not() -> None:
    theirs = message("hello", message_id=6, chat=GROUP)
    found = heard(message(chat=GROUP, reply_to_message=theirs))
    assert found is not None
    assert not found.addressed


@pytest.mark.parametrize(
    ("text", "part", "command", "args"),
    [
        ("/log@lab_bot ph 6.1", "/log@lab_bot", "log", "ph 6.1"),
        ("/log@LAB_BOT ph 6.1", "/log@LAB_BOT", "log", "ph 6.1"),
        ("/LOG ph 6.1", "/LOG", "log", "ph 6.1"),
        ("/status", "/status", "status", ""),
        ("/log\nph 6.1\nppm 720", "/log", "log", "ph 6.1\nppm 720"),
    ],
)
def test_command_and_its_arguments(text: str, part: str, command: str, args: str) -> None:
    found = heard(message(text, chat=GROUP, entities=[marked(text, part, "bot_command")]))
    assert found is not None
    assert (found.command, found.args, found.text, found.addressed) == (command, args, text, True)


def test_command_of_another_bot_is_none_of_ours() -> None:
    text = "/log@other_bot 6.1"
    assert heard(message(text, chat=GROUP, entities=[marked(text, "/log@other_bot", "bot_command")])) is None


def test_command_without_its_mark_is_text() -> None:
    found = heard(message("/log 6.1"))
    assert found is not None
    assert (found.command, found.text) == (None, "/log 6.1")


def test_command_in_the_middle_is_text() -> None:
    text = "try /log 6.1"
    found = heard(message(text, entities=[marked(text, "/log", "bot_command")]))
    assert found is not None
    assert found.command is None


@pytest.mark.parametrize(
    ("text", "part", "left"),
    [
        ("@lab_bot ph 6.1", "@lab_bot", "ph 6.1"),
        ("@Lab_Bot, ph 6.1", "@Lab_Bot", "ph 6.1"),
        ("🌱🌱 @lab_bot ph 6.1", "@lab_bot", "🌱🌱 ph 6.1"),
        ("👩‍🌾@lab_bot ph 6.1", "@lab_bot", "👩‍🌾 ph 6.1"),
        ("ph 6.1 @lab_bot", "@lab_bot", "ph 6.1"),
        ("ph 6.1\n@lab_bot\nppm 720", "@lab_bot", "ph 6.1 ppm 720"),
    ],
)
def test_mention_is_cut_where_it_stands(text: str, part: str, left: str) -> None:
    """The platform counts UTF-16 units: an emoji before the mention counts two or more."""
    found = heard(message(text, chat=GROUP, entities=[marked(text, part, "mention")]))
    assert found is not None
    assert (found.text, found.addressed) == (left, True)


def test_mention_by_a_link_is_cut_too() -> None:
    found = heard(
        message("Lab ph 6.1", chat=GROUP, entities=[marked("Lab ph 6.1", "Lab", "text_mention", user=BOT)])
    )
    assert found is not None
    assert (found.text, found.addressed) == ("ph 6.1", True)


def test_mention_of_somebody_else_stays() -> None:
    text = "@lab_bot2 ph 6.1"
    found = heard(message(text, chat=GROUP, entities=[marked(text, "@lab_bot2", "mention")]))
    assert found is not None
    assert (found.text, found.addressed) == (text, False)


def test_anonymous_admin_is_nobody_in_particular() -> None:
    found = heard(message(chat=GROUP, sender_chat=GROUP, **{"from": ANONYMOUS_ADMIN}))
    assert found is not None
    assert found.person == PersonRef(None, "Balcony")


def test_two_channels_are_not_one_person() -> None:
    """The platform puts one account in place of every channel; its number must identify nobody."""
    channel = {"id": 136817688, "is_bot": True, "first_name": "Channel", "username": "Channel_Bot"}
    for title in ("Greens", "Herbs"):
        speaker = {"id": -1009, "type": "channel", "title": title}
        found = heard(message(chat=GROUP, sender_chat=speaker, **{"from": channel}))
        assert found is not None
        assert found.person == PersonRef(None, title)


def test_bots_are_not_heard() -> None:
    assert heard(message(chat=GROUP, **{"from": {**BOT, "id": 77}})) is None


def test_post_of_a_linked_channel_is_not_heard() -> None:
    channel = {"id": -1009, "type": "channel", "title": "Greens"}
    assert heard(message(chat=GROUP, sender_chat=channel, is_automatic_forward=True)) is None


@pytest.mark.parametrize(
    ("fields", "thread"),
    [
        ({"message_thread_id": 77, "is_topic_message": True}, "77"),
        ({"message_thread_id": 3}, None),
        ({}, None),
    ],
    ids=["topic", "chain of replies in a plain group", "general topic"],
)
def test_topic(fields: dict[str, Any], thread: str | None) -> None:
    found = heard(message(chat=GROUP, **fields))
    assert found is not None
    assert found.chat.thread == thread


def test_caption_is_heard_and_is_never_a_command() -> None:
    photo = [{"file_id": "p", "file_unique_id": "u", "width": 9, "height": 9}]
    found = heard(
        message(
            None,
            photo=photo,
            caption="/undo tips browning",
            caption_entities=[marked("/undo tips browning", "/undo", "bot_command")],
        )
    )
    assert found is not None
    assert (found.text, found.command) == ("/undo tips browning", None)


def test_half_a_surrogate_pair_and_nul_become_the_replacement_character() -> None:
    assert heard_text(message("ph \ud83c 6.1\0")) == "ph � 6.1�"


def test_whole_surrogate_pairs_stay() -> None:
    assert heard_text(message("🌱 up")) == "🌱 up"


@pytest.mark.parametrize(
    "update",
    [
        {"update_id": 1},
        {"update_id": 1, "channel_post": message(chat={"id": -1009, "type": "channel", "title": "Greens"})},
        {"update_id": 1, "something_new": {"id": 9}},
        {"update_id": 1, "message": message(None, new_chat_title="Balcony")},
    ],
    ids=["empty", "post in a channel", "of a later version", "service message"],
)
def test_what_is_no_business_of_ours(update: dict[str, Any]) -> None:
    assert translate(Update.de_json(update, None), ME, received_at=NOW) is None


def press(**fields: Any) -> dict[str, Any]:
    button_message = message("Saved.", message_id=8, **{"from": BOT})
    query = {"id": "900", "from": ANA, "message": button_message, "chat_instance": "77", "data": "v1:why:3"}
    return {"update_id": 102, "callback_query": {**query, **fields}}


def test_press() -> None:
    assert translate(Update.de_json(press(), None), ME, received_at=NOW) == Pressed(
        chat=ChatRef("telegram", "5", private=True, title="Ana Sol"),
        person=PersonRef("5", "Ana Sol", "pt"),
        press="900",
        pressed_at=NOW,
        data="v1:why:3",
        message="8",
    )


def test_press_under_a_message_that_is_no_longer_shown() -> None:
    gone = {"chat": PRIVATE, "message_id": 8, "date": 0}
    found = translate(Update.de_json(press(message=gone), None), ME, received_at=NOW)
    assert isinstance(found, Pressed)
    assert found.message is None


def member(status: str) -> dict[str, Any]:
    before = {"user": BOT, "status": "member"}
    after: dict[str, Any] = {"user": BOT, "status": status}
    if status == "kicked":
        after["until_date"] = 0
    change = {
        "chat": GROUP,
        "from": ANA,
        "date": SENT_UNIX_S,
        "old_chat_member": before,
        "new_chat_member": after,
    }
    return {"update_id": 103, "my_chat_member": change}


@pytest.mark.parametrize(("status", "is_welcome"), [("member", True), ("left", False), ("kicked", False)])
def test_presence(status: str, is_welcome: bool) -> None:
    told = news(Update.de_json(member(status), None))
    assert isinstance(told, Presence)
    assert (told.chat.address, told.chat.private, told.is_welcome) == ("-1001", False, is_welcome)


def test_both_ends_of_a_migration_say_the_same() -> None:
    old = {"id": -501, "type": "group", "title": "Balcony"}
    at_the_old = Update.de_json(
        {"update_id": 1, "message": message(None, chat=old, migrate_to_chat_id=-1001)}, None
    )
    at_the_new = Update.de_json(
        {"update_id": 2, "message": message(None, chat=GROUP, migrate_from_chat_id=-501)}, None
    )
    assert news(at_the_old) == news(at_the_new) == Migration("-501", "-1001")


def test_envelope_of_a_message_and_of_an_edit() -> None:
    assert envelope({"update_id": 101, "message": message()}) == Envelope(101, "5", SENT_AT)
    edited = message(edit_date=SENT_UNIX_S + 60)
    assert envelope({"update_id": 102, "edited_message": edited}) == Envelope(
        102, "5", datetime(2026, 5, 4, 18, 26, tzinfo=UTC)
    )


def test_envelope_of_a_press_has_no_time() -> None:
    """The date under a press is that of the message with the button, perhaps weeks ago."""
    assert envelope(press()) == Envelope(102, "5", None)


def test_envelope_of_an_update_that_cannot_be_parsed() -> None:
    broken = press()
    del broken["callback_query"]["chat_instance"]
    assert envelope(broken) == Envelope(102, "5", None)


@pytest.mark.parametrize("update", [None, [], "101", {}, {"update_id": "101"}, {"update_id": True}])
def test_what_has_no_number_has_no_envelope(update: object) -> None:
    assert envelope(update) is None


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["chat", "from", "message", "date", "edit_date", "id", "x"]), inner, max_size=4
        )
    ),
    max_leaves=12,
)


@given(st.integers(), json_values)
def test_envelope_takes_any_json(number: int, part: object) -> None:
    outside = envelope({"update_id": number, "message": part})
    assert outside is not None
    assert outside.update_id == number


@given(st.text(max_size=30), st.text(max_size=30))
def test_mention_is_cut_exactly_whatever_stands_around_it(before: str, after: str) -> None:
    """Nothing but the mention, and space beside it, is lost."""
    assume("@" not in before + after and "\0" not in before + after)
    text = f"{before} @lab_bot {after}"
    found = heard(message(text, chat=GROUP, entities=[marked(text, "@lab_bot", "mention")]))
    assert found is not None
    assert "@lab_bot" not in found.text
    kept = (before + after).strip(" \t,:;")
    assert "".join(found.text.split()).endswith("".join(after.lstrip(" \t,:;").split()))
    assert [c for c in found.text if c.isalnum()] == [c for c in kept if c.isalnum()]
