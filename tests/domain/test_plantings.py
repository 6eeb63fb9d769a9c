"""What stands where, folded from what the household said."""

from __future__ import annotations

import time
from datetime import timedelta

from planted import BEGAN, SOWN, codes, entry, grown, one, shown

from domain.bands import Standing, tank_bands
from domain.facts import (
    Emerged,
    Fact,
    Growing,
    Harvest,
    Lost,
    Removed,
    Reseed,
    Sow,
    StageSeen,
    Tended,
)
from domain.plantings import plantings, standing_on_tank

# --- sowing and coming up ----------------------------------------------------------------------------------


def test_a_sowing_stands_where_it_was_sown() -> None:
    planting = one(SOWN, now=2.5)
    assert (planting.crop, planting.sites, planting.count) == ("basil", ("A1", "A2", "A3"), 3)
    assert (planting.lot, planting.days, planting.stage) == ("Corner Shop 24", 2, "germinating")
    assert not planting.is_count_said
    assert planting.sown_at == BEGAN


def test_sites_are_optional() -> None:
    planting = one((0, Sow(crop="lettuce", count=12)))
    assert (planting.sites, planting.count, planting.is_count_said) == ((), 12, True)
    assert planting.on_tank


def test_plants_are_shared_out_over_the_sites() -> None:
    made = grown((0, Sow(crop="lettuce", sites=("A1", "A2"), count=5)))
    assert shown(made) == [("lettuce", ("A1", "A2"), 5)]


def test_how_many_stand_at_each_site_is_kept() -> None:
    lettuce = one((0, Sow(crop="lettuce", sites=("A1", "A2"), count=5)), (9, Lost(sites=("A2",), count=1)))
    assert (lettuce.count_at("A1"), lettuce.count_at("A2")) == (3, 1)


def test_any_name_of_a_crop_will_do() -> None:
    assert one((0, Sow(crop="Rocket", sites=("a1",)))).crop == "arugula"
    assert one((0, Sow(crop="Grandma's greens"))).crop == "Grandma's greens"


def test_age_alone_moves_the_stage() -> None:
    stages = [one(SOWN, now=now).stage for now in (1, 10, 40)]
    assert stages == ["germinating", "seedling", "vegetative"]


def test_coming_up_is_told_by_site() -> None:
    made = grown(SOWN, (4, Emerged(sites=("A2",))), now=5)
    assert [(p.sites, p.stage, p.up_count) for p in made.plantings] == [
        (("A1", "A3"), "germinating", None),
        (("A2",), "seedling", 1),
    ]


def test_coming_up_is_told_by_number_without_sites() -> None:
    """Two of three came up; which ones nobody said, and it is not guessed."""
    planting = one(SOWN, (4, Emerged(crop="basil", count=2)), now=5)
    assert (planting.sites, planting.count, planting.up_count) == (("A1", "A2", "A3"), 3, 2)
    assert planting.stage == "seedling"
    assert planting.drawing_count == 2


def test_a_site_lost_after_that_leaves_the_number_that_came_up() -> None:
    planting = one(SOWN, (4, Emerged(crop="basil", count=2)), (9, Lost(sites=("A1",))), now=10)
    assert (planting.sites, planting.count, planting.up_count) == (("A2", "A3"), 2, 2)


def test_all_of_it_is_up() -> None:
    planting = one(SOWN, (4, Emerged(crop="basil")), now=5)
    assert planting.up_count == 3
    assert planting.up_at == BEGAN + timedelta(days=4)


def test_more_cannot_come_up_than_were_sown() -> None:
    made = grown(SOWN, (4, Emerged(crop="basil", count=4)), now=5)
    assert codes(made) == ["too_many"]
    assert made.plantings[0].up_count is None


def test_coming_up_means_the_sowing_that_is_still_to_come_up() -> None:
    said: list[tuple[float, Fact]] = [
        (0, Sow(crop="basil", count=4)),
        (5, Emerged(crop="basil")),
        (20, Sow(crop="basil", count=6)),
        (26, Emerged(crop="basil", count=2)),
    ]
    made = grown(*said, now=27)
    assert not made.conflicts
    assert [(p.count, p.up_count) for p in made.plantings] == [(4, 4), (6, 2)]


# --- losing, pulling, picking ------------------------------------------------------------------------------


def test_a_lost_site_is_empty() -> None:
    made = grown(SOWN, (12, Lost(sites=("A3",), reason="damped off")))
    assert shown(made) == [("basil", ("A1", "A2"), 2)]
    assert [(plot.site, plot.end) for plot in made.ended] == [("A3", "lost")]


