"""Messages that are more, or less, than a line of text."""

from __future__ import annotations

import re
from typing import Any

import pytest
from bot_at_home import Home, someone

from demo.room.platform import Chat, Person, Platform
from domain.facts import Reading

PHOTO = [{"file_id": "P1", "file_unique_id": "u1", "width": 90, "height": 90, "file_size": 30}]


def sent_with(home: Home, chat: Chat, person: Person, number: int, **content: Any) -> dict[str, Any]:
    """A message as the platform describes it."""
    said = {"message_id": number, "date": int(home.clock().timestamp()), "chat": chat.brief()}
    return {**said, "from": person.user(), **content}


async def phs(home: Home, chat: Chat) -> list[float | None]:
    return [fact.ph for fact in await home.facts(chat) if isinstance(fact, Reading)]


async def test_caption_of_a_photo_is_edited(home: Home, platform: Platform) -> None:
    """Case 15: photo caption edited: entry updated. (The picture itself is not kept: the words are.)"""
    ana, chat = someone(platform)
    await home.start()
    photo = sent_with(home, chat, ana, 7, photo=PHOTO, caption="ph 6.1")
    platform.deliver({"message": photo})
    await platform.wait_for_sent(1)
    platform.deliver({"edited_message": {**photo, "caption": "ph 6.4", "edit_date": photo["date"] + 5}})
    await platform.wait_for_sent(2)
    assert await phs(home, chat) == [6.4]


async def test_album_over_a_restart(home: Home, platform: Platform) -> None:
    """Case 69: album of 5 photos, caption on the 3rd, restart in between: one entry, one reply."""
    ana, chat = someone(platform)
    album = [
        sent_with(home, chat, ana, 7 + n, photo=PHOTO, media_group_id="9", caption="ph 6.1" if n == 2 else "")
        for n in range(5)
    ]
    await home.start()
    for photo in album[:3]:
        platform.deliver({"message": photo})
    await platform.wait_for_sent(1)
    await home.stop()
    for photo in album[3:]:
        platform.deliver({"message": photo})
    await home.start()
    await platform.settled()
    assert await phs(home, chat) == [6.1]
    assert len(platform.sent) == 1
    assert not platform.pending


@pytest.mark.parametrize(
    ("name", "text"),
    [("Ana\u202e", "ph 6.1"), ("\u200bAna", "ph 6\u200b.1"), ("\u200b", "ph 6.1")],
    ids=["bidi override", "zero width in the number", "name of nothing"],
)
async def test_characters_that_cannot_be_seen(home: Home, platform: Platform, name: str, text: str) -> None:
    """Case 63: U+202E, U+200B in name and in "6 200B .1": value 6.1 or a question; never another number."""
    person = platform.person(5, name)
    group = platform.group("Balcony", [person])
    await home.start()
    platform.say(group, person, text)
    platform.say(group, person, "/journal@lab_bot")
    shown = (await platform.wait_for_sent(1, chat=group))[-1]
    assert await phs(home, group) in ([6.1], [])
    # Outgoing text with such marks would be changed by the platform, or turn what follows round.
    assert not re.search("[\u202a-\u202e\u200b]", shown.text.replace(name, "")), ascii(shown.text)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("ph 6\ufe0f\u20e3", 6.0),
        ("ph \uff16.\uff11", 6.1),
        ("ph \u0666\u066b\u0661", 6.1),
        ("ph 6\u00bd", 6.5),
        ("ph 6\u00b2", 6.0),  # a mark beside the number, as at a footnote
    ],
    ids=["keycap 6", "fullwidth 6.1", "Arabic-Indic 6.1", "6 and a half", "6 squared"],
)
async def test_digits_of_other_kinds(home: Home, platform: Platform, text: str, value: float | None) -> None:
    """Case 64: parsed right or asked; never a wrong number."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, text)
    await platform.wait_for_sent(1)
    assert await phs(home, chat) in ([], [value])


@pytest.mark.parametrize(
    "content",
    [
        {"location": {"latitude": 91.0, "longitude": 181.0}},
        {"location": {"latitude": 52.5, "longitude": 13.4, "live_period": 900}},
        {
            "venue": {"location": {"latitude": 52.5, "longitude": 13.4}, "title": "Shed", "address": "Yard"},
            "location": {"latitude": 52.5, "longitude": 13.4},
        },
        {
            "document": {
                "file_id": "D1", "file_unique_id": "d1", "file_size": 25_000_000, "file_name": "../../x.csv",
            }
        },
        {"sticker": {"file_id": "S1", "file_unique_id": "s1", "width": 9, "height": 9, "type": "regular",
                     "is_animated": False, "is_video": False}},
        {"dice": {"emoji": "🎲", "value": 6}},
    ],
    ids=["place off the map", "live place", "venue", "huge file with a path", "sticker", "dice"],
)  # fmt: skip
async def test_message_without_words(home: Home, platform: Platform, content: dict[str, Any]) -> None:
    """Cases 67, 68: no place is used (zones are set by name), no file fetched; nothing kept or broken."""
    ana, chat = someone(platform)
    await home.start()
    wordless = sent_with(home, chat, ana, 700, **content)
    platform.deliver({"message": wordless})
    platform.deliver({"edited_message": {**wordless, "edit_date": wordless["date"] + 1}})
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    await platform.settled()
    assert await phs(home, chat) == [6.1]
    assert (len(platform.sent), len(await home.facts(chat))) == (1, 1)
    assert not any(call.method == "getFile" for call in platform.calls)
    async with home.store.read() as tx:
        assert await tx.inbox.aside() == []


async def test_languages_that_nobody_speaks(home: Home, platform: Platform) -> None:
    """Case 71: language_code missing, "xx", "pt-br": answered alike; no crash."""
    await home.start()
    for number, language in enumerate((None, "xx", "pt-br"), 5):
        person = platform.person(number, "Ana", language)
        platform.say(platform.private_chat(person), person, "ph 6.1")
    said = [sent.text for sent in await platform.wait_for_sent(3)]
    assert len(set(said)) == 1


@pytest.mark.parametrize("token", ["A" * 64, "A" * 65, "x", "-_" * 32])
async def test_invitation_that_nobody_gave(home: Home, platform: Platform, token: str) -> None:
    """Case 70: /start with a token that is unknown, expired or used: refused with one clear line."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, f"/start {token}")
    (refused,) = await platform.wait_for_sent(1)
    await platform.settled()
    assert "not valid" in refused.text
    assert len(platform.sent) == 1


async def test_invitation_is_good_for_one(home: Home, platform: Platform) -> None:
    """Case 70: joined once; whoever comes second is refused."""
    ana, hers = someone(platform)
    await home.start()
    platform.say(hers, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    platform.say(hers, ana, "invite")
    made = (await platform.wait_for_sent(2))[-1]
    (token,) = re.findall(r"start=([A-Za-z0-9_-]{16,64})", made.html)
    for number, name in ((6, "Ben"), (7, "Eve")):
        person, chat = someone(platform, number, name)
        platform.say(chat, person, f"/start {token}")
        await platform.wait_for_sent(1, chat=chat)
    welcome, refused = platform.sent_to(6)[0], platform.sent_to(7)[0]
    assert "not valid" not in welcome.text
    assert "not valid" in refused.text
