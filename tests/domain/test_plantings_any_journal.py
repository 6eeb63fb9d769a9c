"""Whatever is said of plants, with any edits and undos, folds to what the net of it says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st
from planted import BEGAN, entry

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
from domain.plantings import garden

SITES = st.lists(st.sampled_from(["A1", "A2", "A3", "B1", "tray"]), min_size=1, max_size=3, unique=True).map(
    tuple
)
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
    return [entry(number, number, fact) for number, fact in enumerate(said, start=1)]


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
    with_reading = [*entries, entry(99, 59, Reading(ph=5.9))]
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
            net.append(entry(number, message, revisions[-1], f"1:{message}"))
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
