"""The week in figures, and when it is told."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from garden_journal import day, journal

from domain.bands import tank_bands
from domain.digest import DIGEST, Values, Week, digest_due, week_of
from domain.facts import Chore, Emerged, Fact, Harvest, Reading, Setting, Sow, TopUp, WaterChange
from domain.household import choices
from domain.journal import Entry
from domain.plantings import garden, standing_on_tank
from domain.routine import due_dates

LISBON = ZoneInfo("Europe/Lisbon")


def week(entries: list[Entry], now: datetime) -> Week:
    grown = garden(entries, now)
    bands = tank_bands(standing_on_tank(grown.plantings, now))
    return week_of(entries, grown, bands, due_dates(entries, now=now, zone=LISBON), now)


def test_only_what_happened_in_the_last_seven_days_counts() -> None:
    told = journal(
        (0, Reading(ph=7.9)),
        (1, Sow(crop="basil", sites=("A1", "A2", "A3"))),
        (1.1, WaterChange()),
        (9, Reading(ph=5.9, ec_ms_cm=1.4)),
        (10, Emerged(crop="basil", sites=("A1", "A2"))),
        (11, TopUp(litres=3)),
        (12, Reading(ph=7.4, ec_ms_cm=1.5)),
        (12.5, TopUp(litres=3)),
        (13, Chore(task="rinse_filter")),
        (13.5, Harvest(crop="basil", sites=("A1",), grams=40)),
        (13.6, Harvest(crop="basil", sites=("A2",), grams=20)),
    )
    found = week(told, day(14))
    assert found.water == (Values("ph", 5.9, 7.4, 2, 1), Values("ec_ms_cm", 1.4, 1.5, 2, 2))
    assert found.up == {"basil": 2}
    assert found.picked == {"basil": 60.0}
    assert found.cared == {"top_up": 2, "rinse_filter": 1}
    assert found.entries == 8


def test_what_was_due_and_is_not_done_is_missed_and_the_rest_lies_ahead() -> None:
    told = journal((0, Reading(ph=5.9)), (1, WaterChange()), (10, Reading(ph=5.9)))
    found = week(told, day(14))
    assert "top_up" in [due.task for due in found.missed]
    assert "water_change" in [due.task for due in found.ahead]
    assert all(day(14) < (due.next_at or due.due_at) <= day(21) for due in found.ahead)


def test_harvests_that_nobody_weighed_are_named_without_grams() -> None:
    told = journal((0, Sow(crop="basil", sites=("A1",))), (13, Harvest(crop="basil", sites=("A1",))))
    assert week(told, day(14)).picked == {"basil": None}


def told_at(*facts: tuple[float, Fact], now: float = 3) -> datetime | None:
    entries = journal(*facts)
    found = digest_due(entries, choices(entries), day(now), LISBON)
    return found.due_at if found is not None else None


def test_it_comes_on_the_first_sunday_with_a_week_to_look_back_on() -> None:
    # The journal of these tests begins on Monday 2 March 2026.
    assert told_at((0, Reading(ph=6.0))) == datetime(2026, 3, 8, 20, tzinfo=UTC)
    assert told_at((2.5, Reading(ph=6.0))) == datetime(2026, 3, 15, 20, tzinfo=UTC)


def test_in_summer_it_comes_by_the_same_clock() -> None:
    entries = journal((30, Reading(ph=6.0)))
    found = digest_due(entries, choices(entries), day(31), LISBON)
    assert found is not None
    assert found.due_at.astimezone(LISBON).hour == 20
    assert found.due_at.astimezone(LISBON).weekday() == 6
    assert (found.next_at or found.due_at) > day(31)


@pytest.mark.parametrize(
    ("rrule", "comes"), [("", False), ("FREQ=WEEKLY;BYDAY=WE", True), ("nonsense", False)]
)
def test_the_household_may_turn_it_off_and_choose_the_day(rrule: str, comes: bool) -> None:
    chosen = Setting(name="interval", task=DIGEST, rrule=rrule)
    found = told_at((0, Reading(ph=6.0)), (1, chosen))
    assert (found is not None) == comes
    if found is not None:
        assert found.astimezone(LISBON).weekday() == 2


def test_without_a_log_there_is_none() -> None:
    assert told_at() is None


def test_doubted_readings_are_left_out() -> None:
    told = journal((9, Reading(ph=5.9)), (12, Reading(ph=2.0)))
    object.__setattr__(told[-1], "doubted", True)
    assert week(told, day(14)).water == (Values("ph", 5.9, 5.9, 1, 1),)
    assert told[-1].happened_at > day(14) - timedelta(days=7)
