"""Reads the reference tables beside the code. What a table's columns mean is the business of who asks."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

__all__ = ["number", "parts", "rows"]

DATA = Path(__file__).parent / "data"


@cache
def rows(table: str) -> tuple[Mapping[str, str], ...]:
    """The rows of ``data/<table>.csv`` in the order of the file, each by the names of its columns.

    Raises FileNotFoundError for a table that does not exist.
    """
    with (DATA / f"{table}.csv").open(encoding="utf-8", newline="") as lines:
        return tuple(MappingProxyType(row) for row in csv.DictReader(lines))


def number(cell: str) -> float | None:
    """The number in a cell; ``None`` where the cell is empty."""
    return float(cell) if cell else None


def parts(cell: str) -> tuple[str, ...]:
    """What a cell lists between semicolons."""
    return tuple(part.strip() for part in cell.split(";") if part.strip())
