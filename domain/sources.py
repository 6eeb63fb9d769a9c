"""The publications behind the tables, and how one is cited in a reply."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal

from domain import tables

__all__ = ["YOURS", "Basis", "Source", "SourceLine", "source_line", "sources"]

Basis = Literal["read", "from memory", "common practice", "yours"]


@dataclass(frozen=True, slots=True)
class Source:
    """One publication.

    short : its name in a reply.
    was_read : the figures taken from it were seen in it, not recalled.
    extent, caveat : how much of it was read, and what to keep in mind; may be empty.
    """

    key: str
    short: str
    citation: str
    url: str
    was_read: bool
    extent: str
    caveat: str


@dataclass(frozen=True, slots=True)
class SourceLine:
    """A source as a reply shows it.

    text : ready to show, its basis included where that is not ``read``.
    key : of ``sources()``; ``yours`` for what the household set itself.
    basis : how far the figure can be trusted.
    """

    text: str
    key: str
    basis: Basis


YOURS = SourceLine("yours", "yours", "yours")
"""The line under a figure that the household set itself."""

COMMON_PRACTICE = "common practice"


@cache
def sources() -> Mapping[str, Source]:
    """Every source by its key."""
    return MappingProxyType(
        {
            row["key"]: Source(
                key=row["key"],
                short=row["short"],
                citation=row["citation"],
                url=row["url"],
                was_read=row["read"] == "yes",
                extent=row["extent"],
                caveat=row["caveat"],
            )
            for row in tables.rows("sources")
        }
    )


def source_line(key: str) -> SourceLine:
    """How the source ``key`` is cited; a figure that was recalled is cited "from memory".

    Raises KeyError for a key that is not in the table.
    """
    source = sources()[key]
    if key == COMMON_PRACTICE:
        return SourceLine(source.short, key, "common practice")
    if not source.was_read:
        return SourceLine(f"{source.short}, cited from memory", key, "from memory")
    return SourceLine(source.short, key, "read")
