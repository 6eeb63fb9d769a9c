"""Which part of the journal is asked for, row by row."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.reader.lookback import Lookback, lookback

LISBON = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 5, 6, 20, 30, tzinfo=LISBON)  # a Wednesday


def at(month: int, day: int, year: int = 2026) -> datetime:
    return datetime(year, month, day, tzinfo=LISBON)


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        ("", Lookback()),
        ("last week", Lookback(since=at(4, 30))),
        ("for the last 3 days", Lookback(since=at(5, 4))),
        ("two weeks", Lookback(since=at(4, 23))),
        ("today", Lookback(since=at(5, 6), until=at(5, 7))),
        ("of yesterday", Lookback(since=at(5, 5), until=at(5, 6))),
        ("monday", Lookback(since=at(5, 4), until=at(5, 5))),
        ("2 may", Lookback(since=at(5, 2), until=at(5, 3))),
        ("since 1 may", Lookback(since=at(5, 1))),
        ("since 28 october", Lookback(since=at(10, 28, 2025))),
        ("B2", Lookback(sites=("B2",))),
        ("b2-b4, C1", Lookback(sites=("B2", "B3", "B4", "C1"))),
        ("row B", Lookback(sites=("B*",))),
        ("A1 last week", Lookback(sites=("A1",), since=at(4, 30))),
        ("basil and rocket", Lookback(crops=("basil", "arugula"))),
        ("cherry tomatoes", Lookback(crops=("cherry tomato",))),
        ("doses yesterday", Lookback(kinds=frozenset({"dose"}), since=at(5, 5), until=at(5, 6))),
        ("the quokkas", Lookback(unread="quokkas")),
        ("31 june", Lookback(unread="31 june")),
        ("next friday", Lookback(unread="next friday")),
    ],
)
def test_every_word_counts(typed: str, asked: Lookback) -> None:
    assert lookback(typed, now=NOW, zone=LISBON) == asked


@given(st.text(max_size=60))
@settings(max_examples=60, deadline=None)
def test_whatever_is_typed_is_read_or_given_back(typed: str) -> None:
    asked = lookback(typed, now=NOW, zone=LISBON)
    assert not asked.unread or (asked.sites, asked.crops, asked.since) == ((), (), None)
