"""What became of messages: which were changed later on, and what was taken back."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import and_, exists, select

from domain.journal import Entry
from storage.journal import ENTRY_COLUMNS, entries_of_rows, message_key
from storage.models import entries, revisions
from storage.repository import Repository

__all__ = ["Amended", "History"]

_later, _last = revisions.alias("later"), revisions.alias("last")
_said = entries.alias("said")


@dataclass(frozen=True, slots=True)
class Amended:
    """What was changed since it was first said.

    edited : the keys of the messages whose words somebody changed, and that still say something.
    taken_back : what messages said last that say nothing any more, in the order of the journal.
    """

    edited: frozenset[str]
    taken_back: tuple[Entry, ...]


class History(Repository):
    async def amended(self, household_id: int) -> Amended:
        """What the household changed or took back since it was first said."""
        return Amended(await self._edited(household_id), await self._taken_back(household_id))

    async def _edited(self, household_id: int) -> frozenset[str]:
        edits = select(revisions.c.chat_id, revisions.c.message).distinct()
        edits = edits.where(revisions.c.household_id == household_id, revisions.c.action == "edited")
        rows = await self._connection.execute(edits.where(revisions.c.number > 1))
        return frozenset(message_key(chat_id, message) for chat_id, message in rows)

    async def _taken_back(self, household_id: int) -> tuple[Entry, ...]:
        says_nothing = ~exists().where(_said.c.revision_id == _last.c.id)
        stands = ~exists().where(_later.c.replaces == _last.c.id)
        wanted = (
            select(*ENTRY_COLUMNS)
            .join(revisions, revisions.c.id == entries.c.revision_id)
            .join(_last, and_(_last.c.replaces == revisions.c.id, stands, says_nothing))
            .where(revisions.c.household_id == household_id)
            .order_by(entries.c.happened_at, entries.c.id)
        )
        return tuple(entries_of_rows((await self._connection.execute(wanted)).all()))
