"""How guesses are weighed by what was seen beside what each of them foretold."""

from __future__ import annotations

import math

import numpy as np

from domain.guesses import Array, effective, normalised

__all__ = ["surprise", "weighed"]

_STRAYS_PH = (0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.6, 1.0)
_LEAST_ALIVE = 0.1
"""Share of the guesses that one reading must leave standing; a sharper verdict on fewer would be chance."""


def surprise(weight: Array, missed: Array, variance: Array) -> float:
    """By how many deviations the guesses as a whole missed a reading."""
    middle = float(np.sum(weight * missed))
    return abs(middle) / math.sqrt(float(np.sum(weight * ((missed - middle) ** 2 + variance))))


def weighed(log_weight: Array, missed: Array, wander: Array, tester: float) -> tuple[Array, Array]:
    """How far the model may have strayed, and the logarithm of each guess's likelihood with that.

    The model's own error is not known: it is taken as small as leaves enough guesses standing to be told
    apart.
    """
    floor = len(log_weight) * _LEAST_ALIVE
    for stray in _STRAYS_PH:
        wider = np.hypot(wander, stray)
        variance = wider**2 + tester**2
        likelihood = -0.5 * missed**2 / variance - 0.5 * np.log(variance)
        if effective(normalised(log_weight + likelihood)) >= floor:
            break
    return wider, likelihood
