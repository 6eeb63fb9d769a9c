"""When there is something to pick, and what was picked."""

from datetime import date
from zoneinfo import ZoneInfo

import pytest
from garden_journal import BEGAN, day, journal

from domain.facts import Growing, Harvest, Removed, Sow
from domain.harvest import first_harvests, yields
from domain.plantings import garden

UTC_ZONE = ZoneInfo("UTC")


@pytest.mark.parametrize(("age", "state"), [(10, "early"), (35, "open"), (60, "open"), (61, "over")])
def test_basil_is_picked_first_between_35_and_60_days(age: float, state: str) -> None:
    """crops.csv: walters_currey_2015 and memory."""
    (ahead,) = first_harvests(
        garden(journal((0, Sow(crop="basil", sites=("A1",)))), day(age)).plantings, day(age)
    )
    assert (ahead.state, ahead.from_at, ahead.to_at) == (state, day(35), day(60))


def test_the_soonest_comes_first_and_the_unknown_last() -> None:
    told = journal(
        (0, Growing(crop="mint")),
        (0, Sow(crop="strawberry", sites=("A1",))),
        (20, Sow(crop="radish", sites=("A2",))),
        (1, Sow(crop="lettuce", sites=("A3",))),
        (40, Harvest(sites=("A3",), grams=80)),
    )
    ahead = first_harvests(garden(told, day(41)).plantings, day(41))
    assert [(each.planting.crop, each.state) for each in ahead] == [
        ("lettuce", "picked"),
        ("radish", "open"),
        ("strawberry", "early"),
        ("mint", "unknown"),
    ]


def test_yields_add_up_by_crop_site_and_week_also_of_what_is_gone() -> None:
    told = journal(
        (0, Sow(crop="lettuce", sites=("A1", "A2"))),
        (0, Sow(crop="basil", sites=("B1",))),
        (40, Harvest(crop="lettuce", grams=100)),
        (41, Harvest(sites=("A1",), grams=30)),
        (42, Removed(sites=("A1",))),
        (49, Harvest(sites=("B1",))),
        (50, Harvest(sites=("B1",), grams=25)),
    )
    picks = garden(told, day(60)).picks
    by_crop = {y.key: (y.grams, y.picks, y.unweighed) for y in yields(picks, "crop", UTC_ZONE)}
    assert by_crop == {"lettuce": (130.0, 2, 0), "basil": (25.0, 2, 1)}
    assert {y.key: y.grams for y in yields(picks, "site", UTC_ZONE)} == {"A1": 80.0, "A2": 50.0, "B1": 25.0}
    assert BEGAN.date() == date(
        2026, 3, 2
    )  # a Monday: day 40 is Saturday 11 April, 41 Sunday the 12th, 49 Monday the 20th
    weeks = {y.key: y.grams for y in yields(picks, "week", UTC_ZONE)}
    assert weeks == {date(2026, 4, 6): 130.0, date(2026, 4, 20): 25.0}
    assert [y.key for y in yields(picks, "crop", UTC_ZONE, since=day(45))] == ["basil"]


def test_what_was_picked_counts_also_where_nobody_knows_of_which_sowing() -> None:
    told = journal(
        (0, Sow(crop="basil", sites=("A1",))),
        (9, Sow(crop="basil", sites=("A2",))),
        (50, Harvest(crop="basil", grams=40)),
    )
    folded = garden(told, day(51))
    assert [conflict.code for conflict in folded.conflicts] == ["which_one"]
    (basil,) = yields(folded.picks, "crop", UTC_ZONE)
    assert (basil.key, basil.grams) == ("basil", 40)
