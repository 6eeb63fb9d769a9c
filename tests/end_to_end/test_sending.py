"""What becomes of a letter when the line or the platform lets us down."""

from __future__ import annotations

import io
from datetime import timedelta
from itertools import pairwise

import pytest
from bot_at_home import FastClock, Home, eventually, someone

from bot.assistant.exchange import Letter
from bot.telegram.client import Limits
from demo.room.platform import Chat, Fault, Platform


def sends(platform: Platform, chat: Chat) -> int:
    """How often it was tried to send something to a chat."""
    calls = [call for call in platform.calls if call.method == "sendMessage"]
    return sum(int(call.params["chat_id"]) == chat.id for call in calls)


async def waiting_letters(home: Home, chat: Chat) -> int:
    async with home.store.read() as tx:
        known = await tx.households.find_chat("telegram", str(chat.id))
        assert known is not None
        return len(await tx.outbox.open_of(known.id))


async def post(home: Home, chat: Chat, letter: Letter, key: str) -> None:
    """Puts a letter into the outbox, as the assistant does."""
    async with home.store.write() as tx:
        known = await tx.households.find_chat("telegram", str(chat.id))
        assert known is not None
        await tx.outbox.post(known.household_id, known.id, letter.as_json(), dedupe_key=key, now=home.clock())


async def test_flood_holds_up_one_chat_and_keeps_its_order(
    home: Home, platform: Platform, clock: FastClock
) -> None:
    """Case 39: 429 retry_after 3 on the 2nd of 4: order kept, resent after at least 3 s, others go on."""
    ana, hers = someone(platform)
    ben, his = someone(platform, 6, "Ben")
    await home.start()
    platform.say(hers, ana, "ph 6.0")
    platform.say(his, ben, "ph 6.0")
    await platform.wait_for_sent(2)
    platform.fail("sendMessage", Fault.too_many(3), skip=1, chat=hers)
    for number in range(4):
        await post(home, hers, Letter("reply", f"number {number}"), f"test:{number}")
    await post(home, his, Letter("reply", "to Ben"), "test:ben")
    clock.run_at(20)
    await platform.wait_for_sent(5, chat=hers)
    arrived = platform.sent_to(hers)[-4:]
    assert [sent.text for sent in arrived] == [f"number {number}" for number in range(4)]
    refused = next(call for call in platform.calls if call.params.get("text") == "number 1")
    assert arrived[1].at - refused.at >= timedelta(seconds=3)
    assert sends(platform, hers) == 6  # the first reply, these four, and the refused one
    to_ben = platform.sent_to(his)[-1]
    assert to_ben.text == "to Ben"
    assert to_ben.at < arrived[1].at


async def test_one_who_floods_holds_nobody_else_up(home: Home, platform: Platform) -> None:
    """Case 41: one user floods, another sends 1: all stored; the other's reply comes in between."""
    ana, hers = someone(platform)
    ben, his = someone(platform, 6, "Ben")
    for place in range(20):
        platform.say(hers, ana, f"ph {6 + place / 100:.2f}")
    platform.say(his, ben, "ph 6.1")
    await home.start()
    await platform.wait_for_sent(1, chat=his)
    assert len(await home.facts(hers)) < 10
    facts = await home.until_facts(hers, 20)
    assert [reading.ph for reading in facts] == [6 + place / 100 for place in range(20)]


async def test_connection_that_breaks_after_the_message_was_taken(home: Home, platform: Platform) -> None:
    """Case 42: S accepts sendMessage, closes the connection: not resent, and what follows goes on."""
    ana, chat = someone(platform)
    platform.fail("sendMessage", Fault.closed_after())
    await home.start()
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    await platform.settled()
    assert sends(platform, chat) == 1
    assert await waiting_letters(home, chat) == 0
    platform.say(chat, ana, "ph 6.2")
    await platform.wait_for_sent(2)
    assert sends(platform, chat) == 2


