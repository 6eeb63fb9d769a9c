"""Thinning and stepping the feed up: due once, by when the plants came up, with why now."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest
from garden_journal import day, journal

from domain.bands import Standing, tank_bands
from domain.crops import crops
from domain.facts import Chore, Emerged, Fact, Growing, Reading, Setting, Sow, Tended
from domain.routine import Due, due_dates, routine
from domain.stages import start_days

LISBON = ZoneInfo("Europe/Lisbon")


def dues(*told: tuple[float, Fact], now: float) -> dict[str, Due]:
    return {due.task: due for due in due_dates(journal(*told), now=day(now), zone=LISBON)}


CROWDED = ((0, Sow(crop="lettuce", sites=("A1", "A2"), count=6)), (3, Emerged(crop="lettuce", count=6)))


def test_crowded_seedlings_are_thinned_ten_days_after_they_came_up() -> None:
    """Ten days: common practice, the first true leaves."""
    thin = dues(*CROWDED, now=4)["thin"]
    assert thin.text == "thin the lettuce to one a site in A1 and A2"
    assert thin.brief == "6 stand in 2, up since 5 Mar"
    assert 10 <= (thin.due_at - day(3)).total_seconds() / 86400 < 11
    assert thin.due_at.astimezone(LISBON).hour == 18
    assert dues(*CROWDED, now=9)["thin"] == thin


def test_thinned_or_one_a_site_needs_no_thinning() -> None:
    assert "thin" not in dues(*CROWDED, (8, Tended(crop="lettuce", task="thin")), now=9)
    assert "thin" not in dues(
        (0, Sow(crop="lettuce", sites=("A1", "A2"))), (3, Emerged(crop="lettuce")), now=9
    )


def test_the_feed_is_stepped_up_when_a_crop_enters_a_stage_that_wants_more() -> None:
    told = ((0, Sow(crop="lettuce", sites=("A1",))), (3, Emerged(crop="lettuce", sites=("A1",))))
    step = dues(*told, now=5)["feed_step"]
    start, seedling = (start_days(crops()["lettuce"], stage) for stage in ("vegetative", "seedling"))
    assert start is not None
    assert seedling is not None
    assert 0 <= (step.due_at - day(3 + start - seedling)).total_seconds() / 86400 < 1
    before, after = (tank_bands([Standing("lettuce", s, 1)]).ec for s in ("seedling", "vegetative"))
    assert after.ideal_low + after.ideal_high > before.ideal_low + before.ideal_high
    assert "vegetative" in step.why
    assert dues(*told, now=9)["feed_step"] == step


def test_a_band_of_the_households_own_makes_no_step() -> None:
    own = Setting(name="band", what="ec", low=1.0, high=1.4)
    assert "feed_step" not in dues((0, own), (0, Sow(crop="lettuce", sites=("A1",))), now=5)


@pytest.mark.parametrize(
    ("told", "task"),
    [
        (Reading(ph=6.0), "refill_probe_cap"),
        (Reading(ec_ms_cm=1.4), "calibrate_ec_meter"),
        (Growing(crop="basil"), "rinse_filter"),
        (Growing(crop="basil"), "clean_pump"),
        (Growing(crop="basil"), "clean_tank"),
        (Sow(crop="basil", sites=("A1",)), "adjust_lights"),
        (Chore(task="check_timer"), "check_timer"),
    ],
)
def test_what_the_household_has_is_looked_after_from_when_it_shows(told: Fact, task: str) -> None:
    assert task not in dues((0, Reading(water_temp_c=19)), now=1)
    assert task in dues((0, Reading(water_temp_c=19)), (0.5, told), now=1)


def test_a_colour_strip_needs_no_probe_care() -> None:
    assert "refill_probe_cap" not in dues((0, Reading(ph=6.25, ph_span=0.5)), now=1)


@pytest.mark.parametrize("task", ["look", "thin", "feed_step"])
def test_what_is_not_wanted_is_not_told(task: str) -> None:
    assert routine()[task].rule == "plants"
    told = (*CROWDED, (3.5, Sow(crop="basil", sites=("B1",))))
    assert task in dues(*told, now=4)
    assert task not in dues(*told, (3.6, Setting(name="interval", task=task, rrule="")), now=4)
