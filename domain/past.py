"""The last days of a tank, as diagnosis looks at them: what was read, done and looked after."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

from domain.facts import Chore, Dose, TopUp, WaterChange
from domain.forecast import TooLittle, Trend, trend
from domain.history import Hand, HandKind, Point, Quantity, hands, points
from domain.journal import Entry

__all__ = ["LOOKED_AT", "WATERINGS", "Moved", "Past", "past"]

LOOKED_AT = timedelta(days=7)
"""A change is looked for over so many days: common practice, people ask about this week."""

KEPT = timedelta(days=60)
"""What is older bears on no pattern but when something was last looked after."""

WATERINGS: frozenset[HandKind] = frozenset(("top_up", "water_change"))


@dataclass(frozen=True, slots=True)
class Moved:
    """A value went from one reading to another."""

    what: Quantity
    before: Point
    after: Point

    @property
    def by(self) -> float:
        """[unit of the value]"""
        return self.after.value - self.before.value

    @property
    def share(self) -> float:
        """Of what it was before."""
        return self.by / self.before.value if self.before.value else 0.0


@dataclass(frozen=True)
class Past:
    """The last ``KEPT`` of a tank.

    entries : without doubted ones, in the order in which things happened. now : aware.
    cared_at : when each chore was last done, however long ago.
    """

    entries: tuple[Entry, ...]
    now: datetime
    cared_at: Mapping[str, datetime]

    def read(self, what: Quantity) -> tuple[Point, ...]:
        """Every reading of a value."""
        if what not in self._read:
            self._read[what] = points(self.entries, what)
        return self._read[what]

    def hands(self, *kinds: HandKind, since: datetime | None = None) -> tuple[Hand, ...]:
        """What was done to the water, of these kinds (none: any), after a time."""
        return tuple(
            hand
            for hand in self._hands
            if (not kinds or hand.kind in kinds) and (since is None or hand.at > since)
        )

    def between(self, one: Point, other: Point, *kinds: HandKind) -> tuple[Hand, ...]:
        """What was done between two readings."""
        return tuple(hand for hand in self.hands(*kinds, since=one.at) if hand.at <= other.at)

    def fed(self, since: datetime) -> bool:
        """Whether feed went in after a time, by itself or with water."""
        return any(entry.happened_at > since and _feeds(entry) for entry in self.entries)

    def moved(self, what: Quantity) -> Moved | None:
        """How a value has changed in the last ``LOOKED_AT``; ``None`` for fewer than two readings."""
        found = [point for point in self.read(what) if point.at >= self.now - LOOKED_AT]
        return Moved(what, found[0], found[-1]) if len(found) > 1 else None

    def moved_since(self, what: Quantity, since: datetime | None) -> Moved | None:
        """How a value has changed from the first reading after a time on."""
        found = [point for point in self.read(what) if since is None or point.at > since]
        return Moved(what, found[0], found[-1]) if len(found) > 1 else None

    def drift(self, what: Quantity) -> Trend | TooLittle:
        """How a value moves by itself since the last hand in the water."""
        return trend(self.read(what), self._hands, what, self.now)

    @cached_property
    def _read(self) -> dict[Quantity, tuple[Point, ...]]:
        return {}

    @cached_property
    def _hands(self) -> tuple[Hand, ...]:
        return hands(self.entries)


def past(entries: Sequence[Entry], now: datetime) -> Past:
    """The past of a tank.

    entries : the net journal, in the order in which things happened; doubted ones do not count.
    """
    begin = bisect_left(entries, now - KEPT, key=lambda entry: entry.happened_at)
    kept = tuple(entry for entry in entries[begin:] if not entry.doubted and entry.happened_at <= now)
    cared_at: dict[str, datetime] = {
        entry.fact.task: entry.happened_at for entry in entries if isinstance(entry.fact, Chore)
    }
    return Past(kept, now, cared_at)


def _feeds(entry: Entry) -> bool:
    match entry.fact:
        case Dose(product="nutrient"):
            return True
        case TopUp(feed=feed) | WaterChange(feed=feed):
            return feed in ("half", "full")
        case _:
            return False
