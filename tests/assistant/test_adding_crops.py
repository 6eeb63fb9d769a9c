"""A household adds a crop of its own and is asked once what kind of plant it is."""

from __future__ import annotations

from bot.assistant.replies import Asked, BandsShown, Unread
from domain.sources import YOURS
from tests.assistant.talk import Talk


async def test_a_crop_is_added_asked_about_once_and_counted(talk: Talk) -> None:
    outcome = await talk.say("we grow sorrelette: ph 5.8-6.4, ec 1.2-1.8")
    assert [reply.about for reply in outcome.replies if isinstance(reply, Asked)] == ["sorrelette"]
    await talk.press("Leafy green")
    again = await talk.say("set sorrelette ec 1.4-2.0")
    assert not any(isinstance(reply, Asked) for reply in again.replies)
    outcome = await talk.say("sowed sorrelette in A1-A3")
    assert [(p.crop, p.stage) for p in outcome.scene.plantings] == [("sorrelette", "germinating")]
    (shown,) = (await talk.say("bands for sorrelette")).replies
    assert isinstance(shown, BandsShown)
    assert (shown.bands.ec.ideal_low, shown.bands.ec.ideal_high) == (1.4, 2.0)
    assert YOURS in shown.bands.ec.sources


async def test_a_name_that_nobody_knows_can_be_added_with_one_press(talk: Talk) -> None:
    outcome = await talk.say("set sorrelette ph 5.8-6.4")
    (asked,) = outcome.replies
    assert isinstance(asked, Unread)
    await talk.press("we grow sorrelette: ph 5.8-6.4")
    assert "sorrelette" in talk.text
    (entry,) = await talk.journal()
    assert (entry.fact.name, entry.fact.crop) == ("band", "sorrelette")  # type: ignore[attr-defined]


async def test_undoing_it_makes_its_name_unknown_again(talk: Talk) -> None:
    await talk.say("we grow sorrelette: ph 5.8-6.4")
    await talk.say("/undo")
    outcome = await talk.say("sowed sorrelette in A1")
    assert outcome.facts == ()


async def test_the_bands_of_a_young_crop_by_command(talk: Talk) -> None:
    for asked in ("/bands basil seedlings", "bands for basil seedlings"):
        (shown,) = (await talk.say(asked)).replies
        assert isinstance(shown, BandsShown)
        assert (shown.crop, shown.stage) == ("basil", "seedling")
        assert shown.bands.ec.set_by_high == "basil seedlings"
