"""What a tank's answers teach."""

from dataclasses import replace

import numpy as np
import pytest
from tank_journal import ACID, BASE, FEED, NOON, household, journal

from domain.chemistry.solution import (
    exchanged,
    exchanged_roughly,
    ph,
    source_water,
    with_nutrient,
    with_reagent,
)
from domain.facts import Dose, Product, Reading, WaterChange
from domain.guesses import effective
from domain.response import Beliefs, beliefs
from domain.tank import TankState, tank_state


def state(*said: object, products: tuple[Product, ...] = (ACID, BASE, FEED), **more: float) -> TankState:
    return tank_state(journal(*household(40.0, *products, **more), *said), NOON)  # type: ignore[arg-type]


def believed(tank: TankState) -> Beliefs:
    found = beliefs(tank)
    assert found is not None
    return found


def test_nothing_is_believed_without_a_ph_reading():
    assert beliefs(state()) is None
    assert beliefs(state((0, Reading(ec_ms_cm=1.4)))) is None
    assert beliefs(state((0, Reading(ph=12.0)))) is None


@pytest.mark.parametrize("shown", [4.6, 5.9, 7.0, 8.2])
def test_every_guess_shows_about_what_the_tester_showed(shown: float):
    belief = believed(state((0, Reading(ph=shown, ec_ms_cm=1.4))))
    assert belief.quantile(belief.ph, 0.5) == pytest.approx(shown, abs=0.06)
    assert belief.quantile(belief.ph, 0.95) - belief.quantile(belief.ph, 0.05) < 0.5
    np.testing.assert_allclose(np.asarray(ph(belief.water)), belief.ph, atol=0.02)


def test_weights_are_a_distribution_over_enough_guesses():
    belief = believed(state((0, Reading(ph=6.9, ec_ms_cm=1.4))))
    assert belief.weight.sum() == pytest.approx(1.0)
    assert effective(belief.weight) > 100


def test_a_bottle_of_unknown_strength_is_learned_from_its_answers():
    """Closed water dosed from a bottle of 2 mol/L; the readings are the solver's own."""
    unknown = Product(role="ph_down", name="some brand")
    water = with_nutrient(source_water(ph=7.5, alkalinity_eq_l=2e-3, temperature_c=20.0), ec_ms_cm=1.1)
    said: list[object] = [(-3.0, WaterChange(feed="full"))]
    for step in range(3):
        said.append((step - 2.0, Reading(ph=round(float(ph(water)), 1), ec_ms_cm=1.5)))
        if step < 2:
            said.append((step - 2.0, Dose(product="ph_down", amount=5.0, unit="ml")))
            water = with_reagent(water, "phosphoric acid", 5.0 * 2.0e-3 / 40.0)
    tank = state(*said, products=(unknown, FEED), alkalinity=100.0)
    before = believed(state(said[0], said[1], products=(unknown, FEED), alkalinity=100.0))
    after = believed(tank)
    spread = [
        b.quantile(b.strength_of(unknown), 0.9) / b.quantile(b.strength_of(unknown), 0.1)
        for b in (before, after)
    ]
    assert spread[1] < spread[0] / 2
    assert after.quantile(after.strength_of(unknown), 0.1) < 2.0e-3
    assert after.quantile(after.strength_of(unknown), 0.9) > 2.0e-3
    assert after.answers == 2
    assert after.has_answered(unknown)


@pytest.mark.parametrize(
    "since",
    [
        [(-20.0, WaterChange(feed="full"))],
        [(hours, Reading(ph=6.0, ec_ms_cm=1.4)) for hours in range(-90, -2, 12)],
    ],
    ids=["a water change", "a week of readings"],
)
def test_a_bottle_once_learned_stays_learned(since: list[object]):
    unknown = Product(role="ph_down", name="some brand")
    said: list[object] = []
    for number, shown in enumerate((7.2, 7.0, 6.8, 6.6)):
        said.append((number - 100.0, Reading(ph=shown, ec_ms_cm=1.4)))
        if number < 3:
            said.append((number - 100.0, Dose(product="ph_down", amount=4.0, unit="ml")))
    new = believed(state((0, Reading(ph=7.0, ec_ms_cm=1.4)), products=(unknown, FEED)))
    later = believed(state(*said, *since, (0, Reading(ph=7.0, ec_ms_cm=1.4)), products=(unknown, FEED)))
    spread = [
        b.quantile(b.strength_of(unknown), 0.9) / b.quantile(b.strength_of(unknown), 0.1)
        for b in (new, later)
    ]
    assert later.has_answered(unknown)
    assert later.answers == 3
    assert spread[1] < spread[0] / 2


def test_a_stubborn_answer_raises_the_whole_amount_and_a_lively_one_lowers_it():
    """Of two tanks alike until a dose, the one that moved less has more of a buffer left."""
    dosed = [(-2.0, Reading(ph=7.0, ec_ms_cm=1.4)), (-2.0, Dose(product="ph_down", amount=5.0, unit="ml"))]
    held = [believed(state(*dosed, (0, Reading(ph=shown, ec_ms_cm=1.4)))) for shown in (6.8, 6.3)]
    middles = []
    for belief in held:
        step = belief.with_dose(belief.water, ACID, 3.0)
        middles.append(belief.quantile(belief.ph - np.asarray(ph(step)), 0.5))
    assert middles[0] < middles[1]


