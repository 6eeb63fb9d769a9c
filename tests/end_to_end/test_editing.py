"""Second thoughts: edits and taking back."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from bot_at_home import Home, someone

from demo.room.platform import Fault, Platform
from domain.facts import Reading


async def phs(home: Home, chat: Any) -> list[float | None]:
    return [fact.ph for fact in await home.facts(chat) if isinstance(fact, Reading)]


async def test_edit_arrives_before_its_original(home: Home, platform: Platform) -> None:
    """Case 5: edit (update 12) arrives before original (11): the edited value is not overwritten."""
    ana, chat = someone(platform)
    await home.start()
    now = int(home.clock().timestamp())
    said: dict[str, Any] = {"message_id": 7, "date": now - 9, "chat": chat.brief(), "from": ana.user()}
    platform.deliver({"update_id": 12, "edited_message": {**said, "edit_date": now, "text": "ph 6.4"}})
    await platform.wait_for_sent(1)
    platform.deliver({"update_id": 11, "message": {**said, "text": "ph 6.1"}})
    await platform.settled()
    assert await phs(home, chat) == [6.4]
    assert len(platform.sent) == 1


async def test_edit_changes_the_entry_and_the_confirmation(home: Home, platform: Platform) -> None:
    """Case 11: edited_message 6.1 -> 6.4: entry 6.4, the old confirmation is rewritten, no new entry."""
    ana, chat = someone(platform)
    await home.start()
    said = platform.say(chat, ana, "ph 6.1")
    (first,) = await platform.wait_for_sent(1)
    platform.edit(said, "ph 6.4")
    _, second = await platform.wait_for_sent(2)
    assert await phs(home, chat) == [6.4]
    assert (second.method, second.message_id) == ("editMessageText", first.message_id)
    assert len(await home.history(chat, said["message_id"])) == 2


async def test_edit_that_changes_nothing(home: Home, platform: Platform) -> None:
    """Case 12: edited_message, same text: no call, no row."""
    ana, chat = someone(platform)
    await home.start()
    said = platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    platform.edit(said, "ph 6.1")
    await platform.settled()
    assert len(platform.sent) == 1
    assert len(await home.history(chat, said["message_id"])) == 1


async def test_edit_of_a_message_never_seen(home: Home, platform: Platform) -> None:
    """Case 13: edit of a message never seen: one entry, dated by the original, never two."""
    ana, chat = someone(platform)
    said = platform.say(chat, ana, "ph 6.1")
    platform.room.updates.drop_all()
    await home.start()
    for times, text in enumerate(("ph 6.3", "ph 6.4"), 1):
        home.clock.jump(timedelta(seconds=5))
        platform.edit(said, text)
        await platform.wait_for_sent(times)
    assert await phs(home, chat) == [6.4]


async def test_command_that_appears_by_an_edit_is_not_run(home: Home, platform: Platform) -> None:
    """Case 14: "/undo" appears by editing an old message: nothing is taken back."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    other = platform.say(chat, ana, "note: tips browning")
    await platform.wait_for_sent(2)
    platform.edit(other, "/undo")
    await platform.wait_for_sent(3)
    await platform.settled()
    assert await phs(home, chat) == [6.1]


async def test_undo_tapped_twice(home: Home, platform: Platform) -> None:
    """Case 16: two taps "Undo": one undo; 2 answerCallbackQuery; no error."""
    ana, chat = someone(platform)
    await home.start()
    said = platform.say(chat, ana, "ph 6.1")
    (reply,) = await platform.wait_for_sent(1)
    for _ in range(2):
        platform.press(reply, "Undo", ana)
    answers = await platform.wait_for_answers(2)
    await platform.settled()
    assert len({answer.query for answer in answers}) == 2
    assert await home.facts(chat) == []
    history = await home.history(chat, said["message_id"])
    assert [revision.action for revision in history] == ["said", "undone"]


async def test_press_that_is_answered_too_late(home: Home, platform: Platform) -> None:
    """Case 19: answerCallbackQuery gives 400 too old: effect kept, no error to the user."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.1")
    (reply,) = await platform.wait_for_sent(1)
    too_old = "Bad Request: query is too old and response timeout expired or query ID is invalid"
    platform.fail("answerCallbackQuery", Fault.refuse(400, too_old))
    platform.press(reply, "Undo", ana)
    await platform.wait_for_sent(2)
    await platform.settled()
    assert await home.facts(chat) == []
    assert len(platform.sent) == 2
