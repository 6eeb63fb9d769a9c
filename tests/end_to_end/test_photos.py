"""Photos: kept by reference with the words under them, and shown again from the journal."""

from __future__ import annotations

from bot_at_home import Home, eventually, someone

from demo.room.platform import Sent

PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010806000000"
    "1f15c4890000000d49444154789c63606060f80f00010401005fe5c34b0000000049454e44ae426082"
)
"""One pixel."""


def newest(home: Home, words: str) -> Sent:
    return next(sent for sent in reversed(home.platform.sent) if words in sent.text)


async def photos_of(home: Home, chat_id: int) -> int:
    async with home.store.read() as tx:
        chat = await tx.households.find_chat("telegram", str(chat_id))
        return len(await tx.photos.messages(chat.household_id)) if chat else 0


async def test_an_album_is_one_entry_with_its_photos_and_one_reply(home: Home) -> None:
    """Case 69: the caption stands under the third of five, and the bot is restarted in between."""
    ana, chat = someone(home.platform)
    await home.start()
    for _ in range(2):
        home.platform.send_photo(chat, ana, PNG, album="a1")
    await eventually(lambda: _has(home, chat.id, 2), what="two photos")
    await home.stop()
    home.platform.send_photo(chat, ana, PNG, album="a1", caption="note: yellow tips on B2")
    for _ in range(2):
        home.platform.send_photo(chat, ana, PNG, album="a1")
    await home.start()
    await eventually(lambda: _has(home, chat.id, 5), what="five photos")
    assert [fact.kind for fact in await home.facts(chat)] == ["observation"]
    await home.platform.settled()
    assert len(home.platform.sent) == 1
    home.platform.say(chat, ana, "journal B2")
    await home.platform.until(lambda: any("[photo 1]" in sent.text for sent in home.platform.sent))
    home.platform.press(newest(home, "[photo 1]"), "Photo 1", ana)
    await home.platform.until(lambda: sum(bool(sent.file) for sent in home.platform.sent) == 5, what="photos")
    first = next(sent for sent in home.platform.sent if sent.file)
    assert (first.method, first.file) == ("sendPhoto", PNG)
    assert "yellow tips" in first.text
    assert not any(call.method == "getFile" for call in home.platform.calls)


async def _has(home: Home, chat_id: int, count: int) -> bool:
    return await photos_of(home, chat_id) == count


async def test_an_edited_caption_changes_the_entry_and_keeps_its_photo(home: Home) -> None:
    """Case 15."""
    ana, chat = someone(home.platform)
    await home.start()
    sent = home.platform.send_photo(chat, ana, PNG, caption="ph 6.1")
    await home.until_facts(chat, 1)
    home.platform.edit(sent, "ph 6.4")

    async def corrected() -> bool:
        return [getattr(fact, "ph", None) for fact in await home.facts(chat)] == [6.4]

    await eventually(corrected, what="the corrected entry")
    assert await photos_of(home, chat.id) == 1


async def test_a_photo_without_words_is_not_kept(home: Home) -> None:
    ana, chat = someone(home.platform)
    await home.start()
    home.platform.send_photo(chat, ana, PNG)
    await home.platform.wait_for_sent(1)
    assert "words under it" in home.platform.sent[0].text
    assert await photos_of(home, chat.id) == 0


async def test_nobody_sees_the_photos_of_another_household(home: Home) -> None:
    ana, chat = someone(home.platform)
    ben, other = someone(home.platform, 6, "Ben")
    await home.start()
    home.platform.send_photo(chat, ana, PNG, caption="note: yellow tips on B2")
    (entry,) = [entry.id for entry in await _entries(home, chat)]
    home.platform.say(other, ben, "/help")
    await home.platform.until(lambda: bool(home.platform.sent_to(other)))
    home.platform.press(home.platform.sent_to(other)[0], f"v1:photo:{entry}", ben)
    (answer,) = await home.platform.wait_for_answers(1)
    assert "old" in answer.text
    assert not any(sent.file for sent in home.platform.sent)


async def _entries(home: Home, chat: object) -> list:  # type: ignore[type-arg]
    await home.until_facts(chat, 1)  # type: ignore[arg-type]
    return await home.entries(chat)  # type: ignore[arg-type]
