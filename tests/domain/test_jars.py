"""A jar of tank water tells what a bottle does, and the tank is none the wiser.

The jars are filled and dosed by the same solver that reads them: these tests hold that the way back from an
answer leads to where it came from, not that the chemistry is right (tests/published does that).
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tank_journal import ACID, AIM, FEED, NOON, household, journal

from domain.chemistry.solution import Solution, mol_to_reach, ph, source_water, with_nutrient, with_reagent
from domain.dosing import Plan, Step, plan
from domain.facts import JarTest, Product, Reading, WaterChange
from domain.response import beliefs
from domain.tank import TankState, tank_state

UNKNOWN = Product(role="ph_down", name="some")
PHOSPHORIC = "phosphoric acid"


def tank_water(alkalinity_mg_l: float, shown: float = 7.2) -> Solution:
    tap = source_water(ph=shown, alkalinity_eq_l=alkalinity_mg_l / 50_043.5, temperature_c=20.0)
    return with_nutrient(tap, ec_ms_cm=1.1)


def jar_of(water: Solution, mol_per_ml: float, *, name: str = "some", step_ml: float = 0.05) -> JarTest:
    """Half a millilitre of the mix at a time until the pH is near 6, as the instructions have it."""
    ml = 0.0
    while float(ph(with_reagent(water, PHOSPHORIC, ml * mol_per_ml))) > 6.1 and ml < 3.0:
        ml += step_ml
    after = float(ph(with_reagent(water, PHOSPHORIC, ml * mol_per_ml)))
    before = round(float(ph(water)), 1)
    return JarTest(role="ph_down", name=name, ph_from=before, ph_to=round(after, 1), ml_per_l=ml)


def state(water: Solution, *more: object, product: Product = UNKNOWN) -> TankState:
    read = Reading(ph=round(float(ph(water)), 1), ec_ms_cm=1.4, water_temp_c=20.0)
    return tank_state(journal(*household(40.0, product, FEED), (-1.0, read), *more), NOON)  # type: ignore[arg-type]


def first_of(planned: Plan) -> Step:
    return next(step for step in planned.steps if step.role == "ph_down")


@pytest.mark.parametrize(("mol_per_ml", "alkalinity"), [(0.5e-3, 150.0), (1.07e-3, 100.0), (14e-3, 200.0)])
def test_a_jar_turns_a_test_portion_into_a_dose_whose_range_holds_the_truth(
    mol_per_ml: float, alkalinity: float
):
    water = tank_water(alkalinity)
    before = first_of(plan(state(water), AIM, now=NOON))
    after = first_of(plan(state(water, (-0.2, jar_of(water, mol_per_ml))), AIM, now=NOON))
    assert before.action == "test_portion"
    assert after.action == "add"
    shut, left = (
        40.0 * float(mol_to_reach(water, PHOSPHORIC, AIM.ph_target, aired=air)) / mol_per_ml
        for air in (False, True)
    )
    assert after.low is not None
    assert after.high is not None
    assert after.first is not None
    # By the next day the tank stands somewhere between its CO2 kept in and its CO2 gone.
    assert after.low < left
    assert shut < after.high
    assert 0 < after.first <= left


def test_the_tank_keeps_its_own_reading_level_and_doses():
    water = tank_water(100.0)
    without = state(water)
    jarred = state(water, (-0.2, jar_of(water, 1.07e-3)))
    for name in ("ph", "ec_ms_cm", "level_l", "unanswered", "temperature_c"):
        assert getattr(jarred, name) == getattr(without, name)
    plain, tried = beliefs(without, products=(UNKNOWN,)), beliefs(jarred, products=(UNKNOWN,))
    assert plain is not None
    assert tried is not None
    assert tried.quantile(tried.ph, 0.5) == pytest.approx(plain.quantile(plain.ph, 0.5), abs=0.06)
    assert (plain.answers, tried.answers) == (0, 1)


def test_a_stubborn_jar_of_a_known_bottle_raises_the_whole_amount():
    water = tank_water(100.0)
    highs = []
    for ml in (0.2, 0.7):
        jar = JarTest(role="ph_down", name="acid", ph_from=6.7, ph_to=6.2, ml_per_l=ml)
        highs.append(first_of(plan(state(water, (-0.2, jar), product=ACID), AIM, now=NOON)).high or 0.0)
    assert highs[0] < highs[1]


def test_a_bottle_stays_known_when_the_water_is_changed():
    water = tank_water(100.0)
    fresh = Reading(ph=7.2, ec_ms_cm=1.4)
    jarred = state(water, (-0.8, jar_of(water, 1.07e-3)), (-0.5, WaterChange(feed="full")), (-0.1, fresh))
    belief = beliefs(jarred, products=(UNKNOWN,))
    assert belief is not None
    assert belief.has_answered(UNKNOWN)
    strength = belief.strength_of(UNKNOWN)
    assert belief.quantile(strength, 0.1) < 1.07e-3
    assert belief.quantile(strength, 0.9) < 4e-3, "far from the strongest bottle sold"


def test_a_jar_that_no_water_explains_teaches_nothing():
    water = tank_water(100.0)
    nonsense = JarTest(role="ph_down", name="acid", ph_from=6.7, ph_to=6.69, ml_per_l=40.0)
    belief = beliefs(state(water, (-0.2, nonsense), product=ACID))
    assert belief is not None
    assert belief.answers == 0


def test_a_powder_has_no_millilitres_to_learn_from():
    powder = Product(role="ph_down", name="acid", reagent="citric acid", percent_w_w=99.0)
    jar = JarTest(role="ph_down", name="acid", ph_from=6.7, ph_to=6.0, ml_per_l=0.3)
    belief = beliefs(state(tank_water(100.0), (-0.2, jar), product=powder))
    assert belief is not None
    assert belief.answers == 0


@settings(max_examples=25, deadline=None)
@given(
    ph_from=st.floats(4.0, 9.0),
    drop=st.floats(0.05, 4.0),
    ml=st.floats(0.01, 5.0),
    named=st.sampled_from([UNKNOWN, ACID]),
)
def test_any_jar_leaves_beliefs_that_are_a_distribution(
    ph_from: float, drop: float, ml: float, named: Product
):
    jar = JarTest(
        role="ph_down", name=named.name, ph_from=ph_from, ph_to=max(ph_from - drop, 2.5), ml_per_l=ml
    )
    belief = beliefs(state(tank_water(100.0), (-0.2, jar), product=named))
    assert belief is not None
    assert belief.weight.sum() == pytest.approx(1.0)
    assert np.isfinite(belief.ph).all()
    assert np.isfinite(belief.strength_of(named)).all()
