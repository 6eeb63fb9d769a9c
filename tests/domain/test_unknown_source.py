"""A fresh fill of a tap that nobody told of: the first portion is safe for soft water as for hard."""

from __future__ import annotations

import pytest

from domain.chemistry.solution import ph, source_water, with_nutrient, with_reagent
from domain.dosing import plan
from domain.facts import Dose, Product, Reading, WaterChange
from domain.response import beliefs
from domain.safety import CAPS
from domain.tank import TankState, tank_state
from tests.domain.tank_journal import AIM, FEED, NOON, household, journal

ACID_10 = Product(role="ph_down", name="acid", reagent="phosphoric acid", percent_w_w=10.0)
ACID_10_MOL_PER_ML = 10.53 / 97.994 / 100
"""Density 1.053 g/mL at 20 degC (CRC Handbook, from memory), 97.994 g/mol."""
TANK_L = 40.0


def filled(*more: tuple[float, object], first_ph: float = 7.6, fed_ph: float = 7.0) -> TankState:
    said = [
        (-2.0, WaterChange()),
        (-1.9, Reading(ph=first_ph, ec_ms_cm=0.4, water_temp_c=20.0)),
        (-1.8, Dose(product="nutrient", amount=200.0, unit="ml")),
        (-1.2, Reading(ph=fed_ph, ec_ms_cm=1.3, water_temp_c=20.0)),
    ]
    return tank_state(journal(*household(TANK_L, ACID_10, FEED), *said, *more), NOON)  # type: ignore[arg-type]


@pytest.mark.parametrize("alkalinity_mg_l", [30.0, 60.0, 100.0, 300.0])
@pytest.mark.parametrize("first_ph", [7.2, 7.6, 8.0])
def test_the_first_portion_holds_for_soft_and_hard_water_alike(alkalinity_mg_l: float, first_ph: float):
    planned = plan(filled(first_ph=first_ph), AIM, now=NOON)
    step = next(step for step in planned.steps if step.role == "ph_down")
    tap = source_water(ph=7.0, alkalinity_eq_l=alkalinity_mg_l / 50_043.5, temperature_c=20.0)
    water = with_nutrient(tap, ec_ms_cm=0.9)
    water = water if float(ph(water)) <= 7.0 else tap
    mol_l = (step.first or 0.0) / step.dilution * ACID_10_MOL_PER_ML / TANK_L
    assert float(ph(with_reagent(water, "phosphoric acid", mol_l))) >= CAPS["lowest_ph_just_after"].value


def test_what_the_tank_answered_counts_after_a_fill_too():
    answered = filled((-1.1, Dose(product="ph_down", amount=6.0, unit="ml")), (-0.5, Reading(ph=6.2)))
    believed = beliefs(answered)
    assert believed is not None
    assert believed.answers == 1
    before, after = (plan(state, AIM, now=NOON, ph_to=5.8) for state in (filled(), answered))
    first, then = (next((s for s in p.steps if s.role == "ph_down"), None) for p in (before, after))
    assert first is not None
    assert then is None or (then.high or 0.0) < (first.high or 0.0)
