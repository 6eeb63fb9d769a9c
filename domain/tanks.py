"""Several tanks in one household: which facts are about which.

A household with one tank never names it. Once it has named several, what was said before belongs to the
first; what is about the household as a whole (its clock, its bottles, who is away) belongs to all.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from domain.facts import Away, Fact, Product, Reminder, Setting, Stock
from domain.journal import Entry

__all__ = ["MOST_TANKS", "TANKS", "due_key", "is_of_tank", "of_tank", "tank_names", "tank_of_key"]

TANKS: Final = "tanks"
"""The setting that names them, the first one first, with commas between."""

MOST_TANKS = 8

_OF_TANK = frozenset({"tank_volume_l", "minimum_level_l", "band", "interval", "sites", "system_name"})
"""Settings that are about one tank; all others are the household's."""


def tank_names(entries: Iterable[Entry]) -> tuple[str, ...]:
    """The household's tanks, the first one first; empty where it has named none."""
    named = None
    for entry in entries:
        if isinstance(entry.fact, Setting) and entry.fact.name == TANKS:
            named = entry if named is None or entry.id > named.id else named
    value = named.fact.value if named is not None and isinstance(named.fact, Setting) else None
    return tuple(name.strip() for name in (value or "").split(",") if name.strip())


def is_of_tank(fact: Fact) -> bool:
    """Whether a fact is about one tank, not about the household as a whole."""
    if isinstance(fact, Setting):
        return fact.name in _OF_TANK
    return not isinstance(fact, Product | Away | Stock | Reminder)


def of_tank(entries: Iterable[Entry], tank: str, tanks: tuple[str, ...]) -> tuple[Entry, ...]:
    """What is about a tank, and about the household as a whole, in the same order.

    tank : one of ``tanks``; the first one has all that names no tank.
    """
    said, is_first = tank.casefold(), bool(tanks) and tank.casefold() == tanks[0].casefold()

    def counts(entry: Entry) -> bool:
        if not is_of_tank(entry.fact):
            return True
        named = entry.fact.tank
        return is_first if named is None else named.casefold() == said

    return tuple(entry for entry in entries if counts(entry))


def due_key(key: str, tank: str | None) -> str:
    """The key of a due date of a tank that is not the first."""
    return f"{tank}|{key}" if tank is not None else key


def tank_of_key(key: str) -> str | None:
    """The tank that such a key names; ``None`` for the first one, and for what is the household's."""
    tank, bar, _ = key.partition("|")
    return tank if bar else None
