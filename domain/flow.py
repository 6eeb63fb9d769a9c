"""How often the pump turns the water over, and how long roots stand dry between its runs."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = [
    "TOWER_DUTY",
    "Duty",
    "litres_per_hour",
    "minutes_to_mix",
    "minutes_to_turn_over",
    "turnovers_per_hour",
]


@dataclass(frozen=True, slots=True)
class Duty:
    """A pump's timer: so long on, so long off, over and over. [min]

    off_min : 0 for a pump that never stops.
    Raises ValueError unless it runs at all and no time is negative.
    """

    on_min: float
    off_min: float

    def __post_init__(self) -> None:
        if not (0 < self.on_min < math.inf and 0 <= self.off_min < math.inf):
            raise ValueError(f"a pump must run: {self.on_min} min on, {self.off_min} min off")

    @property
    def share(self) -> float:
        """The part of the time in which it runs."""
        return self.on_min / (self.on_min + self.off_min)

    @property
    def longest_dry_min(self) -> float:
        """How long roots wait for water between two runs; how long they bear it is another question. [min]"""
        return self.off_min


TOWER_DUTY = Duty(15.0, 45.0)
"""The timer of many home towers: common practice."""


def litres_per_hour(rated_l_h: float, duty: Duty, head_share: float = 1.0) -> float:
    """What the pump moves in an hour of its timer. [L/h]

    rated_l_h : by its label, 0 to 20 000. [L/h]
    head_share : what is left of that at the height it lifts to, above 0 to 1; by the pump's own curve.
    """
    if not (0 <= rated_l_h <= 20_000 and 0 < head_share <= 1):
        raise ValueError(f"no such pump: {rated_l_h} L/h, {head_share} of it at its height")
    return rated_l_h * head_share * duty.share


def turnovers_per_hour(rated_l_h: float, duty: Duty, volume_l: float, head_share: float = 1.0) -> float:
    """How often the whole tank passes the pump in an hour.

    volume_l : what is in the tank, above 0. [L]; the rest as in ``litres_per_hour``.
    """
    if not 0 < volume_l < math.inf:
        raise ValueError(f"no such tank: {volume_l} L")
    return litres_per_hour(rated_l_h, duty, head_share) / volume_l


def minutes_to_turn_over(rated_l_h: float, duty: Duty, volume_l: float, head_share: float = 1.0) -> float:
    """How long one turnover takes, the pump's rests included; infinite where nothing flows. [min]"""
    per_hour = turnovers_per_hour(rated_l_h, duty, volume_l, head_share)
    return 60.0 / per_hour if per_hour else math.inf


def minutes_to_mix(turnovers_an_hour: float, mixed_share: float = 0.95) -> float:
    """How long until a dose is spread so far, in a tank that mixes perfectly. [min]

    turnovers_an_hour : above 0. mixed_share : above 0, below 1.
    Source: first-order decay, the rest falls to 1/e with each turnover; 95 % takes three of them.
    A tank with dead corners takes longer.
    """
    if not (turnovers_an_hour > 0 and 0 < mixed_share < 1):
        raise ValueError(f"cannot mix: {turnovers_an_hour} turnovers an hour to {mixed_share}")
    return -math.log(1 - mixed_share) * 60.0 / turnovers_an_hour
