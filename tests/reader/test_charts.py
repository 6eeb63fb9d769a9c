"""What the words after ``chart`` ask for."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.reader.charts import ChartWish, chart_wish

LISBON = ZoneInfo("Europe/Lisbon")
SECOND = timedelta(seconds=1)
NOW = datetime(2026, 5, 4, 19, 5, tzinfo=LISBON)  # a Monday


def wish(args: str, *, day_first: bool = True) -> ChartWish:
    return chart_wish(args, now=NOW, zone=LISBON, day_first=day_first)


def midnight(month: int, day: int) -> datetime:
    return datetime(2026, month, day, tzinfo=LISBON)


def test_no_words_ask_for_everything_over_the_usual_time() -> None:
    assert wish("") == ChartWish()


@pytest.mark.parametrize(
    ("args", "whats"),
    [
        ("ph", ("ph",)),
        ("ec and ph", ("ec_ms_cm", "ph")),
        ("ppm, temp & level", ("ec_ms_cm", "water_temp_c", "level_l")),
        ("the water temperature", ("water_temp_c",)),
        ("water level", ("level_l",)),
        ("strength + tds", ("ec_ms_cm",)),
        ("pH please", ("ph",)),
        ("ec graph", ("ec_ms_cm",)),
    ],
)
def test_values_by_their_names(args: str, whats: tuple[str, ...]) -> None:
    assert wish(args) == ChartWish(whats=whats)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("args", "since", "until"),
    [
        ("ph 30 days", NOW - timedelta(days=30), None),
        ("ph for the last 2 weeks", NOW - timedelta(days=14), None),
        ("last week", NOW - timedelta(days=7), None),
        ("past three days", NOW - timedelta(days=3), None),
        ("48 h", NOW - timedelta(hours=48), None),
        ("last month", NOW - timedelta(days=30), None),
        ("today", midnight(5, 4), None),
        ("yesterday", midnight(5, 3), midnight(5, 4) - SECOND),
        ("ph since sunday", midnight(5, 3), None),
        ("since 20 april", midnight(4, 20), None),
        ("from 20/4 to 25/4", midnight(4, 20), midnight(4, 26) - SECOND),
        ("since yesterday 7pm", datetime(2026, 5, 3, 19, tzinfo=LISBON), None),
        ("9999 years", NOW - timedelta(days=3660), None),
    ],
)
def test_times_by_the_household_clock(args: str, since: datetime, until: datetime | None) -> None:
    found = wish(args)
    assert (found.since, found.until, found.unread) == (since, until, "")


def test_the_order_of_day_and_month_is_the_household_own() -> None:
    assert wish("since 4/5", day_first=False).since == midnight(4, 5)
    assert wish("since 4/5").since == midnight(5, 4)


@pytest.mark.parametrize(
    ("args", "hand"),
    [
        ("ph and ec since the water change", "water_change"),
        ("since our last top-up", "top_up"),
        ("ph since the last dose", "dose"),
        ("since ph down", "ph_down"),
        ("ec since the feed", "nutrient"),
    ],
)
def test_since_something_was_done(args: str, hand: str) -> None:
    assert (wish(args).hand, wish(args).unread) == (hand, "")


@pytest.mark.parametrize(
    ("args", "unread"),
    [
        ("foo", "foo"),
        ("ph foo bar", "foo bar"),
        ("ph 30 bananas", "30 bananas"),
        ("since 20 june 2030", "since 20 june 2030"),
        ("ph 0 days", "0 days"),
        ("ph today last week", "last week"),
    ],
)
def test_what_is_not_understood_is_said_and_not_guessed(args: str, unread: str) -> None:
    assert wish(args) == ChartWish(unread=unread)


@given(st.text(max_size=60))
@settings(max_examples=80, deadline=None)
def test_any_words_are_read_without_an_error(args: str) -> None:
    found = chart_wish(args, now=NOW.astimezone(UTC), zone=LISBON, day_first=True)
    assert found.since is None or found.since <= NOW
