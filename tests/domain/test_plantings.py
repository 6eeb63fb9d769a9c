"""What stands where, folded from what the household said."""

import time
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from domain.bands import Standing, tank_bands
from domain.facts import (
    Emerged,
    Fact,
    Growing,
    Harvest,
    Lost,
    Moved,
    Reading,
    Removed,
    Reseed,
    Sow,
    StageSeen,
    Tended,
)
from domain.journal import Entry
from domain.plantings import Garden, Planting, garden, plantings, standing_on_tank

BEGAN = datetime(2026, 5, 4, 19, tzinfo=UTC)


def _entry(number: int, day: float, fact: Fact, message: str | None = None) -> Entry:
    at = BEGAN + timedelta(days=day)
    return Entry(number, fact, at, at, author="Ana", message_key=message or f"1:{number}")


def _garden(*said: tuple[float, Fact], now: float = 30) -> Garden:
    entries = [_entry(number, day, fact) for number, (day, fact) in enumerate(said, start=1)]
    return garden(entries, BEGAN + timedelta(days=now))


def _one(*said: tuple[float, Fact], now: float = 30) -> Planting:
    made = _garden(*said, now=now)
    assert not made.conflicts
    (planting,) = made.plantings
    return planting


def _codes(made: Garden) -> list[str]:
    return [conflict.code for conflict in made.conflicts]


def _shown(made: Garden) -> list[tuple[str, tuple[str, ...], int]]:
    return [(planting.crop, planting.sites, planting.count) for planting in made.plantings]


SOWN = (0.0, Sow(crop="basil", sites=("A1", "A2", "A3"), lot="Corner Shop 24"))


# --- sowing and coming up ----------------------------------------------------------------------------------


def test_a_sowing_stands_where_it_was_sown() -> None:
    planting = _one(SOWN, now=2.5)
    assert (planting.crop, planting.sites, planting.count) == ("basil", ("A1", "A2", "A3"), 3)
    assert (planting.lot, planting.days, planting.stage) == ("Corner Shop 24", 2, "germinating")
    assert not planting.is_count_said
    assert planting.sown_at == BEGAN


def test_sites_are_optional() -> None:
    planting = _one((0, Sow(crop="lettuce", count=12)))
    assert (planting.sites, planting.count, planting.is_count_said) == ((), 12, True)
    assert planting.on_tank


def test_plants_are_shared_out_over_the_sites() -> None:
    made = _garden((0, Sow(crop="lettuce", sites=("A1", "A2"), count=5)))
    assert _shown(made) == [("lettuce", ("A1", "A2"), 5)]


def test_any_name_of_a_crop_will_do() -> None:
    assert _one((0, Sow(crop="Rocket", sites=("a1",)))).crop == "arugula"
    assert _one((0, Sow(crop="Grandma's greens"))).crop == "Grandma's greens"


def test_age_alone_moves_the_stage() -> None:
    stages = [_one(SOWN, now=now).stage for now in (1, 10, 40)]
    assert stages == ["germinating", "seedling", "vegetative"]


def test_coming_up_is_told_by_site() -> None:
    made = _garden(SOWN, (4, Emerged(sites=("A2",))), now=5)
    assert [(p.sites, p.stage, p.up_count) for p in made.plantings] == [
        (("A1", "A3"), "germinating", None),
        (("A2",), "seedling", 1),
    ]


def test_coming_up_is_told_by_number_without_sites() -> None:
    """Two of three came up; which ones nobody said, and it is not guessed."""
    planting = _one(SOWN, (4, Emerged(crop="basil", count=2)), now=5)
    assert (planting.sites, planting.count, planting.up_count) == (("A1", "A2", "A3"), 3, 2)
    assert planting.stage == "seedling"
    assert planting.drawing_count == 2


def test_a_site_lost_after_that_leaves_the_number_that_came_up() -> None:
    planting = _one(SOWN, (4, Emerged(crop="basil", count=2)), (9, Lost(sites=("A1",))), now=10)
    assert (planting.sites, planting.count, planting.up_count) == (("A2", "A3"), 2, 2)


def test_all_of_it_is_up() -> None:
    planting = _one(SOWN, (4, Emerged(crop="basil")), now=5)
    assert planting.up_count == 3
    assert planting.up_at == BEGAN + timedelta(days=4)


def test_more_cannot_come_up_than_were_sown() -> None:
    made = _garden(SOWN, (4, Emerged(crop="basil", count=4)), now=5)
    assert _codes(made) == ["too_many"]
    assert made.plantings[0].up_count is None


