"""Bottles of acid and base, and doses that extension services print."""

import re

from published_rows import Case, Row, each, rows_of

from domain.chemistry.reagents import mol_per_ml, reagent_named
from domain.facts import Product
from domain.units import US_FLUID_OUNCE_ML, US_GALLON_L, alkalinity_eq_l_from

SULFUR_G_MOL, PHOSPHORUS_G_MOL = 32.06, 30.974
CACO3_MG_PER_EQ = 1.0 / alkalinity_eq_l_from("1 mg/L")


def strength(reagent: str, percent: float) -> float:
    """mol/mL of a bottle labelled in per cent by mass."""
    found = mol_per_ml(Product(role="ph_down", reagent=reagent, percent_w_w=percent))
    assert found is not None
    return found


@each(row.id for row in rows_of("molarity"))
def test_bottle(row: Row) -> None:
    label = re.search(r"([\w, ]+?)(?: \(anhydrous\))? ([\d.]+) % w/w", row.inputs)
    name = reagent_named(label[1])
    assert name is not None
    row.holds(1000.0 * strength(name, float(label[2])))


def dosed(reagent: str, percent: float, fluid_ounces: float, gallons: float) -> float:
    """mol/L after so many US fluid ounces in so many US gallons."""
    return strength(reagent, percent) * fluid_ounces * US_FLUID_OUNCE_ML / (gallons * US_GALLON_L)


def ml_per_100_gallons(reagent: str, percent: float, caco3_mg_l: float, protons: float) -> float:
    """Millilitres that neutralise so much alkalinity."""
    return 100.0 * US_GALLON_L * caco3_mg_l / CACO3_MG_PER_EQ / protons / strength(reagent, percent)


# Sulfuric acid gives both its protons near pH 6, nitric and (near enough) phosphoric acid one. Three rows are
# contradictions in their source (UMass 75 % phosphoric, FAWN factor for phosphoric, the blueberry protocol):
# what is held here is the row's own recomputation, not the printed figure.
EXAMPLES: dict[str, Case] = {
    "AX-UM-S-ppm": lambda: 1e3 * SULFUR_G_MOL * dosed("sulfuric acid", 93, 1, 100),
    "AX-UM-S-alk": lambda: CACO3_MG_PER_EQ * 2 * dosed("sulfuric acid", 93, 1, 100),
    "AX-UM-ex": lambda: ml_per_100_gallons("sulfuric acid", 93, 100, 2),
    "AX-UM-P-alk": lambda: CACO3_MG_PER_EQ * dosed("phosphoric acid", 75, 1, 100),
    "AX-UM-P-ppm": lambda: 1e3 * PHOSPHORUS_G_MOL * dosed("phosphoric acid", 75, 1, 100),
    "AX-UM-P-max": lambda: 1e3 * PHOSPHORUS_G_MOL * dosed("phosphoric acid", 75, 2.25, 100),
    "AX-UM-N-rate": lambda: ml_per_100_gallons("nitric acid", 63, 1, 1),
    "AX-FA-P": lambda: 8.7 * 2 * strength("sulfuric acid", 93) / strength("phosphoric acid", 85),
    "AX-NC-blue": lambda: 1e3 * 2 * strength("sulfuric acid", 35) * 64 / US_GALLON_L / 100,
    "AX-80-n": lambda: 1e3 * dosed("nitric acid", 67, 6.6, 1000),
    "AX-80-p": lambda: 1e3 * dosed("phosphoric acid", 75, 8.1, 1000),
    "AX-80-s": lambda: 1e3 * 2 * dosed("sulfuric acid", 35, 11.0, 1000),
    "AX-KY": lambda: 1e3 * (alkalinity_eq_l_from("250 mg/L") - alkalinity_eq_l_from("100 mg/L")),
}


@each(EXAMPLES)
def test_worked_example(row: Row) -> None:
    row.holds(EXAMPLES[row.id]())
