"""One's own last log put right in words, as the button does it."""

from __future__ import annotations

import pytest

from domain.facts import Dose, Reading
from tests.assistant.talk import Talk


async def readings(talk: Talk) -> list[Reading]:
    return [entry.fact for entry in await talk.journal() if isinstance(entry.fact, Reading)]


@pytest.mark.parametrize(
    "words",
    [
        "I meant ph 6.1",
        "sorry ph was 6.1 not 7.9",
        "sorry, I meant 6.1",
        "no, it was 6.1",
        "oops, ph 6.1",
        "no it's 6.1, not 7.9!",
        "actually that was 6.1",
        "ph was 6.1 not 7.9",
    ],
)
async def test_a_slip_put_right_in_words_leaves_one_reading(talk: Talk, words: str) -> None:
    await talk.say("ph 7.9 temp 20")
    talk.clock.advance(minutes=2)
    await talk.say(words)
    (reading,) = await readings(talk)
    assert (reading.ph, reading.water_temp_c) == (6.1, 20)


async def test_what_follows_a_dose_or_comes_late_is_a_reading_of_its_own(talk: Talk) -> None:
    await talk.say("ph 6.9")
    await talk.say("added 1 ml ph down")
    await talk.say("sorry, ph 6.6")
    assert [reading.ph for reading in await readings(talk)] == [6.9, 6.6]
    talk.clock.advance(minutes=31)
    await talk.say("actually ph 6.3")
    assert [reading.ph for reading in await readings(talk)] == [6.9, 6.6, 6.3]


async def test_the_next_reading_without_such_a_word_is_logged_beside_the_first(talk: Talk) -> None:
    await talk.say("ph 6.4")
    talk.clock.advance(minutes=2)
    await talk.say("ph 6.3")
    assert [reading.ph for reading in await readings(talk)] == [6.4, 6.3]


async def test_another_person_puts_nothing_of_mine_right(talk: Talk) -> None:
    await talk.say("ph 6.4")
    await talk.someone("Ben", "2").say("no, it was 6.1")
    assert [reading.ph for reading in await readings(talk)] == [6.4]


@pytest.mark.parametrize("words", ["delete my last entry", "Remove the last log", "undo my last message"])
async def test_the_last_entry_is_taken_back_in_words(talk: Talk, words: str) -> None:
    await talk.say("ph 6.4")
    await talk.say("added 1 ml ph down")
    await talk.say(words)
    facts = [entry.fact for entry in await talk.journal()]
    assert not any(isinstance(fact, Dose) for fact in facts)
    assert [fact.ph for fact in facts if isinstance(fact, Reading)] == [6.4]
    assert "taken back" in talk.prose.lower()
