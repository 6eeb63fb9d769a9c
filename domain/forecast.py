"""Where a value of the water is going: the trend since the last hand in it, and when it leaves its band.

The trend is the median of the slopes between all pairs of readings (Theil 1950, Sen 1968): up to 29 % of
the readings may be slips. What is foretold widens by the tester's noise, by how well the slope is known, and
by how much the drift itself changes from day to day; the widths are set so that of the true crossings in
simulated tanks eight in ten fall inside (``benchmarks.forecast``; other tanks than those they were set on).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Literal

import numpy as np

from domain.history import Hand, HandKind, Point, Quantity
from domain.tank import DEFAULTS

__all__ = ["INSIDE", "LOOKS_BACK", "Expected", "Leaves", "TooLittle", "Trend", "trend"]

INSIDE = 0.8
"""The share of the true values that the interval holds."""

LEAST_READINGS = 3
LEAST_SPAN = timedelta(hours=12)
"""Fewer readings, or closer together, show the tester's noise and no trend: our own design rule."""

FARTHEST = timedelta(days=14)
"""Beyond this nothing is foretold: somebody will have had a hand in the water by then (common practice)."""

SETTLING = timedelta(minutes=30)
"""Readings so soon after a hand in the water show it still mixing: common practice."""

LOOKS_BACK = timedelta(days=10)
"""Older readings tell of younger plants and of other weather: our own design rule."""

_STEP_DAYS = 1 / 48
_DAY_S = 86_400.0
_SIDE = 1.2816
"""The normal deviate that a tenth lies beyond."""
_MAD = 1.4826
"""Median absolute deviation to standard deviation, for normal noise."""

_OTHER_TESTER = {"water_temp_c": 0.5, "level_l": 0.7}
"""One deviation of a home thermometer, and of a level read by eye: common practice."""

_UNMOVED: Mapping[Quantity, frozenset[HandKind]] = MappingProxyType(
    {
        "ph": frozenset(),
        "ec_ms_cm": frozenset(("ph_down", "ph_up")),
        "water_temp_c": frozenset(("ph_down", "ph_up", "nutrient", "other", "top_up")),
        "level_l": frozenset(("ph_down", "ph_up", "nutrient", "other")),
    }
)
"""Hands that leave a quantity as it was, as far as a home tester can tell. Acid moves EC by under 0.05 mS/cm
(computed with PHREEQC: reference water of 100 mg/L CaCO3)."""

_WANDER: Mapping[Quantity, float] = MappingProxyType(
    {"ph": 0.04, "ec_ms_cm": 0.02, "water_temp_c": 0.4, "level_l": 0.1}
)
"""How far the drift may change by itself, one deviation. [unit a day]"""

_CHANGES: Mapping[Quantity, float] = MappingProxyType(
    {"ph": 0.35, "ec_ms_cm": 0.5, "water_temp_c": 0.3, "level_l": 0.25}
)
"""And as a share of the drift."""

_QUICKENS: Mapping[Quantity, float] = MappingProxyType(
    {"ph": 0.03, "ec_ms_cm": 0.15, "water_temp_c": 0.0, "level_l": 0.1}
)
"""By what share of itself the drift grows: plants grow, and what they drink comes out of less water. [a day]

These three are set on simulated tanks, with the testers of ``domain.tank.DEFAULTS``: whoever changes either
prints ``benchmarks.forecast`` again. Those of the water's warmth are our own design rule, for it goes by the
weather of the room."""

STEADY: Mapping[Quantity, float] = MappingProxyType(
    {"ph": 0.03, "ec_ms_cm": 0.02, "water_temp_c": 0.2, "level_l": 0.2}
)
"""A drift under this is called steady: a tester shows none in a day. [unit a day] Our own design rule."""


@dataclass(frozen=True, slots=True)
class Expected:
    """What a value should be at a time: its middle, and the ends between which eight in ten lie."""

    at: datetime
    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class Leaves:
    """When a value leaves its band.

    side, edge : by which end, and its value.
    at : the best guess. soonest, latest : eight in ten of true crossings lie between; ``None`` for later than
        anything is foretold.
    """

    side: Literal["low", "high"]
    edge: float
    at: datetime
    soonest: datetime
    latest: datetime | None


@dataclass(frozen=True, slots=True)
class TooLittle:
    """There are too few readings for a trend.

    readings : how many there are since ``hand``, the last thing that was done to the water.
    """

    what: Quantity
    readings: int
    hand: Hand | None


