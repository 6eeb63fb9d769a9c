"""The number in ``moved 2 basil to C1`` is not dropped in silence."""

from __future__ import annotations

import pytest

from tests.assistant.talk import Talk


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("moved 2 basil from the tray to C1", "Moved 1, not 2"),
        ("moved 99 basil from the tray to B3", "Moved 1, not 99"),
        ("transplanted three basil from the tray to C1 and C2", "Moved 2, not 3"),
    ],
)
async def test_a_number_that_was_not_moved_is_told(talk: Talk, text: str, said: str) -> None:
    await talk.say("sowed 6 basil in the tray")
    await talk.say(text)
    assert said in talk.prose
    assert len(talk.text.splitlines()) <= 7


@pytest.mark.parametrize(
    "text",
    [
        "moved 2 basil from the tray to C1, C2",
        "moved basil from the tray to C1",
        "moved 1 basil from the tray to C1",
    ],
)
async def test_a_number_that_fits_or_is_not_said_needs_no_word(talk: Talk, text: str) -> None:
    await talk.say("sowed 6 basil in the tray")
    await talk.say(text)
    assert ", not " not in talk.prose
