"""What must hold for any tank: the right bottle, more for more, nothing for nothing, never past the edge.

The tanks of these properties are the model's own; what PHREEQC makes of the doses is in
``test_dosing_phreeqc.py``.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from tank_journal import ACID, AIM, BASE, FEED, NOON, household, journal

from domain.chemistry.solution import ph
from domain.dosing import Plan, plan
from domain.dosing.acidity import OVERSHOOT
from domain.dosing.measures import measurable
from domain.facts import Dose, Product, Reading, WaterChange
from domain.response import beliefs
from domain.tank import TankState, tank_state

FEW = settings(max_examples=15, deadline=None, derandomize=True)
US_GALLON_L = 3.785411784

volumes = st.floats(10.0, 150.0).map(lambda v: round(v, 1))
high = st.floats(6.6, 8.0).map(lambda v: round(v, 1))
low = st.floats(4.2, 5.3).map(lambda v: round(v, 1))
hardness = st.floats(20.0, 280.0).map(round)


def state(ph_read: float, volume_l: float = 40.0, alkalinity: float | None = 100.0) -> TankState:
    said = household(volume_l, ACID, BASE, FEED, alkalinity=alkalinity)
    return tank_state(journal(*said, (0, Reading(ph=ph_read, ec_ms_cm=1.4))), NOON)


def fresh(ph_read: float, alkalinity: float) -> TankState:
    said = household(40.0, ACID, BASE, FEED, alkalinity=alkalinity)
    filled = (-1.0, WaterChange(feed="full"))
    return tank_state(journal(*said, filled, (0, Reading(ph=ph_read, ec_ms_cm=1.4))), NOON)


def neat(found: Plan) -> float:
    """The first portion as it comes from the bottle."""
    step = found.steps[0]
    assert step.first is not None
    return step.first / step.dilution


@FEW
@given(ph_read=high, volume_l=volumes, alkalinity=hardness)
def test_water_too_high_gets_acid_and_ends_lower(ph_read: float, volume_l: float, alkalinity: float):
    step = plan(state(ph_read, volume_l, alkalinity), AIM, now=NOON).steps[0]
    assert step.role == "ph_down"
    assert step.predicted is not None
    assert step.predicted.ph_now is not None
    assert step.predicted.ph_now.middle < ph_read + 0.05


@FEW
@given(ph_read=low, volume_l=volumes)
def test_water_too_low_gets_base_and_ends_higher(ph_read: float, volume_l: float):
    step = plan(state(ph_read, volume_l), AIM, now=NOON).steps[0]
    assert step.role == "ph_up"
    assert step.predicted is not None
    assert step.predicted.ph_now is not None
    assert step.predicted.ph_now.middle > ph_read - 0.05


@FEW
@given(ph_read=st.floats(5.4, 6.5).map(lambda v: round(v, 1)), volume_l=volumes, alkalinity=hardness)
@example(ph_read=5.4, volume_l=40.0, alkalinity=100)
@example(ph_read=6.5, volume_l=40.0, alkalinity=100)
def test_inside_the_band_nothing_is_added(ph_read: float, volume_l: float, alkalinity: float):
    assert plan(state(ph_read, volume_l, alkalinity), AIM, now=NOON).outcome == "nothing"


@FEW
@given(ph_read=high, volume_l=volumes, times=st.floats(1.2, 4.0))
def test_more_water_takes_as_much_more(ph_read: float, volume_l: float, times: float):
    one = plan(state(ph_read, volume_l), AIM, now=NOON).steps[0]
    more = plan(state(ph_read, volume_l * times), AIM, now=NOON).steps[0]
    assert one.high is not None
    assert more.high is not None
    assert more.high >= one.high
    # Whole marks of the measure are all that separates the two.
    assert more.high == pytest.approx(one.high * times, rel=0.05, abs=1.2 * times)


@FEW
@given(ph_read=high, gap=st.floats(0.1, 0.8), volume_l=volumes)
def test_a_wider_gap_takes_no_less(ph_read: float, gap: float, volume_l: float):
    """The same water, asked to go further."""
    asked = state(ph_read, volume_l)
    near = plan(asked, AIM, now=NOON, ph_to=round(6.3 - gap / 4, 2), direction="ph_down").steps[0]
    far = plan(asked, AIM, now=NOON, ph_to=round(6.3 - gap, 2), direction="ph_down").steps[0]
    assert near.low is not None
    assert near.high is not None
    assert far.low is not None
    assert far.high is not None
    assert far.low >= near.low
    assert far.high >= near.high


@FEW
@given(alkalinity=st.floats(30.0, 120.0), times=st.floats(1.5, 2.5))
def test_harder_water_takes_no_less_acid_on_a_fresh_fill(alkalinity: float, times: float):
    soft = plan(fresh(7.0, round(alkalinity)), AIM, now=NOON).steps[0]
    hard = plan(fresh(7.0, round(alkalinity * times)), AIM, now=NOON).steps[0]
    assert soft.high is not None
    assert hard.high is not None
    assert hard.high >= soft.high


@FEW
@given(ph_read=st.one_of(high, low), volume_l=volumes, alkalinity=hardness)
def test_the_first_portion_keeps_its_promise_and_every_cap(
    ph_read: float, volume_l: float, alkalinity: float
):
    tank = state(ph_read, volume_l, alkalinity)
    found = plan(tank, AIM, now=NOON)
    if found.outcome == "hold":
        assert found.reason == "wait_and_read"
        return
    product = ACID if found.steps[0].role == "ph_down" else BASE
    belief = beliefs(tank, products=(ACID, BASE))
    assert belief is not None
    dosed = belief.with_dose(belief.water, product, neat(found))
    just_after = np.asarray(ph(dosed))
    assert belief.chance(just_after < 5.2 if product is ACID else just_after > 7.0) <= OVERSHOOT
    assert neat(found) <= 1.0 * volume_l
    assert found.basis.overshoot is not None
    assert found.basis.overshoot <= OVERSHOOT


@FEW
@given(ph_read=high, volume_l=volumes)
def test_doing_as_told_and_reading_what_was_foretold_asks_for_no_more_than_was_left(
    ph_read: float, volume_l: float
):
    said = [
        *household(volume_l, ACID, BASE, FEED, alkalinity=100.0),
        (-2.0, Reading(ph=ph_read, ec_ms_cm=1.4)),
    ]
    first = plan(tank_state(journal(*said), NOON), AIM, now=NOON)
    if first.outcome == "hold":
        return
    predicted = first.steps[0].predicted
    assert predicted is not None
    assert predicted.ph_now is not None
    assert first.steps[0].high is not None
    said.append((-2.0, Dose(product="ph_down", amount=neat(first), unit="ml")))
    said.append((0.0, Reading(ph=round(predicted.ph_now.middle, 1), ec_ms_cm=1.4)))
    second = plan(tank_state(journal(*said), NOON), AIM, now=NOON)
    if second.outcome == "steps":
        step = second.steps[0]
        assert step.role == "ph_down"
        assert step.high is not None
        assert step.high <= 1.2 * first.steps[0].high + 1.0


@FEW
@given(ph_read=high, gallons=st.integers(3, 40))
def test_units_do_not_change_the_answer(ph_read: float, gallons: int):
    litres = gallons * US_GALLON_L
    asked = state(ph_read, 40.0)
    by_gallon = plan(asked, AIM, now=NOON, volume_l=gallons * 3.785411784, direction="adjuster")
    by_litre = plan(asked, AIM, now=NOON, volume_l=litres, direction="adjuster")
    assert by_gallon == by_litre


@pytest.mark.parametrize(
    "labels",
    [
        # One bottle, its strength said in three ways: 10 % w/w phosphoric acid of density 1.0532 g/ml holds
        # 105.3 g/L, that is 10.53 % w/v or 1.0747 mol/L (density: ECHA dossier, 20 degC).
        (
            replace(ACID, percent_w_w=10.0),
            replace(ACID, percent_w_w=None, percent_w_v=10.532),
            replace(ACID, percent_w_w=None, molar_mol_l=1.0747),
        )
    ],
)
def test_a_label_in_other_units_is_the_same_bottle(labels: tuple[Product, ...]):
    amounts = []
    for label in labels:
        said = household(40.0, label, BASE, FEED, alkalinity=100.0)
        tank = tank_state(journal(*said, (0, Reading(ph=7.0, ec_ms_cm=1.4))), NOON)
        amounts.append(neat(plan(tank, AIM, now=NOON)))
    assert max(amounts) == pytest.approx(min(amounts), rel=0.03)


def test_a_stronger_bottle_is_dosed_less():
    weak, strong = (
        tank_state(
            journal(
                # A large tank, so that a syringe's marks do not show.
                *household(400.0, replace(ACID, percent_w_w=percent), FEED, alkalinity=100.0),
                (0, Reading(ph=7.0, ec_ms_cm=1.4)),
            ),
            NOON,
        )
        for percent in (10.0, 30.0)
    )
    # 30 % w/w is 3.614 / 1.075 times as strong (densities of the ECHA dossier).
    ratio = neat(plan(weak, AIM, now=NOON)) / neat(plan(strong, AIM, now=NOON))
    assert ratio == pytest.approx(3.614 / 1.075, rel=0.05)


def test_the_same_situation_gives_the_same_plan():
    assert plan(state(7.0), AIM, now=NOON) == plan(state(7.0), AIM, now=NOON)


def test_other_draws_give_about_the_same_plan():
    firsts = [neat(plan(state(7.0), AIM, now=NOON, seed=seed)) for seed in range(4)]
    assert max(firsts) <= 1.6 * min(firsts)


@given(amount=st.floats(0.0, 500.0), unit=st.sampled_from(["ml", "g", "l"]))
def test_a_measure_never_rounds_up_a_dose(amount: float, unit: str):
    down, up = measurable(amount, unit), measurable(amount, unit, up=True)
    assert down <= amount + 1e-6
    assert up >= amount - 1e-6
    assert measurable(down, unit) == down
