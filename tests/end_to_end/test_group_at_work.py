"""A household's group through its days: it is made, it is busy, it moves, it throws us out."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise
from typing import Any

import pytest
from bot_at_home import FastClock, Home, eventually

from demo.room.platform import Chat, Fault, Person, Platform
from domain.facts import Reading


@pytest.mark.parametrize(("status", "says"), [("member", "Reply to this"), ("administrator", "Write here")])
async def test_greeting_comes_once_and_says_how_to_talk(
    home: Home, platform: Platform, status: str, says: str
) -> None:
    """Case 33: my_chat_member left -> member, twice: one greeting, by what reaches us there; chat active."""
    ana = platform.person(5, "Ana")
    group = platform.group("Balcony", [ana], admin=False)
    group.bot_status = "left"
    await home.start()
    for become in (status, "left", status):
        platform.membership(group, ana, become)
    (greeting,) = await platform.wait_for_sent(1)
    await platform.settled(calm=0.3)
    assert says in greeting.text
    assert len(platform.sent) == 1
    async with home.store.read() as tx:
        chat = await tx.households.find_chat("telegram", str(group.id))
    assert chat is not None
    assert chat.active


async def test_hundred_logs_in_half_a_minute(home: Home, platform: Platform, clock: FastClock) -> None:
    """Case 24: 5 members, 20 logs each in 30 s: 100 entries, right user, order kept; never a 429."""
    clock.run_at(40)
    platform.limits(on=True)
    people = [platform.person(number, f"Member {number}") for number in range(5, 10)]
    group = platform.group("Balcony", people)
    began = clock()
    for turn in range(20):
        for place, person in enumerate(people):
            said_at = began + timedelta(seconds=1.5 * turn + 0.3 * place)
            platform.say(group, person, f"temp {19 + turn / 10:.1f}", date=said_at)
    await home.start()
    facts = await home.until_facts(group, 100)
    assert len(facts) == 100
    for person in people:
        theirs = [entry.fact for entry in await home.entries(group) if entry.author == person.name]
        warmth = [fact.water_temp_c for fact in theirs if isinstance(fact, Reading)]
        assert warmth == [pytest.approx(19 + turn / 10) for turn in range(20)]
    await platform.until(lambda: len(platform.room.reactions) + len(platform.sent) >= 20, what="20 marks")
    assert not [call for call in platform.calls if call.method == "sendMessage"]  # a mark needs no words
    assert _most_in_a_minute(platform, group) <= 20


async def test_backlog_of_a_night(home: Home, platform: Platform, clock: FastClock) -> None:
    """Case 9: 300 updates, dates 20 h old, one group: all kept, dated by when they were sent; one summary.

    100 here, each out of band, so that each alone would be answered at length.
    """
    ana = platform.person(5, "Ana")
    group = platform.group("Balcony", [ana])
    began = clock() - timedelta(hours=20)
    for number in range(100):
        platform.say(group, ana, f"ph {7.5 + number / 1000:.3f}", date=began + timedelta(seconds=number))
    await home.start()
    summary, newest = await platform.wait_for_sent(2, timeout=40)
    await platform.settled(calm=0.3)
    entries = await home.entries(group)
    assert [int((entry.happened_at - began).total_seconds() + 0.5) for entry in entries] == list(range(100))
    assert "I was away" in summary.text
    assert "7.6" in newest.text
    assert len(platform.sent) == 2


def _most_in_a_minute(platform: Platform, chat: Chat) -> int:
    """How many calls that put something into a chat fell into one minute at most."""
    shows = {"sendMessage", "editMessageText", "setMessageReaction"}
    at = [
        call.at for call in platform.calls if call.method in shows and int(call.params["chat_id"]) == chat.id
    ]
    return max(sum(first <= other < first + timedelta(minutes=1) for other in at) for first in at)


async def test_thrown_out_with_a_reminder_waiting(home: Home, platform: Platform, clock: FastClock) -> None:
    """Case 34: my_chat_member kicked, then reminder due: no send; data kept; told late when let in again."""
    ana = platform.person(5, "Ana")
    group = platform.group("Balcony", [ana])
    await home.start()
    platform.say(group, ana, "remind us to feed the fish in 2 hours")
    await home.until_facts(group, 1)
    platform.membership(group, ana, "kicked")
    await platform.settled()
    before = len(platform.calls)
    clock.jump(timedelta(hours=3))
    await platform.settled(calm=0.4)
    assert all(call.method == "getUpdates" for call in platform.calls[before:])
    assert len(await home.facts(group)) == 1
    platform.membership(group, ana, "administrator")
    (told,) = await platform.wait_for_sent(1)
    assert "fish" in told.text


@pytest.mark.parametrize("order", [("to", "from"), ("from", "to")], ids="-".join)
async def test_migration_is_told_from_both_ends_in_any_order(
    home: Home, platform: Platform, order: tuple[str, ...]
) -> None:
    """Case 36: migrate_to in old and migrate_from in new, both orders, twice: one chat, all of it moved."""
    ana = platform.person(5, "Ana")
    old = platform.group("Balcony", [ana], kind="group")
    await home.start()
    platform.say(old, ana, "ph 6.1")
    platform.say(old, ana, "remind us to feed the fish every day at 9am")
    await home.until_facts(old, 2)
    new = platform.migrate(old, ana, announce=False)
    notes = {"to": (old, {"migrate_to_chat_id": new.id}), "from": (new, {"migrate_from_chat_id": old.id})}
    for number, end in enumerate(order * 2):
        chat, note = notes[end]
        platform.deliver({"message": _service(home, chat, ana, 900 + number, note)})
    await platform.settled()
    platform.say(new, ana, "ph 6.2")
    facts = await home.until_facts(new, 3)
    assert [fact.ph for fact in facts if isinstance(fact, Reading)] == [6.1, 6.2]
    async with home.store.read() as tx:
        chats = [await tx.households.find_chat("telegram", str(number)) for number in (old.id, new.id)]
    assert chats[0] is not None
    assert chats[1] is not None
    assert [chat.active for chat in chats if chat is not None] == [False, True]
    (fish,) = [row for row in await home.reminders(new) if row.task == "own"]
    assert fish.chat_id == chats[1].id


def _service(home: Home, chat: Chat, by: Person, number: int, note: dict[str, Any]) -> dict[str, Any]:
    said = {"message_id": number, "date": int(home.clock().timestamp()), "chat": chat.brief()}
    return {**said, "from": by.user(), **note}


async def test_another_member_presses_the_button(home: Home, platform: Platform) -> None:
    """Case 20, as it is here: whoever is at the tank puts right what the other one mistyped; once."""
    ana, ben = platform.person(5, "Ana"), platform.person(6, "Ben")
    group = platform.group("Balcony", [ana, ben])
    await home.start()
    said = platform.say(group, ana, "ph 7.9")
    (reply,) = await platform.wait_for_sent(1)
    platform.press(reply, "Undo", ben)
    platform.press(reply, "Undo", ana)
    await platform.wait_for_answers(2)
    await platform.settled()
    assert await home.facts(group) == []
    actions = [revision.action for revision in await home.history(group, said["message_id"])]
    assert actions == ["said", "undone"]


async def test_button_under_a_message_that_is_shown_no_more(home: Home, platform: Platform) -> None:
    """Case 18: tap with InaccessibleMessage (date 0): no edit; a new message."""
    ana = platform.person(5, "Ana")
    chat = platform.private_chat(ana)
    await home.start()
    platform.say(chat, ana, "ph 6.1")
    (reply,) = await platform.wait_for_sent(1)
    platform.press(reply, "Undo", ana, inaccessible=True)
    _, taken_back = await platform.wait_for_sent(2)
    await platform.settled()
    assert taken_back.method == "sendMessage"
    assert await home.facts(chat) == []
    assert not any(call.method.startswith("edit") for call in platform.calls)


async def test_refused_ten_times_in_a_row(home: Home, platform: Platform, clock: FastClock) -> None:
    """Case 40: 429 ten times: the letter waits as it is told each time; nothing is lost or doubled."""
    ana = platform.person(5, "Ana")
    chat = platform.private_chat(ana)
    await home.start()
    clock.run_at(40)
    platform.fail("sendMessage", Fault.too_many(2), times=10)
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    await platform.settled()
    tries = [call.at for call in platform.calls if call.method == "sendMessage"]
    assert len(tries) == 11
    assert all(later - earlier >= timedelta(seconds=2) for earlier, later in pairwise(tries))
    assert len(platform.sent) == 1
    await eventually(lambda: not platform.pending, what="all confirmed")
