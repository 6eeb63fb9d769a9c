"""A nutrient solution as plain data, and what is done to it: dosed, mixed, fed, left to the air.

What is conserved is the state (ions, carbon, phosphate ...); pH comes out of it by balance of charge, with
activities after Davies and the calcium and magnesium pairs that shift the buffers of a nutrient tank. Every
quantity is a float or an array, and all broadcast together: a thousand guesses about one tank are one
solution.

Range: 0 to 45 degC, ionic strength to 0.1 mol/L. Accuracy: within 0.05 pH of PHREEQC (phreeqc.dat) over tap
water and nutrient solutions; the tests hold it there. No mineral settles out here: hard water that has stood
with an air stone may scale, and then shows a lower pH than predicted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from domain.chemistry import equilibrium
from domain.chemistry.exchange import carbon_after, roughly_after
from domain.chemistry.reagents import REAGENTS
from domain.chemistry.species import CARBONATE, LIGANDS, LN10, co2_solubility_mol_l_atm, table_of

__all__ = [
    "OUTDOOR_PCO2_ATM",
    "Quantity",
    "Solution",
    "aired",
    "alkalinity_eq_l",
    "balanced_at",
    "carbon_from_ph",
    "charge_to_reach",
    "exchanged",
    "exchanged_roughly",
    "ionic_strength_mol_l",
    "mixed",
    "mol_to_reach",
    "pco2_atm",
    "ph",
    "source_water",
    "species_mol_l",
    "tap_ions",
    "with_nutrient",
    "with_reagent",
]

Array = NDArray[np.float64]
Quantity = float | Array

OUTDOOR_PCO2_ATM = 10**-3.4
"""398 parts per million; outdoor air is a little above it now, an occupied room two or three times."""


@dataclass(frozen=True, slots=True)
class Solution:
    """What is dissolved in a litre.

    temperature_c : 0 to 45. [degC]
    strong_charge_eq_l : charge of the ions that neither give nor take protons near pH 4 to 10: Na+, K+, 2
        Ca++, 2 Mg++, NH4+ less NO3-, Cl-, 2 SO4--. Conserved, mixes linearly; below zero where acid is in
        excess. [eq/L]
    carbon_mol_l : dissolved inorganic carbon in all its forms. [mol/L]
    phosphate_mol_l, citrate_mol_l, acetate_mol_l, sulfate_mol_l, ammonium_mol_l, calcium_mol_l,
    magnesium_mol_l :
        totals over all forms. Calcium, magnesium, sulfate and ammonium are in ``strong_charge_eq_l`` too.
        [mol/L]
    other_ions_mol_l : singly charged bystanders (Na+, K+, NO3-, Cl-), summed; for the ionic strength. [mol/L]
    """

    temperature_c: Quantity
    strong_charge_eq_l: Quantity
    carbon_mol_l: Quantity
    phosphate_mol_l: Quantity = 0.0
    citrate_mol_l: Quantity = 0.0
    acetate_mol_l: Quantity = 0.0
    sulfate_mol_l: Quantity = 0.0
    ammonium_mol_l: Quantity = 0.0
    calcium_mol_l: Quantity = 0.0
    magnesium_mol_l: Quantity = 0.0
    other_ions_mol_l: Quantity = 0.0


_LIGAND_FIELDS = (
    "carbon_mol_l",
    "phosphate_mol_l",
    "citrate_mol_l",
    "acetate_mol_l",
    "sulfate_mol_l",
    "ammonium_mol_l",
)
"""The field that holds each of ``species.LIGANDS``."""
_FIELDS = tuple(field.name for field in fields(Solution))


def ph(solution: Solution) -> Quantity:
    """The pH that a perfect meter shows, -log10 of the proton activity.

    Returns a float, or an array where any field is one; NaN where a field is.
    Raises NoEquilibrium where charges balance at no pH.
    """
    amounts, shape = _amounts(solution)
    return _shaped(-equilibrium.find_ph(amounts).state[0] / LN10, shape)


def ionic_strength_mol_l(solution: Solution) -> Quantity:
    """Half the sum of concentration times charge squared, pairs counted as pairs. [mol/L]"""
    amounts, shape = _amounts(solution)
    return _shaped(equilibrium.find_ph(amounts).ionic_strength, shape)


def pco2_atm(solution: Solution) -> Quantity:
    """The pressure of carbon dioxide with which the solution would be at rest. [atm]"""
    amounts, shape = _amounts(solution)
    return _shaped(equilibrium.find_ph(amounts).co2, shape) / co2_solubility_mol_l_atm(solution.temperature_c)


def species_mol_l(solution: Solution) -> dict[str, Quantity]:
    """How much of each form is there, by its name in ``species.SPECIES``. [mol/L]"""
    amounts, shape = _amounts(solution)
    concentrations = equilibrium.find_ph(amounts).concentrations
    return {name: _shaped(row, shape) for name, row in zip(amounts.table.names, concentrations, strict=True)}


def source_water(
    *,
    ph: Quantity,
    alkalinity_eq_l: Quantity,
    temperature_c: Quantity,
    calcium_mol_l: Quantity | None = None,
    magnesium_mol_l: Quantity | None = None,
) -> Solution:
    """Water as it comes from the tap.

    ph : 4.5 to 9.5. [pH]
    alkalinity_eq_l : 0 to 0.01. [eq/L]
    temperature_c : at which the pH was read, 0 to 45. [degC]
    calcium_mol_l, magnesium_mol_l : ``None`` for the usual share of the alkalinity. [mol/L]
    The carbon is NaN where no amount of it gives this pH with this alkalinity.
    """
    ions = tap_ions(alkalinity_eq_l, temperature_c, calcium_mol_l, magnesium_mol_l)
    return carbon_from_ph(ions, ph)


def tap_ions(
    alkalinity_eq_l: Quantity,
    temperature_c: Quantity,
    calcium_mol_l: Quantity | None = None,
    magnesium_mol_l: Quantity | None = None,
) -> Solution:
    """What ``source_water`` holds, but for its carbon.

    Source: the recipe of the tap waters in tests/published/checks.csv (0.35 mol calcium and 0.1 mol magnesium
    an equivalent of alkalinity, some sodium and chloride), common practice.
    """
    calcium = 0.35 * alkalinity_eq_l if calcium_mol_l is None else calcium_mol_l
    magnesium = 0.10 * alkalinity_eq_l if magnesium_mol_l is None else magnesium_mol_l
    # Softened water carries its alkalinity on sodium; chloride takes up what is left.
    sodium = np.maximum(0.5e-3 + 0.2 * alkalinity_eq_l, alkalinity_eq_l - 2.0 * (calcium + magnesium))
    chloride = 2.0 * (calcium + magnesium) + sodium - alkalinity_eq_l
    return Solution(
        temperature_c=temperature_c,
        strong_charge_eq_l=alkalinity_eq_l,
        carbon_mol_l=0.0,
        calcium_mol_l=calcium,
        magnesium_mol_l=magnesium,
        other_ions_mol_l=_plain(sodium + chloride),
    )


NUTRIENT_EC_MS_CM = 1.25
"""What ``NUTRIENT`` adds at 25 degC. PHREEQC gives 1.252; a published rule for cations gives 1.235."""
NUTRIENT: dict[str, float] = {
    "calcium_mol_l": 2.5e-3,
    "magnesium_mol_l": 1.0e-3,
    "sulfate_mol_l": 1.0e-3,
    "phosphate_mol_l": 1.0e-3,
    "other_ions_mol_l": 12.0e-3,
    "strong_charge_eq_l": 1.0e-3,
}
"""A complete feed: Ca(NO3)2 2.5, KNO3 3, MgSO4 1, KH2PO4 1 mmol/L (common practice)."""


def with_nutrient(solution: Solution, *, ec_ms_cm: Quantity) -> Solution:
    """The solution with a typical complete feed, as much as adds this conductivity.

    ec_ms_cm : what the feed adds at 25 degC, 0 to 4. [mS/cm]
    """
    return _plus(solution, NUTRIENT, ec_ms_cm / NUTRIENT_EC_MS_CM)


def with_reagent(solution: Solution, reagent: str, mol_l: Quantity) -> Solution:
    """The solution after a dose, before any carbon dioxide has left. The dose's own volume is not counted.

    reagent : one of ``reagents.REAGENTS``. mol_l : 0 to 0.02. [mol/L]
    Raises KeyError for an unknown reagent.
    """
    return _plus(solution, REAGENTS[reagent].brings, mol_l)


def mixed(a: Solution, b: Solution, share_of_b: Quantity) -> Solution:
    """Two solutions run together. share_of_b : 0 to 1, by volume. Heat mixes like everything else."""
    parts = {
        field.name: _plain((1.0 - share_of_b) * getattr(a, field.name) + share_of_b * getattr(b, field.name))
        for field in fields(Solution)
    }
    return Solution(**parts)


def aired(solution: Solution, pco2_atm: Quantity = OUTDOOR_PCO2_ATM) -> Solution:
    """The solution once its carbon dioxide has come to rest with the air.

    pco2_atm : carbon dioxide in that air; 10**-3.4 outdoors, 10**-3.0 in an occupied room. [atm]
    """
    co2 = pco2_atm * co2_solubility_mol_l_atm(solution.temperature_c)
    amounts, shape = _amounts(solution, co2)
    return replace(solution, carbon_mol_l=_shaped(equilibrium.find_ph(amounts).carbon, shape))


_NO_CHARGE_EQ_L = 1e-9
"""Below this no tester and no test kit tells a charge from none."""


def exchanged(
    solution: Solution, *, rate_per_h: Quantity, hours: Quantity, pco2_atm: Quantity = OUTDOOR_PCO2_ATM
) -> Solution:
    """The solution after some hours under the air, while carbon dioxide leaves or enters.

    rate_per_h : kLa of carbon dioxide: hundredths to tenths for a still tank, several with an air stone (from
        memory; fit it to the tank). [1/h]
    hours : 0 or more. [h]
    pco2_atm : see ``aired``. [atm]
    Total carbon falls by kLa ([CO2] - [CO2 at rest]); bicarbonate refills [CO2] as it leaves, so that hard
    water takes longer than 1 / kLa. Within 0.01 pH of that law, and of PHREEQC's integration of it.
    """
    rest = pco2_atm * co2_solubility_mol_l_atm(solution.temperature_c)
    elapsed = np.asarray(rate_per_h) * np.asarray(hours) + 0.0 * rest
    amounts, shape = _amounts(replace(solution, carbon_mol_l=solution.carbon_mol_l + 0.0 * elapsed))
    columns = [np.broadcast_to(value, shape).reshape(-1) for value in (rest, elapsed)]
    return replace(solution, carbon_mol_l=_shaped(carbon_after(amounts, *columns), shape))


def exchanged_roughly(
    solution: Solution, *, folds: Quantity, pco2_atm: Quantity
) -> tuple[Solution, Quantity]:
    """As ``exchanged``, at a third of the cost, and the pH that it then shows.

    folds : the rate times the hours.
    Carbon falls with carbon dioxide along the straight line from now to rest: up to 0.1 pH off on the way.
    """
    rest = pco2_atm * co2_solubility_mol_l_atm(solution.temperature_c) + 0.0 * np.asarray(folds)
    amounts, shape = _amounts(replace(solution, carbon_mol_l=solution.carbon_mol_l + 0.0 * rest))
    columns = [np.broadcast_to(value, shape).reshape(-1) for value in (rest, np.asarray(folds))]
    found = roughly_after(amounts, *columns)
    later = replace(solution, carbon_mol_l=_shaped(found.carbon, shape))
    return later, _shaped(-found.state[0] / LN10, shape)


def carbon_from_ph(solution: Solution, ph: Quantity) -> Solution:
    """The solution with just the carbon that makes it show this pH; its own carbon is not read.

    The carbon is NaN where no amount of it does.
    """
    found, shape = _amount_for(replace(solution, carbon_mol_l=0.0), {"carbon_mol_l": 1.0}, ph)
    is_impossible = (found.amount == 0.0) & _differs(found.excess)
    return replace(solution, carbon_mol_l=_shaped(np.where(is_impossible, np.nan, found.amount), shape))


def balanced_at(solution: Solution, ph: Quantity, pco2_atm: Quantity) -> Solution:
    """The solution with just the strong charge and the carbon with which it shows a pH at rest with some air.

    Its own charge and carbon are not read. ph : 3 to 10. pco2_atm : see ``aired``. [atm]
    """
    co2 = pco2_atm * co2_solubility_mol_l_atm(solution.temperature_c)
    bare = replace(solution, strong_charge_eq_l=0.0, carbon_mol_l=0.0)
    least = -equilibrium.MOST_REAGENT_MOL_L
    found, shape = _amount_for(bare, {"strong_charge_eq_l": 1.0}, ph, co2=co2, least=least)
    return replace(
        solution, strong_charge_eq_l=_shaped(found.amount, shape), carbon_mol_l=_shaped(found.carbon, shape)
    )


def alkalinity_eq_l(solution: Solution) -> Quantity:
    """What a titration to the carbon dioxide end point (near pH 4.5) would find. [eq/L]

    Counts phosphate and citrate, as a titration does: in a nutrient solution it is not the bicarbonate.
    """
    held: Quantity = solution.strong_charge_eq_l
    for ligand, field in zip(LIGANDS, _LIGAND_FIELDS, strict=True):
        held = held + (ligand.acceptors - ligand.most_protons + ligand.full_charge) * getattr(solution, field)
    return held


def mol_to_reach(
    solution: Solution,
    reagent: str,
    target_ph: Quantity,
    *,
    aired: bool = False,
    pco2_atm: Quantity = OUTDOOR_PCO2_ATM,
) -> Quantity:
    """How much reagent brings the solution to a pH. [mol/L]

    target_ph : 3 to 9. [pH]
    aired : whether the target is the pH after the carbon dioxide has come to rest with the air, not the pH
        just after the dose.
    Returns 0 where the solution is at the target or beyond it, NaN where no amount of the reagent gets there.
    Raises KeyError for an unknown reagent. Costs about as much as one ``ph``.
    """
    chosen = REAGENTS[reagent]
    co2 = pco2_atm * co2_solubility_mol_l_atm(solution.temperature_c) if aired else None
    found, shape = _amount_for(solution, chosen.brings, target_ph, co2=co2)
    is_out_of_reach = (found.amount == 0.0) & _differs(found.excess) & ((found.excess > 0.0) == chosen.acid)
    return _shaped(np.where(is_out_of_reach, np.nan, found.amount), shape)


def charge_to_reach(solution: Solution, target_ph: Quantity) -> Quantity:
    """How much more strong charge gives the solution this pH, its carbon kept; below zero for less. [eq/L]

    target_ph : 3 to 10. [pH]
    What a strong base (above zero) or a strong acid would have brought, but for its ions.
    """
    least = -equilibrium.MOST_REAGENT_MOL_L
    found, shape = _amount_for(solution, {"strong_charge_eq_l": 1.0}, target_ph, least=least)
    return _shaped(found.amount, shape)


def _amount_for(
    solution: Solution,
    brings: Mapping[str, float],
    target_ph: Quantity,
    *,
    co2: Quantity | None = None,
    least: float = 0.0,
) -> tuple[equilibrium.Found, tuple[int, ...]]:
    """The amount of what brings these fields at which the solution has a pH, and the answer's shape."""
    strong = solution.strong_charge_eq_l + 0.0 * np.asarray(target_ph)
    amounts, shape = _amounts(replace(solution, strong_charge_eq_l=strong), co2, also=tuple(brings))
    added = equilibrium.Added(
        totals=np.array([[brings.get(_LIGAND_FIELDS[row], 0.0)] for row in amounts.table.ligands]),
        strong_charge=brings.get("strong_charge_eq_l", 0.0),
        other_ions=brings.get("other_ions_mol_l", 0.0),
        least=least,
    )
    ln_h = np.broadcast_to(-LN10 * np.asarray(target_ph, dtype=float), shape).reshape(-1)
    return equilibrium.find_amount(amounts, added, ln_h), shape


