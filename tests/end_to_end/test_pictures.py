"""A picture goes the way of every letter: sent, retried, given up or left in doubt, and kept to one."""

from __future__ import annotations

import io
from datetime import timedelta
from typing import Any

import pytest
from bot_at_home import FastClock, Home, eventually, someone

from bot.assistant.exchange import Button, Letter, Picture
from bot.rendering.pictures import drawn
from bot.rendering.pictures.site_map import site_map_picture
from demo.room.pictures import picture_size
from demo.room.platform import Chat, Fault, Person, Platform
from domain.sites import Spot

MAP = site_map_picture([Spot(label="A1", state="seedling", crop="basil", days=9)], "Mon 4 May")


def calls(platform: Platform, *methods: str) -> list[str]:
    """Which of these were called, in order, whether they went well or not."""
    return [call.method for call in platform.calls if call.method in methods]


async def post(home: Home, chat: Chat, letter: Letter, key: str = "test") -> int | None:
    """Puts a letter into the outbox, as the assistant does; gives its number."""
    async with home.store.write() as tx:
        known = await tx.households.find_chat("telegram", str(chat.id))
        assert known is not None
        return await tx.outbox.post(
            known.household_id, known.id, letter.as_json(), dedupe_key=key, now=home.clock()
        )


async def waiting_letters(home: Home, chat: Chat) -> int:
    async with home.store.read() as tx:
        known = await tx.households.find_chat("telegram", str(chat.id))
        assert known is not None
        return len(await tx.outbox.open_of(known.id))


