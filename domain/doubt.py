"""Whether a new reading can be believed beside what the tank should show by now.

A slip of the finger or a dry probe would otherwise become a dose. A doubted reading is kept, and left out of
advice until somebody confirms it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from domain.chemistry.solution import ph
from domain.facts import Reading
from domain.happenings import Dosed, Jarred, Read, Watered
from domain.response import beliefs
from domain.tank import TankState

__all__ = ["Doubt", "agrees", "doubt"]

FAR_PH = 1.5
"""From so far away on a pH is asked about: our own design rule; a tank moves 0.1 to 0.5 a day."""
BY_ITSELF_PH = 1.0
"""What a tank that nobody touched may well have moved: not worth working out."""
FAR_EC_TIMES = 2.0
"""A strength of more than double, or less than half, is asked about: our own design rule."""
FORGET_AFTER = timedelta(days=30)
"""A tank that was not read for so long may have become anything."""
SAME_PH = 0.4
SAME_EC_TIMES = 1.25
SURE = 0.01
"""A pH is only doubted where this share of all guesses, or less, lies beyond it."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """What a reading shows and what the tank should show. ``what``: ``ph`` or ``ec_ms_cm``. [its unit]"""

    what: str
    value: float
    expected: float


def doubt(reading: Reading, before: TankState) -> Doubt | None:
    """What is hard to believe of a reading; ``None`` where it fits, or nothing is known to judge it by.

    before : the tank by the time of the reading, without it.
    """
    return _doubted_ph(reading, before) or _doubted_ec(reading, before)


def agrees(reading: Reading, other: Reading) -> bool:
    """Whether two readings show the same water, as far as both give a value.

    pH within a few tenths, strength within a fifth; common practice for home testers on different days.
    """
    pairs = []
    if reading.ph is not None and other.ph is not None:
        pairs.append(abs(reading.ph - other.ph) <= SAME_PH)
    if reading.ec_ms_cm and other.ec_ms_cm:
        low, high = sorted((reading.ec_ms_cm, other.ec_ms_cm))
        pairs.append(high <= SAME_EC_TIMES * low)
    return bool(pairs) and all(pairs)


def _doubted_ph(reading: Reading, before: TankState) -> Doubt | None:
    last = before.ph
    if reading.ph is None or last is None or last.at is None or before.now - last.at > FORGET_AFTER:
        return None
    if abs(reading.ph - last.value) <= BY_ITSELF_PH and not _was_touched(before):
        return None
    believed = beliefs(before)
    if believed is None:
        return None
    foretold = np.asarray(ph(believed.water))
    expected = believed.quantile(foretold, 0.5)
    if abs(reading.ph - expected) <= FAR_PH:
        return None
    beyond = foretold >= reading.ph if reading.ph > expected else foretold <= reading.ph
    return Doubt("ph", reading.ph, expected) if believed.chance(beyond) <= SURE else None


def _was_touched(before: TankState) -> bool:
    """Whether anything went in since the last pH, so that it may stand anywhere by now."""
    last = before.ph
    return last is not None and any(
        last.at is None or happening.at >= last.at
        for happening in before.happenings
        if not isinstance(happening, Read | Jarred)
    )


def _doubted_ec(reading: Reading, before: TankState) -> Doubt | None:
    if reading.ec_ms_cm is None:
        return None
    expected = _expected_ec_ms_cm(before)
    if expected is None or not expected[0] > 0:
        return None
    low, high = expected
    value = reading.ec_ms_cm
    if value > FAR_EC_TIMES * high:
        return Doubt("ec_ms_cm", value, high)
    return Doubt("ec_ms_cm", value, low) if value * FAR_EC_TIMES < low else None


def _expected_ec_ms_cm(before: TankState) -> tuple[float, float] | None:
    """The least and the most that the strength can be by mixing alone; ``None`` where feed went in since."""
    last = before.ec_ms_cm
    if last is None or last.at is None or before.now - last.at > FORGET_AFTER:
        return None
    low = high = last.value
    for happening in before.happenings:
        if happening.at < last.at or isinstance(happening, Read | Jarred):
            continue
        if isinstance(happening, Dosed):
            if happening.role in ("nutrient", "other"):
                return None
            continue
        if happening.feed != "plain" or happening.whole:
            return None
        low, high = _mixed(low, happening, before), max(high, _mixed(high, happening, before))
    # Plants drink: what is left of the water holds all that was in it.
    level, full = before.level_l.value, before.volume_l.value
    return low, high * max(1.0, full / level if level > 0 else 1.0)


def _mixed(ec_ms_cm: float, watered: Watered, before: TankState) -> float:
    """The strength once water is in, by mass balance."""
    plain = watered.ec_ms_cm if watered.ec_ms_cm is not None else before.source.ec_ms_cm.value
    left = max(watered.level_before_l - watered.removed_l, 0.0)
    whole = left + watered.added_l
    return (ec_ms_cm * left + plain * watered.added_l) / whole if whole > 0 else ec_ms_cm
