"""Questions about seedlings, packets and harvest: what they ask, and that they record nothing."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from bot.reader import ReaderSettings, read


def said(text: str) -> list[dict[str, Any]]:
    settings = ReaderSettings.from_json({})
    now = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)
    return [
        found.fact.as_json() for found in read(text, now=now, zone=ZoneInfo("UTC"), settings=settings).facts
    ]


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("what came up this week", {"about": "site"}),
        ("what has come up?", {"about": "site"}),
        ("has the basil come up", {"about": "site", "crop": "basil"}),
        ("is the basil up yet", {"about": "site", "crop": "basil"}),
        ("when will the basil come up", {"about": "site", "crop": "basil"}),
        ("what's due to come up", {"about": "due"}),
        ("how is the basil doing", {"about": "site", "crop": "basil"}),
        ("how is the corner shop basil doing", {"about": "seed_lot", "crop": "basil", "lot": "corner shop"}),
        (
            "how's the Green Gate lettuce coming along",
            {"about": "seed_lot", "crop": "lettuce", "lot": "Green Gate"},
        ),
        ("how much lettuce did we pick", {"about": "harvest", "crop": "lettuce"}),
        ("bands for basil seedlings", {"about": "bands", "crop": "basil"}),
    ],
)
def test_it_asks_this_and_records_nothing(text: str, asked: dict[str, str]) -> None:
    assert said(text) == [{"kind": "question", **asked}]


@pytest.mark.parametrize("text", ["A2 is up", "two basils popped up today", "the basil has come up"])
def test_a_statement_is_still_a_record(text: str) -> None:
    assert [fact["kind"] for fact in said(text)] == ["emerged"]


@pytest.mark.parametrize("text", ["what time are you coming up", "how are you doing", "how is mum doing"])
def test_talk_is_left_alone(text: str) -> None:
    assert said(text) == []