def test_coming_up_means_the_sowing_that_is_still_to_come_up() -> None:
    said: list[tuple[float, Fact]] = [
        (0, Sow(crop="basil", count=4)),
        (5, Emerged(crop="basil")),
        (20, Sow(crop="basil", count=6)),
        (26, Emerged(crop="basil", count=2)),
    ]
    made = _garden(*said, now=27)
    assert not made.conflicts
    assert [(p.count, p.up_count) for p in made.plantings] == [(4, 4), (6, 2)]


# --- losing, pulling, picking ------------------------------------------------------------------------------


def test_a_lost_site_is_empty() -> None:
    made = _garden(SOWN, (12, Lost(sites=("A3",), reason="damped off")))
    assert _shown(made) == [("basil", ("A1", "A2"), 2)]
    assert [(plot.site, plot.end) for plot in made.ended] == [("A3", "lost")]


def test_some_are_lost_without_sites() -> None:
    planting = _one(SOWN, (12, Lost(crop="basil", count=2)))
    assert (planting.sites, planting.count) == (("A1", "A2", "A3"), 1)


def test_losing_the_last_of_them_ends_the_sowing() -> None:
    made = _garden(SOWN, (12, Lost(crop="basil", count=2)), (13, Lost(crop="basil", count=1)))
    assert made.plantings == ()
    assert {plot.end for plot in made.ended} == {"lost"}


def test_more_cannot_be_lost_than_stand() -> None:
    made = _garden(SOWN, (12, Lost(crop="basil", count=2)), (13, Lost(crop="basil", count=2)))
    assert _codes(made) == ["too_many"]
    assert made.plantings[0].count == 1


def test_pulled_plants_are_gone() -> None:
    made = _garden(SOWN, (40, Removed(sites=("A1", "A2"))))
    assert _shown(made) == [("basil", ("A3",), 1)]


def test_picking_leaves_leaves_standing() -> None:
    planting = _one(
        SOWN, (40, Harvest(sites=("A1",), grams=20)), (44, Harvest(sites=("A1",), grams=30)), now=45
    )
    assert (planting.count, planting.harvested_g) == (3, 50)
    assert planting.harvested_at == BEGAN + timedelta(days=44)


def test_a_picked_root_is_gone() -> None:
    made = _garden((0, Sow(crop="radish", sites=("C1", "C2"))), (28, Harvest(sites=("C1",), count=1)))
    assert _shown(made) == [("radish", ("C2",), 1)]
    assert [plot.end for plot in made.ended] == ["harvested"]


def test_more_roots_than_stand_are_not_picked() -> None:
    made = _garden((0, Sow(crop="radish", count=3)), (28, Harvest(crop="radish", count=5)))
    assert _codes(made) == ["too_many"]
    assert made.plantings[0].count == 3


# --- sowing again ------------------------------------------------------------------------------------------


def test_reseeding_replaces_what_stood_there() -> None:
    made = _garden((0, Sow(crop="parsley", sites=("D4",))), (30, Reseed(crop="dill", sites=("D4",))), now=31)
    assert _shown(made) == [("dill", ("D4",), 1)]
    assert [(plot.crop, plot.end) for plot in made.ended] == [("parsley", "resown")]
    assert not made.conflicts


def test_reseeding_a_row_and_a_site_of_it_counts_no_plant_twice() -> None:
    made = _garden(
        (0, Sow(crop="basil", sites=("B1", "B2"))),
        (30, Reseed(crop="dill", sites=("A1", "B*", "B1"))),
        now=31,
    )
    assert _shown(made) == [("dill", ("A1", "B1", "B2"), 3)]
    assert [(plot.site, plot.end) for plot in made.ended] == [("B1", "resown"), ("B2", "resown")]


def test_reseeding_without_a_crop_sows_the_same_again() -> None:
    planting = _one(
        (0, Sow(crop="parsley", sites=("D4",))),
        (20, Lost(sites=("D4",))),
        (30, Reseed(sites=("D4",))),
        now=31,
    )
    assert (planting.crop, planting.days) == ("parsley", 1)


def test_reseeding_a_whole_row() -> None:
    made = _garden(
        (0, Sow(crop="parsley", sites=("B1", "B2"))), (30, Reseed(crop="dill", sites=("B*",))), now=31
    )
    assert _shown(made) == [("dill", ("B1", "B2"), 2)]


def test_reseeding_an_unknown_place_asks_what() -> None:
    made = _garden((0, Reseed(sites=("D4",))))
    assert _codes(made) == ["which_crop"]
    assert made.plantings == ()


