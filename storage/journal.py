"""The journal: what was said, and what was said instead later on. Rows are added, never changed or deleted.

One message has a line of *revisions*: what it said first, each edit, an undo, an answer that completed it.
The last one stands. The *entries* are a revision's facts; those of the revisions that stand are the net
journal, from which everything else is folded.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Literal

from sqlalchemy import Select, and_, bindparam, exists, func, insert, select
from sqlalchemy.ext.asyncio import AsyncConnection

from domain.facts import Fact, fact_from_json
from domain.journal import Entry
from storage.memory import JournalMemory, NetJournal
from storage.models import entries, revisions
from storage.repository import Repository

__all__ = [
    "ENTRY_COLUMNS",
    "Action",
    "Journal",
    "Recorded",
    "Revision",
    "StoredRevision",
    "entries_of_rows",
    "message_key",
]

Action = Literal["said", "edited", "undone", "answered", "confirmed", "pressed"]


@dataclass(frozen=True, slots=True)
class Recorded:
    """A fact as a revision holds it.

    happened_at : when it happened, aware.
    span : from which character to which the message says it.
    doubted : kept, but left out of advice until somebody confirms it.
    """

    fact: Fact
    happened_at: datetime
    span: tuple[int, int] | None = None
    doubted: bool = False


@dataclass(frozen=True)
class Revision:
    """What one message says from one moment on.

    message : the platform's id of the message, unique in its chat.
    edited_at : when the household edited it; ``None`` for what is no edit.
    said_at : when the message was first sent.
    recorded_at : when the assistant writes this down.
    """

    household_id: int
    chat_id: int
    message: str
    edited_at: datetime | None
    person_id: int | None
    author: str
    said_at: datetime
    recorded_at: datetime
    action: Action
    text: str
    facts: tuple[Recorded, ...] = ()


@dataclass(frozen=True, kw_only=True)
class StoredRevision(Revision):
    """``id`` is its number in the whole journal, ``number`` the one among its message's revisions, from 1."""

    id: int
    number: int


def message_key(chat_id: int, message: str) -> str:
    """How an ``Entry`` names the message it came from."""
    return f"{chat_id}:{message}"


_later = revisions.alias("later")
_STANDS = ~exists().where(_later.c.replaces == revisions.c.id)

_REVISION_COLUMNS = (
    revisions.c.household_id,
    revisions.c.chat_id,
    revisions.c.message,
    revisions.c.edited_at,
    revisions.c.person_id,
    revisions.c.author,
    revisions.c.said_at,
    revisions.c.recorded_at,
    revisions.c.action,
    revisions.c.text,
)

ENTRY_COLUMNS = (
    entries.c.id.label("entry_id"),
    entries.c.fact,
    entries.c.happened_at,
    revisions.c.said_at,
    revisions.c.author,
    revisions.c.chat_id,
    revisions.c.message,
    entries.c.doubted,
)
_ENTRIES = select(*ENTRY_COLUMNS).join(revisions, revisions.c.id == entries.c.revision_id)
# Every revision, those that say nothing (any more) as one row without an entry.
_ADDED = (
    select(revisions.c.id, *ENTRY_COLUMNS)
    .outerjoin_from(revisions, entries, and_(entries.c.revision_id == revisions.c.id, _STANDS))
    .where(revisions.c.household_id == bindparam("household_id"), revisions.c.id > bindparam("last_revision"))
)
_LINE = (
    select(
        revisions.c.id,
        revisions.c.household_id,
        revisions.c.number,
        revisions.c.edited_at,
        revisions.c.action,
        revisions.c.text,
    )
    .where(revisions.c.chat_id == bindparam("chat_id"), revisions.c.message == bindparam("message"))
    .order_by(revisions.c.number)
)
_APPEND = insert(revisions).returning(revisions.c.id)
_APPEND_ENTRIES = insert(entries)
_ENTRIES_OF = _ENTRIES.where(entries.c.revision_id == bindparam("revision_id")).order_by(entries.c.id)


CLOCKS_APART = timedelta(seconds=30)
"""An edit is dated by the platform, in whole seconds; an undo or an answer by button by our own clock. So
nearly at the same time, what came in later counts: better that than an edit that is lost."""