@dataclass(frozen=True, slots=True)
class Trend:
    """How a value moves by itself.

    since : the first reading that counts; hand : the last thing that was done to the water, before it.
    readings : how many count. last_at : when the last of them was taken.
    per_day : the drift. [unit a day] per_day_spread : one deviation of it.
    centre_at, centre, centre_spread : the point that the line goes through, and one deviation there.
    wander : how far the drift may change by itself, one deviation. [unit a day]
    quickens : by what share of itself the drift grows. [a day]
    """

    what: Quantity
    since: datetime
    hand: Hand | None
    readings: int
    last_at: datetime
    per_day: float
    per_day_spread: float
    centre_at: datetime
    centre: float
    centre_spread: float
    wander: float
    quickens: float

    @property
    def per_hour(self) -> float:
        """[unit an hour]"""
        return self.per_day / 24.0

    @property
    def is_steady(self) -> bool:
        """It moves less than a tester shows, or nobody can tell which way."""
        return abs(self.per_day) < STEADY[self.what] or abs(self.per_day) < self.per_day_spread

    def expected(self, at: datetime) -> Expected:
        """What the value should be at a time; nothing limits it to what a tank can show."""
        middle, spread = self._foretold((at - self.last_at).total_seconds() / _DAY_S)
        return Expected(at, float(middle - _SIDE * spread), float(middle), float(middle + _SIDE * spread))

    def leaves(self, low: float, high: float) -> Leaves | None:
        """When the value leaves the band; ``None`` where it is outside, or stays in as far as is foretold."""
        if self.is_steady or not low <= self.expected(self.last_at).middle <= high:
            return None
        side: Literal["low", "high"] = "high" if self.per_day > 0 else "low"
        edge, sign = (high, 1.0) if side == "high" else (low, -1.0)
        days = np.arange(0.0, FARTHEST / timedelta(days=1), _STEP_DAYS)
        middle, spread = self._foretold(days)
        past = sign * (middle - edge)
        at = self._first(days, past >= 0)
        if at is None:
            return None
        soonest = self._first(days, past + _SIDE * spread >= 0)
        return Leaves(side, edge, at, soonest or at, self._first(days, past - _SIDE * spread >= 0))

    def _foretold(self, days: float | np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The middle and one deviation, so many days after the last reading."""
        from_centre = days + (self.last_at - self.centre_at).total_seconds() / _DAY_S
        ahead = np.maximum(days, 0.0)
        middle = self.centre + self.per_day * (from_centre + self.quickens / 2.0 * ahead**2)
        known = np.hypot(self.centre_spread, self.per_day_spread * from_centre)
        return np.asarray(middle), np.hypot(known, self.wander * ahead)

    def _first(self, days: np.ndarray, is_past: np.ndarray) -> datetime | None:
        return self.last_at + timedelta(days=float(days[np.argmax(is_past)])) if is_past.any() else None


def trend(points: Sequence[Point], hands: Sequence[Hand], what: Quantity, now: datetime) -> Trend | TooLittle:
    """How a value has moved since the last hand in the water that could have moved it.

    points : every value read, in order; doubted ones do not count.
    hands : everything done to the water, in order.
    now : aware; nothing after it counts.
    """
    hand = next((h for h in reversed(hands) if h.at <= now and h.kind not in _UNMOVED[what]), None)
    begins = max(now - LOOKS_BACK, hand.at + SETTLING if hand is not None else now - LOOKS_BACK)
    usable = [point for point in points if not point.doubted and begins <= point.at <= now]
    if len(usable) < LEAST_READINGS or usable[-1].at - usable[0].at < LEAST_SPAN:
        return TooLittle(what, len(usable), hand)
    last_at = usable[-1].at
    days = np.array([(point.at - last_at).total_seconds() / _DAY_S for point in usable])
    values = np.array([point.value for point in usable])
    per_day = _median_slope(days, values)
    centre_day = float(np.mean(days))
    left = values - per_day * (days - centre_day)
    centre = float(np.median(left))
    noise = max(_tester(usable, what), _MAD * float(np.median(np.abs(left - centre))))
    span = math.sqrt(float(np.sum((days - centre_day) ** 2)))
    return Trend(
        what=what,
        since=usable[0].at,
        hand=hand,
        readings=len(usable),
        last_at=last_at,
        per_day=per_day,
        per_day_spread=noise / span,
        centre_at=last_at + timedelta(days=centre_day),
        centre=centre,
        centre_spread=noise / math.sqrt(len(usable)),
        wander=math.hypot(_WANDER[what], _CHANGES[what] * per_day),
        quickens=_QUICKENS[what],
    )


def _median_slope(days: np.ndarray, values: np.ndarray) -> float:
    """The median of the slopes between all pairs of readings; those taken at one time have none."""
    one, other = np.triu_indices(len(days), 1)
    apart = days[other] - days[one]
    slopes = (values[other] - values[one])[apart > 0] / apart[apart > 0]
    return float(np.median(slopes))


def _tester(usable: Sequence[Point], what: Quantity) -> float:
    """One deviation of what the tester shows. [unit]"""
    if what == "ph":
        strips = [point.approx for point in usable]
        rough = 2 * sum(strips) > len(strips)
        return DEFAULTS.approx_ph_spread if rough else DEFAULTS.ph_tester_spread
    if what == "ec_ms_cm":
        return DEFAULTS.ec_tester_share * float(np.median([point.value for point in usable]))
    return _OTHER_TESTER[what]
