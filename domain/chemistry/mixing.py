"""What runs together, what is lost to the air, what is let out: balances of mass in a tank.

Strengths are in any one unit that mixes linearly: mg/L, mmol/L, and EC at 25 degC to within a few per cent.
Volumes are in litres. pH does not mix: see ``solution.mixed``.
"""

from __future__ import annotations

import math

__all__ = [
    "after_evaporation",
    "after_swaps",
    "after_top_up",
    "bleed_half_time",
    "litres_to_dilute",
    "refill_strength",
    "resting_strength_with_bleed",
    "stock_ml",
    "swap_fraction",
    "swaps_to_leave",
]

_ROUNDING = 1e-9
"""A share this far outside is a share on the edge."""


def swap_fraction(now: float, water: float, wanted: float) -> float:
    """Share of the tank to replace by ``water`` for it to come to the ``wanted`` strength. 0 to 1.

    Raises ValueError where that water cannot bring it there.
    """
    share = (now - wanted) / (now - water) if now != water else math.nan
    if not -_ROUNDING <= share <= 1.0 + _ROUNDING:
        raise ValueError(f"swapping {now} for {water} never gives {wanted}")
    return min(max(share, 0.0), 1.0)


def after_swaps(now: float, water: float, fraction: float, times: int = 1) -> float:
    """Strength after this share of the tank was replaced ``times`` times. fraction : 0 to 1."""
    return float(water + (now - water) * (1.0 - fraction) ** times)


def swaps_to_leave(share: float, fraction: float) -> int:
    """How many swaps with pure water leave at most a ``share`` of what is in there.

    share : 0 to 1, zero excluded. fraction : replaced each time, 0 excluded to 1 excluded.
    """
    return max(0, math.ceil(math.log(share) / math.log(1.0 - fraction)))


def litres_to_dilute(volume_l: float, now: float, water: float, wanted: float) -> float:
    """Water to add, with nothing let out, for the wanted strength. [L]

    Raises ValueError where that water cannot bring it there.
    """
    share = (now - wanted) / (wanted - water) if wanted != water else math.nan
    if not share >= -_ROUNDING:
        raise ValueError(f"adding {water} to {now} never gives {wanted}")
    return volume_l * max(share, 0.0)


def after_top_up(now: float, volume_l: float, water: float, added_l: float) -> float:
    """Strength after ``added_l`` of ``water`` went on top of ``volume_l``."""
    return (now * volume_l + water * added_l) / (volume_l + added_l)


def after_evaporation(now: float, volume_l: float, lost_l: float, taken_up: float = 0.0) -> float:
    """Strength after water left and its salts stayed.

    lost_l : evaporated and transpired; less than ``volume_l``. [L]
    taken_up : what plants took out meanwhile, in strength times litres (mg where the strength is mg/L).
    """
    return (now * volume_l - taken_up) / (volume_l - lost_l)


def bleed_half_time(volume_l: float, bled_l_per_day: float) -> float:
    """Days until a steady bleed, made up with pure water, halves what is in there."""
    return math.log(2.0) * volume_l / bled_l_per_day


def resting_strength_with_bleed(water: float, lost_l_per_day: float, bled_l_per_day: float) -> float:
    """Where an ion that no plant takes comes to rest, with losses and bleed made up from ``water``."""
    return water * (lost_l_per_day + bled_l_per_day) / bled_l_per_day


def stock_ml(volume_l: float, rise: float, rise_per_ml_per_l: float) -> float:
    """Concentrate that raises a tank by ``rise``. [mL]

    rise_per_ml_per_l : what one millilitre in one litre adds, by its label or measured.
    """
    return volume_l * rise / rise_per_ml_per_l


def refill_strength(tissue_mg_g: float, dry_g_per_litre: float) -> float:
    """Strength of a refill that replaces what plants take with their water. [mg/L]

    tissue_mg_g : of the element in dry plant. [mg/g]
    dry_g_per_litre : dry plant grown per litre transpired, 3 to 6. [g/L]
    Source: Langenfeld et al. 2022, Sustainability 14:10204, the principle and the range.
    """
    return tissue_mg_g * dry_g_per_litre
