"""A household that shares a group with the assistant."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from bot_at_home import FastClock, Home

from demo.room.platform import Chat, Person, Platform

ANONYMOUS_ADMIN = {"id": 1087968824, "is_bot": True, "first_name": "Group", "username": "GroupAnonymousBot"}


@pytest.fixture
def family(platform: Platform) -> tuple[Chat, Person, Person]:
    ana, ben = platform.person(5, "Ana"), platform.person(6, "Ben")
    return platform.group("Balcony", [ana, ben]), ana, ben


async def test_group_shares_one_journal(home: Home, platform: Platform, family: Any) -> None:
    group, ana, ben = family
    await home.start()
    platform.say(group, ana, "ph 6.1")
    platform.say(group, ben, "ppm 720")
    await home.until_facts(group, 2)
    assert [entry.author for entry in await home.entries(group)] == ["Ana", "Ben"]


async def test_talk_between_people_is_left_alone(home: Home, platform: Platform, family: Any) -> None:
    group, ana, ben = family
    await home.start()
    platform.say(group, ana, "dinner at 7?")
    platform.say(group, ben, "lol 5 more minutes")
    await platform.settled(calm=0.3)
    assert not platform.sent
    assert await home.facts(group) == []


async def test_anonymous_admin_is_kept_apart(home: Home, platform: Platform, family: Any) -> None:
    """Case 25: from 1087968824, sender_chat = group: entry marked anonymous; not tied to a member."""
    group, ana, _ = family
    await home.start()
    platform.say(group, ana, "ph 6.1", from_=ANONYMOUS_ADMIN, sender_chat=group.brief())
    (fact,) = await home.until_facts(group, 1)
    (entry,) = await home.entries(group)
    assert (entry.fact, entry.author) == (fact, "Balcony")


async def test_command_of_another_bot(home: Home, platform: Platform, family: Any) -> None:
    """Case 27: /status@other_bot: no call, no row."""
    group, ana, _ = family
    await home.start()
    platform.say(group, ana, "/status@other_bot")
    await platform.settled(calm=0.3)
    assert not platform.sent


@pytest.mark.parametrize("command", ["/due@lab_bot", "/due@LAB_BOT", "/DUE"])
async def test_command_of_ours(home: Home, platform: Platform, family: Any, command: str) -> None:
    """Case 28: our name in any case."""
    group, ana, _ = family
    await home.start()
    asked = platform.say(group, ana, command)
    (answer,) = await platform.wait_for_sent(1)
    assert (answer.chat_id, answer.reply_to) == (group.id, asked["message_id"])


async def test_mention_behind_an_emoji(home: Home, platform: Platform, family: Any) -> None:
    """Case 29: emoji + "@lab_bot ph 6.1", mention at UTF-16 offset: value parsed, mention cut exactly."""
    group, ana, _ = family
    await home.start()
    platform.say(group, ana, "🌱🌱 @lab_bot ph 6.1")
    (reading,) = await home.until_facts(group, 1)
    assert reading.ph == 6.1


async def test_other_bots_are_not_heard(home: Home, platform: Platform, family: Any) -> None:
    """Case 30: sender is_bot true: ignored."""
    group, ana, _ = family
    await home.start()
    platform.say(group, ana, "ph 6.1", from_={"id": 77, "is_bot": True, "first_name": "Sensor"})
    await platform.settled(calm=0.3)
    assert not platform.sent
    assert await home.facts(group) == []


async def test_reply_stays_in_its_topic(home: Home, platform: Platform, family: Any) -> None:
    """Case 31: topic message thread / general: reply has the thread / none."""
    group, ana, _ = family
    topic = platform.topic(group, "Tank")
    await home.start()
    platform.say(group, ana, "/due@lab_bot", thread=topic)
    await platform.wait_for_sent(1)
    platform.say(group, ana, "/due@lab_bot")
    await platform.wait_for_sent(2)
    assert [sent.thread_id for sent in platform.sent] == [topic, None]


async def test_each_reply_goes_to_the_topic_of_its_own_message(
    home: Home, platform: Platform, family: Any
) -> None:
    """Case 31: two topics and the general one at once: no reply follows the message that came last."""
    group, ana, ben = family
    tank, seeds = platform.topic(group, "Tank"), platform.topic(group, "Seeds")
    asked = {
        platform.say(group, ana, "/due@lab_bot", thread=tank)["message_id"]: tank,
        platform.say(group, ben, "/bands@lab_bot", thread=seeds)["message_id"]: seeds,
        platform.say(group, ana, "/plants@lab_bot")["message_id"]: None,
    }
    await home.start()
    sent = await platform.wait_for_sent(3)
    assert {each.reply_to: each.thread_id for each in sent} == asked


async def test_reminder_comes_to_the_topic_where_it_was_asked_for(
    home: Home, platform: Platform, clock: FastClock, family: Any
) -> None:
    """Case 31 for reminders, also after the household has gone on talking elsewhere."""
    group, ana, ben = family
    tank, seeds = platform.topic(group, "Tank"), platform.topic(group, "Seeds")
    await home.start()
    for text, thread in (("fish", tank), ("worms", None), ("cat", seeds)):
        platform.say(group, ana, f"remind us to feed the {text} in 2 hours", thread=thread)
    await home.until_facts(group, 3)
    platform.say(group, ben, "/due@lab_bot", thread=seeds)
    await platform.wait_for_sent(1)
    clock.jump(timedelta(hours=2, minutes=1))
    told = (await platform.wait_for_sent(4))[1:]
    heard = {word: sent.thread_id for sent in told for word in ("fish", "worms", "cat") if word in sent.text}
    assert heard == {"fish": tank, "worms": None, "cat": seeds}


async def test_home_of_a_group_is_where_we_were_spoken_to(
    home: Home, platform: Platform, family: Any
) -> None:
    """Talk among people in another topic does not draw what is told unasked after it."""
    group, ana, ben = family
    tank, talk = platform.topic(group, "Tank"), platform.topic(group, "Talk")
    await home.start()
    platform.say(group, ana, "ph 6.1", thread=tank)
    await home.until_facts(group, 1)
    platform.say(group, ben, "dinner at 7?", thread=talk)
    await platform.settled()
    async with home.store.read() as tx:
        chat = await tx.households.find_chat("telegram", str(group.id))
    assert chat is not None
    assert chat.thread == str(tank)


async def test_household_in_a_group_and_its_privacy(home: Home, platform: Platform) -> None:
    """Case 26: privacy mode on: a reply to the bot's message is heard; plain text never arrives."""
    ana = platform.person(5, "Ana")
    group = platform.group("Balcony", [ana], admin=False)
    await home.start()
    platform.say(group, ana, "/due@lab_bot")
    (answer,) = await platform.wait_for_sent(1)
    platform.say(group, ana, "ph 6.6")
    platform.say(group, ana, "ph 6.1", reply_to=answer)
    (reading,) = await home.until_facts(group, 1)
    assert reading.ph == 6.1


