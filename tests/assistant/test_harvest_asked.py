"""What was picked so far, by crop, by site and by week; and who sets the tank's bands."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from bot.assistant.garden_replies import HarvestShown
from bot.assistant.replies import BandsShown
from tests.assistant.talk import Talk


async def picked(talk: Talk, clock: Any) -> None:
    await talk.say("sowed lettuce in A1-A2")
    await talk.say("sowed basil in B1")
    clock.advance(days=40)  # the clock began on a Monday: Saturday 13 June
    await talk.say("picked 120 g lettuce A1")
    await talk.say("picked 30 g basil B1")
    clock.advance(days=7)
    await talk.say("picked 80 g lettuce A2")
    await talk.say("picked lettuce A1")


@pytest.mark.parametrize(
    ("ask", "given"),
    [
        ("yield per site", {"A1": (120, 2), "A2": (80, 1), "B1": (30, 1)}),
        ("lettuce harvest by site", {"A1": (120, 2), "A2": (80, 1)}),
        ("how much did we pick per week?", {date(2026, 6, 8): (150, 2), date(2026, 6, 15): (80, 2)}),
        ("how much lettuce did we pick?", {"lettuce": (200, 3)}),
        ("harvest by crop", {"basil": (30, 1), "lettuce": (200, 3)}),
    ],
)
async def test_what_was_picked(talk: Talk, clock: Any, ask: str, given: dict[Any, tuple[int, int]]) -> None:
    await picked(talk, clock)
    (shown,) = (await talk.say(ask)).replies
    assert isinstance(shown, HarvestShown)
    assert {each.key: (each.grams, each.picks) for each in shown.given} == given


async def test_the_best_site_and_the_newest_week_come_first(talk: Talk, clock: Any) -> None:
    await picked(talk, clock)
    await talk.say("yield per site")
    assert talk.text.splitlines() == [
        "Picked by site",
        "A1: 120 g in 2 picks, 1 not weighed",
        "A2: 80 g in 1 pick",
        "B1: 30 g in 1 pick",
    ]
    await talk.say("harvest by week")
    assert talk.text.splitlines()[1].startswith("week of 15 Jun: 80 g")


async def test_bands_name_the_crop_that_sets_each_edge(talk: Talk, clock: Any) -> None:
    await talk.say("sowed lettuce in A1-A4")
    await talk.say("sowed basil in B1-B4")
    clock.advance(days=40)
    (shown,) = (await talk.say("/bands")).replies
    assert isinstance(shown, BandsShown)
    (said,) = (line for line in talk.text.splitlines() if line.startswith("Set by: "))
    for band in (shown.bands.ph, shown.bands.ec, shown.bands.water_temp):
        assert band.set_by_low in said
        assert band.set_by_high in said


async def test_the_sum_is_the_answer_to_how_much_was_picked(talk: Talk) -> None:
    await talk.say("sowed basil in A1-A3")
    talk.clock.advance(days=60)
    for grams in (53, 60):
        await talk.say(f"picked {grams} g basil from A1")
    await talk.say("how much basil did we pick")
    assert talk.prose == "So far 113 g in 2 picks of basil."


async def test_that_a_crop_is_grown_gives_way_to_where_it_is_sown(talk: Talk) -> None:
    await talk.say("growing lettuce")
    await talk.say("sowed lettuce in A1-A3")
    await talk.say("plants")
    assert talk.prose.count("lettuce") == 1
    assert "3 lettuce" in talk.prose


async def test_a_crop_picked_at_no_named_site_is_not_called_unpicked(talk: Talk) -> None:
    await talk.say("sowed basil in A1")
    talk.clock.advance(days=2)
    await talk.say("sowed basil in B1")
    for site in ("A1", "B1"):
        talk.clock.advance(days=8)
        await talk.say(f"{site} is up")
    talk.clock.advance(days=60)
    tasks = (await talk.say("plants")).replies[0].spots
    assert {spot.task for spot in tasks} == {"pick"}
    await talk.say("picked 30 g basil")
    tasks = (await talk.say("plants")).replies[0].spots
    assert "pick" not in {spot.task for spot in tasks}
