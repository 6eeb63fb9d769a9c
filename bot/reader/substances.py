"""What is dissolved in water and measured by itself: its number is never the strength of the solution."""

from __future__ import annotations

from bot.reader.fillers import SKIPPED, words
from bot.reader.items import Item

__all__ = ["is_of_substance"]

_SUBSTANCES = words(
    "alkalinity hardness kh gh dkh dgh chlorine chloramine chloride nitrate nitrates nitrite nitrites "
    "nitrogen ammonia ammonium calcium magnesium potassium sodium phosphate phosphates phosphorus iron "
    "sulphate sulfate carbonate bicarbonate silica silicate copper zinc manganese boron fluoride "
    "caco3 no3 no2 nh3 nh4 po4 co2"
)
_FORMULAS = words("no nh po so caco")
"""What stands before the digit of a formula: ``NO3``."""
_MOST_BETWEEN = 4


def is_of_substance(items: list[Item], first: int, last: int) -> bool:
    """Whether the value of items ``first`` to ``last`` is of something in the water: ``nitrate 40 ppm``."""
    i = first - 1
    while i >= 0 and first - i <= _MOST_BETWEEN and items[i].key in SKIPPED:
        i -= 1
    if i >= 0 and (items[i].key in _SUBSTANCES or _is_formula(items, i - 1)):
        return True
    if items[last].key == "#num" and first == last:
        return False
    i = last + 2 if _key(items, last + 1) in ("of", "as") else last + 1
    if _is_formula(items, i):
        i += 1
    elif _key(items, i) not in _SUBSTANCES:
        return False
    i += 1
    while _key(items, i) in SKIPPED:
        i += 1
    return not _key(items, i).startswith("#")  # ``ppm 720 hardness 250``


def _is_formula(items: list[Item], i: int) -> bool:
    """Whether items ``i`` and the next are ``no`` and ``3`` without a space."""
    if not 0 <= i < len(items) - 1 or items[i].key not in _FORMULAS:
        return False
    return items[i + 1].key == "#num" and items[i + 1].start == items[i].end


def _key(items: list[Item], i: int) -> str:
    return items[i].key if i < len(items) else ""
