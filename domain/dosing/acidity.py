"""How much adjuster: the largest first portion that is safe in nearly all of the ways the tank may be."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from domain.bottles import Bottle, bottle_of
from domain.chemistry.solution import Quantity, Solution, mol_to_reach, ph
from domain.dosing.measures import DILUTION, measurable, needs_dilution
from domain.dosing.shapes import Predicted, Span
from domain.facts import Product
from domain.response import Beliefs
from domain.safety import Caps

__all__ = ["OVERSHOOT", "Portion", "Task", "effect", "portion"]

Array = NDArray[np.float64]

OVERSHOOT = 0.0025
"""The chance of passing a limit that one portion may carry. A correction takes two or three portions, and
tanks are odder than guesses: on simulated tanks one correction in a hundred passes, where twice as much makes
two. Our own design rule."""
SHIFT_RISK = 0.1
"""How sure a day's shift must stay within its cap; passing it a little hurts less than passing an edge."""
STRONGEST_RISK = 0.05
"""How sure the water must be not to mind a test portion, supposing that the bottle is the strongest sold;
that it is has a chance of one in a hundred itself."""
DAY_H = 24.0
_LEARNED_RATIO = 4.0
"""A bottle whose strength, or of which the whole amount, is known within this factor (four times in five) is
dosed as one with a label."""
_SHRINK = 0.8
_EC_PER_MMOL = {
    # Published check values (PHREEQC, alkalinity 100 mg/L): nitric +42 for 1.531, phosphoric -20 for 1.452,
    # sulfuric +32 uS/cm for 0.765 mmol/L. Organic acids free as few ions as phosphoric acid; the bases: a
    # potassium ion for each proton taken (KHCO3 1.10 mS/cm at 1 g/L), from memory.
    "nitric acid": 0.027,
    "phosphoric acid": -0.014,
    "sulfuric acid": 0.042,
    "citric acid": -0.02,
    "acetic acid": -0.01,
    "potassium hydroxide": 0.09,
    "potassium carbonate": 0.18,
    "potassium bicarbonate": 0.1,
}
"""What a millimole in a litre does to the strength. [mS/cm per mmol/L]"""


@dataclass(frozen=True, slots=True)
class Task:
    """What an adjuster is wanted for.

    ph_target : where the tank should stand a day later.
    far_edge : the tolerable edge beyond the target, which it must not pass.
    near_edge : the tolerable edge before the target.
    litres : the water that it goes into.
    day_start : the pH from which the day's shift counts.
    """

    product: Product
    ph_target: float
    far_edge: float
    near_edge: float
    caps: Caps
    lowers: bool
    litres: float
    day_start: float


@dataclass(frozen=True, slots=True)
class Portion:
    """The first portion, the whole amount, and the limit between them.

    first : as it can be measured; of the diluted product where ``dilution`` is more than one. [unit]
    low, middle, high : the whole amount to the target, undiluted. [unit]
    overshoot : chance that the first portion passes a limit. [0 to 1]
    limit : code of what bound it; ``None`` where it reaches the target.
    is_test : the bottle's strength is not known yet.
    per_unit, whole : by sample, what a unit does [mol/L] and how many it takes.
    """

    first: float
    dilution: int
    low: float
    middle: float
    high: float
    overshoot: float
    limit: str | None
    is_test: bool
    bottle: Bottle
    predicted: Predicted
    per_unit: Array
    whole: Array


def portion(beliefs: Beliefs, water: Solution, task: Task) -> Portion:
    """The first portion of this product for this water; zero where none is needed or none is safe.

    beliefs : samples of the tank, with the strength of this bottle.
    water : of the samples, at the time of the dose.
    """
    bottle = bottle_of(task.product)
    strength = beliefs.strength_of(task.product)
    per_unit = strength / beliefs.volume_l
    reach = _reaches(beliefs, water, task, bottle)
    whole = reach["target"] / per_unit
    is_test = _is_test(beliefs, task.product, strength, whole)
    ceilings = _ceilings(beliefs, task, bottle, reach, per_unit, is_test)
    tightest, ceiling = min(ceilings.items(), key=lambda item: item[1])
    wanted = beliefs.quantile(whole, 0.5)
    limit = tightest if ceiling < wanted else None
    ceiling = min(ceiling, wanted)
    first, dilution = _measured(ceiling, bottle.unit)
    chance, predicted = _checked(beliefs, water, task, first / dilution)
    while chance > OVERSHOOT and first > 0:
        limit = limit or "overshoot"
        first, dilution = _measured(first / dilution * _SHRINK, bottle.unit)
        chance, predicted = _checked(beliefs, water, task, first / dilution)
    return Portion(
        first=first,
        dilution=dilution,
        low=beliefs.quantile(whole, 0.1),
        middle=wanted,
        high=beliefs.quantile(whole, 0.9),
        overshoot=chance,
        limit=limit,
        is_test=is_test,
        bottle=bottle,
        predicted=predicted,
        per_unit=per_unit,
        whole=whole,
    )


