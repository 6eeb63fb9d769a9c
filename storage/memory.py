"""Net journals that were read before, so that the next reading fetches only what was added since.

Nothing is true only here: any of it may be dropped at any moment, and the journal says it again.
"""

from __future__ import annotations

from bisect import insort
from collections import OrderedDict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from domain.journal import Entry

__all__ = ["JournalMemory", "NetJournal"]

KEPT_ENTRIES = 60_000
"""How many entries one process keeps, of all households together; measured: about 1.2 kB each."""


@dataclass(frozen=True, slots=True)
class NetJournal:
    """What stood when ``last_revision`` was the household's newest revision, in order of happening."""

    last_revision: int
    entries: tuple[Entry, ...]

    def with_added(self, last_revision: int, said_anew: Iterable[str], added: Sequence[Entry]) -> NetJournal:
        """The journal after more revisions.

        said_anew : the keys of the messages that have new revisions; what they said before no longer stands.
        added : what they say now.
        """
        gone = set(said_anew)
        stands = [entry for entry in self.entries if entry.message_key not in gone]
        for entry in added:
            insort(stands, entry, key=lambda each: (each.happened_at, each.id))
        return NetJournal(last_revision, tuple(stands))


class JournalMemory:
    """The net journals of the households that were heard from last, as far as they were committed."""

    def __init__(self, kept_entries: int = KEPT_ENTRIES) -> None:
        self._kept_entries = kept_entries
        self._journals: OrderedDict[int, NetJournal] = OrderedDict()
        self._count = 0

    def recall(self, household_id: int) -> NetJournal | None:
        journal = self._journals.get(household_id)
        if journal is not None:
            self._journals.move_to_end(household_id)
        return journal

    def drop(self, household_id: int) -> None:
        """Forgets a journal: its household was deleted, or somebody in it."""
        dropped = self._journals.pop(household_id, None)
        self._count -= len(dropped.entries) if dropped else 0

    def keep(self, household_id: int, journal: NetJournal) -> None:
        """Keeps a committed net journal, and drops those wanted longest ago where it gets too much."""
        before = self._journals.pop(household_id, None)
        self._count += len(journal.entries) - (len(before.entries) if before else 0)
        self._journals[household_id] = journal
        while self._count > self._kept_entries and self._journals:
            _, dropped = self._journals.popitem(last=False)
            self._count -= len(dropped.entries)
