"""Each pattern shows by its evidence and not beside it; the tester comes first where it is likelier.

What the patterns mean and where that is from stands in data/patterns.csv, each row with its source.
"""

from __future__ import annotations

from typing import get_args

import pytest
from tank_journal import NOON, journal

from domain.chemistry.gases import oxygen_saturation_mg_l
from domain.diagnosis import _SIGNS, Way, diagnosed, patterns, plain_pattern
from domain.facts import Chore, Dose, Fact, Reading, TopUp, WaterChange
from domain.history import QUANTITIES, Quantity
from domain.past import past
from domain.routine import habits
from domain.sources import sources

Told = list[tuple[float, Fact]]
DAY = 24.0
ACID = Dose(product="ph_down", amount=3, unit="ml")
FEED = Dose(product="nutrient", amount=20, unit="ml")


def ph(*values: tuple[float, float]) -> Told:
    """Readings of (days before now, pH)."""
    return [(-DAY * days, Reading(ph=value)) for days, value in values]


def ec(*values: tuple[float, float]) -> Told:
    return [(-DAY * days, Reading(ec_ms_cm=value)) for days, value in values]


def level(*values: tuple[float, float]) -> Told:
    return [(-DAY * days, Reading(level_l=value)) for days, value in values]


def warmth(*values: tuple[float, float]) -> Told:
    return [(-DAY * days, Reading(water_temp_c=value)) for days, value in values]


def names(told: Told, what: Quantity, way: Way | None = None) -> list[str]:
    found = diagnosed(past(journal(*sorted(told, key=lambda each: each[0])), NOON), what, way)
    return [finding.pattern.name for finding in found]


def plain(told: Told) -> str | None:
    found = plain_pattern(past(journal(*sorted(told, key=lambda each: each[0])), NOON))
    return found.pattern.name if found is not None else None


CALIBRATED: Told = [(-5 * DAY, Chore(task="calibrate_ph_meter"))]
SLOWLY_UP = ph((4, 5.8), (3, 5.95), (2, 6.05), (1, 6.2), (0, 6.3))
SLOWLY_DOWN = ph((4, 6.4), (3, 6.25), (2, 6.1), (1, 6.0), (0, 5.9))
TOP_UPS = [(-DAY * days, TopUp(litres=4)) for days in (20.5, 13.5, 6.5, 0.5)]

SHOWING: list[tuple[str, Quantity, Told]] = [
    ("ph_jump", "ph", [*ph((2, 6.0), (1, 6.0), (0, 7.1))]),
    ("ph_scatter", "ph", ph((4, 5.8), (3, 6.3), (2, 5.8), (1, 6.2), (0, 5.7))),
    ("ec_jump", "ec_ms_cm", ec((2, 1.4), (1, 1.4), (0, 2.0))),
    ("ec_warmth", "ec_ms_cm", [*ec((3, 1.40), (0, 1.53)), *warmth((3, 17), (0, 22))]),
    ("ph_calibration", "ph", [(-100 * DAY, Chore(task="calibrate_ph_meter")), *ph((3, 6.0), (0, 6.3))]),
    ("ph_rebound", "ph", [*ph((2, 6.9)), (-1.9 * DAY, ACID), *ph((1.8, 5.9), (1, 6.2), (0, 6.4))]),
    ("ph_dosed", "ph", [*ph((2, 6.9)), (-1.9 * DAY, ACID), *ph((0, 6.0))]),
    ("ph_water", "ph", [*ph((2, 6.0)), (-1.9 * DAY, TopUp(litres=4)), *ph((1.5, 6.4))]),
    ("ph_roots", "ph", ph((3, 5.6), (2, 5.4), (1, 5.2), (0, 5.0))),
    ("ph_fast", "ph", ph((2, 5.2), (1.5, 5.6), (1, 5.9), (0.5, 6.3), (0, 6.6))),
    ("ph_nitrate", "ph", SLOWLY_UP),
    ("ph_ammonium", "ph", SLOWLY_DOWN),
    ("ec_fed", "ec_ms_cm", [*ec((2, 1.2)), (-1 * DAY, FEED), *ec((0, 1.5))]),
    ("ec_fed", "ec_ms_cm", [*ec((2, 1.2)), (-1 * DAY, TopUp(litres=4, feed="full")), *ec((0, 1.4))]),
    ("ec_salts", "ec_ms_cm", [*TOP_UPS, *ec((20, 1.2), (13, 1.3), (6, 1.4), (0, 1.5))]),
    ("ec_drinking", "ec_ms_cm", [*ec((3, 1.4), (0, 1.6)), *level((3, 40), (0, 34))]),
    ("ec_eating", "ec_ms_cm", [*ec((3, 1.6), (0, 1.4)), *level((3, 40), (0, 34))]),
    ("ec_thinned", "ec_ms_cm", [*ec((2, 1.6)), (-1 * DAY, TopUp(litres=6)), *ec((0, 1.4))]),
    ("ec_diluted", "ec_ms_cm", [*ec((3, 1.6), (0, 1.4)), *level((3, 38), (0, 39))]),
    ("warm_water", "water_temp_c", warmth((2, 21), (0, 25))),
]  # fmt: skip

