"""Amounts that a household can measure: what a syringe, a kitchen scale or a jug can tell apart."""

from __future__ import annotations

import math

__all__ = ["DILUTION", "measurable", "needs_dilution", "smallest"]

DILUTION = 10
"""Parts that one part of adjuster is brought to where neat drops would be too coarse: one and nine of
water."""

_STEPS: dict[str, tuple[tuple[float, float], ...]] = {
    # Up to this amount, in steps of this. A 1 ml syringe is marked at 0.01 to 0.05, a 5 ml one at 0.1 to 0.2,
    # a 20 ml one at 1 (read at 0.5); pocket scales at 0.1 g, kitchen scales at 1 g: common practice.
    "ml": ((1.0, 0.05), (5.0, 0.1), (20.0, 0.5), (math.inf, 1.0)),
    "g": ((10.0, 0.1), (math.inf, 1.0)),
    "l": ((5.0, 0.1), (20.0, 0.5), (math.inf, 1.0)),
}
_NEAT_AT_LEAST = {"ml": 0.5, "g": 0.2}


def smallest(unit: str) -> float:
    """The least amount that can be measured. [unit]"""
    return _STEPS[unit][0][1]


def measurable(amount: float, unit: str, *, up: bool = False) -> float:
    """The amount as it can be measured, rounded down, or up where asked.

    amount : not negative. [unit]
    unit : ml, g or l.
    Returns zero for less than the smallest mark when rounding down.
    """
    step = next(step for limit, step in _STEPS[unit] if amount <= limit)
    # The small term keeps 0.3 / 0.1 from falling below 3.
    marks = math.ceil(amount / step - 1e-9) if up else math.floor(amount / step + 1e-9)
    return round(marks * step, 4)


def needs_dilution(amount: float, unit: str) -> bool:
    """The amount is too small to be measured neat with less than a tenth of error or so."""
    return amount < _NEAT_AT_LEAST.get(unit, 0.0)
