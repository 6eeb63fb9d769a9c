"""What stands behind a plan in plain words: what one unit of the adjuster does to this tank."""

import pytest
from tank_journal import ACID, AIM, FEED, NOON, household, journal

from domain.chemistry.solution import ph, source_water, with_nutrient, with_reagent
from domain.dosing import Moves, plan
from domain.facts import Dose, Product, Reading
from domain.tank import tank_state

UNKNOWN = Product(role="ph_down", name="some")


def moves_after(answers: int, product: Product = UNKNOWN, volume_l: float = 40.0) -> tuple[Moves, int]:
    """A tank of 100 mg/L that has answered so many doses of 4 ml; the solver stands for the tank."""
    water = with_nutrient(source_water(ph=7.4, alkalinity_eq_l=2e-3, temperature_c=20.0), ec_ms_cm=1.1)
    said: list[tuple[float, object]] = list(household(volume_l, product, FEED, alkalinity=100.0))
    for turn in range(answers + 1):
        at = float(turn - answers)
        said.append((at, Reading(ph=round(float(ph(water)), 1), ec_ms_cm=1.4, water_temp_c=20.0)))
        if turn < answers:
            said.append((at, Dose(product="ph_down", amount=4.0, unit="ml")))
            water = with_reagent(water, "phosphoric acid", 4.0 * 1.07e-3 / volume_l)
    basis = plan(tank_state(journal(*said), NOON), AIM, now=NOON, ph_to=5.9).basis  # type: ignore[arg-type]
    assert basis.moves is not None
    return basis.moves, basis.answers


def test_answers_make_what_a_millilitre_does_surer():
    before, none = moves_after(0)
    after, two = moves_after(2)
    assert (none, two) == (0, 2)
    assert after.deviation / after.ph < before.deviation / before.ph


def test_what_a_millilitre_does_is_near_what_it_did():
    """Two doses of 4 ml moved the tank by their share of a pH each."""
    after, _ = moves_after(2)
    water = with_nutrient(source_water(ph=7.4, alkalinity_eq_l=2e-3, temperature_c=20.0), ec_ms_cm=1.1)
    dosed = with_reagent(water, "phosphoric acid", 8.0 * 1.07e-3 / 40.0)
    each = float(ph(dosed)) - float(ph(with_reagent(dosed, "phosphoric acid", 1.07e-3 / 40.0)))
    assert after.ph - 3 * after.deviation < each < after.ph + 3 * after.deviation


@pytest.mark.parametrize("volume_l", [20.0, 80.0])
def test_a_larger_tank_moves_less(volume_l: float):
    here, _ = moves_after(0, ACID, volume_l)
    twice, _ = moves_after(0, ACID, 2 * volume_l)
    assert twice.ph < here.ph
    assert here.litres == pytest.approx(volume_l, rel=0.05)


def test_a_plan_without_an_adjuster_says_nothing_of_one():
    tank = tank_state(journal(*household(), (0.0, Reading(ph=5.9, ec_ms_cm=2.4))), NOON)
    assert plan(tank, AIM, now=NOON, direction="dilute").basis.moves is None