def test_sowing_where_something_stands_is_reported_and_both_stand() -> None:
    made = _garden((0, Sow(crop="basil", sites=("A1",))), (30, Sow(crop="dill", sites=("A1",))), now=31)
    assert _codes(made) == ["site_taken"]
    assert made.conflicts[0].candidates == (("basil", "A1"),)
    assert _shown(made) == [("basil", ("A1",), 1), ("dill", ("A1",), 1)]


# --- moving ------------------------------------------------------------------------------------------------


def test_a_plant_moves_from_site_to_site() -> None:
    planting = _one(
        (0, Sow(crop="kale", sites=("A1",))), (20, Moved(crop="kale", from_sites=("A1",), to_sites=("C4",)))
    )
    assert planting.sites == ("C4",)


def test_two_plants_change_places() -> None:
    made = _garden(
        (0, Sow(crop="kale", sites=("A1",))),
        (0, Sow(crop="dill", sites=("A2",))),
        (20, Moved(from_sites=("A1", "A2"), to_sites=("A2", "A1"))),
    )
    assert not made.conflicts
    assert _shown(made) == [("kale", ("A2",), 1), ("dill", ("A1",), 1)]


def test_plugs_move_from_the_tray_to_their_sites() -> None:
    planting = _one(
        (0, Sow(crop="lettuce", count=3)), (14, Moved(crop="lettuce", to_sites=("B1", "B2", "B3")))
    )
    assert (planting.sites, planting.count, planting.on_tank) == (("B1", "B2", "B3"), 3, True)


def test_of_what_stays_behind_nothing_was_said() -> None:
    made = _garden((0, Sow(crop="lettuce", count=5)), (14, Moved(crop="lettuce", to_sites=("B1", "B2"))))
    assert _codes(made) == ["rest_unsaid"]
    assert {(p.sites, p.count, p.on_tank) for p in made.plantings} == {
        (("B1", "B2"), 2, True),
        ((), 3, False),
    }


def test_a_move_that_does_not_come_out_even_is_reported() -> None:
    made = _garden(SOWN, (20, Moved(crop="basil", to_sites=("C1", "C2"))))
    assert _codes(made) == ["sites_differ"]
    assert _shown(made) == [("basil", ("A1", "A2", "A3"), 3)]


def test_moving_onto_another_plant_is_reported() -> None:
    made = _garden(
        (0, Sow(crop="kale", sites=("A1",))),
        (0, Sow(crop="dill", sites=("A2",))),
        (20, Moved(from_sites=("A1",), to_sites=("A2",))),
    )
    assert _codes(made) == ["site_taken"]


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
    made = _garden(SOWN, (20, fact))
    assert _codes(made) == ["nothing_there"]
    assert made.plantings == _garden(SOWN).plantings


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
    assert _codes(_garden(SOWN, (20, fact))) == ["no_such_crop"]


def test_another_crop_stands_there() -> None:
    made = _garden(SOWN, (20, Removed(crop="dill", sites=("A1",))))
    assert _codes(made) == ["other_crop"]
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
    made = _garden(SOWN, second, (20, fact))
    assert _codes(made) == ["which_one"]
    assert set(made.conflicts[0].candidates) == {("basil", site) for site in ("A1", "A2", "A3", "C1")}
    assert made.plantings == _garden(SOWN, second).plantings


def test_a_sowing_without_a_crop_is_reported() -> None:
    assert _codes(_garden((0, Sow(sites=("A1",))))) == ["which_crop"]


def test_doubted_entries_do_not_count() -> None:
    entry = replace(_entry(1, 0, SOWN[1]), doubted=True)
    assert garden([entry], BEGAN) == Garden((), (), ())


# --- stages that were seen ---------------------------------------------------------------------------------


def test_one_plant_of_a_sowing_flowers() -> None:
    made = _garden(SOWN, (40, StageSeen(sites=("A2",), stage="bolting")), now=41)
    assert [(p.sites, p.stage) for p in made.plantings] == [
        (("A1", "A3"), "vegetative"),
        (("A2",), "flowering"),
    ]


def test_the_first_flower_on_the_only_tomato() -> None:
    planting = _one(
        (0, Sow(crop="tomato", sites=("D1",))), (48, StageSeen(crop="tomato", stage="flowering")), now=50
    )
    assert planting.stage == "flowering"


def test_tending_is_remembered() -> None:
    assert _one(SOWN, (35, Tended(crop="basil", task="pinch"))).tended_at == BEGAN + timedelta(days=35)


# --- found growing -----------------------------------------------------------------------------------------


def test_what_was_found_growing_has_no_age() -> None:
    planting = _one((0, Growing(crop="coriander", count=4)), now=9)
    assert (planting.crop, planting.count, planting.days, planting.sown_at) == ("cilantro", 4, None, None)
    assert (planting.stage, planting.on_tank) == ("vegetative", True)