def effect(beliefs: Beliefs, water: Solution, product: Product, amount: float) -> Predicted:
    """What so much of an adjuster would do to this water. [amount in the bottle's unit]"""
    dosed = beliefs.with_dose(water, product, amount)
    now = np.asarray(ph(dosed))
    _, later = beliefs.in_air(dosed, DAY_H)
    return Predicted(span(beliefs, now), span(beliefs, later))


def ec_change_ms_cm(beliefs: Beliefs, product: Product, amount: float) -> float:
    """What so much of an adjuster does to the strength, in the middle of what is believed. [mS/cm]"""
    mol_l = amount * beliefs.strength_of(product) / beliefs.volume_l
    return _EC_PER_MMOL[bottle_of(product).reagent] * 1e3 * beliefs.quantile(mol_l, 0.5)


def span(beliefs: Beliefs, values: Array) -> Span:
    """The middle and the four-in-five range of what is believed."""
    return Span(*(beliefs.quantile(values, share) for share in (0.5, 0.1, 0.9)))


def _is_test(beliefs: Beliefs, product: Product, strength: Array, whole: Array) -> bool:
    """Neither its label nor an answer of this tank tells the bottle's strength, or at least the whole."""
    if bottle_of(product).is_known:
        return False
    if not beliefs.has_answered(product):
        return True
    return all(
        beliefs.quantile(values, 0.9) > _LEARNED_RATIO * beliefs.quantile(values, 0.1)
        for values in (strength, whole)
    )


def _reaches(beliefs: Beliefs, water: Solution, task: Task, bottle: Bottle) -> dict[str, Array]:
    """Moles a litre that bring each sample to the target and to each limit; zero where it is there already.

    To ``just_after`` with its CO2 still in, to all others a day later.
    """
    shift = task.caps.settled_shift_per_day * (-1.0 if task.lowers else 1.0)
    just_after = task.caps.lowest_ph_just_after if task.lowers else task.caps.highest_ph_just_after
    later = {"target": task.ph_target, "far_edge": task.far_edge}
    if np.isfinite(shift):
        later["settled_shift"] = task.day_start + shift
    ends = np.array([*later.values(), just_after])[:, None]
    shut = _reachable(mol_to_reach(water, bottle.reagent, ends))
    rested = _reachable(mol_to_reach(water, bottle.reagent, ends[:-1], aired=True, pco2_atm=beliefs.pco2_atm))
    # By the end of the day this share of the way to rest is done: a blend of the two ends, checked
    # afterwards.
    kept = np.exp(-beliefs.exchange_per_h * DAY_H)
    blended = kept * shut[:-1] + (1.0 - kept) * rested
    return {**dict(zip(later, blended, strict=True)), "just_after": shut[-1]}


_OUT_OF_REACH_MOL_L = 0.02
"""Stands for an amount that does not exist: a weak acid never gets there."""


def _reachable(amount: Quantity) -> Array:
    return np.where(np.isfinite(amount), amount, _OUT_OF_REACH_MOL_L)


def _ceilings(
    beliefs: Beliefs, task: Task, bottle: Bottle, reach: dict[str, Array], per_unit: Array, is_test: bool
) -> dict[str, float]:
    """The largest amount that each limit allows, by the limit's code. [unit]"""
    limits = {
        "just_after": beliefs.quantile(reach["just_after"] / per_unit, OVERSHOOT),
        "far_edge": beliefs.quantile(reach["far_edge"] / per_unit, OVERSHOOT),
        "per_litre": task.caps.concentrate_ml_per_l * task.litres,
    }
    if "settled_shift" in reach:
        limits["settled_shift"] = beliefs.quantile(reach["settled_shift"] / per_unit, SHIFT_RISK)
    if is_test and not beliefs.has_answered(task.product):
        smaller = np.minimum(reach["just_after"], reach["far_edge"]) * beliefs.volume_l / bottle.high
        limits["strongest_bottle"] = beliefs.quantile(smaller, STRONGEST_RISK)
    return limits


def _measured(amount: float, unit: str) -> tuple[float, int]:
    """The amount as it can be measured, and how far to dilute for it."""
    if amount <= 0:
        return 0.0, 1
    if needs_dilution(amount, unit) and unit == "ml":
        return measurable(amount * DILUTION, unit), DILUTION
    return measurable(amount, unit), 1


def _checked(beliefs: Beliefs, water: Solution, task: Task, amount: float) -> tuple[float, Predicted]:
    """The chance that this amount passes a limit, and what it would do."""
    dosed = beliefs.with_dose(water, task.product, amount)
    now = np.asarray(ph(dosed))
    _, later = beliefs.in_air(dosed, DAY_H)
    predicted = Predicted(span(beliefs, now), span(beliefs, later))
    if task.lowers:
        passes = (now < task.caps.lowest_ph_just_after) | (later < task.far_edge)
    else:
        passes = (now > task.caps.highest_ph_just_after) | (later > task.far_edge)
    return beliefs.chance(passes), predicted
