"""The conductivity of known ions: what salts, a label's grade or a dose of acid do to EC.

Each ion conducts by its own limiting conductivity, slowed by the others after Onsager; pairs and
half-neutralised acids come from the same balance that gives pH. Temperature compensation and ppm scales are
in ``conductivity``.

Accuracy: within 6 % of PHREEQC, and of its measured salts, up to an ionic strength of 0.03 mol/L.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from domain.chemistry.label import elements_of_grade
from domain.chemistry.solution import Solution, species_mol_l
from domain.chemistry.species import SPECIES
from domain.facts import Product

__all__ = [
    "SALTS",
    "EcRange",
    "ec_of_grade",
    "ec_of_ions",
    "ec_of_label_dose",
    "ec_of_salts",
    "solution_of_ions",
]

LIMITING_S_CM2_EQ: Mapping[str, float] = {
    "H+": 349.65,
    "OH-": 198.0,
    "Ca++": 59.47,
    "Mg++": 53.0,
    "NH4+": 73.5,
    "SO4--": 80.0,
    "HSO4-": 52.0,
    "HCO3-": 44.5,
    "CO3--": 69.3,
    "H2PO4-": 36.0,
    "HPO4--": 57.0,
    "PO4---": 92.8,
    "Ac-": 40.9,
    "Cit---": 70.2,
    "HCit--": 50.0,
    "H2Cit-": 30.0,
    "K": 73.48,
    "Na": 50.08,
    "NO3": 71.42,
    "Cl": 76.31,
}
"""Limiting equivalent conductivity at 25 degC. CRC Handbook, Ionic conductivity at infinite dilution; from
memory. [S cm2/eq]"""
_PAIR_S_CM2_EQ = 25.0
"""For a charged pair that is in no table: a large slow ion (from memory)."""
_ELECTROPHORETIC = 30.1
_RELAXATION = 0.229
"""Onsager's two terms for water at 25 degC (60.2 and 0.229 for a salt of two single charges; from memory)."""
_SIZE = 0.5
"""Weakens the slowing in stronger solutions. Chosen here, between 0 (Onsager's limit) and 1: it fits best."""

_BYSTANDERS = ("K", "Na", "NO3", "Cl")

SALTS: Mapping[str, tuple[float, Mapping[str, int]]] = {
    "KNO3": (101.103, {"K": 1, "NO3": 1}),
    "Ca(NO3)2": (164.086, {"Ca": 1, "NO3": 2}),
    "Ca(NO3)2.4H2O": (236.146, {"Ca": 1, "NO3": 2}),
    "5Ca(NO3)2.NH4NO3.10H2O": (1080.623, {"Ca": 5, "NH4": 1, "NO3": 11}),
    "MgSO4": (120.361, {"Mg": 1, "SO4": 1}),
    "MgSO4.7H2O": (246.466, {"Mg": 1, "SO4": 1}),
    "KH2PO4": (136.084, {"K": 1, "phosphate": 1}),
    "K2SO4": (174.252, {"K": 2, "SO4": 1}),
    "KCl": (74.548, {"K": 1, "Cl": 1}),
    "NaCl": (58.440, {"Na": 1, "Cl": 1}),
    "CaCl2": (110.978, {"Ca": 1, "Cl": 2}),
    "Na2SO4": (142.036, {"Na": 2, "SO4": 1}),
    "NaHCO3": (84.006, {"Na": 1, "carbonate": 1}),
    "KHCO3": (100.114, {"K": 1, "carbonate": 1}),
    "K2CO3": (138.204, {"K": 2, "carbonate": 1}),
    "NH4NO3": (80.043, {"NH4": 1, "NO3": 1}),
    "(NH4)2SO4": (132.134, {"NH4": 2, "SO4": 1}),
    "NH4H2PO4": (115.025, {"NH4": 1, "phosphate": 1}),
    "HNO3": (63.012, {"NO3": 1}),
    "urea": (60.056, {}),
}
"""Molar mass [g/mol; IUPAC standard atomic weights] and ions of what fertilisers and standards are made
of."""

_CHARGES = {"K": 1, "Na": 1, "NH4": 1, "Ca": 2, "Mg": 2, "NO3": -1, "Cl": -1, "SO4": -2}
_FIELDS = {
    "Ca": "calcium_mol_l",
    "Mg": "magnesium_mol_l",
    "NH4": "ammonium_mol_l",
    "SO4": "sulfate_mol_l",
    "phosphate": "phosphate_mol_l",
    "citrate": "citrate_mol_l",
    "acetate": "acetate_mol_l",
    "carbonate": "carbon_mol_l",
}


@dataclass(frozen=True, slots=True)
class EcRange:
    """Between what and what a conductivity at 25 degC can lie. [mS/cm]"""

    low_ms_cm: float
    high_ms_cm: float


