"""Guesses: how they are drawn, weighed and renewed."""

import numpy as np
import pytest
from tank_journal import NOON, household, journal

from domain.bottles import bottle_of
from domain.chemistry.solution import pco2_atm, ph
from domain.facts import Product, Reading, WaterChange
from domain.guesses import Guesses, bottle_key, effective, even_shares, flattened, normalised, resampled
from domain.happenings import Read
from domain.prior import first_guesses
from domain.tank import TankState, tank_state

UNKNOWN = Product(role="ph_down", name="some brand")
BOTTLES = {bottle_key(UNKNOWN): bottle_of(UNKNOWN)}


def drawn(*said: object, count: int = 512, alkalinity: float | None = None) -> Guesses:
    entries = journal(*household(40.0, UNKNOWN, alkalinity=alkalinity), *said)  # type: ignore[arg-type]
    state: TankState = tank_state(entries, NOON)
    anchor = state.happenings[-1]
    assert isinstance(anchor, Read)
    return first_guesses(state, anchor, BOTTLES, count, 0)


def weighted_median(values: np.ndarray, weight: np.ndarray) -> float:
    order = np.argsort(values)
    return float(values[order][np.searchsorted(np.cumsum(weight[order]), 0.5)])


def test_every_guess_that_counts_shows_the_reading():
    guesses = drawn((0.0, Reading(ph=6.4, ec_ms_cm=1.4)))
    counts = guesses.weight > 1e-4
    np.testing.assert_allclose(np.asarray(ph(guesses.water))[counts], guesses.ph[counts], atol=0.02)


def test_water_that_stood_for_days_is_at_rest_with_the_room():
    old = (-120.0, WaterChange(feed="full"))
    guesses = drawn(old, (0.0, Reading(ph=6.4, ec_ms_cm=1.4)))
    # A lived-in room holds 400 to 1,000 ppm of CO2.
    log_pco2 = np.log10(np.asarray(pco2_atm(guesses.water)))
    assert weighted_median(log_pco2, guesses.weight) == pytest.approx(-3.25, abs=0.25)


def test_a_fill_of_an_hour_ago_still_holds_the_carbon_of_its_water():
    fresh = (-1.0, WaterChange(feed="full"))
    guesses = drawn(fresh, (0.0, Reading(ph=6.7, ec_ms_cm=1.4)), alkalinity=100.0)
    # PHREEQC: feed alone moves water of alkalinity 100 mg/L from 7.5 to 6.6, CO2 shut in; 2 meq/L of
    # bicarbonate at that pH come with 3 mmol/L of carbon.
    assert weighted_median(np.asarray(guesses.water.carbon_mol_l), guesses.weight) > 1.5e-3


def test_a_reading_without_ph_starts_nothing():
    state = tank_state(journal(*household(40.0, UNKNOWN), (0.0, Reading(ec_ms_cm=1.4))), NOON)
    anchor = state.happenings[-1]
    assert isinstance(anchor, Read)
    with pytest.raises(ValueError, match="must have a pH"):
        first_guesses(state, anchor, BOTTLES, 64, 0)


def test_the_worth_of_weights():
    assert effective(np.full(10, 0.1)) == pytest.approx(10.0)
    assert effective(np.array([1.0, 0.0, 0.0])) == pytest.approx(1.0)
    assert normalised(np.array([-np.inf, -np.inf])).tolist() == [0.5, 0.5]


def test_flattening_stops_as_soon_as_enough_are_left():
    sharp = -0.5 * ((np.arange(100) - 50.0) / 2.0) ** 2
    assert effective(normalised(flattened(sharp, 30.0))) == pytest.approx(30.0, rel=0.02)
    assert flattened(sharp, 3.0) is sharp
    impossible = np.where(np.arange(100) < 90, sharp, -np.inf)
    assert np.all(np.isneginf(flattened(impossible, 30.0)[90:]))


def test_renewed_guesses_keep_middle_and_spread_of_what_they_learned():
    guesses = drawn((0.0, Reading(ph=6.4, ec_ms_cm=1.4)), count=1024)
    key = bottle_key(UNKNOWN)
    generator = np.random.default_rng(1)
    normal = [np.asarray(generator.standard_normal(800)) for _ in range(3)]
    renewed = resampled(guesses, 800, normal)
    assert renewed.count == 800
    before = np.log(guesses.strength[key])
    middle = float(np.sum(guesses.weight * before))
    spread = float(np.sqrt(np.sum(guesses.weight * (before - middle) ** 2)))
    after = np.log(renewed.strength[key])
    assert after.mean() == pytest.approx(middle, abs=0.1)
    assert after.std() == pytest.approx(spread, rel=0.12)


def test_shares_stand_evenly_between_nothing_and_all():
    assert even_shares(4).tolist() == [0.125, 0.375, 0.625, 0.875]