def _amounts(
    solution: Solution, co2: Quantity | None = None, also: tuple[str, ...] = ()
) -> tuple[equilibrium.Amounts, tuple[int, ...]]:
    """The solution laid out in columns, and the shape that the answer has.

    co2 : dissolved carbon dioxide that the air imposes. [mol/L]
    also : fields whose ligands take part even where there is none of them yet.
    """
    values = [*(getattr(solution, field) for field in _FIELDS), 0.0 if co2 is None else co2]
    shape = np.broadcast_shapes(*(value.shape for value in values if isinstance(value, np.ndarray)))
    columns = np.empty((len(values), *shape))
    for row, value in enumerate(values):
        columns[row] = value
    columns = columns.reshape(len(values), -1)
    at = {field: columns[row] for row, field in enumerate(_FIELDS)}
    ligands = tuple(
        row
        for row, field in enumerate(_LIGAND_FIELDS)
        if row == CARBONATE or field in also or at[field].any()
    )
    temperature = at["temperature_c"]
    amounts = equilibrium.Amounts(
        table=table_of(ligands),
        temperature_c=temperature[:1] if np.ndim(solution.temperature_c) == 0 else temperature,
        totals=np.stack([at[_LIGAND_FIELDS[row]] for row in ligands]),
        strong_charge=at["strong_charge_eq_l"],
        other_ions=at["other_ions_mol_l"],
        calcium=at["calcium_mol_l"],
        magnesium=at["magnesium_mol_l"],
        co2=None if co2 is None else columns[-1],
    )
    return amounts, shape


def _differs(excess_eq_l: Array) -> NDArray[np.bool_]:
    """Whether a charge is more than what is left by rounding."""
    return np.abs(excess_eq_l) > _NO_CHARGE_EQ_L


def _shaped(columns: Array, shape: tuple[int, ...]) -> Quantity:
    return columns.reshape(shape) if shape else float(columns[0])


def _plain(value: Quantity | np.floating[Any]) -> Quantity:
    """Arrays as they are, single numbers as floats: numpy's own scalars stay inside."""
    return value if isinstance(value, np.ndarray) and value.ndim else float(value)


def _plus(solution: Solution, brings: Mapping[str, float], amount: Quantity) -> Solution:
    changed = {field: getattr(solution, field) + share * amount for field, share in brings.items()}
    return replace(solution, **changed)
