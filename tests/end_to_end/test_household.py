"""A household over the platform: joined by a link, with roles, two hands in the water, an absence, a list."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import icalendar
import pytest
from bot_at_home import FastClock, Home, eventually, someone

from demo.room.platform import Chat, Person, Platform
from domain.facts import Dose, Reading, Setting

LINK = re.compile(r"https://t\.me/lab_bot\?start=([A-Za-z0-9_-]{1,64})")


async def invited(home: Home, platform: Platform, ana: Person, chat: Chat) -> str:
    """The token of a link that Ana was given."""
    platform.say(chat, ana, "/invite")
    link = None
    while link is None:
        await platform.settled()
        found = [LINK.search(sent.text) for sent in platform.sent if sent.chat_id == chat.id]
        link = next((match for match in reversed(found) if match), None)
    return link[1]


@pytest.fixture
async def family(home: Home, platform: Platform) -> tuple[Person, Chat, Person, Chat]:
    """Ana keeps the household, Ben has joined it by her link; each writes in their own chat."""
    (ana, hers), (ben, his) = someone(platform), someone(platform, 6, "Ben")
    await home.start()
    platform.say(hers, ana, "tank holds 45 L")
    await home.until_facts(hers, 1)
    token = await invited(home, platform, ana, hers)
    platform.say(his, ben, f"/start {token}")
    await shows(platform, his, "Welcome to Ana's tank: you are helper.")
    return ana, hers, ben, his


def plain(text: str) -> str:
    """On one line, however narrow it was set."""
    return " ".join(text.split())


async def shows(platform: Platform, chat: Chat, words: str) -> str:
    """Waits until a letter in the chat says so; gives its text on one line."""

    def found() -> str:
        texts = [plain(sent.text) for sent in platform.sent if sent.chat_id == chat.id]
        return next((text for text in reversed(texts) if words in text), "")

    await eventually(found, what=words)
    return found()


async def test_a_link_brings_one_person_in(
    home: Home, platform: Platform, family: tuple[Person, Chat, Person, Chat]
) -> None:
    """Case 70: /start with a valid token: joined once; used or unknown: refused in one clear line."""
    _, hers, ben, his = family
    platform.say(his, ben, "ph 6.1")
    await home.until_facts(hers, 2)
    used = LINK.search(next(s.text for s in platform.sent if LINK.search(s.text)))
    assert used is not None
    eve, theirs = someone(platform, 7, "Eve")
    for wrong in (used[1], "x" * 64, "y" * 22):
        platform.say(theirs, eve, f"/start {wrong}")
    refusal = "This invite is not valid (any more). Ask for a new one."
    await eventually(
        lambda: [plain(s.text) for s in platform.sent if s.chat_id == theirs.id] == [refusal] * 3,
        what="three refusals",
    )
    assert await home.facts(theirs) == []


async def test_an_expired_link_is_refused(home: Home, platform: Platform, clock: FastClock) -> None:
    """Case 70, the expired one."""
    (ana, hers), (ben, his) = someone(platform), someone(platform, 6, "Ben")
    await home.start()
    token = await invited(home, platform, ana, hers)
    clock.jump(timedelta(days=3, minutes=1))
    platform.say(his, ben, f"/start {token}")
    await shows(platform, his, "This invite is not valid")


async def test_a_group_joins_by_a_link_that_adds_the_bot(
    home: Home, platform: Platform, family: tuple[Person, Chat, Person, Chat]
) -> None:
    ana, hers, ben, _ = family
    group = platform.group("Balcony", [ana, ben])
    platform.say(group, ana, f"/start@lab_bot {await invited(home, platform, ana, hers)}")
    await shows(platform, group, "Welcome to ")
    platform.say(group, ben, "ph 6.3")
    await home.until_facts(hers, 2)
    assert [entry.author for entry in await home.entries(hers)][-1] == "Ben"


async def test_an_onlooker_reads_and_a_helper_puts_the_tank_right(
    home: Home, platform: Platform, family: tuple[Person, Chat, Person, Chat]
) -> None:
    ana, hers, ben, his = family
    platform.say(hers, ana, "make Ben onlooker")
    await shows(platform, hers, "Ben is onlooker now.")
    platform.say(his, ben, "tank holds 90 L")
    await shows(platform, his, "As onlooker you cannot change the tank's settings.")
    assert [fact.value for fact in await home.facts(hers) if isinstance(fact, Setting)] == ["45"]
    platform.say(hers, ana, "make Ben helper")
    await shows(platform, hers, "Ben is helper now.")
    platform.say(his, ben, "tank holds 90 L")
    await home.until_facts(hers, 2)
    platform.say(his, ben, "/invite")
    await shows(platform, his, "As helper you cannot")


async def test_two_hands_in_the_water(
    home: Home, platform: Platform, family: tuple[Person, Chat, Person, Chat]
) -> None:
    ana, hers, ben, his = family
    platform.say(hers, ana, "added 5 ml ph down")
    await home.until_facts(hers, 2)
    platform.say(his, ben, "added 5 ml ph down")
    await shows(platform, his, "One dose or two?")
    asked = next(sent for sent in platform.sent if "One dose or two?" in plain(sent.text))
    platform.say(his, ben, "how much ph down?")
    await shows(platform, his, "Ana added 5 ml pH down at")
    platform.press(asked, "One dose", ben)
    await shows(platform, his, "One dose, then")
    assert len([fact for fact in await home.facts(hers) if isinstance(fact, Dose)]) == 1


async def test_a_removed_member_is_out(
    home: Home, platform: Platform, family: tuple[Person, Chat, Person, Chat]
) -> None:
    ana, hers, ben, his = family
    platform.say(hers, ana, "remove Ben")
    await shows(platform, hers, "Ben is removed.")
    platform.say(his, ben, "ph 4.4")
    await home.until_facts(his, 1)
    assert not [fact for fact in await home.facts(hers) if isinstance(fact, Reading)]


async def test_who_takes_over_is_told_and_reminded(
    home: Home, platform: Platform, clock: FastClock, family: tuple[Person, Chat, Person, Chat]
) -> None:
    ana, hers, _, his = family
    platform.say(hers, ana, "changed the water")
    platform.say(hers, ana, "away 17-20 may, Ben takes over")
    await home.until_facts(hers, 3)
    await shows(platform, his, "Sun 17 May to Wed 20 May")
    assert 'href="tg://user?id=6"' in [s.html for s in platform.sent if s.chat_id == his.id][-1]
    clock.jump(datetime(2026, 5, 18, 18, 1, tzinfo=UTC) - clock())
    reminded = "For Ben, who has taken over:"
    await eventually(lambda: any(s.text.startswith(reminded) for s in platform.sent), what="a reminder")
    assert {s.chat_id for s in platform.sent if s.text.startswith(reminded)} == {his.id}


async def test_the_list_and_its_calendar(home: Home, platform: Platform, clock: FastClock) -> None:
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "changed the water")
    await home.until_facts(chat, 1)
    clock.jump(timedelta(days=5))
    await platform.settled()
    platform.say(chat, ana, "/due")
    await shows(platform, chat, "Today")
    (listed,) = [sent for sent in platform.sent if sent.text.startswith("Today")]
    assert {"Done", "Later", "Calendar"} <= set(listed.labels)
    platform.press(listed, "Done", ana)
    await home.until_facts(chat, 2)
    platform.say(chat, ana, "/due calendar")
    await eventually(lambda: any(sent.file for sent in platform.sent), what="the calendar")
    (file,) = [sent for sent in platform.sent if sent.file is not None]
    assert file.file_name == "due.ics"
    events = icalendar.Calendar.from_ical(file.file or b"").walk("VEVENT")
    assert "Change the water" in {str(event["summary"]) for event in events}


async def test_another_member_is_told_where_one_has_blocked_the_bot(
    home: Home, platform: Platform, clock: FastClock, family: tuple[Person, Chat, Person, Chat]
) -> None:
    """Case 35 in a household: the reminder that gets a 403 is told to the other, with why it comes there."""
    _, hers, ben, his = family
    platform.say(his, ben, "remind me tomorrow at 10am to look at the roots")
    await shows(platform, his, "look at the roots")
    platform.room.people[ben.id].blocked = True  # and no word of it reaches the bot
    clock.jump(datetime(2026, 5, 5, 10, 1, tzinfo=UTC) - clock())
    notice = "I can no longer write to Ben in private."
    await eventually(lambda: any(notice in plain(s.text) for s in platform.sent), what="the notice")
    await eventually(
        lambda: any("Look at the roots" in s.text and s.chat_id == hers.id for s in platform.sent), what="it"
    )
    assert {s.chat_id for s in platform.sent if notice in plain(s.text)} == {hers.id}
    async with home.store.read() as tx:
        chat = await tx.households.find_chat("telegram", str(his.id))
    assert chat is not None
    assert not chat.active
