"""How strong a bottle is: by its label where that says so, else a range that holds every bottle sold.

A bottle is what a ``Product`` means for the chemistry. What a tank's answers tell about it is in
``domain.response``; nothing here looks at a journal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from domain.chemistry.conductivity import ec_of_label_dose
from domain.chemistry.reagents import REAGENTS, STRONGEST_SOLD, mol_per_g, mol_per_ml
from domain.facts import Product, ProductRole

__all__ = ["EQUIVALENTS_NEAR_PH_6", "Bottle", "FeedStrength", "bottle_of", "feed_strength"]

Array = NDArray[np.float64]

_LABEL_SHARE = 0.05
"""What a label and a household syringe are off by together: common practice."""
_USUAL_MOL_PER_ML = (1.5e-3, 0.9)
"""Adjusters on the shelf: median and log deviation; nine in ten between 3 and 40 % phosphoric acid, and one
in a hundred as strong as the strongest sold (from memory)."""
_POWDERS = {"citric acid", "potassium carbonate", "potassium bicarbonate"}
_POWDER_FROM_PCT = 90.0
EQUIVALENTS_NEAR_PH_6 = {"sulfuric acid": 2.0, "citric acid": 2.5, "potassium carbonate": 2.0}
"""Protons or hydroxide that a mole gives in a tank, where it is not one; citric acid with calcium about gives
2.2 to 2.9 (PHREEQC)."""
_STANDS_FOR: dict[ProductRole, str] = {"ph_down": "nitric acid", "ph_up": "potassium hydroxide"}
"""What an adjuster of unknown kind is taken for. The usual acid is phosphoric, which leaves a buffer behind
and so makes the next portion safer; nitric acid leaves none, and gives as many protons near pH 6."""


@dataclass(frozen=True, slots=True)
class Bottle:
    """An adjuster as the chemistry sees it.

    reagent : what it is taken for.
    unit : ml, or g for a powder.
    middle : moles of reagent in a unit: the label's, or the usual one. [mol per unit]
    deviation : of its logarithm.
    high : the strongest that it can be. [mol per unit]
    is_known : the label says the strength.
    is_named : the label says the reagent.
    """

    role: ProductRole
    reagent: str
    unit: str
    middle: float
    deviation: float
    high: float
    is_known: bool
    is_named: bool

    def draw(self, share: Array) -> Array:
        """Strengths for these quantiles. share : 0 to 1. Returns moles of reagent in a unit."""
        strength = self.middle * np.exp(self.deviation * ndtri(share))
        return np.asarray(np.minimum(strength, self.high))


def bottle_of(product: Product) -> Bottle:
    """The bottle that this product means.

    product : of role ``ph_down`` or ``ph_up``.
    Raises KeyError for another role.
    """
    said = REAGENTS.get(product.reagent or "")
    named = said is not None and said.acid == (product.role == "ph_down")
    reagent = said.name if said is not None and named else _STANDS_FOR[product.role]
    if named:
        is_powder = reagent in _POWDERS and (product.percent_w_w or 0.0) > _POWDER_FROM_PCT
        strength = mol_per_g(product) if is_powder else mol_per_ml(product)
        if strength is not None:
            unit = "g" if is_powder else "ml"
            high = strength * math.exp(4 * _LABEL_SHARE)
            return Bottle(product.role, reagent, unit, strength, _LABEL_SHARE, high, True, True)
    # A mole of citric or sulfuric acid or of carbonate does as much as two or three of the others.
    several = EQUIVALENTS_NEAR_PH_6.get(reagent, 1.0)
    middle, deviation = _USUAL_MOL_PER_ML
    high = STRONGEST_SOLD[product.role].mol_per_ml / several
    return Bottle(product.role, reagent, "ml", middle / several, deviation, high, False, named)


@dataclass(frozen=True, slots=True)
class FeedStrength:
    """What one ml or g of a feed in a litre adds to its strength.

    gain : median. [mS/cm per unit/L]
    deviation : of its logarithm.
    unit : ml or g.
    most_per_l : the label's full dose; ``None`` where it says none. [unit/L]
    basis : ``label``, ``grade`` or ``assumed``.
    """

    gain: float
    deviation: float
    unit: str
    most_per_l: float | None
    basis: str


Z_ONE_IN_TEN = 1.2816
"""Of a normal distribution, the deviation that one in ten is beyond."""
_LEAST_DEVIATION = 0.1
_FULL_STRENGTH_EC = (1.6, 0.3)
"""What a feed's full label dose adds, median and log deviation: 1.0 to 2.6 mS/cm (common practice)."""
_POWDER_EC_PER_G_L = (1.0, 0.25)
"""Nutrient salts: 0.7 to 1.5 mS/cm per g/L; PHREEQC's single salts at 1 g/L (KNO3 1.34, Ca(NO3)2 0.99, MgSO4
0.71)."""
_LIQUID_EC_PER_ML_L = (0.35, 0.6)
"""Bottled feeds: 0.1 to 1.2 mS/cm per ml/L (from memory); wide, so that a first portion is small."""


def feed_strength(product: Product | None) -> FeedStrength:
    """What a feed adds, before any of this tank's answers: by its grade, its full dose, else its kind."""
    if product is None:
        return FeedStrength(*_LIQUID_EC_PER_ML_L, "ml", None, "assumed")
    unit = product.dose_unit if product.dose_unit in ("ml", "g") else "ml"
    dose = product.dose_per_litre or None
    by_grade = ec_of_label_dose(product) if dose else None
    if dose and by_grade is not None and by_grade.low_ms_cm > 0 and not product.parts:
        middle = (by_grade.low_ms_cm * by_grade.high_ms_cm) ** 0.5
        half_range = math.log(by_grade.high_ms_cm / by_grade.low_ms_cm) / 2
        return FeedStrength(
            middle / dose, max(half_range / Z_ONE_IN_TEN, _LEAST_DEVIATION), unit, dose, "grade"
        )
    if dose:
        full, deviation = _FULL_STRENGTH_EC
        return FeedStrength(full / dose, deviation, unit, dose, "label")
    if unit == "g":
        return FeedStrength(*_POWDER_EC_PER_G_L, "g", None, "assumed")
    return FeedStrength(*_LIQUID_EC_PER_ML_L, "ml", None, "assumed")
