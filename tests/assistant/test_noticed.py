"""Signs of trouble that are told without a site."""

from __future__ import annotations

import pytest

from bot.assistant.exchange import Heard
from bot.assistant.replies import Logged
from domain.facts import Observation
from tests.assistant.talk import Talk


@pytest.mark.parametrize(
    ("said", "sign"),
    [
        ("algae in the tank", "algae"),
        ("roots brown and slimy", "root_rot"),
        ("fungus gnats everywhere", "gnats"),
        ("we have whiteflies", "whitefly"),
    ],
)
async def test_a_sign_is_kept_and_answered(talk: Talk, said: str, sign: str) -> None:
    (reply,) = (await talk.say(said)).replies
    assert isinstance(reply, Logged)
    assert reply.plants is not None
    assert sign in [trouble.sign for trouble in reply.plants.troubles]
    assert [entry.fact.text for entry in await talk.journal() if isinstance(entry.fact, Observation)] == [
        said
    ]
    assert "First: " in talk.text


@pytest.mark.parametrize(
    "said",
    [
        "no algae in the tank",
        "what do I do about algae?",
        "there isn't any mildew",
        "the weather is pale and sad",
        "algae " * 40,
    ],
)
async def test_what_is_no_sign_is_not_kept(talk: Talk, said: str) -> None:
    outcome = await talk.say(said)
    assert await talk.journal() == []
    assert not any(isinstance(reply, Logged) for reply in outcome.replies)


async def test_between_people_of_a_group_it_stays_talk(talk: Talk) -> None:
    group = talk.elsewhere("group", private=False)
    heard = Heard(
        chat=group.chat,
        person=group.person,
        message="1",
        said_at=talk.clock(),
        text="algae in the tank",
        addressed=False,
    )
    outcome = await group.hear(heard)
    assert outcome.replies == ()
    assert await group.journal() == []
