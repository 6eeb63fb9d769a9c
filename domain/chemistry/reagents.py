"""The acids and bases that adjust a tank: what one mole of each brings, and how many moles a bottle holds.

Labels state strength in many ways; each is turned into moles per millilitre here and nowhere else. What a
dose does to the water is the business of ``solution``.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from domain import tables
from domain.facts import Product, ProductRole

__all__ = [
    "REAGENTS",
    "STRONGEST_SOLD",
    "Reagent",
    "Strongest",
    "density_g_ml",
    "mol_per_g",
    "mol_per_ml",
    "reagent_named",
]

WATER_DENSITY_G_ML = 0.9982
"""At 20 degC; CRC Handbook, from memory."""


@dataclass(frozen=True, slots=True)
class Reagent:
    """An acid or a base.

    acid : whether it lowers pH.
    molar_mass_g_mol : of the pure, water-free substance.
    equivalents_per_mol : what a laboratory's normality counts: every proton or hydroxide it could ever give.
        Not what it gives in a tank: phosphoric acid gives about 1.05 at pH 5.8, not 3.
    brings : what one mole adds, by field of ``solution.Solution``.
    densities : pairs of strength [% w/w] and density [g/mL], rising.
    """

    name: str
    acid: bool
    molar_mass_g_mol: float
    equivalents_per_mol: int
    brings: Mapping[str, float]
    densities: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Strongest:
    """The strongest adjuster of a kind that homes can buy; bounds a dose from a bottle of unknown
    strength."""

    reagent: str
    percent_w_w: float
    mol_per_ml: float
    source: str


_BRINGS: dict[str, tuple[bool, int, dict[str, float]]] = {
    "phosphoric acid": (True, 3, {"phosphate_mol_l": 1.0}),
    "nitric acid": (True, 1, {"strong_charge_eq_l": -1.0, "other_ions_mol_l": 1.0}),
    "sulfuric acid": (True, 2, {"strong_charge_eq_l": -2.0, "sulfate_mol_l": 1.0}),
    "citric acid": (True, 3, {"citrate_mol_l": 1.0}),
    "acetic acid": (True, 1, {"acetate_mol_l": 1.0}),
    "potassium hydroxide": (False, 1, {"strong_charge_eq_l": 1.0, "other_ions_mol_l": 1.0}),
    "potassium carbonate": (
        False,
        2,
        {"strong_charge_eq_l": 2.0, "other_ions_mol_l": 2.0, "carbon_mol_l": 1.0},
    ),
    "potassium bicarbonate": (
        False,
        1,
        {"strong_charge_eq_l": 1.0, "other_ions_mol_l": 1.0, "carbon_mol_l": 1.0},
    ),
}


def _load() -> dict[str, Reagent]:
    rows = tables.rows("reagents")

    def value_of(name: str) -> float:
        return next(float(r["value"]) for r in rows if (r["reagent"], r["quantity"]) == (name, "molar mass"))

    def densities_of(name: str) -> tuple[tuple[float, float], ...]:
        known = [
            (r["percent_w_w"], r["value"]) for r in rows if (r["reagent"], r["quantity"]) == (name, "density")
        ]
        return tuple(sorted((float(percent), float(density)) for percent, density in known))

    return {
        name: Reagent(name, acid, value_of(name), equivalents, brings, densities_of(name))
        for name, (acid, equivalents, brings) in _BRINGS.items()
    }


REAGENTS: Mapping[str, Reagent] = _load()
"""Every reagent by its name."""


def density_g_ml(reagent: str, percent_w_w: float) -> float | None:
    """Density of a reagent's solution at 20 to 25 degC, interpolated. [g/mL]

    percent_w_w : 0 to the strongest solution in the table. [% by mass]
    Returns ``None`` beyond the table: no liquid of that strength is known here.
    Raises KeyError for a reagent that is not in ``REAGENTS``.
    Source: the table's own, domain/data/reagents.csv; within 0.5 % between its rows.
    """
    percents, densities = zip((0.0, WATER_DENSITY_G_ML), *REAGENTS[reagent].densities, strict=True)
    if not 0.0 <= percent_w_w <= percents[-1]:
        return None
    return float(np.interp(percent_w_w, percents, densities))


def mol_per_ml(product: Product) -> float | None:
    """How much reagent a millilitre of an adjuster holds, from its label. [mol/mL]

    product : percentages 0 to 100; a normality is taken as a laboratory means it (see
        ``Reagent.equivalents_per_mol``).
    Returns ``None`` where the label names no reagent or no strength, or one that no liquid has.
    """
    reagent = REAGENTS.get(product.reagent or "")
    if reagent is None:
        return None
    if product.molar_mol_l is not None:
        return _positive(product.molar_mol_l / 1000.0)
    if product.normal_eq_l is not None:
        return _positive(product.normal_eq_l / reagent.equivalents_per_mol / 1000.0)
    if product.percent_w_v is not None:
        return _positive(product.percent_w_v / 100.0 / reagent.molar_mass_g_mol)
    if product.percent_w_w is not None:
        density = density_g_ml(reagent.name, product.percent_w_w)
        if density is not None:
            return _positive(product.percent_w_w / 100.0 * density / reagent.molar_mass_g_mol)
    return None


def mol_per_g(product: Product) -> float | None:
    """How much reagent a gram of an adjuster holds, from its label: for powders and for scales. [mol/g]

    Returns ``None`` where the label names no reagent or does not say its share by mass.
    """
    reagent = REAGENTS.get(product.reagent or "")
    if reagent is None or product.percent_w_w is None:
        return None
    return _positive(product.percent_w_w / 100.0 / reagent.molar_mass_g_mol)


def _positive(amount: float) -> float | None:
    return amount if amount > 0.0 else None


def _strongest(reagent: str, percent_w_w: float, source: str, role: ProductRole) -> Strongest:
    strength = mol_per_ml(Product(role=role, reagent=reagent, percent_w_w=percent_w_w))
    if strength is None:
        raise ValueError(f"no density for {percent_w_w} % {reagent}")
    return Strongest(reagent, percent_w_w, strength, source)


STRONGEST_SOLD: Mapping[ProductRole, Strongest] = {
    "ph_down": _strongest(
        "phosphoric acid", 85.0, "from memory: the usual technical and food grade, 75 to 85 %", "ph_down"
    ),
    "ph_up": _strongest(
        "potassium hydroxide", 50.0, "from memory: the usual strongest lye, 45 to 50 %", "ph_up"
    ),
}
"""The strongest adjuster that homes can buy, by role. Strong sulfuric and nitric acid are left out on
purpose: in the European Union they are not sold to households above 15 % and 3 % (Regulation (EU) 2019/1148,
from memory)."""

_NAMES: tuple[tuple[str, str], ...] = (
    ("phosphoric acid", r"(?:ortho)?phosphoric|h3po4"),
    ("nitric acid", r"nitric|hno3"),
    ("sulfuric acid", r"sul(?:f|ph)uric|battery acid|h2so4"),
    ("citric acid", r"citric|c6h8o7"),
    ("acetic acid", r"acetic|ethanoic|vinegar|ch3cooh|c2h4o2"),
    ("potassium hydroxide", r"potassium hydroxide|caustic potash|potash lye|koh"),
    (
        "potassium bicarbonate",
        r"potassium (?:bicarbonate|bicarb|hydrogen ?carbonate|acid carbonate)|bicarbonate of potash|khco3",
    ),
    (
        "potassium carbonate",
        r"potassium carbonate|carbonate of potash|k2co3",
    ),
)


def reagent_named(text: str) -> str | None:
    """The reagent that a label or a grower means.

    text : any spelling: a name, a part of one ("phosphoric"), a formula (also with small figures).
    Returns ``None`` where none is named, or several: a blend is nothing that can be counted.
    """
    plain = re.sub(r"[^a-z0-9]+", " ", unicodedata.normalize("NFKC", text).lower())
    found = {name for name, pattern in _NAMES if re.search(rf"(?<![a-z0-9])(?:{pattern})(?![a-z0-9])", plain)}
    return found.pop() if len(found) == 1 else None
