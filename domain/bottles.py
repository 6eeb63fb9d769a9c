"""How strong a bottle is: from its label where that says so, else as a range that holds every bottle sold.

A bottle is what a ``Product`` means for the chemistry. What a tank's answers tell about it is in
``domain.response``; nothing here looks at a journal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from domain.chemistry.reagents import REAGENTS, STRONGEST_SOLD, mol_per_g, mol_per_ml
from domain.facts import Product, ProductRole

__all__ = ["Bottle", "FeedStrength", "bottle_of", "feed_strength"]

Array = NDArray[np.float64]

_LABEL_SHARE = 0.05
"""What a label and a household syringe are off by together: common practice."""
_WEAKEST_MOL_PER_ML = 0.15e-3
"""A bottle weaker than this (1 to 2 % phosphoric or citric acid) is not sold as an adjuster: from memory."""
_POWDERS = {"citric acid", "potassium carbonate", "potassium bicarbonate"}
_STANDS_FOR: dict[ProductRole, str] = {"ph_down": "phosphoric acid", "ph_up": "potassium hydroxide"}
"""What an adjuster of unknown kind is taken for: the usual ones (common practice), and one equivalent a mole near
pH 6, as nitric acid has too, so that a strength learned from the tank's answer holds for either."""


@dataclass(frozen=True, slots=True)
class Bottle:
    """An adjuster as the chemistry sees it.

    reagent : what it is taken for.
    unit : ml, or g for a powder.
    low, high : moles of reagent in a unit: one deviation either side of the label, or the whole range that an
        unknown bottle may have. [mol per unit]
    is_known : the label says the strength.
    is_named : the label says the reagent.
    """

    role: ProductRole
    reagent: str
    unit: str
    low: float
    high: float
    is_known: bool
    is_named: bool

    def draw(self, share: Array) -> Array:
        """Strengths for these quantiles: lognormal about a label, even in the logarithm where nothing is known.

        share : 0 to 1.
        Returns moles of reagent in a unit.
        """
        low, high = math.log(self.low), math.log(self.high)
        if self.is_known:
            return np.asarray(np.exp((low + high) / 2 + (high - low) / 2 * ndtri(share)))
        return np.asarray(np.exp(low + (high - low) * share))


def bottle_of(product: Product) -> Bottle:
    """The bottle that this product means.

    product : of role ``ph_down`` or ``ph_up``.
    Raises KeyError for another role.
    """
    named = product.reagent in REAGENTS and REAGENTS[product.reagent].acid == (product.role == "ph_down")
    reagent = product.reagent if named and product.reagent else _STANDS_FOR[product.role]
    if named:
        is_powder = reagent in _POWDERS and (product.percent_w_w or 0.0) > 90.0
        strength = mol_per_g(product) if is_powder else mol_per_ml(product)
        if strength is not None:
            spread = math.exp(_LABEL_SHARE)
            unit = "g" if is_powder else "ml"
            return Bottle(product.role, reagent, unit, strength / spread, strength * spread, True, True)
    high = STRONGEST_SOLD[product.role].mol_per_ml
    if named:
        # A mole of citric acid or carbonate does as much as two or three of phosphoric acid.
        high /= REAGENTS[reagent].equivalents_per_mol if reagent != "phosphoric acid" else 1
    return Bottle(product.role, reagent, "ml", _WEAKEST_MOL_PER_ML, high, False, named)


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


_FULL_STRENGTH_EC = (1.6, 0.3)
"""What a feed's full label dose adds, median and log deviation: 1.0 to 2.6 mS/cm (common practice)."""
_POWDER_EC_PER_G_L = (1.0, 0.25)
"""Nutrient salts: 0.7 to 1.5 mS/cm per g/L; PHREEQC's single salts at 1 g/L (KNO3 1.34, Ca(NO3)2 0.99, MgSO4 0.71)."""
_LIQUID_EC_PER_ML_L = (0.35, 0.6)
"""Bottled feeds: 0.1 to 1.2 mS/cm per ml/L (from memory); wide, so that a first portion is small."""


def feed_strength(product: Product | None) -> FeedStrength:
    """What a feed adds, before any of this tank's answers: from the label's full dose, else from its kind."""
    if product is None:
        return FeedStrength(*_LIQUID_EC_PER_ML_L, "ml", None, "assumed")
    unit = product.dose_unit if product.dose_unit in ("ml", "g") else "ml"
    if product.dose_per_litre:
        full, deviation = _FULL_STRENGTH_EC
        gain = full / product.dose_per_litre
        return FeedStrength(gain, deviation, unit, product.dose_per_litre, "label")
    if unit == "g":
        return FeedStrength(*_POWDER_EC_PER_G_L, "g", None, "assumed")
    return FeedStrength(*_LIQUID_EC_PER_ML_L, "ml", None, "assumed")
