"""What to dose, and what a dose would do, in a water that is described instead of being kept in a journal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from domain.chemistry.described import WaterSaid, described_water
from domain.chemistry.solution import (
    Solution,
    aired,
    alkalinity_eq_l,
    charge_to_reach,
    mol_to_reach,
    ph,
    with_reagent,
)
from domain.dosing.planner import plan
from domain.dosing.shapes import Aim, Plan, Span
from domain.facts import Fact, Product, Reading, Setting, WaterChange
from domain.guesses import Array, effective, even_shares, shuffled_normals
from domain.journal import Entry
from domain.response import LEAST_AGREEING, Beliefs, beliefs
from domain.tank import DEFAULTS, MG_CACO3_PER_EQ, TankState, tank_state

__all__ = ["Addition", "Air", "Exact", "Foretold", "dose_described", "exact_amount", "foretold"]

Air = Literal["tank", "aired", "closed"]
"""What becomes of the carbon dioxide: it leaves as from a home tank, wholly, or not at all."""

_EXCHANGE_PER_H = {"aired": 10.0, "closed": 1e-6}
"""Fast enough that a day brings the water to rest, and so slow that nothing happens in one."""
_TRIALS = 400
_SYRINGE_SHARE = 0.07
"""One deviation of what a label, a syringe and a tank's mark are off by together: common practice."""
_TESTER = DEFAULTS.ph_tester_spread


@dataclass(frozen=True, slots=True)
class Exact:
    """The amount that takes a water, exactly as described, to a pH; NaN where none does. [mol/L]

    closed : with its carbon dioxide kept in. aired : once it has come to rest with the outdoor air.
    """

    closed_mol_l: float
    aired_mol_l: float


def exact_amount(said: WaterSaid, reagent: str, ph_to: float) -> Exact:
    """See ``Exact``. Raises ValueError where no such water can be."""
    water = _possible(said)
    closed, rested = (float(mol_to_reach(water, reagent, ph_to, aired=air)) for air in (False, True))
    return Exact(closed, rested)


def dose_described(
    said: WaterSaid,
    product: Product,
    litres: float,
    aim: Aim,
    *,
    ph_to: float,
    now: datetime,
    air: Air = "tank",
    planted: bool = True,
) -> Plan:
    """The plan that takes this water to a pH: a first portion within every limit, and the whole as a range.

    said : with a pH. What is not said is taken from the usual ranges, and named in the plan.
    planted : plants stand in it; ``False``: a fresh fill before they do.
    Raises ValueError where no such water can be.
    """
    state = _state(said, product, litres, now, planted)
    belief = beliefs(state, products=(product,))
    if belief is not None:
        belief = _in_air(_told(belief, said), air)
    return plan(state, aim, now=now, ph_to=ph_to, direction="adjuster", belief=belief)


def _state(said: WaterSaid, product: Product, litres: float, now: datetime, planted: bool) -> TankState:
    """The tank of a household that has said this and nothing else."""
    facts: list[Fact] = [Setting(name="tank_volume_l", value=str(litres)), product]
    if said.alkalinity_eq_l is not None:
        of_caco3 = said.alkalinity_eq_l * MG_CACO3_PER_EQ
        facts.append(Setting(name="source_alkalinity_mg_l_caco3", value=str(of_caco3)))
    if not planted:
        facts.append(WaterChange())
    facts.append(Reading(ph=said.ph, ec_ms_cm=said.ec_ms_cm, water_temp_c=said.temperature_c))
    entries = [Entry(number, fact, now, now, "", str(number)) for number, fact in enumerate(facts, 1)]
    return tank_state(entries, now, planted=planted)


