"""What the first entries of a long journal came to, so that nobody folds ten years of it for every message.

Nothing is true only here: a checkpoint holds for a journal that begins with the very entries it was made of
and for no other. What is amended before its end, or comes in between, leaves it unfit: all is folded anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import is_

from domain.bed import Bed
from domain.folds import Start, folded
from domain.household import ToldOfItself, choices
from domain.journal import Entry
from domain.plantings import settled
from domain.routine import RoutineFold
from domain.supplies import Shelves
from domain.tank_fold import DEFAULTS, TankFold

__all__ = ["Checkpoint", "checkpoint"]

LEFT_OUT = 100
"""So many of the newest entries a checkpoint leaves out: what is amended is mostly among them."""
MOST_AFTER = 500
"""After so many more it is time for the next: they are folded within a few milliseconds (measured)."""


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """Every fold after the first entries of one household's journal.

    entries : those entries.
    """

    entries: tuple[Entry, ...]
    bed: Start[Bed]
    tank: Start[TankFold]
    routine: Start[RoutineFold]
    supplies: Start[Shelves]
    told: Start[ToldOfItself]

    def holds_for(self, entries: Sequence[Entry]) -> bool:
        """Whether a journal begins with the entries that this was made of.

        They must be the very same objects: comparing what they say would cost what the checkpoint saves.
        """
        return len(entries) >= len(self.entries) and all(map(is_, self.entries, entries))


def checkpoint(entries: Sequence[Entry], before: Checkpoint | None = None) -> Checkpoint | None:
    """The checkpoint to fold a journal from; ``None`` while it is short enough to be folded whole.

    entries : the net journal in the order in which things happened, without doubted entries.
    before : an earlier one, which is given back where it still holds and does not lie far behind.
    """
    known = before if before is not None and before.holds_for(entries) else None
    rests = TankFold(choices(entries, known.told if known else None), DEFAULTS)
    same_tank = known is not None and known.tank.fold.rests_on == rests.rests_on
    done = len(known.entries) if known is not None else 0
    if same_tank and len(entries) - done <= MOST_AFTER:
        return known
    if len(entries) <= MOST_AFTER:
        return None
    first = tuple(entries[: max(done, len(entries) - LEFT_OUT)])
    count = len(first)
    return Checkpoint(
        entries=first,
        bed=Start(count, settled(folded(Bed(), first, known.bed if known else None))),
        tank=Start(count, folded(rests, first, known.tank if known and same_tank else None)),
        routine=Start(count, folded(RoutineFold(), first, known.routine if known else None)),
        supplies=Start(count, folded(Shelves(), first, known.supplies if known else None)),
        told=Start(count, folded(ToldOfItself(), first, known.told if known else None)),
    )