class Journal(Repository):
    def __init__(self, connection: AsyncConnection, memory: JournalMemory) -> None:
        super().__init__(connection)
        self._memory = memory
        self._appended_to: set[int] = set()

    async def append(self, revision: Revision) -> int | None:
        """Adds a revision and gives its number; ``None`` where it is old news.

        Refused are: a new message that is known; an edit not later than one that is known, or that changes
        no word of what stands; an undo where nothing stands. An edit whose original was never seen is taken,
        and the original refused when it comes.
        Needs a write transaction, and holds the household until its end; idempotent.
        A time without a zone is an error of the program (SQLAlchemy's StatementError).
        """
        await self._hold(revision.household_id)
        known = await self._line(revision.chat_id, revision.message)
        if not _adds_something(revision, known):
            return None
        household_id = revision.household_id
        if known and known[-1].household_id != household_id:
            # The chat moved meanwhile; what it said before stays, and is corrected, where it was said.
            household_id = known[-1].household_id
            await self._hold(household_id)
        row = {
            "household_id": household_id,
            "chat_id": revision.chat_id,
            "message": revision.message,
            "number": known[-1].number + 1 if known else 1,
            "replaces": known[-1].id if known else None,
            "edited_at": revision.edited_at,
            "person_id": revision.person_id,
            "author": revision.author,
            "said_at": revision.said_at,
            "recorded_at": revision.recorded_at,
            "action": revision.action,
            "text": revision.text,
        }
        self._appended_to.add(household_id)
        added = await self._connection.execute(_APPEND, row)
        revision_id = int(added.scalar_one())
        if revision.facts:
            rows = [_entry_row(household_id, revision_id, recorded) for recorded in revision.facts]
            await self._connection.execute(_APPEND_ENTRIES, rows)
        return revision_id

    def was_added_to(self, household_id: int) -> None:
        """This transaction added to a journal by another way; what it reads of it is then not remembered."""
        self._appended_to.add(household_id)

    async def last(self, chat_id: int, message: str) -> StoredRevision | None:
        """The revision of the message that stands."""
        newest = _of_message(chat_id, message).order_by(revisions.c.number.desc()).limit(1)
        found = await self._stored(newest)
        return found[0] if found else None

    async def revision(self, revision_id: int, *, household_id: int | None = None) -> StoredRevision | None:
        """One revision by its number; with ``household_id``, only if that household said it."""
        wanted = _revisions().where(revisions.c.id == revision_id)
        if household_id is not None:
            wanted = wanted.where(revisions.c.household_id == household_id)
        found = await self._stored(wanted)
        return found[0] if found else None

    async def history(self, chat_id: int, message: str) -> list[StoredRevision]:
        """Every revision of the message, the first one first."""
        return await self._stored(_of_message(chat_id, message).order_by(revisions.c.number))

    async def last_standing_by(
        self, household_id: int, person_id: int | None, *, before_id: int | None = None
    ) -> StoredRevision | None:
        """The newest revision by this person that stands and has facts: what an undo takes back.

        before_id : look only at revisions with a lower number, to go back further.
        """
        has_facts = exists().where(entries.c.revision_id == revisions.c.id)
        wanted = _revisions().where(
            revisions.c.household_id == household_id, revisions.c.person_id == person_id, _STANDS, has_facts
        )
        if before_id is not None:
            wanted = wanted.where(revisions.c.id < before_id)
        found = await self._stored(wanted.order_by(revisions.c.id.desc()).limit(1))
        return found[0] if found else None

    async def entries(self, household_id: int) -> list[Entry]:
        """The household's net journal, in the order in which things happened.

        Reads what was added since this process last did. What this transaction added itself is seen, but not
        remembered: it may still be rolled back.
        """
        known = self._memory.recall(household_id)
        net = await (self._read_added(household_id, known) if known else self._read_all(household_id))
        if net is not known and household_id not in self._appended_to:
            self._memory.keep(household_id, net)
        return list(net.entries)

    async def entries_of(self, revision_id: int, *, household_id: int | None = None) -> list[Entry]:
        """The facts of one revision as entries, in the order in which it says them; it need not stand."""
        wanted = _ENTRIES_OF
        if household_id is not None:
            wanted = wanted.where(entries.c.household_id == household_id)
        return entries_of_rows((await self._connection.execute(wanted, {"revision_id": revision_id})).all())

    async def _read_all(self, household_id: int) -> NetJournal:
        # Asked first: what is added between the two statements is then read again, and nothing is missed.
        newest = select(func.max(revisions.c.id)).where(revisions.c.household_id == household_id)
        last_revision = (await self._connection.execute(newest)).scalar_one()
        wanted = _ENTRIES.where(entries.c.household_id == household_id, _STANDS)
        in_order = wanted.order_by(entries.c.happened_at, entries.c.id)
        rows = (await self._connection.execute(in_order)).all()
        return NetJournal(last_revision or 0, tuple(entries_of_rows(rows)))

    async def _read_added(self, household_id: int, known: NetJournal) -> NetJournal:
        since = {"household_id": household_id, "last_revision": known.last_revision}
        rows = (await self._connection.execute(_ADDED, since)).all()
        if not rows:
            return known
        keys = [message_key(row.chat_id, row.message) for row in rows]
        says = entries_of_rows([row[1:] for row in rows if row.entry_id is not None])
        return known.with_added(max(row[0] for row in rows), keys, says)

    async def _line(self, chat_id: int, message: str) -> Sequence[Any]:
        wanted = {"chat_id": chat_id, "message": message}
        return (await self._connection.execute(_LINE, wanted)).all()

    async def _stored(self, wanted: Select[Any]) -> list[StoredRevision]:
        """The revisions that ``wanted`` selects, each with its facts."""
        rows = (await self._connection.execute(wanted)).all()
        if not rows:
            return []
        facts: dict[int, list[Recorded]] = {row.id: [] for row in rows}
        theirs = select(
            entries.c.revision_id,
            entries.c.fact,
            entries.c.happened_at,
            entries.c.span_start,
            entries.c.span_end,
            entries.c.doubted,
        ).where(entries.c.revision_id.in_(facts))
        for revision_id, fact, happened_at, start, end, doubted in await self._connection.execute(
            theirs.order_by(entries.c.id)
        ):
            span = None if start is None else (start, end)
            recorded = Recorded(fact_from_json(json.loads(fact)), happened_at, span, doubted)
            facts[revision_id].append(recorded)
        return [StoredRevision(**row._asdict(), facts=tuple(facts[row.id])) for row in rows]


