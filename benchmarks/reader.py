"""What reading costs, beside dateparser alone on the same texts in the same run.

A general date library answers one part of the question (when), and is what a simple bot would reach for; the
reader finds the values, names and times of the whole message.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from datetime import datetime
from zoneinfo import ZoneInfo

from benchmarks.longest import HEAVY
from bot.reader import read

__all__ = ["Figure", "measure"]

Figure = tuple[str, float, float, str]
"""What was measured, ours, the plain way's, and the unit."""

ZONE = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 5, 4, 19, 5, tzinfo=ZONE)

MESSAGES = (
    "ph 5.9 ppm 720 temp 19",
    "5,9 / 1.4 / 19",
    "ph was 6.2 this morning and ppm 650",
    "added 5 ml down last night",
    "topped up 4 L",
    "changed the water yesterday 7pm",
    "sowed basil in A1-A3, lot Corner Shop 24",
    "moved the kale from A1 to C4",
    "picked 120 g lettuce B1",
    "ph 6.4 then 5.9 after 3 ml down",
    "how much adjuster for 40 litres",
    "why is my ec climbing",
    "remind us to rinse the filter every 2 weeks on sunday at 6pm",
    "away 3-10 aug, Ana takes over",
    "note: tips browning on B2",
    "dinner at 7?",
    "lol 5 more minutes",
    "can you pick up milk and 12 eggs",
)

ROUNDS = 5


def measure() -> list[Figure]:
    """Median of everyday messages and the slowest heavy one, beside dateparser's ``search_dates``."""
    from dateparser.search import search_dates

    def ours(text: str) -> None:
        read(text, now=NOW, zone=ZONE)

    def plain(text: str) -> None:
        search_dates(text, languages=["en"], settings={"RELATIVE_BASE": NOW.replace(tzinfo=None)})

    worst = max(HEAVY, key=lambda text: _best_s(ours, text))
    return [
        ("reader: a message, median", _median_us(ours), _median_us(plain), "µs"),
        ("reader: 4,096 characters, worst", 1e3 * _best_s(ours, worst), 1e3 * _seconds(plain, worst), "ms"),
    ]


def _median_us(reading: Callable[[str], None]) -> float:
    for text in MESSAGES:
        reading(text)
    return 1e6 * statistics.median(_best_s(reading, text) for text in MESSAGES)


def _best_s(reading: Callable[[str], None], text: str) -> float:
    return min(_seconds(reading, text) for _ in range(ROUNDS))


def _seconds(reading: Callable[[str], None], text: str) -> float:
    start = time.perf_counter()
    reading(text)
    return time.perf_counter() - start


if __name__ == "__main__":
    for name, ours, plain, unit in measure():
        print(f"{name}: {ours:,.0f} {unit}, dateparser alone {plain:,.0f} {unit}")
