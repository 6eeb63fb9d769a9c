"""Doses beside published acid examples: what the plan's chemistry makes of an extension sheet's amounts."""

from dataclasses import replace

import numpy as np
import pytest
from tank_journal import NOON, journal

from domain.dosing import what_if
from domain.facts import Fact, Product, Reading, Setting, WaterChange
from domain.response import beliefs
from domain.tank import TankState, tank_state

US_FL_OZ_ML = 29.5735295625
US_GALLON_L = 3.785411784
"""Both exact by definition (NIST Handbook 44, Appendix C)."""
MG_CACO3_PER_MEQ = 50.04


def tap(volume_l: float, alkalinity_mg_l: float, product: Product, shown: float = 7.5) -> TankState:
    """A fill of plain tap water of this alkalinity, just read."""
    said: list[tuple[float, Fact]] = [
        (-2.0, Setting(name="tank_volume_l", value=str(volume_l))),
        (-2.0, Setting(name="source_alkalinity_mg_l_caco3", value=str(alkalinity_mg_l))),
        (-2.0, Setting(name="source_ph", value=str(shown))),
        (-2.0, Setting(name="source_ec_ms_cm", value="0.4")),
        (-2.0, product),
        (-0.1, WaterChange(feed="plain")),
        (0.0, Reading(ph=shown, ec_ms_cm=0.4, water_temp_c=20.0)),
    ]
    return tank_state(journal(*said), NOON)


@pytest.mark.parametrize(
    ("reagent", "percent", "fl_oz_per_1000_gal_per_meq"),
    [
        # NC State (Bailey and Nelson): neutralise 80 % of the alkalinity to reach pH 5.8. Amounts from
        # memory; they deliver 0.76 to 0.77 of it by stoichiometry.
        ("nitric acid", 67.0, 6.6),
        ("phosphoric acid", 75.0, 8.1),
        ("sulfuric acid", 35.0, 11.0),
    ],
)
@pytest.mark.parametrize("meq_l", [2.0, 4.0])
def test_the_eighty_percent_rule_brings_closed_water_to_5_8(
    reagent: str, percent: float, fl_oz_per_1000_gal_per_meq: float, meq_l: float
):
    product = Product(role="ph_down", name="acid", reagent=reagent, percent_w_w=percent)
    state = tap(1000 * US_GALLON_L, meq_l * MG_CACO3_PER_MEQ, product)
    # The household's kit is 15 % off; the rule's sheet takes the laboratory's figure.
    exact = replace(state.source.alkalinity_eq_l, spread=0.01 * state.source.alkalinity_eq_l.value)
    state = replace(state, source=replace(state.source, alkalinity_eq_l=exact))
    amount_ml = fl_oz_per_1000_gal_per_meq * meq_l * US_FL_OZ_ML
    predicted = what_if(state, role="ph_down", amount=amount_ml, unit="ml", now=NOON).steps[0].predicted
    assert predicted is not None
    assert predicted.ph_now is not None
    assert predicted.ph_later is not None
    assert predicted.ph_now.middle == pytest.approx(5.8, abs=0.15)
    # The rule forgets that CO2 leaves: by the next day the water has climbed.
    assert predicted.ph_later.middle > predicted.ph_now.middle + 0.2


@pytest.mark.parametrize(
    ("reagent", "percent", "amount_ml", "mg_l", "tolerance"),
    [
        # UMass Extension, Adjusting alkalinity with acids: 0.77 fl oz (23 ml) of 93 % sulfuric acid in
        # 100 gal take 250 to 150 mg/L; the printed rate carries about 6 % surplus over stoichiometry.
        ("sulfuric acid", 93.0, 23.0, 100.0, 0.08),
        # The same sheet: 1 fl oz of 93 % sulfuric acid in 100 gal neutralises 136 mg/L.
        ("sulfuric acid", 93.0, US_FL_OZ_ML, 136.0, 0.03),
        # The same sheet: 1 fl oz of 75 % phosphoric acid in 100 gal neutralises 45 mg/L.
        ("phosphoric acid", 75.0, US_FL_OZ_ML, 45.0, 0.08),
    ],
)
def test_acid_takes_the_alkalinity_that_the_sheet_says(
    reagent: str, percent: float, amount_ml: float, mg_l: float, tolerance: float
):
    product = Product(role="ph_down", name="acid", reagent=reagent, percent_w_w=percent)
    belief = beliefs(tap(100 * US_GALLON_L, 250.0, product))
    assert belief is not None
    dosed = belief.with_dose(belief.water, product, amount_ml)

    before, after = belief.water, dosed
    taken = np.asarray(before.strong_charge_eq_l) - np.asarray(after.strong_charge_eq_l)
    taken = taken + np.asarray(after.phosphate_mol_l) - np.asarray(before.phosphate_mol_l)
    assert belief.quantile(taken, 0.5) * 1e3 * MG_CACO3_PER_MEQ == pytest.approx(mg_l, rel=tolerance)
