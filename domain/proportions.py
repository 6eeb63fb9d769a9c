"""How well a share is known from a few trials.

Source: Brown, Cai and DasGupta 2001, Interval estimation for a binomial proportion, Statistical Science
16:101, who advise Jeffreys' or Wilson's interval for up to about 40 trials; Newcombe 1998, Statistics in
Medicine 17:873, method 10, for the difference of two shares.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

__all__ = ["Interval", "difference", "jeffreys", "wilson"]


@dataclass(frozen=True, slots=True)
class Interval:
    """Where a share, or a difference of two, is likely to lie."""

    low: float
    high: float

    def __contains__(self, value: float) -> bool:
        return self.low <= value <= self.high


def wilson(came: int, trials: int, level: float = 0.95) -> Interval:
    """Wilson's score interval of ``came`` in ``trials``, at ``level`` between 0 and 1.

    Raises ValueError where there was no trial, or more came than were tried.
    """
    _check(came, trials, level)
    z = NormalDist().inv_cdf((1 + level) / 2)
    share, weight = came / trials, z * z / trials
    middle = (share + weight / 2) / (1 + weight)
    half = z / (1 + weight) * math.sqrt(share * (1 - share) / trials + weight / (4 * trials))
    return Interval(
        0.0 if came == 0 else middle - half,
        1.0 if came == trials else middle + half,
    )


def jeffreys(came: int, trials: int, level: float = 0.95) -> Interval:
    """Jeffreys' interval with equal tails; its end is 0 where none came, 1 where all did.

    Arguments and errors as for ``wilson``.
    """
    from scipy.special import betaincinv

    _check(came, trials, level)
    tail = (1 - level) / 2
    a, b = came + 0.5, trials - came + 0.5
    return Interval(
        0.0 if came == 0 else float(betaincinv(a, b, tail)),
        1.0 if came == trials else float(betaincinv(a, b, 1 - tail)),
    )


def difference(first: tuple[int, int], second: tuple[int, int], level: float = 0.95) -> Interval:
    """By how much the first share lies above the second; where 0 is within, the trials cannot tell.

    first, second : what came, of how many trials.
    """
    shares = [came / trials for came, trials in (first, second)]
    one, two = (wilson(*each, level) for each in (first, second))
    middle = shares[0] - shares[1]
    return Interval(
        middle - math.hypot(shares[0] - one.low, two.high - shares[1]),
        middle + math.hypot(one.high - shares[0], shares[1] - two.low),
    )


def _check(came: int, trials: int, level: float) -> None:
    if not (0 <= came <= trials and trials > 0 and 0 < level < 1):
        raise ValueError(f"no share of trials: {came} of {trials} at {level}")