def _revisions() -> Select[Any]:
    return select(revisions.c.id, revisions.c.number, *_REVISION_COLUMNS)


def _of_message(chat_id: int, message: str) -> Select[Any]:
    return _revisions().where(revisions.c.chat_id == chat_id, revisions.c.message == message)


def _adds_something(revision: Revision, known: Sequence[Any]) -> bool:
    """Whether the revision says anything that its message, with these revisions, does not say already."""
    if revision.action == "said":
        return not known
    if revision.action == "undone":
        return bool(known) and known[-1].action != "undone"
    if revision.action == "edited" and revision.edited_at is not None:
        edits = [row for row in known if row.edited_at is not None]
        if any(row.edited_at > revision.edited_at + _clocks_apart(row) for row in edits):
            return False
        # The platform counts edits in whole seconds: of two in one second the text tells whether it is new.
        if any(row.edited_at == revision.edited_at and row.text == revision.text for row in edits):
            return False
        return not (known and known[-1].action in ("said", "edited") and known[-1].text == revision.text)
    return True


def _clocks_apart(known: Any) -> timedelta:
    """By how much a revision may seem later than an edit that came in after it."""
    return timedelta() if known.action == "edited" else CLOCKS_APART


def _entry_row(household_id: int, revision_id: int, recorded: Recorded) -> dict[str, Any]:
    start, end = recorded.span or (None, None)
    return {
        "household_id": household_id,
        "revision_id": revision_id,
        "fact": json.dumps(recorded.fact.as_json()),
        "happened_at": recorded.happened_at,
        "span_start": start,
        "span_end": end,
        "doubted": recorded.doubted,
    }


def entries_of_rows(rows: Sequence[Any]) -> list[Entry]:
    """The entries of rows that hold ``ENTRY_COLUMNS``."""
    # Parsed at one go, which takes half the time of one by one.
    facts = json.loads(f"[{','.join([row[1] for row in rows])}]")
    return [
        Entry(
            id=number,
            fact=fact_from_json(fact),
            happened_at=happened_at,
            said_at=said_at,
            author=author,
            message_key=message_key(chat_id, message),
            doubted=doubted,
        )
        for fact, (number, _, happened_at, said_at, author, chat_id, message, doubted) in zip(
            facts, rows, strict=True
        )
    ]