async def test_migration_is_told_twice(home: Home, platform: Platform) -> None:
    """Case 36: migrate_to in old and migrate_from in new: one chat with the new id; entries moved."""
    ana = platform.person(5, "Ana")
    group = platform.group("Balcony", [ana], kind="group")
    await home.start()
    platform.say(group, ana, "ph 6.1")
    await home.until_facts(group, 1)
    new = platform.migrate(group, ana)
    platform.say(new, ana, "ph 6.2")
    facts = await home.until_facts(new, 2)
    assert [fact.ph for fact in facts] == [6.1, 6.2]


async def test_thrown_out_of_the_group(home: Home, platform: Platform, family: Any) -> None:
    """Case 34: my_chat_member kicked: no send; data kept; let in again, it goes on."""
    group, ana, _ = family
    await home.start()
    platform.say(group, ana, "ph 6.1")
    await home.until_facts(group, 1)
    await platform.settled()
    platform.membership(group, ana, "kicked")
    await platform.settled()
    sent = len(platform.sent)
    async with home.store.read() as tx:
        chat = await tx.households.find_chat("telegram", str(group.id))
    assert chat is not None
    assert not chat.active
    platform.membership(group, ana, "administrator")
    platform.say(group, ana, "/due@lab_bot")
    await platform.wait_for_sent(sent + 1)
    assert len(await home.facts(group)) == 1