def _told(belief: Beliefs, said: WaterSaid) -> Beliefs:
    """The guesses with what is known of this very water in the place of what was drawn."""
    generator = np.random.default_rng(len(belief.weight))
    water, weight = belief.water, belief.weight
    if said.calcium_mol_l is not None:
        water = replace(water, calcium_mol_l=said.calcium_mol_l)
    if said.phosphate_mol_l is not None:
        water = replace(water, phosphate_mol_l=_spread(said.phosphate_mol_l, 0.05, generator, len(weight)))
    if said.alkalinity_eq_l is not None:
        share = DEFAULTS.said_alkalinity_share
        alkalinity = _spread(said.alkalinity_eq_l, share, generator, len(weight))
        guessed = described_water(said, alkalinity_eq_l=alkalinity, ph=belief.ph)
        strong = alkalinity + np.asarray(water.phosphate_mol_l)
        water = replace(water, strong_charge_eq_l=strong, carbon_mol_l=guessed.carbon_mol_l)
    else:
        strong = np.asarray(water.strong_charge_eq_l)
    possible = np.isfinite(np.asarray(water.carbon_mol_l))
    if not possible.any() or effective(weight[possible] / weight[possible].sum()) < LEAST_AGREEING:
        raise ValueError(_IMPOSSIBLE)
    water = replace(water, carbon_mol_l=np.where(possible, water.carbon_mol_l, 0.0))
    # What was replaced has moved the pH a little: the charge takes it back to what was read.
    moved = np.where(possible, np.asarray(charge_to_reach(water, belief.ph)), 0.0)
    weight = np.where(possible, weight, 0.0)
    return replace(
        belief, weight=weight / weight.sum(), water=replace(water, strong_charge_eq_l=strong + moved)
    )


_IMPOSSIBLE = "no CO2 gives a water of that alkalinity and feed this pH: check alkalinity, ec and ph"


def _in_air(belief: Beliefs, air: Air) -> Beliefs:
    if air == "tank":
        return belief
    return replace(belief, exchange_per_h=np.full(len(belief.weight), _EXCHANGE_PER_H[air]))


def _spread(value: float, share: float, generator: np.random.Generator, count: int) -> Array:
    return np.asarray(value * np.exp(share * shuffled_normals(generator, count)))


def _possible(said: WaterSaid) -> Solution:
    water = described_water(said)
    if not np.isfinite(float(water.carbon_mol_l)):
        raise ValueError(_IMPOSSIBLE)
    return water


@dataclass(frozen=True, slots=True)
class Addition:
    """So much of a reagent in a litre of the water. text : as it was said."""

    text: str
    reagent: str
    mol_l: float


@dataclass(frozen=True, slots=True)
class Foretold:
    """What a water shows. Each span: exactly as described, with the range that a household's kit leaves open.

    text : what was added last; ``None`` for the water as it is.
    closed : its carbon dioxide kept in. aired : once at rest with the outdoor air.
    alkalinity_eq_l : what a titration would still find. [eq/L]
    """

    text: str | None
    closed: Span
    aired: Span
    alkalinity_eq_l: float


def foretold(said: WaterSaid, additions: Sequence[Addition] = ()) -> tuple[Foretold, ...]:
    """The water as described, then after each of these additions in turn.

    said : with an alkalinity; without a pH it is taken to stand at rest with the outdoor air.
    Raises ValueError where no such water can be.
    """
    exact = _possible(said)
    tried = _tried(said)
    generator = np.random.default_rng(_TRIALS)
    shown = [_shown(None, exact, tried)]
    for addition in additions:
        exact = with_reagent(exact, addition.reagent, addition.mol_l)
        amount = _spread(addition.mol_l, _SYRINGE_SHARE, generator, _TRIALS)
        tried = with_reagent(tried, addition.reagent, amount)
        shown.append(_shown(addition.text, exact, tried))
    return tuple(shown)


def _tried(said: WaterSaid) -> Solution:
    """Waters that the same kit and tester could have described so."""
    z = ndtri(even_shares(_TRIALS))
    shuffled = shuffled_normals(np.random.default_rng(1), _TRIALS)
    alkalinity = (said.alkalinity_eq_l or 0.0) * np.exp(DEFAULTS.said_alkalinity_share * z)
    seen = None if said.ph is None else said.ph + _TESTER * shuffled
    return described_water(said, alkalinity_eq_l=alkalinity, ph=seen)


def _shown(text: str | None, exact: Solution, tried: Solution) -> Foretold:
    shut = _span(float(ph(exact)), np.asarray(ph(tried)))
    left = _span(float(ph(aired(exact))), np.asarray(ph(aired(tried))))
    return Foretold(text, shut, left, float(alkalinity_eq_l(exact)))


def _span(middle: float, values: NDArray[np.float64]) -> Span:
    low, high = np.nanquantile(values, (0.1, 0.9))
    return Span(middle, min(middle, float(low)), max(middle, float(high)))
