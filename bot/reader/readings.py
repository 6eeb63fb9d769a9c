"""Values that were taken together become one reading; values that contradict one another become none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from bot.reader.slots import Value
from domain.facts import Reading

__all__ = ["Conflict", "reading_of"]

AGREE_WITHIN = 0.1
"""EC and ppm given together are one value where they differ by no more (rule 4)."""


@dataclass(slots=True)
class Conflict:
    """Values that say one thing twice, differently."""

    values: list[Value]


def reading_of(values: list[Value]) -> tuple[Reading | None, list[Conflict]]:
    """The reading that these values are together, and what in them clashes."""
    by_key: dict[str, list[Value]] = {}
    for value in (value for value in values if value.fields):
        by_key.setdefault(value.key, []).append(value)
    conflicts = []
    kept: dict[str, Value] = {}
    for key, same in by_key.items():
        if all(_same(same[0], other) for other in same[1:]):
            kept[key] = same[0]
        else:
            conflicts.append(Conflict(same))
    ec, ppm = kept.get("ec"), kept.get("ppm")
    if ec is not None and ppm is not None:
        a, b = float(ec.fields["ec_ms_cm"]), float(ppm.fields["ec_ms_cm"])
        if abs(a - b) > AGREE_WITHIN * max(a, b):
            both = sorted((kept.pop("ec"), kept.pop("ppm")), key=lambda value: value.first)
            conflicts.append(Conflict(both))
    fields: dict[str, Any] = {}
    for value in sorted(kept.values(), key=lambda value: value.key != "ppm"):
        fields |= value.fields
    return (Reading(**fields) if fields else None), conflicts


def _same(a: Value, b: Value) -> bool:
    return {k: v for k, v in a.fields.items() if k != "approx"} == {
        k: v for k, v in b.fields.items() if k != "approx"
    }