def test_a_reading_that_nothing_explains_is_believed_but_teaches_nothing():
    steady = [(-50.0, Reading(ph=5.9)), (-26.0, Reading(ph=5.9)), (-2.0, Reading(ph=5.9))]
    belief = believed(state(*steady, (0, Reading(ph=8.4))))
    assert belief.surprise is not None
    assert belief.surprise > 4
    assert belief.quantile(belief.ph, 0.5) == pytest.approx(8.4, abs=0.1)


def test_a_dose_said_in_the_message_of_its_reading_counts_after_it():
    alone = believed(state((0, Reading(ph=7.0, ec_ms_cm=1.4))))
    dosed = believed(
        state((0, Reading(ph=7.0, ec_ms_cm=1.4)), (0, Dose(product="ph_down", amount=2, unit="ml")))
    )
    carbon = [b.quantile(np.asarray(b.water.carbon_mol_l), 0.5) for b in (alone, dosed)]
    assert carbon[1] == pytest.approx(carbon[0], rel=0.15)
    assert dosed.quantile(dosed.ph, 0.5) < alone.quantile(alone.ph, 0.5)


def test_known_hard_water_freshly_filled_holds_more_alkalinity_than_soft():
    held = []
    for alkalinity in (30.0, 200.0):
        fill = ((-1.0, WaterChange(feed="full")), (0, Reading(ph=7.0, ec_ms_cm=1.4)))
        belief = believed(state(*fill, alkalinity=alkalinity))
        left = np.asarray(belief.water.strong_charge_eq_l) - np.asarray(belief.water.phosphate_mol_l)
        held.append(belief.quantile(left, 0.5))
    assert held[0] < held[1]


def test_water_swapped_for_plain_tap_water_loses_strength_of_every_part():
    half = (-1.0, WaterChange(fraction=0.5))
    before = believed(state((-2.0, Reading(ph=6.0, ec_ms_cm=2.0))))
    after = believed(state((-2.0, Reading(ph=6.0, ec_ms_cm=2.0)), half))
    for part in ("phosphate_mol_l", "calcium_mol_l"):
        whole, left = (b.quantile(np.asarray(getattr(b.water, part)), 0.5) for b in (before, after))
        assert left < whole
    assert after.quantile(after.ph, 0.5) > before.quantile(before.ph, 0.5)


@pytest.mark.parametrize("alkalinity", [0.4e-3, 2e-3, 5e-3])
@pytest.mark.parametrize("hours", [0.5, 4.0, 24.0])
def test_the_short_way_to_rest_stays_near_the_long_one(alkalinity: float, hours: float):
    count = 8
    rates = np.geomspace(0.03, 2.0, count)
    tap = source_water(ph=7.3, alkalinity_eq_l=alkalinity * np.ones(count), temperature_c=20.0)
    water = with_reagent(with_nutrient(tap, ec_ms_cm=1.2), "phosphoric acid", 0.6 * alkalinity)
    _, short = exchanged_roughly(water, folds=rates * hours, pco2_atm=np.full(count, 10**-3.3))
    long = np.asarray(ph(exchanged(water, rate_per_h=rates, hours=hours, pco2_atm=10**-3.3)))
    np.testing.assert_allclose(short, long, atol=0.1)


def test_the_short_way_never_loses_itself():
    """Acid, lye, no buffer and much of it: the search that starts from the state before still ends."""
    draw, count = np.random.default_rng(1), 2000
    tap = source_water(ph=8.5, alkalinity_eq_l=np.geomspace(1e-5, 8e-3, count), temperature_c=20.0)
    charge = np.asarray(tap.strong_charge_eq_l) + draw.uniform(-1, 1, count) * np.geomspace(1e-5, 1e-2, count)
    water = replace(with_nutrient(tap, ec_ms_cm=draw.uniform(0, 3, count)), strong_charge_eq_l=charge)
    water = replace(water, phosphate_mol_l=draw.permutation(np.geomspace(1e-5, 4e-3, count)))
    folds, pressure = draw.permutation(np.geomspace(1e-3, 60, count)), 10 ** draw.uniform(-3.6, -2.5, count)
    later, shown = exchanged_roughly(water, folds=folds, pco2_atm=pressure)
    np.testing.assert_allclose(shown, np.asarray(ph(later)), atol=1e-4)


def test_quantiles_count_weight_and_err_low():
    belief = believed(state((0, Reading(ph=6.9, ec_ms_cm=1.4))))
    values = np.arange(len(belief.weight), dtype=float)
    even = replace(belief, weight=np.full(len(values), 1.0 / len(values)))
    # 240 equal guesses: 1 % of them are 2.4, so that two lie below the third smallest.
    assert len(values) == 240
    assert even.quantile(values, 0.01) == 2.0
    assert even.quantile(values, 0.0) == 0.0
    assert even.chance(values < 24) == pytest.approx(0.1)