def test_some_are_lost_without_sites() -> None:
    planting = one(SOWN, (12, Lost(crop="basil", count=2)))
    assert (planting.sites, planting.count) == (("A1", "A2", "A3"), 1)


def test_losing_the_last_of_them_ends_the_sowing() -> None:
    made = grown(SOWN, (12, Lost(crop="basil", count=2)), (13, Lost(crop="basil", count=1)))
    assert made.plantings == ()
    assert {plot.end for plot in made.ended} == {"lost"}


def test_more_cannot_be_lost_than_stand() -> None:
    made = grown(SOWN, (12, Lost(crop="basil", count=2)), (13, Lost(crop="basil", count=2)))
    assert codes(made) == ["too_many"]
    assert made.plantings[0].count == 1


def test_pulled_plants_are_gone() -> None:
    made = grown(SOWN, (40, Removed(sites=("A1", "A2"))))
    assert shown(made) == [("basil", ("A3",), 1)]


def test_picking_leaves_leaves_standing() -> None:
    planting = one(
        SOWN, (40, Harvest(sites=("A1",), grams=20)), (44, Harvest(sites=("A1",), grams=30)), now=45
    )
    assert (planting.count, planting.harvested_g) == (3, 50)
    assert planting.harvested_at == BEGAN + timedelta(days=44)


def test_a_picked_root_is_gone() -> None:
    made = grown((0, Sow(crop="radish", sites=("C1", "C2"))), (28, Harvest(sites=("C1",), count=1)))
    assert shown(made) == [("radish", ("C2",), 1)]
    assert [plot.end for plot in made.ended] == ["harvested"]


def test_more_roots_than_stand_are_not_picked() -> None:
    made = grown((0, Sow(crop="radish", count=3)), (28, Harvest(crop="radish", count=5)))
    assert codes(made) == ["too_many"]
    assert made.plantings[0].count == 3


# --- sowing again ------------------------------------------------------------------------------------------


def test_reseeding_replaces_what_stood_there() -> None:
    made = grown((0, Sow(crop="parsley", sites=("D4",))), (30, Reseed(crop="dill", sites=("D4",))), now=31)
    assert shown(made) == [("dill", ("D4",), 1)]
    assert [(plot.crop, plot.end) for plot in made.ended] == [("parsley", "resown")]
    assert not made.conflicts


def test_reseeding_a_row_and_a_site_of_it_counts_no_plant_twice() -> None:
    made = grown(
        (0, Sow(crop="basil", sites=("B1", "B2"))),
        (30, Reseed(crop="dill", sites=("A1", "B*", "B1"))),
        now=31,
    )
    assert shown(made) == [("dill", ("A1", "B1", "B2"), 3)]
    assert [(plot.site, plot.end) for plot in made.ended] == [("B1", "resown"), ("B2", "resown")]


def test_reseeding_without_a_crop_sows_the_same_again() -> None:
    planting = one(
        (0, Sow(crop="parsley", sites=("D4",))),
        (20, Lost(sites=("D4",))),
        (30, Reseed(sites=("D4",))),
        now=31,
    )
    assert (planting.crop, planting.days) == ("parsley", 1)


def test_reseeding_a_whole_row() -> None:
    made = grown(
        (0, Sow(crop="parsley", sites=("B1", "B2"))), (30, Reseed(crop="dill", sites=("B*",))), now=31
    )
    assert shown(made) == [("dill", ("B1", "B2"), 2)]


def test_reseeding_an_unknown_place_asks_what() -> None:
    made = grown((0, Reseed(sites=("D4",))))
    assert codes(made) == ["which_crop"]
    assert made.plantings == ()


def test_sowing_where_something_stands_is_reported_and_both_stand() -> None:
    made = grown((0, Sow(crop="basil", sites=("A1",))), (30, Sow(crop="dill", sites=("A1",))), now=31)
    assert codes(made) == ["site_taken"]
    assert made.conflicts[0].candidates == (("basil", "A1"),)
    assert shown(made) == [("basil", ("A1",), 1), ("dill", ("A1",), 1)]


# --- stages that were seen ---------------------------------------------------------------------------------


def test_one_plant_of_a_sowing_flowers() -> None:
    made = grown(SOWN, (40, StageSeen(sites=("A2",), stage="bolting")), now=41)
    assert [(p.sites, p.stage) for p in made.plantings] == [
        (("A1", "A3"), "vegetative"),
        (("A2",), "flowering"),
    ]


