"""A water put together from what a report, a kit and a few meters say of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from domain.chemistry.conductance import ec_of_ions
from domain.chemistry.solution import (
    Quantity,
    Solution,
    aired,
    carbon_from_ph,
    source_water,
    with_nutrient,
)

__all__ = ["WaterSaid", "described_water", "fed_ms_cm", "tap_ec_ms_cm"]

ROOM_TEMPERATURE_C = 20.0
_ANY_TAP_PH = 7.5
"""Only to have the recipe of a tap water; its carbon is replaced."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterSaid:
    """What is said of a water; ``None`` where it is not.

    ph : 3.5 to 9.5, as a meter shows it.
    alkalinity_eq_l : of this water as it is now, by titration to the carbon dioxide end point; a feed's
        phosphate (as H2PO4-) adds none. 0 to 0.02. [eq/L]
    ec_ms_cm : at 25 degC, 0 to 6; what exceeds a tap water's own is taken for a complete feed. [mS/cm]
    phosphate_mol_l, calcium_mol_l : in all forms. [mol/L]
    temperature_c : 0 to 45. [degC]
    """

    ph: float | None = None
    alkalinity_eq_l: float | None = None
    ec_ms_cm: float | None = None
    phosphate_mol_l: float | None = None
    calcium_mol_l: float | None = None
    temperature_c: float | None = None


def tap_ec_ms_cm(alkalinity_eq_l: float) -> float:
    """The strength of the usual tap water of this alkalinity, at 25 degC. [mS/cm]

    Source: the recipe of ``solution.source_water``, its ions counted.
    """
    calcium, magnesium = 0.35 * alkalinity_eq_l, 0.10 * alkalinity_eq_l
    sodium = 0.5e-3 + 0.2 * alkalinity_eq_l
    chloride = 2.0 * (calcium + magnesium) + sodium - alkalinity_eq_l
    # At pH 8.3 carbonate is bicarbonate, whose charge makes up the rest.
    ions = {"Ca": calcium, "Mg": magnesium, "Na": sodium, "Cl": chloride, "carbonate": alkalinity_eq_l}
    return ec_of_ions(ions)


def fed_ms_cm(said: WaterSaid) -> float:
    """What a feed has added to the strength; nothing where no strength is said. [mS/cm]"""
    if said.ec_ms_cm is None:
        return 0.0
    return max(said.ec_ms_cm - tap_ec_ms_cm(said.alkalinity_eq_l or 0.0), 0.0)


def described_water(
    said: WaterSaid, *, alkalinity_eq_l: Quantity | None = None, ph: Quantity | None = None
) -> Solution:
    """The water that is described.

    said : with an alkalinity, unless one is given beside it. Without a pH the water is taken to stand at
        rest with the outdoor air.
    alkalinity_eq_l, ph : stand in for what is said, for many guesses at once. [eq/L], [pH]
    The carbon is NaN where no amount of it gives this pH with this alkalinity.
    Raises ValueError without an alkalinity.
    """
    alkalinity = said.alkalinity_eq_l if alkalinity_eq_l is None else alkalinity_eq_l
    shown = said.ph if ph is None else ph
    if alkalinity is None:
        raise ValueError("the alkalinity of the water is needed")
    temperature = ROOM_TEMPERATURE_C if said.temperature_c is None else said.temperature_c
    tap = source_water(ph=_ANY_TAP_PH, alkalinity_eq_l=alkalinity, temperature_c=temperature)
    water = replace(with_nutrient(tap, ec_ms_cm=fed_ms_cm(said)), carbon_mol_l=0.0)
    if said.phosphate_mol_l is not None:
        more = said.phosphate_mol_l - water.phosphate_mol_l
        # As KH2PO4, which changes no alkalinity.
        water = replace(
            water,
            phosphate_mol_l=said.phosphate_mol_l,
            strong_charge_eq_l=water.strong_charge_eq_l + more,
            other_ions_mol_l=np.maximum(water.other_ions_mol_l + more, 0.0),
        )
    if said.calcium_mol_l is not None:
        # Its charge is balanced by bystanders, so that the alkalinity stays.
        more = said.calcium_mol_l - water.calcium_mol_l
        others = np.maximum(water.other_ions_mol_l + 2.0 * more, 0.0)
        water = replace(water, calcium_mol_l=said.calcium_mol_l, other_ions_mol_l=others)
    return aired(water) if shown is None else carbon_from_ph(water, shown)
