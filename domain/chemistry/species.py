"""What the dissolved acids of a nutrient tank can look like, and how strongly each form is held together.

A *ligand* is an acid's anion without any proton; a *species* is one form of it: with some protons, perhaps
paired with a calcium or a magnesium ion. Everything that the solver in ``equilibrium`` needs is in the tables
here, each stability constant with its source. No equation is solved in this module.

Stability constants are cumulative: log10 K of ``h H+ + ca Ca++ + mg Mg++ + ligand = species`` at ionic
strength zero, as ``a + b T + c / T + d log10 T + e / T**2`` with T in kelvin (0 to 45 degC).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "CARBONATE",
    "LIGANDS",
    "LN10",
    "SPECIES",
    "Ligand",
    "Species",
    "Table",
    "co2_solubility_mol_l_atm",
    "debye_huckel_a",
    "log10_k",
    "log_gamma_per_charge",
    "p_kw",
    "pka",
    "table_of",
    "temperature_terms",
]

Array = NDArray[np.float64]
Coefficients = tuple[float, float, float, float, float]

KELVIN = 273.15
_T_REFERENCE_K = 298.15
_GAS_CONSTANT_J = 8.314462618  # CODATA 2018, J/(mol K)
_CALORIE_J = 4.184
LN10 = math.log(10.0)


def _van_t_hoff(log_k_25c: float, enthalpy_kj: float = 0.0) -> Coefficients:
    """A constant known at 25 degC with its reaction enthalpy, in the common form."""
    slope = enthalpy_kj * 1000.0 / (_GAS_CONSTANT_J * LN10)
    return (log_k_25c + slope / _T_REFERENCE_K, 0.0, -slope, 0.0, 0.0)


def _plus(first: Coefficients, second: Coefficients) -> Coefficients:
    a, b, c, d, e = (x + y for x, y in zip(first, second, strict=True))
    return (a, b, c, d, e)


@dataclass(frozen=True, slots=True)
class Ligand:
    """An acid's anion.

    most_protons : on the form with no proton left to take.
    full_charge : of that form, less what ``Solution.strong_charge_eq_l`` already holds of it. That is nothing
        but for sulfate, which is counted there in full, so that HSO4- has one too few.
    acceptors : protons on the form that an alkalinity titration leaves behind: bases stronger than pK 4.5 are
        filled (the zero level of protons of Dickson 1981, Deep-Sea Research 28A:609; from memory).
    """

    name: str
    most_protons: int
    full_charge: int
    acceptors: int


LIGANDS: tuple[Ligand, ...] = (
    Ligand("carbonate", 2, 0, 2),
    Ligand("phosphate", 3, 0, 2),
    Ligand("citrate", 3, 0, 2),
    Ligand("acetate", 1, 0, 1),
    Ligand("sulfate", 1, 1, 0),
    Ligand("ammonia", 1, 0, 1),
)
CARBONATE, PHOSPHATE, CITRATE, ACETATE, SULFATE, AMMONIA = range(6)
WATER = -1
"""Stands for the ligand of what is made of water and metal alone: there is always enough of it, as if at
activity 1."""


@dataclass(frozen=True, slots=True)
class Species:
    """One form of a ligand.

    protons, calcium, magnesium : how many of each it holds.
    charge : of the whole species.
    log_k : coefficients of its cumulative stability constant.
    """

    ligand: int
    name: str
    protons: int
    calcium: int
    magnesium: int
    charge: int
    log_k: Coefficients


# Plummer & Busenberg 1982, Geochim. Cosmochim. Acta 46:1011, 0-90 degC: first and second dissociation of
# carbonic acid, solubility of carbon dioxide, and the calcium pairs.
_PK1: Coefficients = (356.3094, 0.06091964, -21834.37, -126.8339, 1684915.0)
_PK2: Coefficients = (107.8871, 0.03252849, -5151.79, -38.92561, 563713.9)
_LOG_KH: Coefficients = (108.3865, 0.01985076, -6919.53, -40.45154, 669365.0)

_NONE: Coefficients = (0.0, 0.0, 0.0, 0.0, 0.0)
# Harned & Owen's form for the ion product of water, as used with the constants above.
_OH: Coefficients = (6.0875, -0.01706, -4471.0, 0.0, 0.0)
# The association constants with enthalpy below are those that PHREEQC's own database (phreeqc.dat; citrate
# and acetate: minteq.v4.dat, after NIST 46) carries: Nordstrom et al. 1990, Ball & Nordstrom 1991 and NIST
# 46.
_HPO4 = _van_t_hoff(12.346, -3.530 * _CALORIE_J)
_H2PO4 = _van_t_hoff(19.553, -4.520 * _CALORIE_J)

SPECIES: tuple[Species, ...] = (
    Species(WATER, "H+", 1, 0, 0, 1, _NONE),
    Species(WATER, "OH-", -1, 0, 0, -1, _OH),
    Species(WATER, "Ca++", 0, 1, 0, 2, _NONE),
    Species(WATER, "CaOH+", -1, 1, 0, 1, _van_t_hoff(-12.78)),
    Species(WATER, "Mg++", 0, 0, 1, 2, _NONE),
    Species(WATER, "MgOH+", -1, 0, 1, 1, _van_t_hoff(-11.44, 15.952 * _CALORIE_J)),
    Species(CARBONATE, "CO3--", 0, 0, 0, -2, _NONE),
    Species(CARBONATE, "HCO3-", 1, 0, 0, -1, _PK2),
    Species(CARBONATE, "CO2", 2, 0, 0, 0, _plus(_PK2, _PK1)),
    Species(CARBONATE, "CaCO3", 0, 1, 0, 0, (-1228.732, -0.299440, 35512.75, 485.818, 0.0)),
    Species(CARBONATE, "CaHCO3+", 1, 1, 0, 1, (1317.0071, 0.34546894, -39916.84, -517.70761, 563713.9)),
    Species(CARBONATE, "MgCO3", 0, 0, 1, 0, (0.9910, 0.00667, 0.0, 0.0, 0.0)),
    Species(CARBONATE, "MgHCO3+", 1, 0, 1, 1, (48.6721, 0.03252849, -2614.335, -18.00263, 563713.9)),
    Species(PHOSPHATE, "PO4---", 0, 0, 0, -3, _NONE),
    Species(PHOSPHATE, "HPO4--", 1, 0, 0, -2, _HPO4),
    Species(PHOSPHATE, "H2PO4-", 2, 0, 0, -1, _H2PO4),
    Species(PHOSPHATE, "H3PO4", 3, 0, 0, 0, _van_t_hoff(21.721, -10.1)),
    Species(PHOSPHATE, "CaPO4-", 0, 1, 0, -1, _van_t_hoff(6.459, 3.10 * _CALORIE_J)),
    Species(PHOSPHATE, "CaHPO4", 1, 1, 0, 0, _plus(_HPO4, _van_t_hoff(2.739, 3.3 * _CALORIE_J))),
    Species(PHOSPHATE, "CaH2PO4+", 2, 1, 0, 1, _plus(_H2PO4, _van_t_hoff(1.408, 3.4 * _CALORIE_J))),
    Species(PHOSPHATE, "MgPO4-", 0, 0, 1, -1, _van_t_hoff(6.589, 3.10 * _CALORIE_J)),
    Species(PHOSPHATE, "MgHPO4", 1, 0, 1, 0, _plus(_HPO4, _van_t_hoff(2.87, 3.3 * _CALORIE_J))),
    Species(PHOSPHATE, "MgH2PO4+", 2, 0, 1, 1, _plus(_H2PO4, _van_t_hoff(1.513, 3.4 * _CALORIE_J))),
    Species(CITRATE, "Cit---", 0, 0, 0, -3, _NONE),
    Species(CITRATE, "HCit--", 1, 0, 0, -2, _van_t_hoff(6.396, 3.3472)),
    Species(CITRATE, "H2Cit-", 2, 0, 0, -1, _van_t_hoff(11.157, 1.297)),
    Species(CITRATE, "H3Cit", 3, 0, 0, 0, _van_t_hoff(14.285, -2.7614)),
    Species(CITRATE, "CaCit-", 0, 1, 0, -1, _van_t_hoff(4.87, -8.368)),
    Species(CITRATE, "CaHCit", 1, 1, 0, 0, _van_t_hoff(9.26, -0.8368)),
    Species(CITRATE, "CaH2Cit+", 2, 1, 0, 1, _van_t_hoff(12.257)),
    Species(CITRATE, "MgCit-", 0, 0, 1, -1, _van_t_hoff(4.89, 8.368)),
    Species(CITRATE, "MgHCit", 1, 0, 1, 0, _van_t_hoff(8.91, 3.3472)),
    Species(CITRATE, "MgH2Cit+", 2, 0, 1, 1, _van_t_hoff(12.2)),
    Species(ACETATE, "Ac-", 0, 0, 0, -1, _NONE),
    Species(ACETATE, "HAc", 1, 0, 0, 0, _van_t_hoff(4.757, 0.41)),
    Species(ACETATE, "CaAc+", 0, 1, 0, 1, _van_t_hoff(1.18, 4.0)),
    Species(ACETATE, "MgAc+", 0, 0, 1, 1, _van_t_hoff(1.27)),
    Species(SULFATE, "SO4--", 0, 0, 0, -2, _NONE),
    Species(SULFATE, "HSO4-", 1, 0, 0, -1, (-56.889, 0.006473, 2307.9, 19.8858, 0.0)),
    Species(SULFATE, "CaSO4", 0, 1, 0, 0, _van_t_hoff(2.25, 1.325 * _CALORIE_J)),
    Species(SULFATE, "MgSO4", 0, 0, 1, 0, _van_t_hoff(2.37, 4.550 * _CALORIE_J)),
    Species(AMMONIA, "NH3", 0, 0, 0, 0, _NONE),
    Species(AMMONIA, "NH4+", 1, 0, 0, 1, (-0.6322, 0.001225, 2835.76, 0.0, 0.0)),
)


@dataclass(frozen=True, slots=True)
class Table:
    """The species of some ligands, laid out for the solver. Rows of species follow ``SPECIES``.

    A species *holds* three things: protons (counted down from the ligand's fullest form, so never above
    zero), calcium and magnesium.

    ligands : which of ``LIGANDS``, in order.
    names : of the species.
    ligand_of : for each species, the position of its ligand in ``ligands``.
    coefficients : of the natural logarithm of each stability constant.
    exponents : a row a species; what to multiply ln aH+, ln [Ca++], ln [Mg++] and ``log_gamma_per_charge`` by
        to get the logarithm of its concentration, up to its constant and its ligand's own activity.
    sums : times the species' weights: for each ligand the sum of 1, then of what is held (four blocks of
        rows).
    squares : times the species' concentrations: the products hh, hc, hm, cc, mm and cm of what is held (the
        last is nothing: no species holds both metals), and charge squared.
    full_charge : a column, see ``Ligand``.
    proton, co2 : the rows of H+ and of dissolved carbon dioxide.
    """

    ligands: tuple[int, ...]
    names: tuple[str, ...]
    ligand_of: NDArray[np.intp]
    coefficients: Array
    exponents: Array
    sums: Array
    squares: Array
    full_charge: Array
    proton: int
    co2: int


@lru_cache(maxsize=64)
def table_of(ligands: tuple[int, ...]) -> Table:
    """The table of these ligands (indices into ``LIGANDS``, rising, carbonate first)."""
    chosen = [species for species in SPECIES if species.ligand == WATER or species.ligand in ligands]
    protons, ca, mg, z = (
        np.array([getattr(species, name) for species in chosen], dtype=float)
        for name in ("protons", "calcium", "magnesium", "charge")
    )
    fullest = [0 if species.ligand == WATER else LIGANDS[species.ligand].most_protons for species in chosen]
    h = protons - np.array(fullest, dtype=float)
    blocks = (WATER, *ligands)
    belongs = np.array([[species.ligand == ligand for species in chosen] for ligand in blocks], dtype=float)
    names = tuple(species.name for species in chosen)
    return Table(
        ligands=ligands,
        names=names,
        ligand_of=np.array([blocks.index(species.ligand) for species in chosen]),
        coefficients=LN10 * np.array([species.log_k for species in chosen]),
        # A free metal ion of charge 2 gives up four charges' worth of activity when it enters the mass
        # action.
        exponents=np.column_stack((protons, ca, mg, z**2 - 4.0 * (ca + mg))),
        sums=np.concatenate([belongs * held for held in (np.ones_like(h), h, ca, mg)]),
        squares=np.stack((h * h, h * ca, h * mg, ca * ca, mg * mg, ca * mg, z * z)),
        full_charge=np.array([[float(LIGANDS[ligand].full_charge)] for ligand in ligands]),
        proton=names.index("H+"),
        co2=names.index("CO2"),
    )


def temperature_terms(temperature_c: Array) -> Array:
    """The five terms 1, T, 1/T, log10 T, 1/T**2 that constants are built from; one row each."""
    kelvin = np.asarray(temperature_c, dtype=float) + KELVIN
    return np.stack((np.ones_like(kelvin), kelvin, 1.0 / kelvin, np.log10(kelvin), kelvin**-2.0))


def _at(coefficients: Coefficients, temperature_c: float | Array) -> Array:
    terms = temperature_terms(np.asarray(temperature_c, dtype=float))
    return np.asarray(np.tensordot(np.array(coefficients), terms, axes=1))


def log10_k(name: str, temperature_c: float | Array) -> Array:
    """log10 of the cumulative stability constant of a species, at ionic strength zero.

    name : as in ``SPECIES``, e.g. "CaHPO4".
    temperature_c : 0 to 45. [degC]
    Raises KeyError for a species that is not in the table.
    """
    by_name = {species.name: species for species in SPECIES}
    return _at(by_name[name].log_k, temperature_c)


def pka(acid_form: str, temperature_c: float | Array = 25.0) -> Array:
    """pKa of the loss of one proton, at ionic strength zero.

    acid_form : the form that loses it, e.g. "H2PO4-", "CO2", "HAc".
    temperature_c : 0 to 45. [degC]
    Raises KeyError where the acid form or its partner is not in the table.
    """
    acid = next((species for species in SPECIES if species.name == acid_form), None)
    if acid is None:
        raise KeyError(acid_form)
    for species in SPECIES:
        if (species.ligand, species.protons) == (acid.ligand, acid.protons - 1) and not (
            species.calcium or species.magnesium
        ):
            return _at(acid.log_k, temperature_c) - _at(species.log_k, temperature_c)
    raise KeyError(acid_form)


def p_kw(temperature_c: float | Array) -> Array:
    """-log10 of the ion product of water, 0 to 45 degC, at ionic strength zero. Source: Harned & Owen's
    form."""
    return -_at(_OH, temperature_c)


def co2_solubility_mol_l_atm(temperature_c: float | Array) -> Array:
    """Dissolved carbon dioxide at 1 atm of it over fresh water. [mol/(L atm)]

    temperature_c : 0 to 45. [degC]
    Source: Plummer & Busenberg 1982. Per kilogram of water there; taken as per litre, 0.6 % off at 35 degC.
    """
    return np.asarray(10.0 ** _at(_LOG_KH, temperature_c))


def debye_huckel_a(temperature_c: float | Array) -> Array:
    """The constant A of the Davies equation for log10 gamma. [(L/mol)**0.5]

    temperature_c : 0 to 45. [degC]
    Source: Truesdell & Jones 1974, A = 1.82483e6 (eps T)**-1.5, with their dielectric constant of water.
    """
    t = np.asarray(temperature_c, dtype=float)
    dielectric = 87.74 - 0.40008 * t + 9.398e-4 * t**2 - 1.41e-6 * t**3
    return np.asarray(1.82483e6 * (dielectric * (t + KELVIN)) ** -1.5)


def log_gamma_per_charge(ionic_strength_mol_l: float | Array, a: float | Array) -> Array:
    """-ln of the activity coefficient of a singly charged ion; times charge squared for any other.

    ionic_strength_mol_l : 0 to 0.1. [mol/L]
    a : see ``debye_huckel_a``.
    Source: Davies 1962, Ion Association, with 0.3 I.
    """
    root = np.sqrt(ionic_strength_mol_l)
    return np.asarray(LN10 * a * (root / (1.0 + root) - 0.3 * np.asarray(ionic_strength_mol_l)))
