"""A journal of plants, told day by day."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from domain.facts import Fact
from domain.journal import Entry

BEGAN = datetime(2026, 3, 2, 9, tzinfo=UTC)


def day(number: float) -> datetime:
    return BEGAN + timedelta(days=number)


def journal(*told: tuple[float, Fact]) -> list[Entry]:
    """Entries of (day, fact), in the order of their days."""
    return [
        Entry(
            id=number,
            fact=replace(fact, when=day(at)),
            happened_at=day(at),
            said_at=day(at),
            author="Mina",
            message_key=f"1:{number}",
        )
        for number, (at, fact) in enumerate(sorted(told, key=lambda pair: pair[0]), start=1)
    ]
