"""What is moved, and what is asked about instead of guessed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planted import BEGAN, SOWN, codes, entry, grown, one, shown

from domain.facts import (
    Emerged,
    Fact,
    Harvest,
    Lost,
    Moved,
    Removed,
    Sow,
    StageSeen,
    Tended,
)
from domain.plantings import Garden, garden

# --- moving ------------------------------------------------------------------------------------------------


def test_a_plant_moves_from_site_to_site() -> None:
    planting = one(
        (0, Sow(crop="kale", sites=("A1",))), (20, Moved(crop="kale", from_sites=("A1",), to_sites=("C4",)))
    )
    assert planting.sites == ("C4",)


def test_two_plants_change_places() -> None:
    made = grown(
        (0, Sow(crop="kale", sites=("A1",))),
        (0, Sow(crop="dill", sites=("A2",))),
        (20, Moved(from_sites=("A1", "A2"), to_sites=("A2", "A1"))),
    )
    assert not made.conflicts
    assert shown(made) == [("kale", ("A2",), 1), ("dill", ("A1",), 1)]


def test_plugs_move_from_the_tray_to_their_sites() -> None:
    planting = one(
        (0, Sow(crop="lettuce", count=3)), (14, Moved(crop="lettuce", to_sites=("B1", "B2", "B3")))
    )
    assert (planting.sites, planting.count, planting.on_tank) == (("B1", "B2", "B3"), 3, True)


def test_of_what_stays_behind_nothing_was_said() -> None:
    made = grown((0, Sow(crop="lettuce", count=5)), (14, Moved(crop="lettuce", to_sites=("B1", "B2"))))
    assert codes(made) == ["rest_unsaid"]
    assert {(p.sites, p.count, p.on_tank) for p in made.plantings} == {
        (("B1", "B2"), 2, True),
        ((), 3, False),
    }


def test_a_move_that_does_not_come_out_even_is_reported() -> None:
    made = grown(SOWN, (20, Moved(crop="basil", to_sites=("C1", "C2"))))
    assert codes(made) == ["sites_differ"]
    assert shown(made) == [("basil", ("A1", "A2", "A3"), 3)]


def test_moving_onto_another_plant_is_reported() -> None:
    made = grown(
        (0, Sow(crop="kale", sites=("A1",))),
        (0, Sow(crop="dill", sites=("A2",))),
        (20, Moved(from_sites=("A1",), to_sites=("A2",))),
    )
    assert codes(made) == ["site_taken"]


# --- what is not guessed -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "fact",
    [
        Emerged(sites=("Z9",)),
        Lost(sites=("Z9",)),
        Removed(sites=("Z9",)),
        Harvest(sites=("Z9",), grams=10),
        Tended(sites=("Z9",), task="prune"),
        StageSeen(sites=("Z9",), stage="flowering"),
        Moved(from_sites=("Z9",), to_sites=("Z8",)),
    ],
)
def test_nothing_stands_there(fact: Fact) -> None:
    made = grown(SOWN, (20, fact))
    assert codes(made) == ["nothing_there"]
    assert made.plantings == grown(SOWN).plantings


@pytest.mark.parametrize(
    "fact",
    [
        Lost(crop="dill"),
        Emerged(crop="dill"),
        Removed(crop="dill"),
        Harvest(crop="dill", grams=10),
        StageSeen(crop="dill", stage="bolting"),
        Moved(crop="dill", to_sites=("B1",)),
    ],
)
def test_none_of_this_crop_stands_anywhere(fact: Fact) -> None:
    assert codes(grown(SOWN, (20, fact))) == ["no_such_crop"]


def test_another_crop_stands_there() -> None:
    made = grown(SOWN, (20, Removed(crop="dill", sites=("A1",))))
    assert codes(made) == ["other_crop"]
    assert made.conflicts[0].candidates == (("basil", "A1"),)


@pytest.mark.parametrize(
    "fact",
    [
        Lost(crop="basil", count=1),
        Removed(crop="basil"),
        StageSeen(crop="basil", stage="flowering"),
        Harvest(crop="basil", grams=20),
        Lost(),
    ],
)
def test_two_sowings_could_be_meant(fact: Fact) -> None:
    second = (10.0, Sow(crop="basil", sites=("C1",)))
    made = grown(SOWN, second, (20, fact))
    assert codes(made) == ["which_one"]
    assert set(made.conflicts[0].candidates) == {("basil", site) for site in ("A1", "A2", "A3", "C1")}
    assert made.plantings == grown(SOWN, second).plantings


def test_a_sowing_without_a_crop_is_reported() -> None:
    assert codes(grown((0, Sow(sites=("A1",))))) == ["which_crop"]


def test_doubted_entries_do_not_count() -> None:
    doubted = replace(entry(1, 0, SOWN[1]), doubted=True)
    assert garden([doubted], BEGAN) == Garden((), (), ())
