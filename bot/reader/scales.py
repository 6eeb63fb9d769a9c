"""The ppm scale that a text names: ``720 ppm (700 scale)``, ``ppm500 720``, ``720 @ 500`` (rule 4)."""

from __future__ import annotations

from bot.reader.items import Item
from bot.reader.numbers import Number
from bot.reader.result import PPM_SCALES
from bot.reader.slots import LEAST_PPM

__all__ = ["scale_in"]


def scale_in(items: list[Item], default: int) -> tuple[int, frozenset[int]]:
    """The scale that a text names, and the items that name it; else ``default`` and none. [ppm per mS/cm]"""
    keys = [item.key for item in items]
    for i, item in enumerate(items):
        if item.key != "#num" or not isinstance(item.value, Number) or item.value.value not in PPM_SCALES:
            continue
        named = _naming(items, keys, i)
        if named:
            return int(item.value.value), named
    return default, frozenset()


def _naming(items: list[Item], keys: list[str], i: int) -> frozenset[int]:
    """The items that make the number at item ``i`` a scale; none where it is no scale."""
    before, earlier = _key(keys, i - 1), _key(keys, i - 2)
    after = _key(keys, i + 1)
    if after == "scale" or (after == "-" and _key(keys, i + 2) == "scale"):
        return frozenset((i, i + 1))
    if after in ("METER", "ECMETER") and before in ("on", "with", "using"):
        return frozenset((i - 1, i, i + 1))  # ``980 ppm on a 700 meter``
    if before == "scale" or (before in ("@", "x") and earlier in ("#ppm", "#num")):
        return frozenset((i - 1, i))
    if before == "(" and after == ")" and earlier in ("#ppm", "PPM", "#num"):
        return frozenset((i - 1, i, i + 1))
    if before == "PPM" and items[i - 1].end == items[i].start:  # ``ppm500 720``
        value = i + 2 if after in (":", "=", "is") else i + 1
        if _key(keys, value) == "#num" and items[value].value.value >= LEAST_PPM:
            return frozenset((i,))
    return frozenset()


def _key(keys: list[str], i: int) -> str:
    return keys[i] if 0 <= i < len(keys) else ""
