"""A household asks to see its water: by command, by plain words, and where there is nothing to see."""

from __future__ import annotations

from typing import Any

import pytest

from bot.assistant.chart_replies import ChartShown, NothingDrawn, TrendShown
from bot.assistant.replies import Hint
from tests.assistant.talk import Talk


async def logged(talk: Talk, clock: Any) -> None:
    await talk.say("tank holds 45 L")
    await talk.say("changed the water")
    for value in (5.8, 5.9, 6.0, 6.1):
        clock.advance(days=1)
        await talk.say(f"ph {value} ec 1.4 temp 19")


def shown(outcome: Any) -> ChartShown:
    (reply,) = outcome.replies
    assert isinstance(reply, ChartShown)
    return reply


@pytest.mark.parametrize(
    ("text", "whats"),
    [
        ("/chart", ["ph", "ec_ms_cm", "water_temp_c"]),
        ("chart", ["ph", "ec_ms_cm", "water_temp_c"]),
        ("chart ph 30 days", ["ph"]),
        ("/chart ph 30 days", ["ph"]),
        ("ph and ec since the water change", ["ph", "ec_ms_cm"]),
        ("chart temp last week", ["water_temp_c"]),
    ],
)
async def test_what_is_asked_for_is_drawn(talk: Talk, clock: Any, text: str, whats: list[str]) -> None:
    await logged(talk, clock)
    reply = shown(await talk.say(text))
    assert [panel.what for panel in reply.panels] == whats
    (letter,) = talk.letters
    assert letter.picture is not None
    assert letter.picture.kind == "chart"


async def test_a_chart_says_where_the_value_goes_and_leaves_no_entry(talk: Talk, clock: Any) -> None:
    await logged(talk, clock)
    before = await talk.journal()
    await talk.say("ph since the water change")
    assert await talk.journal() == before
    assert "pH 6.1" in talk.text
    assert "Up 0.1 a day." in talk.text


async def test_only_what_was_done_in_that_time_is_marked(talk: Talk, clock: Any) -> None:
    await logged(talk, clock)
    await talk.say("added 3 ml ph down")
    assert [hand.kind for hand in shown(await talk.say("chart ph")).hands] == ["water_change", "ph_down"]
    assert [hand.kind for hand in shown(await talk.say("chart ph today")).hands] == ["ph_down"]


async def test_a_value_that_was_not_read_is_named(talk: Talk, clock: Any) -> None:
    await logged(talk, clock)
    assert shown(await talk.say("chart ph and level")).missing == ("level_l",)
    assert "Not read in that time: level." in talk.text


async def test_nothing_to_draw_says_what_to_do(talk: Talk, clock: Any) -> None:
    await talk.say("chart")
    assert talk.text.startswith("Nothing to draw yet")
    assert "ph 6.1" in talk.text
    await logged(talk, clock)
    clock.advance(days=40)
    (reply,) = (await talk.say("chart ph last week")).replies
    assert isinstance(reply, NothingDrawn)
    assert all(letter.picture is None for letter in talk.letters)
    said = " ".join(talk.text.split()).rsplit("Try: ", 1)[1]
    assert [panel.what for panel in shown(await talk.say(said)).panels][:1] == ["ph"]


@pytest.mark.parametrize("text", ["/chart bananas", "chart ph 30 bananas"])
async def test_words_that_are_not_understood_are_named(talk: Talk, clock: Any, text: str) -> None:
    await logged(talk, clock)
    (reply,) = (await talk.say(text)).replies
    assert isinstance(reply, Hint)
    assert reply.code == "chart_unread"
    assert "bananas" in talk.text


async def test_since_something_that_never_happened(talk: Talk, clock: Any) -> None:
    await logged(talk, clock)
    await talk.say("chart ph since the last top-up")
    assert "No top up is logged yet" in talk.text


@pytest.mark.parametrize("text", ["when will ph leave the band", "is my ph rising", "ph trend"])
async def test_where_a_value_goes_is_told_with_its_interval(talk: Talk, clock: Any, text: str) -> None:
    await logged(talk, clock)
    (reply,) = (await talk.say(text)).replies
    assert isinstance(reply, TrendShown)
    (panel,) = reply.panels
    assert panel.what == "ph"
    assert panel.leaves is not None
    assert panel.leaves.soonest < panel.leaves.at
    assert "Up 0.1 a day." in talk.text
    assert "pH too high from about" in talk.text
    assert "From 4 readings since the water change of Mon 4 May" in " ".join(
        (talk.letters[0].details or "").split()
    )
    assert len(talk.text.splitlines()) <= 3


async def test_all_values_where_none_is_named(talk: Talk, clock: Any) -> None:
    await logged(talk, clock)
    (reply,) = (await talk.say("what's the trend")).replies
    assert isinstance(reply, TrendShown)
    assert [panel.what for panel in reply.panels] == ["ph", "ec_ms_cm", "water_temp_c"]


async def test_after_a_hand_in_the_water_there_is_no_trend_yet(talk: Talk, clock: Any) -> None:
    await logged(talk, clock)
    await talk.say("added 3 ml ph down")
    clock.advance(hours=6)
    await talk.say("ph 5.8")
    await talk.say("when will ph leave the band")
    assert "No trend yet: 1 reading since the pH down." in talk.prose


async def test_a_trend_of_nothing_says_what_to_do(talk: Talk) -> None:
    await talk.say("ph trend")
    assert "ph 6.1" in talk.text


async def test_a_chart_is_of_the_tank_that_the_chat_is_about(talk: Talk, clock: Any) -> None:
    await talk.say("tanks: kitchen, balcony")
    await talk.say("ph 5.8")
    clock.advance(hours=1)
    await talk.say("balcony ph 6.3")
    for tank, value in (("kitchen", 5.8), ("balcony", 6.3)):
        await talk.say(f"/tank {tank}")
        (panel,) = shown(await talk.say("chart ph")).panels
        assert [point.value for point in panel.points] == [value]
