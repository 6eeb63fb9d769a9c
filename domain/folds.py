"""One way to fold the journal: from nothing, or on from where the same first entries were folded before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Generic, Protocol, Self, TypeVar

from domain.journal import Entry

__all__ = ["Fold", "Start", "folded"]


class Fold(Protocol):
    """What entries come to, taken in one by one in the order in which things happened."""

    def take(self, entry: Entry) -> None:
        """Takes in the next entry."""

    def copy(self) -> Self:
        """The same so far; what either takes in from here on does not show in the other."""


F = TypeVar("F", bound=Fold)


@dataclass(frozen=True, slots=True)
class Start(Generic[F]):
    """A fold that has taken in the first ``count`` entries of a journal. Never let it take more: copy it."""

    count: int
    fold: F


def folded(empty: F, entries: Sequence[Entry], start: Start[F] | None = None) -> F:
    """What the entries come to.

    empty : the fold before any entry. entries : in the order in which things happened; doubted ones are
        passed over. start : of the same first entries; ``None`` where there is none. It is left as it is.
    """
    fold, done = (empty, 0) if start is None else (start.fold.copy(), start.count)
    for entry in islice(entries, done, None):
        if not entry.doubted:
            fold.take(entry)
    return fold