def test_the_first_flower_on_the_only_tomato() -> None:
    planting = one(
        (0, Sow(crop="tomato", sites=("D1",))), (48, StageSeen(crop="tomato", stage="flowering")), now=50
    )
    assert planting.stage == "flowering"


def test_tending_is_remembered() -> None:
    assert one(SOWN, (35, Tended(crop="basil", task="pinch"))).tended_at == BEGAN + timedelta(days=35)


# --- found growing -----------------------------------------------------------------------------------------


def test_what_was_found_growing_has_no_age() -> None:
    planting = one((0, Growing(crop="coriander", count=4)), now=9)
    assert (planting.crop, planting.count, planting.days, planting.sown_at) == ("cilantro", 4, None, None)
    assert (planting.stage, planting.on_tank) == ("vegetative", True)


def test_a_stage_found_growing_goes_on_from_there() -> None:
    said = (0.0, Growing(crop="lettuce", count=4, stage="seedling"))
    assert one(said, now=3).stage == "seedling"
    assert one(said, now=30).stage == "vegetative"


def test_telling_anew_what_grows_replaces_what_was_told() -> None:
    made = grown((0, Growing(crop="lettuce", count=4)), (5, Growing(crop="lettuce", count=6)))
    assert shown(made) == [("lettuce", (), 6)]
    assert not made.conflicts


def test_one_message_may_tell_of_two_ages() -> None:
    entries = [
        entry(1, 0, Growing(crop="lettuce", count=4, stage="seedling"), "1:9"),
        entry(2, 0, Growing(crop="lettuce", count=2, stage="vegetative"), "1:9"),
    ]
    made = plantings(entries, BEGAN + timedelta(days=1))
    assert [(p.count, p.stage) for p in made] == [(4, "seedling"), (2, "vegetative")]


# --- on the tank -------------------------------------------------------------------------------------------


def test_what_stands_on_the_tank_sets_its_bands() -> None:
    now = BEGAN + timedelta(days=40)
    stands = standing_on_tank(grown(SOWN, now=40).plantings, now)
    assert stands == (Standing("basil", "vegetative", 3, 40.0),)
    assert not tank_bands(stands).assumed


def test_plugs_in_a_tray_stand_elsewhere_where_sites_are_named() -> None:
    made = grown(SOWN, (1, Sow(crop="tomato", count=4)), now=40)
    assert [each.crop for each in standing_on_tank(made.plantings, BEGAN + timedelta(days=40))] == ["basil"]


def test_only_what_came_up_has_a_vote() -> None:
    made = grown(SOWN, (4, Emerged(crop="basil", count=2)), now=6)
    (standing,) = standing_on_tank(made.plantings, BEGAN + timedelta(days=6))
    assert (standing.stage, standing.count) == ("seedling", 2)


def test_each_tank_has_its_own_plants() -> None:
    made = grown((0, Sow(crop="basil", count=1, tank="porch")), (0, Sow(crop="dill", count=2, tank="attic")))
    now = BEGAN + timedelta(days=30)
    assert [each.crop for each in standing_on_tank(made.plantings, now, "attic")] == ["dill"]
    assert [each.crop for each in standing_on_tank(made.plantings, now)] == ["basil", "dill"]


def test_a_fact_about_one_tank_leaves_the_other_alone() -> None:
    made = grown(
        (0, Sow(crop="basil", sites=("A1",), tank="porch")),
        (0, Sow(crop="basil", sites=("A1",), tank="attic")),
        (9, Lost(sites=("A1",), tank="attic")),
    )
    assert [planting.tank for planting in made.plantings] == ["porch"]


def test_a_fact_that_names_the_tank_finds_what_was_sown_without_naming_it() -> None:
    made = grown((0, Sow(crop="basil", sites=("A1",))), (9, Lost(sites=("A1",), tank="attic")))
    assert not made.conflicts
    assert made.plantings == ()


def test_ten_years_of_sowing_fold_in_a_moment() -> None:
    """5,000 sowings, each lost, fold in well under a second because only what stands is searched."""
    said: list[tuple[float, Fact]] = []
    for number in range(5000):
        said += [(number, Sow(crop="basil", sites=("A1",))), (number + 0.5, Lost(sites=("A1",)))]
    began = time.perf_counter()
    made = grown(*said, now=5001)
    assert time.perf_counter() - began < 2
    assert len(made.ended) == 5000
