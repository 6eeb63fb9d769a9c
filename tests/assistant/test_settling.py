"""A reminder answered by typing has the effect of its button, once."""

from __future__ import annotations

from typing import Any

import pytest

from bot.assistant.exchange import Heard
from domain.facts import TopUp, WaterChange
from tests.assistant.talk import Talk


async def reminded(talk: Talk, *texts: str) -> None:
    """A household that has just been reminded of these, and of nothing else."""
    await talk.say("set time zone Europe/Lisbon")
    for text in texts or ("look at the roots",):
        await talk.say(f"remind us tomorrow at 10am to {text}")
    talk.clock.advance(hours=14)
    assert await talk.tick() == 1


@pytest.mark.parametrize("word", ["done", "Done!", "did it", "did it.", "it’s done"])
async def test_done_settles_it_once(talk: Talk, word: str) -> None:
    await reminded(talk)
    await talk.say(word)
    assert "could not read" not in talk.text
    await talk.say(word)
    assert talk.text.startswith("I could not read that"), "nothing waits any more"


async def test_done_logs_what_the_button_logs(talk: Talk) -> None:
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("change water every 2 weeks")
    await talk.say("topped up 4 L")
    await talk.say("ph 6.0 ec 1.4")
    talk.clock.advance(days=3)
    await talk.tick()
    before = len(await talk.journal())
    await talk.say("done")
    entries = await talk.journal()
    assert len(entries) == before + 1
    assert isinstance(entries[-1].fact, TopUp | WaterChange)
    assert entries[-1].author == "Mina"


async def test_later_and_skip(talk: Talk) -> None:
    await reminded(talk)
    await talk.say("later")
    assert talk.text.startswith("I will ask again at ")
    talk.clock.advance(hours=4)
    assert await talk.tick() == 1
    await talk.say("skip")
    assert talk.text.startswith("Left out this time")
    talk.clock.advance(hours=4)
    assert await talk.tick() == 0


async def test_of_several_it_asks_which(talk: Talk) -> None:
    await reminded(talk, "look at the roots", "order seed")
    await talk.say("done")
    assert talk.text.startswith("Which one is done?")
    labels = [button.label for letter in talk.letters for row in letter.buttons for button in row]
    assert {"Done 1", "Done 2"} <= set(labels)
    await talk.press("Done 1")
    await talk.say("done")
    assert not talk.text.startswith(("Which one", "I could not read"))


@pytest.mark.parametrize("waits", [True, False])
async def test_in_a_group_a_bare_word_is_talk_where_nothing_waits(talk: Talk, waits: bool) -> None:
    group = talk.elsewhere("flat", private=False)
    if waits:
        await reminded(group)
    said: dict[str, Any] = {"said_at": talk.clock(), "text": "done", "addressed": False}
    outcome = await group.hear(Heard(chat=group.chat, person=group.person, message="77", **said))
    assert bool(outcome.replies) == waits


async def test_in_the_set_up_it_answers_the_set_up(talk: Talk) -> None:
    await reminded(talk)
    await talk.say("/start")
    await talk.say("skip")
    assert "How much water" in talk.text