SILENT: list[tuple[str, Quantity, Told]] = [
    ("ph_jump", "ph", ph((4, 6.0), (0, 7.1))),  # over days a tank may do so
    ("ph_jump", "ph", [*ph((1, 7.1)), (-0.9 * DAY, ACID), *ph((0, 6.0))]),
    ("ph_scatter", "ph", ph((4, 5.8), (3, 5.9), (2, 5.8), (1, 5.9), (0, 5.8))),
    ("ec_jump", "ec_ms_cm", [*ec((1, 1.4)), (-0.9 * DAY, FEED), *ec((0, 2.0))]),
    ("ec_warmth", "ec_ms_cm", [*ec((3, 1.4), (0, 1.8)), *warmth((3, 17), (0, 22))]),
    ("ph_calibration", "ph", [*CALIBRATED, *ph((3, 6.0), (0, 6.3))]),
    ("ph_rebound", "ph", [*ph((9, 6.9)), (-8 * DAY, ACID), *ph((7, 5.9), (0, 6.4))]),
    ("ph_dosed", "ph", ph((2, 6.9), (0, 6.0))),
    ("ph_water", "ph", [*ph((2, 6.0)), (-1.9 * DAY, TopUp(litres=4)), *ph((1.5, 6.0))]),
    ("ph_roots", "ph", SLOWLY_DOWN),
    ("ph_fast", "ph", SLOWLY_UP),
    ("ec_fed", "ec_ms_cm", [*ec((2, 1.2)), (-1 * DAY, TopUp(litres=4)), *ec((0, 1.5))]),
    ("ec_salts", "ec_ms_cm", [*TOP_UPS, *ec((20, 1.5), (13, 1.4), (6, 1.5), (0, 1.4))]),
    ("ec_drinking", "ec_ms_cm", [*ec((3, 1.4), (0, 1.6)), *level((3, 34), (0, 34))]),
    ("ec_eating", "ec_ms_cm", [*ec((3, 1.6), (0, 1.4)), *level((3, 34), (0, 34))]),
    ("ec_diluted", "ec_ms_cm", [*ec((3, 1.6), (0, 1.4)), *level((3, 40), (0, 34))]),
    ("warm_water", "water_temp_c", warmth((2, 21), (0, 22))),
]


@pytest.mark.parametrize(("name", "what", "told"), SHOWING, ids=[name for name, _, _ in SHOWING])
def test_a_pattern_shows_by_its_evidence(name: str, what: Quantity, told: Told) -> None:
    found = past(journal(*sorted(told, key=lambda each: each[0])), NOON)
    assert _SIGNS[name](found) is not None
    assert patterns()[name].what == what


@pytest.mark.parametrize(("name", "what", "told"), SILENT, ids=[name for name, _, _ in SILENT])
def test_and_not_without_it(name: str, what: Quantity, told: Told) -> None:
    found = past(journal(*sorted(told, key=lambda each: each[0])), NOON)
    assert _SIGNS[name](found) is None


def test_every_row_of_the_table_has_a_sign_and_a_case() -> None:
    assert set(patterns()) == set(_SIGNS) == {name for name, _, _ in SHOWING}


def test_the_table_is_complete() -> None:
    for pattern in patterns().values():
        assert pattern.what in QUANTITIES
        assert pattern.urgency in ("routine", "soon", "urgent")
        assert pattern.cause
        assert pattern.check
        assert pattern.actions
        assert pattern.sources
        assert all(line.key in sources() for line in pattern.sources)
        assert len(pattern.hint) <= 40, "one line of a phone"
    assert "calibrate_ph_meter" in habits()


def test_a_tester_that_is_likelier_comes_before_anything_in_the_water() -> None:
    """A jump after days of a slow climb: the climb has its cause, the jump is the tester's."""
    told = [*CALIBRATED, *ph((4, 5.8), (3, 5.9), (2, 6.0), (1, 6.1), (0, 7.2))]
    assert names(told, "ph", "up")[0] == "ph_jump"
    assert plain(told) == "ph_jump"


def test_a_calibration_long_ago_is_named_but_not_first() -> None:
    found = names(SLOWLY_UP, "ph", "up")
    assert found == ["ph_nitrate", "ph_calibration"]
    assert plain(SLOWLY_UP) is None


@pytest.mark.parametrize(("way", "first"), [("up", "ec_drinking"), (None, "ec_drinking")])
def test_rising_strength_with_falling_level(way: Way | None, first: str) -> None:
    told = [*ec((3, 1.4), (0, 1.6)), *level((3, 40), (0, 34))]
    assert names(told, "ec_ms_cm", way)[0] == first
    assert plain(told) == first


def test_no_cause_that_goes_the_other_way_is_given() -> None:
    told = [*ec((3, 1.4), (0, 1.6)), *level((3, 40), (0, 34))]
    assert names(told, "ec_ms_cm", "down") == []


def test_rising_strength_without_a_level_is_only_a_guess() -> None:
    told = ec((3, 1.4), (0, 1.6))
    assert names(told, "ec_ms_cm", "up") == ["ec_drinking"]
    assert plain(told) is None


def test_a_change_of_water_starts_the_count_of_salts_anew() -> None:
    told = [*TOP_UPS, *ec((20, 1.2), (13, 1.3), (6, 1.4), (0, 1.5)), (-10 * DAY, WaterChange())]
    assert "ec_salts" not in names(told, "ec_ms_cm")


def test_warm_water_says_how_much_air_it_can_hold() -> None:
    found = diagnosed(past(journal(*warmth((2, 21), (0, 25))), NOON), "water_temp_c")
    assert found[0].evidence.oxygen_mg_l == oxygen_saturation_mg_l(25)
    assert found[0].evidence.oxygen_mg_l == pytest.approx(8.26, abs=0.01)  # APHA table, 25 degC


def test_doubted_readings_are_no_evidence() -> None:
    told = journal(*ph((2, 6.0), (1, 6.0), (0, 7.1)))
    object.__setattr__(told[-1], "doubted", True)
    assert plain_pattern(past(told, NOON)) is None


def test_at_most_two_causes() -> None:
    for _, what, told in SHOWING:
        for way in (None, *get_args(Way)):
            assert len(names(told, what, way)) <= 2