def test_a_stage_found_growing_goes_on_from_there() -> None:
    said = (0.0, Growing(crop="lettuce", count=4, stage="seedling"))
    assert _one(said, now=3).stage == "seedling"
    assert _one(said, now=30).stage == "vegetative"


def test_telling_anew_what_grows_replaces_what_was_told() -> None:
    made = _garden((0, Growing(crop="lettuce", count=4)), (5, Growing(crop="lettuce", count=6)))
    assert _shown(made) == [("lettuce", (), 6)]
    assert not made.conflicts


def test_one_message_may_tell_of_two_ages() -> None:
    entries = [
        _entry(1, 0, Growing(crop="lettuce", count=4, stage="seedling"), "1:9"),
        _entry(2, 0, Growing(crop="lettuce", count=2, stage="vegetative"), "1:9"),
    ]
    made = plantings(entries, BEGAN + timedelta(days=1))
    assert [(p.count, p.stage) for p in made] == [(4, "seedling"), (2, "vegetative")]


# --- on the tank -------------------------------------------------------------------------------------------


def test_what_stands_on_the_tank_sets_its_bands() -> None:
    now = BEGAN + timedelta(days=40)
    stands = standing_on_tank(_garden(SOWN, now=40).plantings, now)
    assert stands == (Standing("basil", "vegetative", 3, 40.0),)
    assert not tank_bands(stands).assumed


def test_plugs_in_a_tray_stand_elsewhere_where_sites_are_named() -> None:
    made = _garden(SOWN, (1, Sow(crop="tomato", count=4)), now=40)
    assert [each.crop for each in standing_on_tank(made.plantings, BEGAN + timedelta(days=40))] == ["basil"]


def test_only_what_came_up_has_a_vote() -> None:
    made = _garden(SOWN, (4, Emerged(crop="basil", count=2)), now=6)
    (standing,) = standing_on_tank(made.plantings, BEGAN + timedelta(days=6))
    assert (standing.stage, standing.count) == ("seedling", 2)


def test_each_tank_has_its_own_plants() -> None:
    made = _garden(
        (0, Sow(crop="basil", count=1, tank="porch")), (0, Sow(crop="dill", count=2, tank="attic"))
    )
    now = BEGAN + timedelta(days=30)
    assert [each.crop for each in standing_on_tank(made.plantings, now, "attic")] == ["dill"]
    assert [each.crop for each in standing_on_tank(made.plantings, now)] == ["basil", "dill"]


def test_a_fact_about_one_tank_leaves_the_other_alone() -> None:
    made = _garden(
        (0, Sow(crop="basil", sites=("A1",), tank="porch")),
        (0, Sow(crop="basil", sites=("A1",), tank="attic")),
        (9, Lost(sites=("A1",), tank="attic")),
    )
    assert [planting.tank for planting in made.plantings] == ["porch"]


def test_a_fact_that_names_the_tank_finds_what_was_sown_without_naming_it() -> None:
    made = _garden((0, Sow(crop="basil", sites=("A1",))), (9, Lost(sites=("A1",), tank="attic")))
    assert not made.conflicts
    assert made.plantings == ()


def test_ten_years_of_sowing_fold_in_a_moment() -> None:
    """5,000 sowings, each lost, fold in well under a second because only what stands is searched."""
    said: list[tuple[float, Fact]] = []
    for number in range(5000):
        said += [(number, Sow(crop="basil", sites=("A1",))), (number + 0.5, Lost(sites=("A1",)))]
    began = time.perf_counter()
    made = _garden(*said, now=5001)
    assert time.perf_counter() - began < 2
    assert len(made.ended) == 5000


# --- the fold ----------------------------------------------------------------------------------------------

