"""Plain questions and courtesy, answered in a chat alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bot.assistant.exchange import Heard
from domain.facts import Observation
from tests.assistant.talk import Talk


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("what's growing", "A1: basil"),
        ("what are we growing?", "A1: basil"),
        ("what did we harvest", "So far 40 g in 1 pick of basil."),
        ("how many plugs do we have", "20 plugs left"),
        ("stock", "20 plugs left"),
        ("how many plugs are left?", "20 plugs left"),
        ("we are back", "Welcome back."),
        ("hello", "Hello! Send what you read"),
        ("Thanks!", "You are welcome."),
        ("we live in Germany", "Which clock is yours"),
    ],
)
async def test_what_people_say_is_answered(talk: Talk, text: str, said: str) -> None:
    await talk.say("sowed basil in A1")
    talk.clock.advance(days=40)
    await talk.say("picked 40 g basil from A1")
    await talk.say("we have 20 plugs")
    await talk.say(text)
    assert said in talk.prose
    assert len(talk.text.splitlines()) <= 8


@pytest.mark.parametrize("text", ["yellow leaves", "tips are brown", "wilting"])
async def test_a_sign_on_leaves_is_noted(talk: Talk, text: str) -> None:
    await talk.say(text)
    assert [e.fact.text for e in await talk.journal() if isinstance(e.fact, Observation)] == [text]
    assert "First: " in talk.text


async def test_all_reminders_are_listed_with_their_buttons(talk: Talk) -> None:
    await talk.say("remind us to feed the cat every 2 days at 9:00")
    await talk.say("stop all reminders")
    assert "Feed the cat" in talk.prose
    assert any(letter.buttons for letter in talk.letters)


@pytest.mark.parametrize("text", ["hello", "thanks", "stock", "yellow leaves", "what's growing"])
async def test_in_a_group_it_stays_talk(talk: Talk, text: str) -> None:
    group = talk.elsewhere("group", private=False)
    heard = Heard(group.chat, group.person, message="1", said_at=talk.clock(), text=text)
    outcome = await group.hear(replace(heard, addressed=False))
    assert outcome.replies == ()
