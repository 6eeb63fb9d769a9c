"""From what is printed on a bag of fertiliser to what is in the water.

Bags declare phosphorus, potassium and, in Europe, the others too as oxides that are not in the bag. Elements
here are by mass; a label's percentages are by mass as well unless it says w/v.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "OXIDES",
    "Elements",
    "element_from_oxide",
    "elements_of_grade",
    "grams_for",
    "mg_l_from_label",
    "nitrogen_mg_l_from_ec",
    "oxide_from_element",
]

_ATOMIC_MASS = {"O": 15.999, "Mg": 24.305, "P": 30.974, "S": 32.06, "K": 39.098, "Ca": 40.078}
"""IUPAC standard atomic weights, abridged. [g/mol]"""

_ATOMS = {
    "P2O5": ("P", 2, 5),
    "K2O": ("K", 2, 1),
    "CaO": ("Ca", 1, 1),
    "MgO": ("Mg", 1, 1),
    "SO3": ("S", 1, 3),
}


def _share(element: str, count: int, oxygens: int) -> float:
    mass = count * _ATOMIC_MASS[element]
    return mass / (mass + oxygens * _ATOMIC_MASS["O"])


OXIDES: dict[str, float] = {oxide: _share(*atoms) for oxide, atoms in _ATOMS.items()}
"""Share of its element in each oxide that labels speak of, by mass."""


@dataclass(frozen=True, slots=True)
class Elements:
    """Nitrogen, phosphorus and potassium as elements, in per cent by mass or in mg/L."""

    n: float
    p: float
    k: float


def element_from_oxide(oxide: str, amount: float) -> float:
    """The element in so much of its oxide, in the same unit. Raises KeyError for an oxide not in
    ``OXIDES``."""
    return amount * OXIDES[oxide]


def oxide_from_element(oxide: str, amount: float) -> float:
    """The oxide that a label would print for so much of its element. Raises KeyError as above."""
    return amount / OXIDES[oxide]


def elements_of_grade(n_pct: float, p2o5_pct: float, k2o_pct: float) -> Elements:
    """The three figures of a grade as elements. [% by mass]"""
    return Elements(n_pct, element_from_oxide("P2O5", p2o5_pct), element_from_oxide("K2O", k2o_pct))


def mg_l_from_label(g_per_litre: float, percent: float) -> float:
    """What so much fertiliser in a litre brings of something that is this per cent of it. [mg/L]"""
    return g_per_litre * percent * 10.0


def grams_for(mg_l: float, percent: float, volume_l: float) -> float:
    """Fertiliser for a volume at so many mg/L of something that is this per cent of it. [g]"""
    return mg_l * volume_l / (percent * 10.0)


def nitrogen_mg_l_from_ec(ec_ms_cm: float, water_ec_ms_cm: float, ec_at_100_mg_l_n: float) -> float:
    """Nitrogen of a solution made of one fertiliser, from its conductivity. [mg/L N]

    ec_at_100_mg_l_n : by the bag's table: what 100 mg/L of nitrogen add. [mS/cm]
    Source: Purdue Extension HO-286-W.
    """
    return 100.0 * (ec_ms_cm - water_ec_ms_cm) / ec_at_100_mg_l_n