async def test_answer_that_comes_too_late(home: Home, platform: Platform) -> None:
    """Case 43: S hangs longer than the read timeout, then accepts: as 42."""
    ana, chat = someone(platform)
    platform.fail("sendMessage", Fault.slow(0.5))
    await home.start(limits=Limits(poll_s=5, read_s=0.2))
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    await platform.settled()
    assert sends(platform, chat) == 1
    assert await waiting_letters(home, chat) == 0


async def test_reminder_that_may_have_arrived_is_repeated_once_and_says_so(
    home: Home, platform: Platform
) -> None:
    """Cases 42 and 49 for a reminder: missed costs more than told twice, so it comes once more, marked."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    platform.fail("sendMessage", Fault.closed_after(), times=3)
    await post(home, chat, Letter("reminder", "Feed the fish"), "test")
    await platform.wait_for_sent(3)
    await platform.settled(calm=0.3)
    first, second = platform.sent[1:]
    assert first.text == "Feed the fish"
    assert second.text.startswith("Sent again")
    assert second.text.endswith("Feed the fish")


async def test_nobody_listens(home: Home, platform: Platform, logs: io.StringIO) -> None:
    """Case 44: connection refused: retried, exactly one message."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    await platform.settled()
    await platform.stop()
    await post(home, chat, Letter("reply", "later"), "test")
    await eventually(lambda: "NotSent (ClientConnectorError)" in logs.getvalue(), what="a failed try")
    await platform.start()
    await platform.wait_for_sent(2)
    await platform.settled()
    assert [sent.text for sent in platform.sent[1:]] == ["later"]


async def test_no_connection_is_free(home: Home, platform: Platform, logs: io.StringIO) -> None:
    """Case 44: pool timeout: the request never left, so the letter is tried again and arrives once.

    One connection and 0.1 s to wait for it (``Limits``; 32 and 2 s by default) do it with two letters.
    """
    ana, hers = someone(platform)
    ben, his = someone(platform, 6, "Ben")
    await home.start(limits=Limits(poll_s=5, read_s=3.0, pool_s=0.1, connections=1))
    platform.say(hers, ana, "ph 6.1")
    platform.say(his, ben, "ph 6.2")
    await platform.wait_for_sent(2)
    await platform.settled()
    platform.fail("sendMessage", Fault.slow(0.5), chat=hers)
    await post(home, hers, Letter("reply", "to Ana"), "test:ana")
    await eventually(lambda: sends(platform, hers) == 2, what="the slow send")
    await post(home, his, Letter("reply", "to Ben"), "test:ben")
    await platform.wait_for_sent(4)
    await platform.settled()
    assert "NotSent (NoFreeConnection)" in logs.getvalue()
    assert [sent.text for sent in platform.sent[2:]] == ["to Ana", "to Ben"]
    assert (sends(platform, hers), sends(platform, his)) == (2, 2)


@pytest.mark.parametrize("fault", [Fault.bad_gateway(), Fault.server_error()], ids=["502 HTML", "500 JSON"])
async def test_servers_own_errors(
    home: Home, platform: Platform, clock: FastClock, logs: io.StringIO, fault: Fault
) -> None:
    """Case 45: retried with back-off; logs hold no body dump."""
    ana, chat = someone(platform)
    platform.fail("sendMessage", fault, times=3)
    await home.start()
    clock.run_at(20)
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    await platform.settled()
    tries = [call.at for call in platform.calls if call.method == "sendMessage"]
    assert len(tries) == 4
    pauses = [later - earlier for earlier, later in pairwise(tries)]
    assert all(
        pause >= timedelta(seconds=least_s) for pause, least_s in zip(pauses, (1, 2, 4), strict=True)
    ), pauses
    assert len(platform.sent) == 1
    assert "NotSent (server)" in logs.getvalue()
    assert "Gateway" not in logs.getvalue()


