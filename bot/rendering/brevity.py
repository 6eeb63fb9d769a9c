"""How long a reply may be: what does not fit goes behind ``why``, the least pressing first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bot.rendering.markup import Line, line, narrow

__all__ = ["IN_BAND", "OF_PLANTS", "OUT_OF_BAND", "Part", "brief", "said"]

IN_BAND, OF_PLANTS, OUT_OF_BAND = 3, 6, 7
"""The most lines of a reply: where all is well, to a note about plants, where something is to be done."""


@dataclass(frozen=True, slots=True)
class Part:
    """Lines of a reply that belong together.

    rank : how soon it gives way, the highest first; 0 never does: what to do, the verdict, the caution.
    short : what stands in its place where it has to give way; empty for nothing.
    """

    lines: tuple[Line, ...]
    rank: int = 0
    short: tuple[Line, ...] = ()


def said(*texts: str, rank: int = 0) -> Part:
    """Plain sentences as a part, each on a line of its own."""
    return Part(tuple(line(text) for text in texts), rank)


def brief(parts: Sequence[Part], most: int) -> tuple[list[Line], list[Line]]:
    """The lines to show, at most so many where that can be, and the lines that had to give way.

    parts : in the order in which they are read; empty ones are left out.
    """
    shown = [part for part in parts if part.lines]
    behind: dict[int, Part] = {}
    while len(_drawn(shown)) > most:
        at = max(range(len(shown)), key=lambda i: (shown[i].rank, i), default=None)
        if at is None or shown[at].rank == 0:
            break
        behind[at] = shown[at] if at not in behind else behind[at]
        shown[at] = replace(shown[at], lines=shown[at].short, rank=0)
    return _drawn(shown), [each for at in sorted(behind) for each in narrow(behind[at].lines)]


def _drawn(parts: Sequence[Part]) -> list[Line]:
    return [each for part in parts for each in narrow(part.lines)]
