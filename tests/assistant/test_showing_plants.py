"""What stands where: the list, and as its picture the map of the household's sites."""

from __future__ import annotations

from typing import Any

import pytest

from domain.sites import Spot
from tests.assistant.talk import Talk


def mapped(talk: Talk) -> dict[str, Spot] | None:
    """The sites of the last letter's map by their labels; ``None`` where it has none."""
    picture = talk.letters[-1].picture
    if picture is None:
        return None
    return {
        label: Spot(label=label, state=state, crop=crop, days=days, others=others, task=task)
        for label, state, crop, days, others, task in picture.data["spots"]
    }


async def test_sites_that_were_said_are_all_on_the_map(talk: Talk) -> None:
    await talk.say("set sites A1-A3")
    await talk.say("sowed basil in A2")
    await talk.say("/plants")
    assert mapped(talk) == {
        "A1": Spot(label="A1", state="empty"),
        "A2": Spot(label="A2", state="germinating", crop="basil", days=0),
        "A3": Spot(label="A3", state="empty"),
    }
    assert "A2: basil" in talk.text


async def test_sites_that_were_never_said_are_those_that_were_used(talk: Talk) -> None:
    await talk.say("sowed dill in B1 and B2")
    await talk.say("lost the dill in B2")
    await talk.say("/plants")
    shown = mapped(talk)
    assert shown is not None
    assert {label: spot.state for label, spot in shown.items()} == {"B1": "germinating", "B2": "lost"}


@pytest.mark.parametrize("ask", ["/plants", "plants", "which sites are free?", "any free sites?"])
async def test_ways_to_ask_for_the_map(talk: Talk, ask: str) -> None:
    await talk.say("sowed basil in A2")
    await talk.say(ask)
    assert mapped(talk) is not None


@pytest.mark.parametrize("ask", ["what is in A2?", "where is the basil?", "/status", "/journal"])
async def test_what_needs_no_map(talk: Talk, ask: str) -> None:
    await talk.say("sowed basil in A2")
    await talk.say(ask)
    assert talk.letters
    assert mapped(talk) is None


@pytest.mark.parametrize("said", ["sowed 4 basil", "set sites A1-A3"])
async def test_where_nothing_stands_in_a_site_the_list_is_enough(talk: Talk, said: str) -> None:
    await talk.say(said)
    await talk.say("/plants")
    assert mapped(talk) is None


async def test_what_was_taken_back_leaves_the_map(talk: Talk) -> None:
    await talk.say("sowed basil in A1")
    await talk.say("sowed dill in A2")
    await talk.say("/undo")
    await talk.say("/plants")
    shown = mapped(talk)
    assert shown is not None
    assert shown.keys() == {"A1"}


async def test_a_message_that_is_edited_into_the_question_gets_the_list_alone(talk: Talk) -> None:
    await talk.say("sowed basil in A1")
    await talk.say("ph 6.1", message="77")
    await talk.edit("77", "which sites are free?")
    (letter,) = talk.letters
    assert (letter.kind, letter.picture) == ("edit", None)
    assert "A1: basil" in talk.text


async def test_the_map_says_what_there_is_to_do(talk: Talk, clock: Any) -> None:
    await talk.say("sowed lettuce in A1")
    await talk.say("sowed parsley in A2")
    clock.advance(days=4)
    await talk.say("/plants")
    shown = mapped(talk)
    assert shown is not None
    assert {label: spot.task for label, spot in shown.items()} == {"A1": "look", "A2": None}
