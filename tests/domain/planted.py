"""A few words of a household about its plants, folded."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from domain.facts import (
    Fact,
    Sow,
)
from domain.journal import Entry
from domain.plantings import Garden, Planting, garden

BEGAN = datetime(2026, 5, 4, 19, tzinfo=UTC)


def entry(number: int, day: float, fact: Fact, message: str | None = None) -> Entry:
    at = BEGAN + timedelta(days=day)
    return Entry(number, fact, at, at, author="Ana", message_key=message or f"1:{number}")


def grown(*said: tuple[float, Fact], now: float = 30) -> Garden:
    entries = [entry(number, day, fact) for number, (day, fact) in enumerate(said, start=1)]
    return garden(entries, BEGAN + timedelta(days=now))


def one(*said: tuple[float, Fact], now: float = 30) -> Planting:
    made = grown(*said, now=now)
    assert not made.conflicts
    (planting,) = made.plantings
    return planting


def codes(made: Garden) -> list[str]:
    return [conflict.code for conflict in made.conflicts]


def shown(made: Garden) -> list[tuple[str, tuple[str, ...], int]]:
    return [(planting.crop, planting.sites, planting.count) for planting in made.plantings]


SOWN = (0.0, Sow(crop="basil", sites=("A1", "A2", "A3"), lot="Corner Shop 24"))
