"""Bottles and their labels."""

import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from domain import tables
from domain.chemistry.reagents import (
    REAGENTS,
    STRONGEST_SOLD,
    density_g_ml,
    mol_per_g,
    mol_per_ml,
    reagent_named,
)
from domain.chemistry.solution import Solution
from domain.facts import Product

ATOMIC_MASS = {"H": 1.008, "C": 12.011, "N": 14.007, "O": 15.999, "P": 30.974, "S": 32.06, "K": 39.098}
"""IUPAC standard atomic weights, abridged (2021)."""

FORMULAS = {
    "phosphoric acid": "H3PO4",
    "nitric acid": "HNO3",
    "sulfuric acid": "H2SO4",
    "citric acid": "C6H8O7",
    "acetic acid": "C2H4O2",
    "potassium hydroxide": "KOH",
    "potassium carbonate": "K2CO3",
    "potassium bicarbonate": "KHCO3",
}


def bottle(reagent: str | None, **strength: float) -> Product:
    return Product(role="ph_down", reagent=reagent, **strength)


@pytest.mark.parametrize("name", REAGENTS)
def test_molar_mass_is_the_sum_of_its_atoms(name: str) -> None:
    atoms = re.findall(r"([A-Z])(\d*)", FORMULAS[name])
    mass = sum(ATOMIC_MASS[atom] * int(count or 1) for atom, count in atoms)
    assert REAGENTS[name].molar_mass_g_mol == pytest.approx(mass, abs=0.01)


@pytest.mark.parametrize("name", REAGENTS)
def test_what_a_reagent_brings_is_a_field_of_a_solution(name: str) -> None:
    assert set(REAGENTS[name].brings) <= set(Solution.__dataclass_fields__)


def test_every_row_of_the_table_names_its_source() -> None:
    rows = tables.rows("reagents")
    assert all(row["source"] for row in rows)
    assert {row["reagent"] for row in rows} == set(REAGENTS)


@pytest.mark.parametrize("name", REAGENTS)
def test_stronger_solutions_hold_more_in_a_millilitre(name: str) -> None:
    """Acetic acid thins out above 80 %, yet each millilitre still holds more of it."""
    strengths = [percent for percent, _ in REAGENTS[name].densities]
    held = [mol_per_ml(bottle(name, percent_w_w=percent)) for percent in strengths]
    assert all(a < b for a, b in pairwise(held))  # type: ignore[operator]


@given(st.sampled_from(sorted(REAGENTS)), st.floats(1, 100))
def test_density_lies_between_its_neighbours_or_is_unknown(name: str, percent: float) -> None:
    known = [(0.0, 0.9982), *REAGENTS[name].densities]
    density = density_g_ml(name, percent)
    if percent > known[-1][0]:
        assert density is None
        return
    below = max(pair for pair in known if pair[0] <= percent)
    above = min(pair for pair in known if pair[0] >= percent)
    assert density is not None
    assert min(below[1], above[1]) <= density <= max(below[1], above[1])


@pytest.mark.parametrize(
    ("reagent", "percent_w_w", "percent_w_v", "molar"),
    [
        # g in 100 mL and mol/L of the same bottle; 85 % and 45 %: laboratorynotes.com (read), 14.615 and
        # 11.677 mol/L
        ("phosphoric acid", 85.0, 143.2, 14.615),
        ("potassium hydroxide", 45.0, 65.5, 11.677),
    ],
)
def test_one_bottle_said_in_three_ways(
    reagent: str, percent_w_w: float, percent_w_v: float, molar: float
) -> None:
    said = [
        mol_per_ml(bottle(reagent, percent_w_w=percent_w_w)),
        mol_per_ml(bottle(reagent, percent_w_v=percent_w_v)),
        mol_per_ml(bottle(reagent, molar_mol_l=molar)),
    ]
    assert said == [pytest.approx(molar / 1000.0, rel=2e-3)] * 3


@pytest.mark.parametrize(
    ("reagent", "normal"), [("sulfuric acid", 2.0), ("nitric acid", 1.0), ("citric acid", 3.0)]
)
def test_normality_counts_every_proton(reagent: str, normal: float) -> None:
    """By definition: one mole in a litre is as many normal as it has protons to give."""
    assert mol_per_ml(bottle(reagent, normal_eq_l=normal)) == pytest.approx(1e-3)


@pytest.mark.parametrize(
    "product",
    [
        bottle(None, percent_w_w=30.0),
        bottle("phosphoric acid"),
        bottle("phosphoric acid", percent_w_w=95.0),
        bottle("phosphoric acid", percent_w_w=0.0),
        bottle("something else", percent_w_w=30.0),
    ],
)
def test_a_label_that_does_not_say_gives_none(product: Product) -> None:
    assert mol_per_ml(product) is None


def test_powders_are_counted_by_the_gram() -> None:
    """Potassium bicarbonate, 100.115 g/mol: 10 mmol in 1.001 g of it."""
    assert mol_per_g(bottle("potassium bicarbonate", percent_w_w=100.0)) == pytest.approx(0.01 / 1.00115)
    assert mol_per_g(bottle("potassium bicarbonate", percent_w_v=10.0)) is None
    assert mol_per_g(bottle(None, percent_w_w=100.0)) is None


def test_the_strongest_sold_are_of_the_right_kind_and_strong() -> None:
    assert REAGENTS[STRONGEST_SOLD["ph_down"].reagent].acid
    assert not REAGENTS[STRONGEST_SOLD["ph_up"].reagent].acid
    for strongest in STRONGEST_SOLD.values():
        assert strongest.mol_per_ml > 0.012
        assert strongest.source


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("phosphoric", "phosphoric acid"),
        ("Orthophosphoric acid 81%", "phosphoric acid"),
        ("H3PO4", "phosphoric acid"),
        ("H₃PO₄ 30 %", "phosphoric acid"),
        ("nitric acid", "nitric acid"),
        ("HNO3 38%", "nitric acid"),
        ("sulphuric", "sulfuric acid"),
        ("citric acid monohydrate", "citric acid"),
        ("white vinegar", "acetic acid"),
        ("KOH", "potassium hydroxide"),
        ("potassium hydroxide", "potassium hydroxide"),
        ("caustic potash", "potassium hydroxide"),
        ("potassium carbonate", "potassium carbonate"),
        ("K2CO3 + water", "potassium carbonate"),
        ("potassium bicarbonate", "potassium bicarbonate"),
        ("potassium-bicarbonate", "potassium bicarbonate"),
        ("potassium hydrogen carbonate", "potassium bicarbonate"),
        ("khco3", "potassium bicarbonate"),
        ("potash", None),
        ("citric and phosphoric acid", None),
        ("lemon juice", None),
        ("sodium hydroxide", None),
        ("", None),
    ],
)
def test_names_and_formulas(text: str, name: str | None) -> None:
    assert reagent_named(text) == name


@given(st.text(max_size=80))
def test_any_text_names_a_reagent_or_none(text: str) -> None:
    assert reagent_named(text) in {None, *REAGENTS}


@given(st.sampled_from(sorted(REAGENTS)))
def test_a_reagent_is_known_by_its_own_name(name: str) -> None:
    assert reagent_named(name.upper()) == name
