"""The weekly digest: on Sunday evening, by command, off by a tap and by words, in the day's share."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from bot.assistant.exchange import Letter
from bot.rendering import to_plain
from tests.assistant.talk import Talk

HEADS = ["Water", "Up", "Picked", "Done", "Ahead"]


async def a_week(talk: Talk, clock: Any) -> None:
    """From a Monday on: four tests, a sowing that comes up, a top-up."""
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("sowed basil in A1-A3")
    for text in ("ph 5.9 ec 1.4", "topped up 4 L", "ph 6.1 ec 1.3", "A1 is up"):
        clock.advance(days=1)
        await talk.say(text)


def to_sunday(clock: Any) -> None:
    """Sunday 20:00 in Lisbon."""
    clock.now = datetime(2026, 5, 10, 19, 0, tzinfo=clock.now.tzinfo)


def digests(talk: Talk) -> list[Letter]:
    return [letter for letter in talk.letters if "Water" in letter.html and "Ahead" in letter.html]


async def test_on_sunday_the_week_comes_as_a_picture_and_five_lines(talk: Talk, clock: Any) -> None:
    await a_week(talk, clock)
    to_sunday(clock)
    await talk.tick()
    (letter,) = digests(talk)
    assert letter.kind == "reminder"
    assert letter.picture is not None
    assert letter.picture.kind == "chart"
    lines = to_plain(letter.html).splitlines()
    assert [line.split(":")[0] for line in lines if line.split(":")[0] in HEADS] == HEADS
    assert "1 basil" in " ".join(lines)
    await talk.tick()
    assert not digests(talk)


async def test_it_comes_again_a_week_later_where_there_was_something(talk: Talk, clock: Any) -> None:
    await a_week(talk, clock)
    to_sunday(clock)
    await talk.tick()
    clock.advance(days=2)
    await talk.say("ph 6.0")
    clock.advance(days=5)
    await talk.tick()
    assert len(digests(talk)) == 1


async def test_a_week_of_silence_brings_none(talk: Talk, clock: Any) -> None:
    await a_week(talk, clock)
    clock.now = datetime(2026, 5, 17, 19, 0, tzinfo=clock.now.tzinfo)
    await talk.tick()
    clock.advance(days=7)
    await talk.tick()
    assert not digests(talk)


async def test_a_tap_turns_it_off_and_words_turn_it_on(talk: Talk, clock: Any) -> None:
    await a_week(talk, clock)
    to_sunday(clock)
    await talk.tick()
    talk.letters = digests(talk)
    answer = await talk.press("No more digests")
    assert "digest on" in answer.text
    clock.advance(days=3)
    await talk.say("ph 6.0")
    clock.advance(days=4)
    await talk.tick()
    assert not digests(talk)
    await talk.say("digest on")
    clock.advance(days=5)
    await talk.say("ph 6.0")
    clock.advance(days=2)
    await talk.tick()
    assert len(digests(talk)) == 1


@pytest.mark.parametrize(
    "text", ["no weekly digest", "stop the digest", "Turn off the weekly summary.", "digest off"]
)
async def test_words_turn_it_off(talk: Talk, clock: Any, text: str) -> None:
    await a_week(talk, clock)
    await talk.say(text)
    assert "not reminded of any more" in " ".join(talk.text.split())
    to_sunday(clock)
    await talk.tick()
    assert not digests(talk)


async def test_it_counts_in_the_two_unasked_messages_a_day(talk: Talk, clock: Any) -> None:
    await a_week(talk, clock)
    for hour in (11, 12):
        await talk.say(f"remind me on sunday at {hour}:30 to look at the roots")
    clock.now = datetime(2026, 5, 10, 10, 30, tzinfo=clock.now.tzinfo)
    assert await talk.tick() == 1
    clock.advance(hours=1)
    assert await talk.tick() == 1
    to_sunday(clock)
    assert await talk.tick() == 0
    clock.now = datetime(2026, 5, 11, 8, 0, tzinfo=clock.now.tzinfo)
    await talk.tick()
    assert len(digests(talk)) == 1


async def test_asked_for_at_any_time(talk: Talk, clock: Any) -> None:
    await talk.say("/digest")
    assert "Nothing was logged" in talk.text
    await a_week(talk, clock)
    await talk.say("/digest")
    (letter,) = digests(talk)
    assert letter.picture is not None
    assert not letter.buttons


async def test_it_is_no_chore_of_the_list(talk: Talk, clock: Any) -> None:
    await a_week(talk, clock)
    await talk.say("/due")
    assert "digest" not in talk.text
