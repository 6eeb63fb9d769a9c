"""What a jar test tells: a litre of the tank's water, dosed in a jar instead of in the tank.

Its volume is exact and its answer comes in minutes, so that it tells the ratio of bottle to buffer better
than a dose in the tank does.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from domain.bottles import Bottle
from domain.chemistry.solution import Solution, charge_to_reach, mol_to_reach, ph
from domain.guesses import Array, Guesses, bottle_key, poured
from domain.happenings import Jarred

__all__ = ["JAR_TESTERS", "jar_missed", "strength_by_jar"]

_SHARE = 0.08
"""One deviation of what a syringe and a mix of one part and nine are off by together: common practice."""
JAR_TESTERS = math.sqrt(2.0)
"""Both ends were read with the same tester: its error counts twice, squared."""
_STEP_PH = 0.02


def jar_missed(guesses: Guesses, jar: Jarred, bottle: Bottle, z: Array) -> Array:
    """By how much each guess misses the pH that the jar ended at, its CO2 still in. [pH]

    z : standard normal numbers, one a guess.
    """
    mol_l = jar.ml_per_l * guesses.strength[bottle_key(jar.product)] * np.exp(_SHARE * z)
    in_jar = poured(_filled(guesses.water, jar), bottle, mol_l, guesses.phosphoric)
    return jar.ph_to - np.asarray(ph(in_jar))


def strength_by_jar(
    guesses: Guesses, jar: Jarred, bottle: Bottle, tester: float, z: Array, z_share: Array
) -> Guesses:
    """The guesses with the strength that their own water asks for, in the place of one drawn blindly.

    Of a bottle that nothing else has told of, hardly any strength drawn from all bottles sold fits an answer
    as sharp as a jar's. So each guess is given the strength that brings its water to the pH that was seen,
    the tester's error put on, and the weight that Bayes' rule gives that strength: its density before, over
    the slope by which pH follows it.

    tester : one deviation. [pH] z, z_share : standard normal numbers, one a guess.
    """
    water = _filled(guesses.water, jar)
    seen = jar.ph_to + tester * z
    with np.errstate(divide="ignore", invalid="ignore"):
        mol_l = _mol_l(water, bottle, seen, guesses.phosphoric)
        beside = (_mol_l(water, bottle, seen + step, guesses.phosphoric) for step in (-_STEP_PH, _STEP_PH))
        less, more = (np.log(amount) for amount in beside)
        log_strength = np.log(mol_l / jar.ml_per_l) + _SHARE * z_share
        before = -0.5 * ((log_strength - math.log(bottle.middle)) / bottle.deviation) ** 2
        log_weight = guesses.log_weight + before + np.log(np.abs(more - less))
    fits = np.isfinite(log_weight) & (log_strength <= math.log(bottle.high))
    strength = np.where(fits, np.exp(np.where(fits, log_strength, 0.0)), bottle.middle)
    return replace(
        guesses,
        log_weight=np.where(fits, log_weight, -np.inf),
        strength={**guesses.strength, bottle_key(jar.product): strength},
    )


def _filled(water: Solution, jar: Jarred) -> Solution:
    """The tank's water as it was read in the jar, before anything went in."""
    strong = np.asarray(water.strong_charge_eq_l) + np.asarray(charge_to_reach(water, jar.ph_from))
    return replace(water, strong_charge_eq_l=strong)


def _mol_l(water: Solution, bottle: Bottle, shown: Array, phosphoric: Array) -> Array:
    """How much of what is in the bottle brings each water to this pH; NaN where none does."""
    if bottle.is_named or bottle.role != "ph_down":
        return np.asarray(mol_to_reach(water, bottle.reagent, shown))
    nitric = np.asarray(mol_to_reach(water, "nitric acid", shown))
    other = np.asarray(mol_to_reach(water, "phosphoric acid", shown))
    return np.where(phosphoric > 0.5, other, nitric)
