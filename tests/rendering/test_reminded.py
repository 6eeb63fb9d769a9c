"""A reminder of many things at once stays on one screen."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from bot.assistant.due_replies import Reminded, RemindedItem
from bot.rendering import render, to_plain
from bot.rendering.voice import Voice

NOW = datetime(2026, 5, 4, 18, 0, tzinfo=UTC)
VOICE = Voice("metric", None, ZoneInfo("Europe/Lisbon"))


def reminded(count: int) -> Reminded:
    items = tuple(
        RemindedItem(
            reminder=n,
            task="check_pump",
            text=f"look at pump {n}",
            why="every week",
            planned_at=NOW,
            may_stop=True,
        )
        for n in range(1, count + 1)
    )
    return Reminded(dues=items, now=NOW)


@pytest.mark.parametrize(
    ("count", "rows", "last"),
    [
        (1, 1, "Look at pump 1. Every week."),
        (4, 4, "4. Look at pump 4. Every week."),
        (5, 4, "and 1 more: /due"),
        (16, 4, "and 12 more: /due"),
    ],
)
def test_four_are_spelled_out_and_the_rest_wait_in_the_list(count: int, rows: int, last: str) -> None:
    letter = render(reminded(count), VOICE)
    lines = to_plain(letter.html).splitlines()
    assert len(letter.buttons) == rows
    assert lines[-1] == last
    assert len(lines) == rows + (count > rows)
