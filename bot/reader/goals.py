"""From what to what a question wants a value to go: ``from 6.8 to 5.9``."""

from __future__ import annotations

from bot.reader.findings import Scene
from bot.reader.items import Item
from bot.reader.numbers import Number
from bot.reader.plausibility import ec_from_unnamed, is_plausible

__all__ = ["ec_said", "from_to", "ph_said"]


def from_to(items: list[Item]) -> tuple[Item | None, Item | None]:
    """The numbers of ``from 6.8 to 5.9``, ``6.8 -> 5.9``, ``to reach 5.9``."""
    low = high = None
    for i, item in enumerate(items):
        if item.key not in ("#num", "#ec", "#ppm"):
            continue
        before = [other.key for other in items[max(0, i - 4) : i]]
        near = before[-1] if before else ""
        if near == "from" or (before[-2:-1] == ["from"] and near in ("PH", "EC", "PPM")):
            low = item
        elif near in ("to", ">", "reach", "get", "until", "till", "target") or (
            before[-2:-1]
            and before[-2] in ("to", "reach", "get")
            and near in ("PH", "EC", "PPM", "be", "to", "reach")
        ):
            high = item
            if low is None and near in ("to", ">"):
                previous = [other for other in items[:i] if other.key == item.key]
                low = previous[-1] if previous else None
        elif near in ("PH", "EC", "PPM", "is", "at") and low is None:
            low = item
    return low, high


def ph_said(item: Item | None) -> float | None:
    """The pH that an item gives, if it can be one."""
    if item is None or not isinstance(item.value, Number) or not is_plausible("ph", item.value.value):
        return None
    return item.value.value


def ec_said(scene: Scene, item: Item | None) -> float | None:
    """The strength that an item gives, in the household's own way of saying it. [mS/cm]"""
    if item is None:
        return None
    if item.key == "#ec":
        return float(item.value.value)
    if item.key == "#ppm":
        return float(item.value.value) / scene.settings.ppm_scale
    value = item.value.value
    if value >= 100 and scene.settings.strength_unit == "ppm":
        return float(value) / scene.settings.ppm_scale
    ec_ms_cm = ec_from_unnamed(value)
    return None if isinstance(ec_ms_cm, str) else ec_ms_cm
