"""What each site shows, folded from what the household said."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import pytest

from domain.facts import Emerged, Fact, Growing, Lost, Moved, Removed, Sow, StageSeen
from domain.journal import Entry
from domain.plantings import garden
from domain.sites import Spot, label_parts, spots

BEGAN = datetime(2026, 5, 4, 19, tzinfo=UTC)
DAY = timedelta(days=1)


def shown(*said: tuple[float, Fact], named: Sequence[str] = (), now: float = 30) -> dict[str, Spot]:
    entries = [
        Entry(number, fact, BEGAN + day * DAY, BEGAN + day * DAY, author="Ana", message_key=f"1:{number}")
        for number, (day, fact) in enumerate(said, start=1)
    ]
    return {spot.label: spot for spot in spots(garden(entries, BEGAN + now * DAY), named)}


def test_what_stands_there_since_when_and_how_far() -> None:
    found = shown((0, Sow(crop="basil", sites=("A1",))), (9, Sow(crop="dill", sites=("B2",))), now=10)
    assert found["A1"] == Spot(label="A1", state="seedling", crop="basil", days=10)
    assert found["B2"] == Spot(label="B2", state="germinating", crop="dill", days=1)


def test_named_sites_are_there_though_nothing_stands() -> None:
    found = shown((0, Sow(crop="basil", sites=("A2",))), named=("A1", "A2", "window"))
    assert list(found) == ["A1", "A2", "WINDOW"]
    assert (found["A1"].state, found["A1"].crop) == ("empty", None)


def test_a_site_that_nobody_named_is_there_while_something_stands() -> None:
    sown = (0.0, Sow(crop="basil", sites=("C3",)))
    assert set(shown(sown, named=("A1",))) == {"A1", "C3"}
    assert set(shown(sown, (5, Removed(sites=("C3",))), named=("A1",))) == {"A1"}


def test_a_row_of_unknown_length_names_no_site() -> None:
    assert shown((0, Sow(crop="basil", sites=("A1",))), named=("B*",)).keys() == {"A1"}


def test_without_names_a_site_once_used_stays() -> None:
    found = shown((0, Sow(crop="basil", sites=("A1", "A2"))), (20, Removed(sites=("A1",))))
    assert found["A1"] == Spot(label="A1", state="empty")


def test_a_loss_is_shown_until_something_else_stands_there() -> None:
    lost = [(0.0, Sow(crop="basil", sites=("A1",))), (8.0, Lost(sites=("A1",)))]
    assert shown(*lost)["A1"] == Spot(label="A1", state="lost", crop="basil")
    again = shown(*lost, (29, Sow(crop="mint", sites=("A1",))))
    assert (again["A1"].crop, again["A1"].state) == ("mint", "germinating")
    pulled = shown(*lost, (12, Sow(crop="mint", sites=("A1",))), (20, Removed(sites=("A1",))))
    assert pulled["A1"].state == "empty"


def test_moved_plants_are_where_they_went() -> None:
    found = shown(
        (0, Sow(crop="basil", sites=("A1",))),
        (9, Emerged(sites=("A1",))),
        (15, Moved(from_sites=("A1",), to_sites=("D4",))),
    )
    assert found["D4"].crop == "basil"
    assert found["D4"].days == 30


def test_plants_found_growing_have_no_age() -> None:
    found = shown(
        (0, Growing(crop="tomato")),
        (1, Moved(crop="tomato", to_sites=("A1",))),
        (30, StageSeen(stage="fruiting", sites=("A1",))),
    )
    assert found["A1"] == Spot(label="A1", state="fruiting", crop="tomato", days=None)


def test_two_plantings_at_one_site_the_newer_is_named() -> None:
    found = shown((0, Sow(crop="basil", sites=("A1",))), (5, Sow(crop="dill", sites=("A1",))))
    assert (found["A1"].crop, found["A1"].others) == ("dill", 1)


def test_order_is_that_of_a_reader() -> None:
    labels = ("B1", "A10", "window", "A2", "Attic")
    assert list(shown(named=labels)) == ["A2", "A10", "B1", "ATTIC", "WINDOW"]


@pytest.mark.parametrize(
    ("label", "parts"),
    [("A3", ("A", 3)), ("F12", ("F", 12)), ("B*", None), ("WINDOW", None), ("3", None), ("A", None)],
)
def test_label_in_a_grid(label: str, parts: tuple[str, int] | None) -> None:
    assert label_parts(label) == parts


def test_a_state_that_does_not_exist() -> None:
    with pytest.raises(ValueError, match="thriving"):
        Spot(label="A1", state="thriving")  # type: ignore[arg-type]
