"""How fast the tank loses water, from its own levels and top-ups: what plants drink and the air takes.

A household fills to the line; who does not, reads the level. Between two moments at which the level is known
the loss is what went in plus what the level fell by. The daily loss is the median of these, so that a slip or
a leak that was mended does not count; its interval is what a day's loss is on four days in five.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median

from domain.facts import Reading, TopUp, WaterChange
from domain.happenings import level_at_mark
from domain.journal import Entry

__all__ = ["LOOKS_BACK", "WaterUse", "lately", "water_use"]

LOOKS_BACK = timedelta(days=42)
"""Older losses tell of smaller plants and of another season: our own design rule."""
_LEAST_APART = timedelta(hours=12)
"""Levels nearer than this differ by how well a level is read: common practice."""
_MOST_APART = timedelta(days=21)
"""Over a longer time something was surely not logged: our own design rule."""
_MOST = 8
"""So many of the newest losses count."""
_SIDE = 1.2816
"""The normal deviate that a tenth lies beyond."""
_MAD = 1.4826
"""Median absolute deviation to standard deviation, for normal noise."""
_LEAST_SHARE = 0.15
"""One deviation of a day's loss at least, as a share of it: the weather in a room (common practice)."""
_UNSURE_SHARE = 0.3
"""The same while one loss alone is known."""


@dataclass(frozen=True, slots=True)
class WaterUse:
    """How fast water goes.

    level_l, level_at : the last known level and when it was known. [L]
    a_day : the median loss; low_a_day, high_a_day : four days in five lie between. [L a day]
    losses : from how many.
    """

    level_l: float
    level_at: datetime
    a_day: float
    low_a_day: float
    high_a_day: float
    losses: int

    def level(self, at: datetime) -> tuple[float, float, float]:
        """The low, middle and high level at a later time, if nobody tops up; never below 0. [L]"""
        days = max(0.0, (at - self.level_at) / timedelta(days=1))
        losses = (self.high_a_day, self.a_day, self.low_a_day)
        low, middle, high = (max(0.0, self.level_l - days * loss) for loss in losses)
        return low, middle, high

    def reaches(self, level_l: float) -> datetime | None:
        """When the level may be down at ``level_l``, at the high end of the loss; ``None`` for never."""
        if self.high_a_day <= 0:
            return None
        days = max(0.0, (self.level_l - level_l) / self.high_a_day)
        return self.level_at + timedelta(days=days) if days < 3650 else None


def lately(entries: Sequence[Entry], span: timedelta) -> list[Entry]:
    """The entries of so long before the last one, in order."""
    if not entries:
        return []
    since, found = entries[-1].happened_at - span, []
    for entry in reversed(entries):
        if entry.happened_at < since:
            break
        found.append(entry)
    return found[::-1]


def water_use(entries: Sequence[Entry], full_l: float) -> WaterUse | None:
    """How fast the tank loses water; ``None`` while no loss is known.

    entries : the net journal in the order in which things happened; doubted ones do not count.
    full_l : what the tank holds when filled to the line. [L]
    """
    known: tuple[datetime, float] | None = None
    read_at: datetime | None = None
    rates: list[float] = []
    for entry in lately(entries, LOOKS_BACK):
        if entry.doubted:
            continue
        fact, at = entry.fact, entry.happened_at
        before = after = None
        match fact:
            case Reading():
                before = after = _level(fact, full_l)
                read_at = at if after is not None else read_at
            case TopUp():
                before, after = _topped_up(fact, full_l, known, read_at, at)
            case WaterChange():
                after = full_l
        if known is not None and before is not None and _LEAST_APART <= at - known[0] <= _MOST_APART:
            rates.append(max(0.0, (known[1] - before) / ((at - known[0]) / timedelta(days=1))))
            known = (at, before)
        elif before is not None and (known is None or at - known[0] > _MOST_APART):
            known = (at, before)
        if after is not None and (before is None or after != before):
            known = (at, after)
    return _estimated(known, rates[-_MOST:])


def _level(reading: Reading, full_l: float) -> float | None:
    if reading.level_l is not None:
        return min(reading.level_l, full_l)
    return level_at_mark(reading.level_mark, full_l) if reading.level_mark else None


def _topped_up(
    top_up: TopUp,
    full_l: float,
    known: tuple[datetime, float] | None,
    read_at: datetime | None,
    at: datetime,
) -> tuple[float | None, float]:
    """The level before and after. Who has just read it adds to it; everybody else fills to the line."""
    litres = top_up.litres
    if litres is None:
        return None, full_l
    just_read = read_at is not None and known is not None and at - read_at < _LEAST_APART
    if just_read and known is not None and not top_up.to_mark:
        return known[1], min(full_l, known[1] + litres)
    return max(0.0, full_l - litres), full_l


def _estimated(known: tuple[datetime, float] | None, rates: Sequence[float]) -> WaterUse | None:
    if known is None or not rates:
        return None
    a_day = median(rates)
    deviation = _MAD * median([abs(rate - a_day) for rate in rates])
    least = _LEAST_SHARE if len(rates) > 1 else _UNSURE_SHARE
    side = _SIDE * max(deviation, least * a_day)
    return WaterUse(
        level_l=known[1],
        level_at=known[0],
        a_day=a_day,
        low_a_day=max(0.0, a_day - side),
        high_a_day=a_day + side,
        losses=len(rates),
    )
