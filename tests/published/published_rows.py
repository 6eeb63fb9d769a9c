"""The rows of checks.csv: values published outside this project, each with its source.

A row says how far it may be trusted: what was seen in its source, what was recalled from memory, what is a
range or contradicts itself. None of that is lost here: a test's name says ``memory`` where the value was
recalled, and a failure prints the source.
"""

import csv
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

import pytest

Value = float | tuple[float, ...]
Case = Callable[[], Value]


@dataclass(frozen=True)
class Row:
    """One line of the table, in its own words."""

    id: str
    topic: str
    inputs: str
    expected: str
    unit: str
    tolerance: str
    source: str
    read_here: str
    note: str

    @property
    def is_from_memory(self) -> bool:
        return self.read_here == "no" and "memory" in self.source

    @property
    def wanted(self) -> tuple[float, ...]:
        """The expected numbers; ``16(.6)`` is 16.6, what else stands in brackets is a remark."""
        plain = re.sub(r"\((\.\d+)\)", r"\1", self.expected)
        plain = re.sub(r"\(.*?\)", "", plain)
        return tuple(float(number) for number in re.findall(r"[+-]?\d+(?:\.\d+)?(?:e-?\d+)?", plain))

    @property
    def span(self) -> tuple[float, float]:
        """The two ends of an expected range such as ``1.6-1.7``."""
        low, high = self.expected.split("-")
        return float(low), float(high)

    def allowance(self, wanted: float) -> float:
        """How far off a value may be: the row's tolerance, absolute or in per cent of what is wanted."""
        number, percent = re.match(r"(\d+(?:\.\d+)?)\s*(%?)", self.tolerance).groups()
        return abs(wanted) * float(number) / 100.0 + 1e-9 if percent else float(number) + 1e-9

    def holds(self, value: Value, allowance: float | None = None) -> None:
        """Asserts that what we compute is what the row says."""
        found = value if isinstance(value, tuple) else (value,)
        assert len(found) == len(self.wanted), f"{self.id}: {found} beside {self.expected}"
        for ours, theirs in zip(found, self.wanted, strict=True):
            margin = self.allowance(theirs) if allowance is None else allowance
            assert abs(ours - theirs) <= margin, (
                f"{self.id}: {self.inputs}: {ours:.5g}, published {theirs} {self.unit}"
                f" within {margin:.2g}; source: {self.source}; {self.note}"
            )


def _read() -> dict[str, Row]:
    with (Path(__file__).parent / "checks.csv").open(encoding="utf-8", newline="") as table:
        return {line["id"]: Row(**line) for line in csv.DictReader(table)}


ROWS = _read()
USED: set[str] = set()
"""The ids that some test asks for; filled while tests are collected."""


def rows_of(topic: str) -> list[Row]:
    """All rows of a topic."""
    return [row for row in ROWS.values() if row.topic == topic]


def each(ids: Iterable[str]) -> pytest.MarkDecorator:
    """Runs a test once for each of these rows, as its argument ``row``."""
    chosen = [ROWS[name] for name in ids]
    USED.update(row.id for row in chosen)
    names = [f"{row.id}-memory" if row.is_from_memory else row.id for row in chosen]
    return pytest.mark.parametrize("row", chosen, ids=names)