def solution_of_ions(ions: Mapping[str, float], temperature_c: float = 25.0) -> Solution:
    """The solution that holds these and water alone.

    ions : mol/L by name: K, Na, NH4, Ca, Mg, NO3, Cl, SO4, and the acids phosphate, carbonate, citrate,
        acetate as totals in whatever form; protons make up the charge.
    Raises KeyError for another name.
    """
    unknown = set(ions) - set(_CHARGES) - set(_FIELDS)
    if unknown:
        raise KeyError(unknown.pop())
    fields = {"carbon_mol_l": 0.0} | {_FIELDS[ion]: amount for ion, amount in ions.items() if ion in _FIELDS}
    return Solution(
        temperature_c=temperature_c,
        strong_charge_eq_l=sum(_CHARGES.get(ion, 0) * amount for ion, amount in ions.items()),
        other_ions_mol_l=sum(ions.get(ion, 0.0) for ion in _BYSTANDERS),
        **fields,
    )


def ec_of_ions(ions: Mapping[str, float]) -> float:
    """Conductivity at 25 degC. [mS/cm]

    ions : as for ``solution_of_ions``; ionic strength up to 0.03 mol/L.
    Source: limiting conductivities and Onsager's slowing as above.
    """
    charges = {species.name: abs(species.charge) for species in SPECIES} | dict.fromkeys(_BYSTANDERS, 1)
    found = species_mol_l(solution_of_ions(ions))
    amounts = {name: float(amount) for name, amount in found.items()}
    amounts |= {ion: ions.get(ion, 0.0) for ion in _BYSTANDERS}
    ionic = 0.5 * sum(charges[name] ** 2 * amount for name, amount in amounts.items())
    root = math.sqrt(ionic)
    slowing = root / (1.0 + _SIZE * root)
    total = 0.0
    for name, amount in amounts.items():
        z = charges[name]
        limit = LIMITING_S_CM2_EQ.get(name, _PAIR_S_CM2_EQ * z)
        total += z * amount * max(0.0, limit - z * (_ELECTROPHORETIC + _RELAXATION * limit) * slowing)
    return total


def ec_of_salts(grams_per_litre: Mapping[str, float]) -> float:
    """Conductivity of salts in pure water at 25 degC. [mS/cm]

    grams_per_litre : by formula, of ``SALTS``. [g/L]
    Raises KeyError for another formula.
    """
    ions: dict[str, float] = {}
    for formula, grams in grams_per_litre.items():
        molar_mass, parts = SALTS[formula]
        for ion, count in parts.items():
            ions[ion] = ions.get(ion, 0.0) + count * grams / molar_mass
    return ec_of_ions(ions)


_N_G_MOL, _P_G_MOL, _K_G_MOL = 14.007, 30.974, 39.098


def ec_of_grade(n_pct: float, p2o5_pct: float, k2o_pct: float, g_per_litre: float) -> EcRange:
    """What so much of a fertiliser adds to pure water, from the three figures of its grade alone.

    The figures do not say in which form nitrogen comes. Low: as much ammonium as balances the charges. High:
    nitrate alone, balanced by calcium. A part of urea, which does not conduct, makes it lower still; a bag
    that prints its own EC table is better than this.
    """
    elements = elements_of_grade(n_pct, p2o5_pct, k2o_pct)
    n = elements.n / 100.0 * g_per_litre / _N_G_MOL
    p = elements.p / 100.0 * g_per_litre / _P_G_MOL
    k = elements.k / 100.0 * g_per_litre / _K_G_MOL
    nitrate = min(n, max(0.0, (n + k - p) / 2.0))
    low = {"K": k, "NO3": nitrate, "NH4": n - nitrate, "phosphate": p}
    surplus = k + low["NH4"] - nitrate - p
    low |= {"SO4": max(0.0, surplus) / 2.0, "Ca": max(0.0, -surplus) / 2.0}
    high = {"K": k, "NO3": n, "phosphate": p}
    high["Ca"] = max(0.0, n + p - k) / 2.0
    high["SO4"] = max(0.0, k - n - p) / 2.0
    return EcRange(ec_of_ions(low), ec_of_ions(high))


_LIQUID_DENSITY_G_ML = (1.0, 1.3)
"""What a millilitre of liquid feed weighs; common practice."""


def ec_of_label_dose(product: Product) -> EcRange | None:
    """What the label's full dose adds to pure water, from its grade.

    Returns ``None`` where the label gives no grade or no dose.
    """
    dose, n, p2o5, k2o = product.dose_per_litre, product.n_pct, product.p2o5_pct, product.k2o_pct
    if dose is None or n is None or p2o5 is None or k2o is None:
        return None
    lightest, heaviest = _LIQUID_DENSITY_G_ML if product.dose_unit == "ml" else (1.0, 1.0)
    return EcRange(
        ec_of_grade(n, p2o5, k2o, dose * lightest).low_ms_cm,
        ec_of_grade(n, p2o5, k2o, dose * heaviest).high_ms_cm,
    )
