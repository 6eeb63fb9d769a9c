"""Hours, repeats, journeys and keepers that do not exist are told, and nothing is made of them."""

from __future__ import annotations

import pytest

from tests.assistant.talk import Talk


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("remind us to feed the cat every 2 days at 25:00", "A day has no 25:00: nothing was kept."),
        ("remind us to feed the cat tomorrow at 12:75", "A day has no 12:75"),
        ("remind me to rinse every 0 days", "“every 0 days” is no time: nothing was kept."),
        ("tank holds 40 ml", "“tank holds 40 ml” fits no tank: nothing was kept."),
        ("away 10-3 may", "“10-3 may” ends before it starts: nothing was kept."),
    ],
)
async def test_what_cannot_be_is_told_and_not_kept(talk: Talk, text: str, said: str) -> None:
    await talk.say(text)
    assert said in talk.prose
    assert await talk.journal() == []


@pytest.mark.parametrize(
    "text",
    [
        "remind us to feed the cat every 2 days at 23:00",
        "away 3-10 may",
        "away 30 dec to 2 jan",
        "tank holds 2 L",
    ],
)
async def test_what_can_be_is_kept(talk: Talk, text: str) -> None:
    await talk.say(text)
    assert len(await talk.journal()) == 1


async def test_a_keeper_whom_nobody_knows_is_told_and_who_is_reminded(talk: Talk) -> None:
    await talk.say("away tomorrow for 5 days, Zorro takes over")
    assert "Nobody here is called Zorro: I go on reminding Mina." in talk.prose
    await talk.say("away tomorrow for 5 days, Mina takes over")
    assert "Nobody here" not in talk.prose
