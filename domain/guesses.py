"""Guesses at what nobody can see in a tank, as arrays with one number a guess, and what is done with many of
them.

Each guess is one complete account of the water: its alkalinity, carbon, phosphate, volume, bottles and air.
How they are first drawn is in ``domain.prior``; how the tank's answers sort them, in ``domain.response``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from domain.bottles import Bottle
from domain.chemistry.solution import Solution, source_water, with_reagent
from domain.facts import Product, ProductRole

__all__ = [
    "Array",
    "BottleKey",
    "Guesses",
    "bottle_key",
    "effective",
    "even_shares",
    "flattened",
    "lognormal",
    "normalised",
    "picked",
    "poured",
    "resampled",
    "shuffled_normals",
]

Array = NDArray[np.float64]
BottleKey = tuple[ProductRole, str | None, str | None, float | None]

_HALVINGS = 12
_KERNEL = 0.2
"""How far copies are moved apart, as a share of the spread that all guesses have."""


def bottle_key(product: Product) -> BottleKey:
    """By what a bottle is told from others: its role, its name and its label."""
    said = (product.percent_w_w, product.percent_w_v, product.molar_mol_l, product.normal_eq_l)
    strength = next((figure for figure in said if figure is not None), None)
    return product.role, product.name, product.reagent, strength


@dataclass(frozen=True, slots=True)
class Guesses:
    """Many guesses; a row of each array is one of them.

    log_weight : logarithm of how good each is, up to a constant.
    water : what is in the tank.
    alkalinity_eq_l, source_ph : of what comes out of the tap. [eq/L], [pH]
    ph : true pH at the last reading.
    volume_l : the water in the tank.
    strength : of each bottle: moles of reagent in its unit.
    exchange_per_h, pco2_atm : how fast CO2 leaves, and towards what.
    feed_share : which quantile of its prior a feed's strength has.
    phosphoric : 1 where an acid of unknown kind is phosphoric, 0 where it is nitric.
    """

    log_weight: Array
    water: Solution
    alkalinity_eq_l: Array
    source_ph: Array
    ph: Array
    volume_l: Array
    strength: Mapping[BottleKey, Array]
    exchange_per_h: Array
    pco2_atm: Array
    feed_share: Array
    phosphoric: Array

    @property
    def count(self) -> int:
        return len(self.log_weight)

    @property
    def source(self) -> Solution:
        """What comes out of the tap."""
        return source_water(
            ph=self.source_ph,
            alkalinity_eq_l=self.alkalinity_eq_l,
            temperature_c=self.water.temperature_c,
        )

    @property
    def weight(self) -> Array:
        """How good each is; sums to one."""
        return normalised(self.log_weight)


def even_shares(count: int) -> Array:
    """Quantiles that stand evenly between 0 and 1."""
    return (np.arange(count) + 0.5) / count


def shuffled_normals(generator: np.random.Generator, count: int) -> Array:
    """Standard normal numbers, evenly spread, in the generator's order."""
    return np.asarray(ndtri(generator.permutation(even_shares(count))))


def lognormal(share: Array, median: float | Array, deviation: float) -> Array:
    """The quantiles of a lognormal distribution. share : 0 to 1. deviation : of the logarithm."""
    return np.asarray(median * np.exp(deviation * ndtri(share)))


def normalised(log_weight: Array) -> Array:
    """Weights that sum to one; all the same where none is above zero."""
    top = np.max(log_weight)
    if not np.isfinite(top):
        return np.full(len(log_weight), 1.0 / len(log_weight))
    weight = np.exp(log_weight - top)
    return np.asarray(weight / weight.sum())


def effective(weight: Array) -> float:
    """How many equally good guesses these are worth (Kong 1992, from memory)."""
    return float(1.0 / np.sum(weight**2))


def flattened(log_weight: Array, least: float) -> Array:
    """Weights evened out as little as makes them worth this many equally good guesses."""
    if effective(normalised(log_weight)) >= least:
        return log_weight
    possible = np.isfinite(log_weight)
    finite = np.where(possible, log_weight, 0.0)
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        enough = effective(normalised(np.where(possible, middle * finite, -np.inf))) >= least
        low, high = (middle, high) if enough else (low, middle)
    return np.asarray(np.where(possible, low * finite, -np.inf))


def resampled(guesses: Guesses, count: int, z: Sequence[Array]) -> Guesses:
    """As many equally good guesses: bad ones dropped, good ones doubled and moved a little apart.

    z : standard normal numbers of that count, one array for exchange, one for volume, one for each bottle.
    Systematic resampling with the kernel of Liu & West 2001 (Combined parameter and state estimation; from
    memory) on the logarithms of what no reading shows directly.
    """
    kept = np.searchsorted(np.cumsum(guesses.weight), even_shares(count))
    kept = np.minimum(kept, guesses.count - 1)
    bottles = enumerate(guesses.strength.items(), start=2)
    return Guesses(
        log_weight=np.zeros(count),
        water=picked(guesses.water, kept),
        alkalinity_eq_l=guesses.alkalinity_eq_l[kept],
        source_ph=guesses.source_ph[kept],
        ph=guesses.ph[kept],
        volume_l=_apart(guesses.volume_l[kept], z[1]),
        strength={key: _apart(values[kept], z[row]) for row, (key, values) in bottles},
        exchange_per_h=_apart(guesses.exchange_per_h[kept], z[0]),
        pco2_atm=guesses.pco2_atm[kept],
        feed_share=guesses.feed_share[kept],
        phosphoric=guesses.phosphoric[kept],
    )


def _apart(values: Array, z: Array) -> Array:
    """Copies moved a little apart, their mean and spread kept."""
    log = np.log(values)
    keep = math.sqrt(1.0 - _KERNEL**2)
    return np.asarray(np.exp(keep * log + (1.0 - keep) * log.mean() + _KERNEL * log.std() * z))


def picked(water: Solution, kept: NDArray[np.intp]) -> Solution:
    """The water of these guesses alone, by their numbers."""
    parts = {f.name: getattr(water, f.name) for f in fields(Solution)}
    return Solution(**{name: part[kept] if np.ndim(part) else part for name, part in parts.items()})


MOST_DOSE_MOL_L = 0.03
"""Ten times what any tank needs: by then every acid has brought it below 2, every base above 11."""


def poured(water: Solution, bottle: Bottle, mol_l: Array, phosphoric: Array) -> Solution:
    """The water after so much of an adjuster, CO2 still in.

    phosphoric : see ``Guesses``; counts where the label names no acid.
    """
    mol_l = np.minimum(mol_l, MOST_DOSE_MOL_L)
    if bottle.is_named or bottle.role != "ph_down":
        return with_reagent(water, bottle.reagent, mol_l)
    nitric = with_reagent(water, "nitric acid", mol_l * (1.0 - phosphoric))
    return with_reagent(nitric, "phosphoric acid", mol_l * phosphoric)
