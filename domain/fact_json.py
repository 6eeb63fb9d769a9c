"""Values of facts as JSON has them, and back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

__all__ = ["DECIMALS", "plain", "typing_of"]

DECIMALS = 4
"""Numbers in JSON are rounded to this many decimals; no home tester shows as many."""


def plain(value: Any) -> Any:
    """The value as JSON data; numbers rounded, whole ones without a point."""
    if isinstance(value, bool):
        return value
    if isinstance(value, float):
        rounded = round(value, DECIMALS)
        return int(rounded) if rounded.is_integer() else rounded
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, tuple):
        return list(value)
    return value


def typing_of(annotation: str) -> Callable[[Any], Any]:
    """What gives a JSON value the type that the field's annotation (a string) names."""
    if annotation.startswith("datetime"):
        return datetime.fromisoformat
    if annotation.startswith("date"):
        return date.fromisoformat
    if annotation.startswith("float"):
        return float
    return _listed


def _listed(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value
