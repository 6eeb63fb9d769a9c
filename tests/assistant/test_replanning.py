"""Reminders paused, moved and dropped, in words and by buttons."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from bot.assistant.replies import DueItem, RemindersShown
from tests.assistant.talk import Talk


@pytest.fixture
async def home(talk: Talk) -> Talk:
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("remind us to rinse the filter every 2 weeks on sunday at 6pm")
    return talk


async def standing(talk: Talk) -> dict[str, DueItem]:
    (reply,) = (await talk.say("/reminders")).replies
    assert isinstance(reply, RemindersShown)
    return {item.text: item for item in reply.dues}


async def test_a_paused_reminder_keeps_silent_and_shows_so(home: Talk) -> None:
    await home.say("pause the filter reminder")
    assert home.text.splitlines()[0] == "Paused: rinse the filter."
    home.clock.now = datetime(2026, 5, 10, 17, 1, tzinfo=UTC)
    await home.tick()
    assert "filter" not in home.text
    await home.say("/due")
    assert home.text.endswith("Paused: rinse the filter")
    await home.say("resume the filter reminder")
    assert home.text == "On again: rinse the filter."
    await home.tick()
    assert "Rinse the filter" in home.text


async def test_what_was_told_before_the_pause_goes_on_at_its_next_date(home: Talk) -> None:
    home.clock.now = datetime(2026, 5, 10, 17, 1, tzinfo=UTC)
    await home.tick()
    await home.say("pause the filter reminder")
    home.clock.now = datetime(2026, 6, 10, 17, 1, tzinfo=UTC)
    await home.say("resume reminders")
    due_at = (await standing(home))["rinse the filter"].due_at
    assert due_at == datetime(2026, 6, 21, 17, 0, tzinfo=UTC)


async def test_a_move_in_words_and_by_a_button(home: Talk) -> None:
    await home.say("move the filter reminder to saturday 10am")
    assert home.text == "Sat 9 May 10:00: rinse the filter."
    await home.say("/reminders")
    numbers = [line.split(".")[0] for line in home.text.splitlines() if "filter" in line]
    await home.press(f"+1 day {numbers[0]}")
    assert home.text == "Sun 10 May 10:00: rinse the filter."
    assert (await standing(home))["rinse the filter"].due_at == datetime(2026, 5, 10, 9, 0, tzinfo=UTC)
    home.clock.now = datetime(2026, 5, 10, 9, 0, tzinfo=UTC)
    await home.tick()
    assert "Rinse the filter" in home.text
    # The move stood in for that Sunday evening: the next is a fortnight later.
    assert (await standing(home))["rinse the filter"].due_at == datetime(2026, 5, 24, 17, 0, tzinfo=UTC)


async def test_the_routine_can_be_moved_too(home: Talk) -> None:
    await home.say("move the water change to friday")
    due_at = (await standing(home))["change the water"].due_at
    assert due_at == datetime(2026, 5, 8, 8, 0, tzinfo=UTC)


async def test_a_dropped_reminder_is_gone_until_an_undo(home: Talk) -> None:
    await home.say("delete the filter reminder")
    assert "rinse the filter" not in await standing(home)
    await home.say("remind us tomorrow at 6pm to feed the fish")
    await home.say("stop reminding us about the water change")
    assert "change the water" not in await standing(home)
    await home.say("undo")
    assert "change the water" in await standing(home)


async def test_words_that_fit_none_or_several_change_nothing(home: Talk) -> None:
    await home.say("pause the roof reminder")
    assert home.prose == "I have no reminder for “roof”. /reminders lists them."
    await home.say("remind us to rinse the roof filter tomorrow")
    await home.say("delete the filter reminder")
    assert home.text.splitlines()[0] == "Which one? “filter” fits:"
    assert len([text for text in await standing(home) if "filter" in text]) == 2
    await home.say("move the roof reminder to yesterday noonish")
    assert home.prose == "To when? Say it like: move the filter reminder to saturday 10am"


async def test_buttons_of_another_household_do_nothing(home: Talk) -> None:
    await home.say("/reminders")
    data = [button.data for row in home.letters[0].buttons for button in row]
    stranger = home.elsewhere("other")
    await stranger.say("ph 6")
    for number, each in enumerate(data):
        assert (await stranger.press("", press=f"s{number}", data=each)).text == "This is settled already."
    assert not any(item.is_paused for item in (await standing(home)).values())
