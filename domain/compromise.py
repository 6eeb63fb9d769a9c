"""One value for many plants: the interval that suits all, or that costs them least where none does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Wish", "compromise", "cost"]

_SAME = 1e-9
"""Costs that differ by less are one and the same: rounding of floats."""


@dataclass(frozen=True, slots=True)
class Wish:
    """One interval that somebody wants, and how much it counts.

    low, high : its ends, low <= high.
    weight : how many plants want it. [> 0]
    """

    low: float
    high: float
    weight: float


def compromise(wishes: Sequence[Wish], *, above_costs: float = 1.0) -> tuple[float, float]:
    """The values that cost the wishes least, as one interval.

    wishes : at least one.
    above_costs : what being above a wish costs for each unit of being below it. [> 0]
    Returns the ends of the set of values x at which ``cost(wishes, x)`` is least: the sum over all wishes of
    weight x how far x lies outside the wish, times ``above_costs`` where it lies above. Where some x suits
    all, that set is just what suits all.

    The cost is convex and made of straight pieces that meet at ends of wishes, so that the set is an interval
    between two such ends, and looking at the ends alone finds it.
    """
    ends = sorted({end for wish in wishes for end in (wish.low, wish.high)})
    costs = [cost(wishes, end, above_costs=above_costs) for end in ends]
    least = min(costs)
    best = [end for end, its_cost in zip(ends, costs, strict=True) if its_cost - least <= _SAME]
    return best[0], best[-1]


def cost(wishes: Sequence[Wish], value: float, *, above_costs: float = 1.0) -> float:
    """What ``value`` costs the wishes, by the sum that ``compromise`` makes least."""
    return sum(
        wish.weight * (max(0.0, wish.low - value) + above_costs * max(0.0, value - wish.high))
        for wish in wishes
    )
