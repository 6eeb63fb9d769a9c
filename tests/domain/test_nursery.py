"""Seedlings in a tray: counted together, fed and lit on their own, without a say in the tank's bands."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest
from garden_journal import day, journal

from domain.bands import tank_bands
from domain.facts import Emerged, Fact, Lost, Moved, Reseed, Sow
from domain.nursery import READY_AFTER_UP, nursery_care, ready_to_move
from domain.plantings import Garden, garden, standing_on_tank
from domain.plots import is_nursery, labels, spoken
from domain.routine import due_dates
from domain.sites import spots

LISBON = ZoneInfo("Europe/Lisbon")
SOWN = (0.0, Sow(crop="basil", sites=("tray",), count=6))
UP = (8.0, Emerged(crop="basil", sites=("tray",), count=4))


def grown(*told: tuple[float, Fact], now: float = 20) -> Garden:
    return garden(journal(*told), day(now))


def stands(made: Garden) -> set[tuple[str, tuple[str, ...], int, int | None]]:
    return {(each.crop, each.sites, each.count, each.up_count) for each in made.plantings}


@pytest.mark.parametrize(
    ("typed", "label", "shown"),
    [
        ("tray", "TRAY", "the tray"),
        ("Seed tray", "TRAY", "the tray"),
        ("seedling  tray 2", "TRAY 2", "the tray 2"),
        ("dome", "DOME", "the dome"),
        ("a1", "A1", "A1"),
        ("traybake", "TRAYBAKE", "TRAYBAKE"),
        ("", "", ""),
    ],
)
def test_names_of_places(typed: str, label: str, shown: str) -> None:
    assert labels([typed]) == (label,)
    assert spoken(label) == shown
    assert is_nursery(label) == shown.startswith("the ")


def test_several_sowings_share_a_tray_and_nobody_asks() -> None:
    made = grown(SOWN, (1, Sow(crop="pak choi", sites=("seed tray",), count=3)))
    assert made.conflicts == ()
    assert {(each.crop, each.count, each.on_tank) for each in made.plantings} == {
        ("basil", 6, False),
        ("pak choi", 3, False),
    }


def test_it_has_no_vote_until_it_is_moved() -> None:
    tomato = (0.0, Sow(crop="tomato", sites=("tray",), count=2))
    lettuce = (0.0, Sow(crop="lettuce", sites=("A1",)))
    before = grown(tomato, lettuce, now=40)
    after = grown(tomato, lettuce, (35, Moved(crop="tomato", from_sites=("tray",), to_sites=("B1",))), now=40)
    votes = [
        {each.crop for each in tank_bands(standing_on_tank(made.plantings, day(40))).voters}
        for made in (before, after)
    ]
    assert votes == [{"lettuce"}, {"lettuce", "tomato"}]


def test_one_seedling_goes_to_each_site_and_the_others_stay() -> None:
    made = grown(SOWN, UP, (15, Moved(crop="basil", from_sites=("tray",), to_sites=("B2", "B3"))))
    assert stands(made) == {("basil", ("B2", "B3"), 2, 2), ("basil", ("TRAY",), 4, 2)}
    assert made.conflicts == ()


def test_the_earliest_sown_go_first_and_the_last_leave_the_tray_empty() -> None:
    told = (
        (0.0, Sow(crop="basil", sites=("tray",), count=1)),
        (3.0, Sow(crop="basil", sites=("tray",), count=2)),
        (20.0, Moved(crop="basil", from_sites=("tray",), to_sites=("A1", "A2"))),
    )
    made = grown(*told)
    assert {(each.sites, each.days) for each in made.plantings} == {
        (("A1",), 20),
        (("A2",), 17),
        (("TRAY",), 17),
    }
    (last,) = grown(*told[:1], (20, Moved(crop="basil", to_sites=("A1",)))).plantings
    assert (last.sites, last.on_tank) == (("A1",), True)


def test_more_sites_than_seedlings_are_asked_about() -> None:
    made = grown(
        (0, Sow(crop="basil", sites=("tray",), count=1)), (9, Moved(crop="basil", to_sites=("A1", "A2")))
    )
    assert [conflict.code for conflict in made.conflicts] == ["sites_differ"]
    assert stands(made) == {("basil", ("TRAY",), 1, None)}


def test_from_the_tray_into_the_dome_all_go_together() -> None:
    made = grown(SOWN, (4, Moved(crop="basil", from_sites=("tray",), to_sites=("dome",))))
    assert stands(made) == {("basil", ("DOME",), 6, None)}


def test_a_crop_sown_again_replaces_itself_alone() -> None:
    other = (1.0, Sow(crop="dill", sites=("tray",), count=3))
    made = grown(SOWN, other, (12, Reseed(crop="basil", sites=("tray",), count=5)), now=13)
    assert {(each.crop, each.count, each.days) for each in made.plantings} == {
        ("dill", 3, 12),
        ("basil", 5, 1),
    }


def test_losses_in_a_tray_are_counted() -> None:
    made = grown(SOWN, UP, (10, Lost(crop="basil", sites=("tray",), count=2)))
    assert stands(made) == {("basil", ("TRAY",), 4, 4)}


def test_a_tray_that_nobody_counted_tells_nothing_of_its_seed() -> None:
    (sowing,) = grown((0, Sow(crop="basil", sites=("tray",)))).sowings
    assert not sowing.is_counted


def test_ready_when_true_leaves_stand() -> None:
    """Common practice: a week and a half after emergence for greens, two weeks for herbs."""
    (ready,) = ready_to_move(grown(SOWN, UP).plantings)
    assert (ready.at, ready.is_up_told) == (day(8) + READY_AFTER_UP["herb"], True)
    (untold,) = ready_to_move(grown((0, Sow(crop="lettuce", sites=("tray",), count=2))).plantings)
    assert (untold.at, untold.is_up_told) == (day(3) + READY_AFTER_UP["leafy"], False)
    assert ready_to_move(grown((0, Sow(crop="lettuce", sites=("A1",)))).plantings) == ()


def test_the_nudge_stays_where_it_is_until_they_are_moved() -> None:
    def moves(*told: tuple[float, Fact], now: float) -> list[tuple[str, str]]:
        dues = due_dates(journal(*told), now=day(now), zone=LISBON)
        return [(due.key, due.text) for due in dues if due.task == "move"]

    nudge = [("move:basil:2026-03-24", "move the basil in the tray to the tank")]
    assert moves(SOWN, UP, now=9) == moves(SOWN, UP, now=24) == nudge
    gone = (23.0, Moved(crop="basil", from_sites=("tray",), to_sites=tuple(f"A{n}" for n in range(1, 7))))
    assert moves(SOWN, UP, gone, now=24) == []
    thin = [due.task for due in due_dates(journal(SOWN, UP), now=day(24), zone=LISBON)]
    assert "thin" not in thin


def test_feed_and_light_of_their_own() -> None:
    sprouting = nursery_care(grown(SOWN, now=2).plantings)
    assert sprouting is not None
    assert sprouting.feed is None  # plain water in the plug: stages table, common practice
    care = nursery_care(grown(SOWN, UP, now=12).plantings)
    assert care is not None
    assert care.feed is not None
    assert care.feed.ideal_high < tank_bands(()).ec.ideal_high
    assert care.light_hours == "14-18"
    assert nursery_care(()) is None


def test_it_is_on_the_site_map_beside_the_sites() -> None:
    made = grown(SOWN, (1, Sow(crop="dill", sites=("tray",), count=3)))
    (tray,) = (spot for spot in spots(made, ["A1"]) if spot.label == "TRAY")
    assert (tray.crop, tray.others) == ("dill", 1)
