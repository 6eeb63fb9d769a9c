"""The water looked back on: what was read and done, and the bands of that time."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest
from garden_journal import day, journal

from domain.bands import tank_bands
from domain.facts import Dose, Growing, Reading, Removed, Setting, TopUp, WaterChange
from domain.history import MOST_BANDS, Hand, Point, bands_over, hands, points
from domain.plantings import garden, standing_on_tank


def test_values_in_their_order_with_what_is_doubted_and_rough() -> None:
    told = journal(
        (0, Reading(ph=6.0, ec_ms_cm=1.2)),
        (1, Reading(ph=6.25, ph_span=0.5)),
        (2, Reading(ec_ms_cm=1.3)),
        (3, Reading(ph=3.1)),
    )
    told[-1] = replace(told[-1], doubted=True)
    assert points(told, "ph") == (
        Point(day(0), 6.0),
        Point(day(1), 6.25, approx=True),
        Point(day(3), 3.1, doubted=True),
    )
    assert [point.value for point in points(told, "ec_ms_cm")] == [1.2, 1.3]


def test_a_mark_counts_in_the_litres_that_the_tank_held_by_then() -> None:
    told = journal(
        (0, Reading(level_mark="half")),
        (1, Setting(name="tank_volume_l", value="60")),
        (2, Reading(level_mark="half")),
        (3, Reading(level_l=55.0)),
        (4, Reading(level_mark="12 cm")),
    )
    assert [point.value for point in points(told, "level_l")] == [20.0, 30.0, 55.0]


def test_what_was_done_to_the_water() -> None:
    told = journal(
        (0, WaterChange()),
        (1, Dose(product="ph_down", amount=3, unit="ml")),
        (2, TopUp(litres=3)),
        (3, Reading(ph=6.0)),
    )
    told[2] = replace(told[2], doubted=True)
    assert hands(told) == (Hand(day(0), "water_change"), Hand(day(1), "ph_down"))


def test_bands_are_those_of_each_day_and_not_of_today() -> None:
    """Basil gives way to lettuce: before and after, what ``tank_bands`` gives for what stood then."""
    told = journal(
        (0, Growing(crop="basil", count=4)),
        (10, Removed(crop="basil")),
        (10.01, Growing(crop="lettuce", count=4)),
        (20, Removed(crop="lettuce")),
    )
    spans = bands_over(told, ["ec_ms_cm"], [day(1), day(5), day(11), day(15)], day(16))["ec_ms_cm"]
    assert [(span.start, span.end) for span in spans] == [(day(1), day(11)), (day(11), day(16))]
    for span in spans:
        stood = garden([entry for entry in told if entry.happened_at <= span.start], span.start)
        band = tank_bands(standing_on_tank(stood.plantings, span.start)).ec
        assert span.ideal == (band.ideal_low, band.ideal_high)
        assert span.tolerable == (band.tolerable_low, band.tolerable_high)
    assert spans[0].ideal != spans[1].ideal


def test_a_band_that_the_household_set_counts_from_then_on() -> None:
    told = journal((5, Setting(name="band", what="ph", low=5.0, high=5.5)))
    before, after = bands_over(told, ["ph"], [day(1), day(6)], day(7))["ph"]
    assert after.ideal == (5.0, 5.5) != before.ideal


def test_a_level_has_a_band_once_its_lowest_is_set() -> None:
    told = journal(
        (0, Setting(name="tank_volume_l", value="45")), (5, Setting(name="minimum_level_l", value="20"))
    )
    (span,) = bands_over(told, ["level_l"], [day(1), day(6)], day(7))["level_l"]
    assert (span.start, span.tolerable) == (day(6), (20.0, 45.0))


@pytest.mark.parametrize("count", [1, MOST_BANDS, 500])
def test_however_long_the_time_it_is_covered(count: int) -> None:
    moments = [day(0) + timedelta(hours=hour) for hour in range(count)]
    spans = bands_over(journal((0, Growing(crop="basil", count=1))), ["ph"], moments, day(40))["ph"]
    assert (spans[0].start, spans[-1].end) == (day(0), day(40))
    assert all(one.end == other.start for one, other in pairwise(spans))
