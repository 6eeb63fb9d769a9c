"""What no tank has. Everything that decides whether a number may be recorded stands here (rules 4 to 6)."""

from __future__ import annotations

from typing import Literal

from domain.units import celsius_from_fahrenheit

__all__ = [
    "MAX_ADJUSTER_ML",
    "MAX_HARVEST_G",
    "MAX_NUTRIENT",
    "SLOT_RANGES",
    "dose_is_plausible",
    "ec_from_unnamed",
    "is_plausible",
    "temperature_c",
]

SLOT_RANGES: dict[str, tuple[float, float]] = {
    "ph": (2, 12),
    "ec_ms_cm": (0, 10),
    "water_temp_c": (0, 45),
    "air_temp_c": (-10, 55),
    "humidity_pct": (0, 100),
    "level_l": (0, 10_000),
    # Water at 0 °C holds about 14.6 mg/L under air; pure oxygen can triple that (common practice).
    "dissolved_oxygen_mg_l": (0, 45),
}
"""Lowest and highest value of each slot of a reading (message contract, rule 6; oxygen: see above)."""

AIR_WITHOUT_UNIT_C = (5.0, 45.0)
"""Air temperatures that a number without a unit may mean (rule 5). [°C]"""

MAX_ADJUSTER_ML = 1000
MAX_NUTRIENT = {"ml": 5000, "g": 5000}
MAX_HARVEST_G = 50_000
"""More than any household picks in one go. [g]"""
MAX_COUNTED = 200
"""More drops, squirts or scoops than anybody counts."""

EC_UP_TO_MS_CM = 10
US_CM_FROM = 100


def is_plausible(slot: str, value: float) -> bool:
    """Whether a tank may have this value."""
    low, high = SLOT_RANGES[slot]
    return low <= value <= high


def dose_is_plausible(role: str, amount: float, unit: str) -> bool:
    """Whether one dose may be this big."""
    if amount <= 0:
        return False
    if unit not in ("ml", "g"):
        return amount <= MAX_COUNTED
    return amount <= (MAX_ADJUSTER_ML if role in ("ph_down", "ph_up") else MAX_NUTRIENT[unit])


def temperature_c(slot: str, value: float, unit: str, *, fahrenheit: bool) -> float | None:
    """The temperature in °C, ``None`` where no unit makes it plausible.

    unit : ``c``, ``f``, or ``deg`` for none; then the household's own is tried first.
    fahrenheit : the household's own unit is °F.
    """
    if unit == "c":
        return value if is_plausible(slot, value) else None
    if unit == "f":
        in_c = celsius_from_fahrenheit(value)
        return in_c if is_plausible(slot, in_c) else None
    low, high = AIR_WITHOUT_UNIT_C if slot == "air_temp_c" else SLOT_RANGES[slot]
    choices = (value, celsius_from_fahrenheit(value))
    for choice in reversed(choices) if fahrenheit else choices:
        if low <= choice <= high:
            return choice
    return None


def ec_from_unnamed(value: float) -> float | Literal["ambiguous"]:
    """The EC that a number without a unit means: mS/cm up to 10, µS/cm from 100. [mS/cm]"""
    if value <= EC_UP_TO_MS_CM:
        return value
    return value / 1000 if value >= US_CM_FROM else "ambiguous"
