"""Answers about a water: strength, alkalinity, phosphate and calcium as reports and labels spell them."""

from collections.abc import Callable

import pytest

from domain.units import alkalinity_eq_l_from, calcium_mol_l_from, ec_ms_cm_from, phosphate_mol_l_from

P_MG, PO4_MG, P2O5_MG, CA_MG = 30_973.76, 94_971.4, 141_944.5, 40_078.0
"""Molar masses, IUPAC atomic weights. [mg/mol]"""


@pytest.mark.parametrize(
    ("ask", "text", "wanted"),
    [
        (alkalinity_eq_l_from, "100 mg/L CaCO3", 2e-3),
        (alkalinity_eq_l_from, "100 mg/l as caco3", 2e-3),
        (alkalinity_eq_l_from, "122 mg/L HCO3", 2e-3),
        (alkalinity_eq_l_from, "5.6 dKH", 2e-3),
        (phosphate_mol_l_from, "1 mmol/L", 1e-3),
        (phosphate_mol_l_from, f"{P_MG / 1e3:.3f} mg/L P", 1e-3),
        (phosphate_mol_l_from, f"{PO4_MG / 1e3:.3f} mg/l PO4", 1e-3),
        (phosphate_mol_l_from, f"{P2O5_MG / 2e3:.3f} mg/L P2O5", 1e-3),
        (calcium_mol_l_from, f"{CA_MG / 1e3:.3f} mg/L", 1e-3),
        (calcium_mol_l_from, "100 mg/L CaCO3", 1e-3),
        (calcium_mol_l_from, "2 meq/L", 1e-3),
        (ec_ms_cm_from, "1.4", 1.4),
        (ec_ms_cm_from, "1,4 mS/cm", 1.4),
        (ec_ms_cm_from, "1400 µS/cm", 1.4),
        (ec_ms_cm_from, "700 ppm 500", 1.4),
        (ec_ms_cm_from, "980 ppm 700", 1.4),
    ],
)
def test_a_water_report_in_any_unit(ask: Callable[[str], float], text: str, wanted: float):
    assert ask(text) == pytest.approx(wanted, rel=2e-3)


@pytest.mark.parametrize(
    ("ask", "text"),
    [
        (phosphate_mol_l_from, "30 mg/L"),
        (phosphate_mol_l_from, "1"),
        (ec_ms_cm_from, "720 ppm"),
        (calcium_mol_l_from, "7 dH"),
        (alkalinity_eq_l_from, "100"),
        (alkalinity_eq_l_from, "40 5 mg/L"),
    ],
)
def test_what_may_mean_two_things_is_refused_with_an_example(ask: Callable[[str], float], text: str):
    with pytest.raises(ValueError, match="such as"):
        ask(text)
