"""The list of what is due: grouped, short, for whom, settled by a button or simply by logging."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from bot.assistant.replies import DueItem, DueShown
from domain.facts import Chore
from domain.routine import task_meant
from tests.assistant.talk import Talk


async def due(talk: Talk, text: str = "/due") -> DueShown:
    (reply,) = (await talk.say(text)).replies
    assert isinstance(reply, DueShown)
    return reply


async def item(talk: Talk, text: str) -> DueItem | None:
    return next((found for found in (await due(talk, "/due all")).dues if text in found.text), None)


async def settle_in(talk: Talk) -> None:
    """Monday 4 May 2026, a quarter past eight in the evening in Lisbon."""
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("changed the water")


async def test_the_list_is_grouped_and_each_line_says_why_in_few_words(talk: Talk) -> None:
    await settle_in(talk)
    await talk.say("remind us to rinse the filter on sunday at 6pm")
    await talk.say("due")
    assert talk.text.splitlines() == [
        "This week",
        "Thu: check the level and top up,",
        "last topped up 4 May",
        "Sun: rinse the filter, Mina asked for it",
        "Later",
        "11 May: test pH and strength,",
        "never tested so far",
        "18 May: change the water, last changed 4 May",
        "1 Jun: calibrate the pH meter,",
        "never calibrated so far",
    ]
    assert [[button.label for button in row] for row in talk.letters[0].buttons] == [["Calendar"]]


async def test_what_is_due_now_stands_under_today_with_its_buttons(talk: Talk) -> None:
    await settle_in(talk)
    talk.clock.advance(days=15)
    await talk.say("/due")
    shown = ["Today", "1. Check the level and top up,", "last topped up 4 May"]
    assert talk.text.splitlines()[:3] == shown
    labels = [[button.label for button in row] for row in talk.letters[0].buttons]
    assert labels == [["Done 1", "Later 1"], ["Done 2", "Later 2"], ["Done 3", "Later 3"], ["Calendar"]]
    await talk.press("Done 3")
    assert (await due(talk)).dues[-1].text == "change the water"


async def test_a_long_list_is_cut_and_says_how_to_see_the_rest(talk: Talk) -> None:
    await settle_in(talk)
    for number in range(1, 9):
        await talk.say(f"remind us on {9 + number} June at 9am to look at row {number}")
    await talk.say("/due")
    assert talk.text.endswith("and 6 more: /due all")
    assert len((await due(talk)).dues) == 12
    await talk.say("/due all")
    assert "row 8" in talk.text


async def test_later_keeps_it_in_the_list_and_skip_takes_it_to_its_next_date(talk: Talk) -> None:
    await settle_in(talk)
    await talk.say("/due")
    talk.clock.now = datetime(2026, 5, 18, 17, 1, tzinfo=UTC)
    await talk.tick()
    change = next(b.data for row in talk.letters[0].buttons for b in row if b.label.startswith("Later 3"))
    await talk.press("", data=change)
    found = await item(talk, "change the water")
    assert found is not None
    assert found.is_now
    await talk.press("", press="p2", data=change.replace(":later:", ":pass:"))
    found = await item(talk, "change the water")
    assert found is not None
    assert found.due_at == datetime(2026, 6, 1, 17, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("asked", "did"),
    [
        ("remind us tomorrow at 6pm to rinse the filter", "rinsed the filter"),
        ("remind us tomorrow at 6pm to change the water", "changed the water"),
        ("remind us tomorrow at 6pm to clean the pump", "cleaned the pump"),
        ("remind us tomorrow at 6pm to check the ph", "ph 5.9"),
        ("remind us tomorrow at 6pm to top up the tank", "topped up 4 L"),
    ],
)
async def test_a_reminder_is_closed_simply_by_logging_it(talk: Talk, asked: str, did: str) -> None:
    await settle_in(talk)
    await talk.say(asked)
    assert any(found.task == "own" for found in (await due(talk)).dues)
    talk.clock.advance(hours=3)
    await talk.say(did)
    assert not any(found.task == "own" for found in (await due(talk)).dues)
    await talk.say("undo")
    assert any(found.task == "own" for found in (await due(talk)).dues)


async def test_a_repeating_one_goes_on_to_its_next_day(talk: Talk) -> None:
    await settle_in(talk)
    await talk.say("remind us to rinse the filter every 2 weeks on sunday at 6pm")
    talk.clock.now = datetime(2026, 5, 9, 10, 0, tzinfo=UTC)  # the Saturday before
    await talk.say("rinsed the filter")
    found = await item(talk, "rinse the filter")
    assert found is not None
    assert found.due_at == datetime(2026, 5, 24, 17, 0, tzinfo=UTC)
    assert found.brief == "last rinsed 9 May"


async def test_done_on_an_own_reminder_logs_what_it_means(talk: Talk) -> None:
    await settle_in(talk)
    await talk.say("remind us tomorrow at 6pm to rinse the filter")
    talk.clock.advance(days=1)
    await talk.tick()
    await talk.press("Done")
    assert any(e.fact == Chore(task="rinse_filter", when=talk.clock()) for e in await talk.journal())


async def test_what_was_asked_for_in_private_names_who_asked(talk: Talk) -> None:
    await settle_in(talk)
    await talk.someone("Rui", "8").say("remind me tomorrow at 10am to buy seed")
    found = await item(talk, "buy seed")
    assert found is not None
    assert found.whom == "Rui"
    await talk.say("/due")
    assert "\nTue: buy seed (Rui)\n" in talk.text


async def test_while_away_the_list_says_who_has_taken_over(talk: Talk) -> None:
    await settle_in(talk)
    await talk.say("away 17-20 may, Ana takes over")
    found = await item(talk, "change the water")
    assert found is not None
    assert found.whom == "Ana"
    assert found.due_at - talk.clock() > timedelta(days=13)


async def test_an_empty_list_says_how_to_fill_it(talk: Talk) -> None:
    await talk.say("/due")
    assert talk.prose == "Nothing is due. Set one: change water every 2 weeks"


@pytest.mark.parametrize(
    ("text", "task"),
    [
        ("rinse the filter", "rinse_filter"),
        ("Filters: rinse them", "rinse_filter"),
        ("calibrate the pH meter", "calibrate_ph_meter"),
        ("change the water with Rui", "water_change"),
        ("buy a water bottle", None),
        ("call the neighbours about the change", None),
        ("", None),
    ],
)
def test_which_task_the_words_of_a_reminder_mean(text: str, task: str | None) -> None:
    assert task_meant(text) == task