async def met(home: Home, platform: Platform) -> tuple[Person, Chat]:
    """Somebody whose chat the running bot knows; one reply has been sent."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.0")
    await platform.wait_for_sent(1)
    return ana, chat


async def test_a_chart_is_a_photo_with_its_words_beneath(home: Home, platform: Platform) -> None:
    ana, chat = await met(home, platform)
    platform.say(chat, ana, "chart ph 30 days")
    (shown,) = await platform.wait_for_sent(1, since=1)
    assert shown.method == "sendPhoto"
    assert shown.file is not None
    assert picture_size(shown.file) is not None
    assert shown.file_name == "chart.png"
    assert "pH 6" in shown.text


async def test_plants_are_shown_as_a_map_with_the_list_beneath(home: Home, platform: Platform) -> None:
    ana, chat = await met(home, platform)
    platform.say(chat, ana, "sowed basil in A1-A3")
    await platform.wait_for_sent(2)
    platform.say(chat, ana, "/plants")
    (shown,) = await platform.wait_for_sent(1, since=2)
    assert shown.method == "sendPhoto"
    assert shown.file is not None
    assert picture_size(shown.file) is not None
    assert shown.file_name == "site_map.png"
    assert "A1–A3: 3 basil" in shown.text
    assert shown.html != shown.text


async def test_plants_without_sites_stay_a_text(home: Home, platform: Platform) -> None:
    ana, chat = await met(home, platform)
    platform.say(chat, ana, "sowed 4 basil")
    await platform.wait_for_sent(2)
    platform.say(chat, ana, "/plants")
    (shown,) = await platform.wait_for_sent(1, since=2)
    assert (shown.method, shown.file) == ("sendMessage", None)
    assert "4 basil" in shown.text


async def test_asked_which_sites_are_free(home: Home, platform: Platform) -> None:
    """The map shows it; a question about one site is answered in words."""
    ana, chat = await met(home, platform)
    platform.say(chat, ana, "sowed basil in A1-A3")
    await platform.wait_for_sent(2)
    platform.say(chat, ana, "which sites are free?")
    platform.say(chat, ana, "what is in A1?")
    free, one = await platform.wait_for_sent(2, since=2)
    assert (free.method, one.method) == ("sendPhoto", "sendMessage")


async def test_buttons_stand_under_the_picture(home: Home, platform: Platform) -> None:
    _, chat = await met(home, platform)
    rows = ((Button("Why", "v1:why"),),)
    await post(home, chat, Letter("reply", "<b>A1</b>: basil", buttons=rows, picture=MAP, silent=True))
    (shown,) = await platform.wait_for_sent(1, since=1)
    assert [key.label for (key,) in shown.buttons] == ["Why"]
    assert (shown.text, shown.silent) == ("A1: basil", True)


async def test_text_too_long_for_a_caption_follows_by_itself(home: Home, platform: Platform) -> None:
    ana, chat = await met(home, platform)
    for row in "ABCDEF":
        for column in (1, 3, 5, 7):
            platform.say(chat, ana, f"sowed butterhead lettuce {row}{column}")
    await home.until_facts(chat, 25)
    await eventually(lambda: len(platform.sent) == 25, what="25 replies", deadline_s=20)
    platform.say(chat, ana, "/plants")
    picture, text = await platform.wait_for_sent(2, since=25)
    assert (picture.method, text.method) == ("sendPhoto", "sendMessage")
    assert 0 < len(picture.text) < 100
    assert len(text.text) > 1024
    assert text.text.count("butterhead lettuce") == 24


async def test_picture_that_was_surely_not_taken_is_sent_again(
    home: Home, platform: Platform, clock: FastClock
) -> None:
    _, chat = await met(home, platform)
    platform.fail("sendPhoto", Fault.too_many(2))
    platform.fail("sendPhoto", Fault.server_error())
    clock.run_at(20)
    await post(home, chat, Letter("reply", "A1: basil", picture=MAP))
    await platform.wait_for_sent(1, since=1)
    await platform.settled()
    assert len(calls(platform, "sendPhoto")) == 3
    assert len(platform.sent) == 2


async def test_picture_that_may_have_arrived_is_not_repeated(home: Home, platform: Platform) -> None:
    """Case 42 for a photo: the connection breaks after it was taken."""
    ana, chat = await met(home, platform)
    platform.fail("sendPhoto", Fault.closed_after())
    await post(home, chat, Letter("reply", "A1: basil", picture=MAP))
    await platform.wait_for_sent(2)
    platform.say(chat, ana, "ph 6.2")
    await platform.wait_for_sent(3)
    assert calls(platform, "sendPhoto", "sendMessage") == ["sendMessage", "sendPhoto", "sendMessage"]
    await eventually(lambda: _none_wait(home, chat), what="nothing waits")


async def test_killed_between_sending_a_picture_and_marking_it(home: Home, platform: Platform) -> None:
    """Case 49 for a picture that is a reply: it may have arrived, so it is not sent again."""
    ana, chat = await met(home, platform)
    await home.stop()
    platform.fail("sendPhoto", Fault.silent(accepts=True))
    await post(home, chat, Letter("reply", "A1: basil", picture=MAP))
    async with home.child("0.5") as child:
        await platform.wait_for_sent(1, since=1)
        await child.kill()
    async with home.child("0.5"):
        # Letters of one chat leave in order: once this is answered, the picture cannot follow.
        platform.say(chat, ana, "ph 6.1")
        await platform.wait_for_sent(2, since=1)
    assert [sent.method for sent in platform.sent[1:]] == ["sendPhoto", "sendMessage"]
    assert len(calls(platform, "sendPhoto")) == 1


async def test_killed_before_the_picture_left(home: Home, platform: Platform) -> None:
    """Case 4 for a picture: written down, not yet taken in hand; it is drawn and sent after the restart."""
    ana, chat = await met(home, platform)
    platform.say(chat, ana, "sowed basil in A1")
    await platform.wait_for_sent(2)
    await home.stop()
    platform.say(chat, ana, "/plants")
    async with home.child("mute") as child:
        await child.says("heard")
        await child.kill()
    assert len(platform.sent) == 2
    async with home.child():
        await platform.wait_for_sent(3)
        await platform.settled()
    assert [sent.method for sent in platform.sent[2:]] == ["sendPhoto"]


async def test_reminder_with_a_picture_is_repeated_once_and_says_so(home: Home, platform: Platform) -> None:
    _, chat = await met(home, platform)
    platform.fail("sendPhoto", Fault.closed_after(), times=3)
    await post(home, chat, Letter("reminder", "Look after A1", picture=MAP))
    await platform.wait_for_sent(3)
    await platform.settled(calm=0.3)
    first, second = platform.sent[1:]
    assert (first.method, second.method) == ("sendPhoto", "sendPhoto")
    assert first.text == "Look after A1"
    assert second.text.startswith("Sent again")


async def test_chat_that_takes_no_pictures_gets_the_words(home: Home, platform: Platform) -> None:
    """A group may forbid media; the list says the same as the map."""
    _, chat = await met(home, platform)
    platform.fail("sendPhoto", Fault.refuse(400, "Bad Request: not enough rights to send photos"))
    await post(home, chat, Letter("reply", "A1: basil", picture=MAP))
    (shown,) = await platform.wait_for_sent(1, since=1)
    assert (shown.method, shown.text) == ("sendMessage", "A1: basil")
    assert len(calls(platform, "sendPhoto")) == 1


async def test_person_who_blocked_us_gets_no_picture(home: Home, platform: Platform) -> None:
    _, chat = await met(home, platform)
    platform.fail("sendPhoto", Fault.blocked())
    await post(home, chat, Letter("reply", "A1: basil", picture=MAP))
    await platform.until(lambda: calls(platform, "sendPhoto") == ["sendPhoto"], what="the refused photo")
    await eventually(lambda: _none_wait(home, chat), what="the letter is given up")
    assert len(platform.sent) == 1


async def _none_wait(home: Home, chat: Chat) -> bool:
    return await waiting_letters(home, chat) == 0


@pytest.mark.parametrize(
    "picture",
    [Picture("portrait", {}), Picture("site_map", {"spots": "none"})],
    ids=["of no kind", "of no data"],
)
async def test_picture_that_cannot_be_drawn_costs_no_words(
    home: Home, platform: Platform, logs: io.StringIO, picture: Picture
) -> None:
    _, chat = await met(home, platform)
    await post(home, chat, Letter("reply", "A1: secret basil", picture=picture))
    (shown,) = await platform.wait_for_sent(1, since=1)
    assert (shown.method, shown.text) == ("sendMessage", "A1: secret basil")
    assert "cannot be drawn" in logs.getvalue()
    assert "secret" not in logs.getvalue()


async def test_edit_of_a_picture_rewrites_its_caption(home: Home, platform: Platform) -> None:
    _, chat = await met(home, platform)
    number = await post(home, chat, Letter("reply", "A1: basil", picture=MAP))
    (photo,) = await platform.wait_for_sent(1, since=1)
    edit = Letter("edit", "<b>A1</b>: dill", buttons=((Button("Undo", "v1:undo:3"),),), amends=number)
    await post(home, chat, edit, "edit")
    (edited,) = await platform.wait_for_sent(1, since=2)
    assert (edited.method, edited.message_id) == ("editMessageCaption", photo.message_id)
    assert edited.text == "A1: dill"
    assert [key.label for (key,) in edited.buttons] == ["Undo"]
    await post(home, chat, edit, "edit again")
    await eventually(lambda: _none_wait(home, chat), what="the same edit again")
    assert _standing(platform, chat, photo.message_id)["caption"] == "A1: dill"


async def test_edit_too_long_for_a_caption_is_cut(home: Home, platform: Platform) -> None:
    _, chat = await met(home, platform)
    number = await post(home, chat, Letter("reply", "A1: basil", picture=MAP))
    await platform.wait_for_sent(1, since=1)
    await post(home, chat, Letter("edit", "one &amp; all\n" * 200, amends=number), "edit")
    (edited,) = await platform.wait_for_sent(1, since=2)
    assert 1000 < len(edited.text) <= 1024
    assert edited.text.endswith("one & all\n…")


async def test_message_that_is_edited_into_a_question_for_the_map(home: Home, platform: Platform) -> None:
    """A text that stands cannot become a photo: it gets the list."""
    ana, chat = await met(home, platform)
    platform.say(chat, ana, "sowed basil in A1-A3")
    asked = platform.say(chat, ana, "ph 6.2")
    await platform.wait_for_sent(3)
    platform.edit(asked, "which sites are free?")
    (edited,) = await platform.wait_for_sent(1, since=3)
    assert edited.method == "editMessageText"
    assert "basil" in edited.text


async def test_bot_hears_while_it_draws(
    home: Home, platform: Platform, monkeypatch: pytest.MonkeyPatch, clock: FastClock
) -> None:
    """A slow drawing holds up its own chat alone."""
    import threading

    import bot.telegram.service as service
    from bot.telegram.carrier import Carrier

    drawing, go_on = threading.Event(), threading.Event()

    def slowly(picture: Picture) -> bytes:
        drawing.set()
        assert go_on.wait(10)
        return drawn(picture)

    monkeypatch.setattr(service, "Carrier", lambda bot, **others: Carrier(bot, draw=slowly, **others))
    _, chat = await met(home, platform)
    ben, other = someone(platform, 6, "Ben")
    await post(home, chat, Letter("reply", "A1: basil", picture=MAP))
    await eventually(drawing.is_set, what="the drawing has begun")
    platform.say(other, ben, "ph 6.1")
    (answer,) = await platform.wait_for_sent(1, since=1)
    assert answer.chat_id == other.id
    go_on.set()
    (shown,) = await platform.wait_for_sent(1, since=2)
    assert shown.method == "sendPhoto"
    assert clock() - answer.at < timedelta(minutes=5)


def _standing(platform: Platform, chat: Chat, message: int) -> dict[str, Any]:
    return next(line for line in platform.history(chat) if line["message_id"] == message)