async def test_mark_up_that_the_platform_cannot_read(home: Home, platform: Platform) -> None:
    """Case 46: 400 can't parse entities: one resend as plain text; no loop."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    await post(home, chat, Letter("reply", "<blink>6 &lt; 7</blink> and <b>bold</b>"), "test")
    await platform.wait_for_sent(2)
    await platform.settled()
    assert platform.sent[1].text == "6 < 7 and bold"
    assert sends(platform, chat) == 3


async def test_text_that_is_too_long(home: Home, platform: Platform) -> None:
    """Case 61: text over 4096 characters after parsing: cut at the end of a line, sent once."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    await post(home, chat, Letter("reply", "<b>one &amp; all</b>\n" * 500), "test")
    await platform.wait_for_sent(2)
    await platform.settled()
    lines = platform.sent[1].text.split("\n")
    assert (set(lines[:-1]), lines[-1]) == ({"one & all"}, "…")
    assert len(platform.sent[1].text) > 4000
    assert len(platform.sent) == 2


async def test_person_who_blocked_us(home: Home, platform: Platform) -> None:
    """Case 35: 403 blocked: chat inactive, letter failed, no retry; being unblocked reactivates."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    platform.fail("sendMessage", Fault.blocked())
    for number in range(2):
        await post(home, chat, Letter("reminder", f"number {number}"), f"test:{number}")
    await platform.until(lambda: sends(platform, chat) == 2, what="the refused send")
    await platform.settled()
    assert sends(platform, chat) == 2
    assert await waiting_letters(home, chat) == 0
    platform.unblock(ana)
    await platform.settled()
    await post(home, chat, Letter("reminder", "welcome back"), "test:back")
    await platform.wait_for_sent(2)
    assert platform.sent[-1].text == "welcome back"


async def test_group_that_got_a_new_number(home: Home, platform: Platform) -> None:
    """Cases 37, 38: no service message; migrate_to_chat_id on a send: re-keyed, sent once to the new id."""
    ana, _ = someone(platform)
    group = platform.group("Balcony", [ana], kind="group")
    await home.start()
    platform.say(group, ana, "ph 6.1")
    await home.until_facts(group, 1)
    await platform.settled()
    before = len(platform.sent)
    new = platform.migrate(group, ana, announce=False)
    await post(home, group, Letter("reminder", "Change the water"), "test")
    await platform.wait_for_sent(1, chat=new)
    await platform.settled()
    assert [sent.text for sent in platform.sent[before:]] == ["Change the water"]
    assert [reading.ph for reading in await home.facts(new)] == [6.1]


async def test_topic_that_is_gone(home: Home, platform: Platform, clock: FastClock) -> None:
    """Case 32: 400 message thread not found on a reminder: sent once to General; the topic is forgotten."""
    ana, _ = someone(platform)
    group = platform.group("Balcony", [ana])
    topic = platform.topic(group, "Tank")
    await home.start()
    platform.say(group, ana, "remind us to feed the fish every 2 hours", thread=topic)
    await home.until_facts(group, 1)
    assert [row.thread for row in await home.reminders(group) if row.task == "own"] == [str(topic)]
    del group.topics[topic]
    clock.jump(timedelta(hours=2, minutes=1))
    (told,) = await platform.wait_for_sent(1)
    await platform.settled()
    assert (told.thread_id, len(platform.sent)) == (None, 1)
    assert "fish" in told.text
    assert [row.thread for row in await home.reminders(group) if row.task == "own"] == [None]
    sends_before = sends(platform, group)
    clock.jump(timedelta(hours=2))
    await platform.wait_for_sent(2)
    assert sends(platform, group) == sends_before + 1


async def test_answered_message_that_was_deleted(home: Home, platform: Platform) -> None:
    """Case 78: reply target deleted by the user: sent without reply."""
    ana, _ = someone(platform)
    group = platform.group("Balcony", [ana])
    await home.start()
    platform.say(group, ana, "/status@lab_bot")
    await platform.wait_for_sent(1)
    asked = platform.say(group, ana, "lol")
    await platform.settled()
    platform.remove(asked)
    await post(home, group, Letter("reply", "here", answers=str(asked["message_id"])), "test")
    await platform.wait_for_sent(2)
    assert (platform.sent[1].text, platform.sent[1].reply_to) == ("here", None)