SITES = st.lists(st.sampled_from(["A1", "A2", "A3", "B1"]), min_size=1, max_size=3, unique=True).map(tuple)
MAYBE_SITES = st.none() | SITES
CROPS = st.sampled_from(["basil", "lettuce", "radish", "tomato"])
COUNTS = st.none() | st.integers(1, 6)
FACTS: st.SearchStrategy[Fact] = st.one_of(
    st.builds(Sow, crop=CROPS, sites=MAYBE_SITES, count=COUNTS),
    st.builds(Sow, crop=CROPS, sites=SITES),
    st.builds(Reseed, crop=st.none() | CROPS, sites=SITES),
    st.builds(Growing, crop=CROPS, count=COUNTS, stage=st.none() | st.just("seedling")),
    st.builds(Emerged, crop=st.none() | CROPS, sites=MAYBE_SITES, count=COUNTS),
    st.builds(Lost, crop=st.none() | CROPS, sites=MAYBE_SITES, count=COUNTS),
    st.builds(Removed, crop=st.none() | CROPS, sites=MAYBE_SITES),
    st.builds(
        Harvest, crop=st.none() | CROPS, sites=MAYBE_SITES, count=COUNTS, grams=st.none() | st.just(30.0)
    ),
    st.builds(Moved, crop=st.none() | CROPS, from_sites=MAYBE_SITES, to_sites=MAYBE_SITES),
    st.builds(StageSeen, crop=st.none() | CROPS, sites=MAYBE_SITES, stage=st.just("flowering")),
    st.builds(Tended, crop=st.none() | CROPS, sites=MAYBE_SITES, task=st.just("prune")),
)
SAID = st.lists(FACTS, max_size=14)
NOW = BEGAN + timedelta(days=60)


def _journal(said: Sequence[Fact]) -> list[Entry]:
    return [_entry(number, number, fact) for number, fact in enumerate(said, start=1)]


@settings(max_examples=150, deadline=None)
@given(SAID)
def test_no_plant_comes_from_nowhere(said: list[Fact]) -> None:
    """No more stand than were told of."""
    made = garden(_journal(said), NOW)
    conflicted = {conflict.entry_id for conflict in made.conflicts if conflict.code == "which_crop"}
    came = 0
    for number, fact in enumerate(said, start=1):
        if number in conflicted:
            continue
        if isinstance(fact, Sow):
            came += fact.count or len(fact.sites or (None,))
        elif isinstance(fact, Growing):
            came += fact.count or 1
        elif isinstance(fact, Moved):  # moving one of unsaid number to many sites says how many there were
            came += max(0, len(fact.to_sites or ()) - 1)
    assert sum(planting.count for planting in made.plantings) <= came
    for planting in made.plantings:
        assert planting.count > 0
        assert planting.up_count is None or 0 <= planting.up_count <= planting.count
        assert 0 <= planting.drawing_count <= planting.count


@settings(max_examples=150, deadline=None)
@given(SAID)
def test_every_planting_has_its_own_key_and_sites(said: list[Fact]) -> None:
    made = garden(_journal(said), NOW)
    keys = [planting.key for planting in made.plantings]
    assert len(set(keys)) == len(keys)
    for planting in made.plantings:
        assert len(set(planting.sites)) == len(planting.sites)


@settings(max_examples=100, deadline=None)
@given(SAID)
def test_what_only_one_reading_is_about_changes_no_plant(said: list[Fact]) -> None:
    entries = _journal(said)
    with_reading = [*entries, _entry(99, 59, Reading(ph=5.9))]
    assert garden(with_reading, NOW) == garden(entries, NOW)


@settings(max_examples=100, deadline=None)
@given(SAID)
def test_a_conflict_of_the_last_word_left_everything_as_it_was(said: list[Fact]) -> None:
    entries = _journal(said)
    made = garden(entries, NOW)
    if not entries or not made.conflicts or made.conflicts[-1].entry_id != entries[-1].id:
        return
    if made.conflicts[-1].code in ("site_taken", "rest_unsaid"):
        return
    assert made.plantings == garden(entries[:-1], NOW).plantings


@st.composite
def _revised(draw: st.DrawFn) -> tuple[list[Entry], list[Entry]]:
    """A journal with edits and undos as it stands in the end, and the same things said right at once."""
    number = 0
    net: list[Entry] = []
    for message, fact in enumerate(draw(SAID), start=1):
        revisions = [fact, *draw(st.lists(FACTS, max_size=2))]
        number += len(revisions)  # an edit is a new entry that supersedes
        if draw(st.integers(0, 3)):  # the others are undone
            net.append(_entry(number, message, revisions[-1], f"1:{message}"))
    return net, [replace(entry, id=place) for place, entry in enumerate(net, start=1)]


@settings(max_examples=100, deadline=None)
@given(_revised())
def test_edits_and_undos_leave_what_saying_it_right_at_once_would(
    revised: tuple[list[Entry], list[Entry]],
) -> None:
    net, right = (garden(entries, NOW) for entries in revised)
    assert [replace(planting, key="") for planting in net.plantings] == [
        replace(planting, key="") for planting in right.plantings
    ]
    assert [replace(plot, entry_id=0) for plot in net.ended] == [
        replace(plot, entry_id=0) for plot in right.ended
    ]
    assert [replace(each, entry_id=0) for each in net.conflicts] == [
        replace(each, entry_id=0) for each in right.conflicts
    ]
