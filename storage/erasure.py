"""Forgetting: the one place where anything of the journal is deleted, because somebody asked for it.

On SQLite every connection overwrites what it deletes (``PRAGMA secure_delete``); ``Store.scrub`` then empties
the write-ahead log. On PostgreSQL the rows are gone at once, their space when autovacuum has passed.
"""

from __future__ import annotations

import json
import re
import secrets
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from html import escape
from typing import Any

from sqlalchemy import (
    Table,
    Text,
    and_,
    bindparam,
    cast,
    delete,
    exists,
    false,
    literal,
    or_,
    select,
    tuple_,
    update,
)

from storage.households import chat_key, household_key
from storage.memory import JournalMemory
from storage.models import (
    chats,
    entries,
    hands,
    households,
    inbox,
    invites,
    members,
    metadata,
    outbox,
    persons,
    photos,
    questions,
    reminders,
    revisions,
)
from storage.repository import ROWS_AT_ONCE, Repository
from storage.transfer import ELSEWHERE

__all__ = ["SOMEONE", "Erasure"]

SOMEONE = "someone"
"""What a shared entry says in place of the name of a person who was forgotten."""


_NOBODY = {"person_id": None, "author": SOMEONE, "text": ""}


_MOVED = (
    update(entries)
    .where(entries.c.revision_id == bindparam("was"))
    .values(revision_id=bindparam("now"), span_start=None, span_end=None)
)


class Erasure(Repository):
    def __init__(self, connection: Any, memory: JournalMemory) -> None:
        super().__init__(connection)
        self._memory = memory

    async def has_unread(self, household_id: int) -> bool:
        """Whether something the household sent has not been handled yet: it may call the forgetting off."""
        waiting = select(inbox.c.id).where(
            inbox.c.household_key == household_key(household_id), inbox.c.outcome.is_(None)
        )
        return (await self._connection.execute(waiting.limit(1))).first() is not None

    async def household(self, household_id: int, now: datetime) -> None:
        """Deletes a household with all that it said, was sent and is called, and people who were only there.

        Its number stays taken, with no word beside it: another household must never be mistaken for it.
        Needs a write transaction; idempotent.
        """
        await self._hold(household_id)
        homes = await self._numbers(select(chats.c.id).where(chats.c.household_id == household_id))
        people = await self._numbers(
            select(members.c.person_id).where(members.c.household_id == household_id)
        )
        said_by = select(revisions.c.person_id).where(revisions.c.household_id == household_id).distinct()
        people |= await self._numbers(said_by.where(revisions.c.person_id.is_not(None)))
        addresses = select(chats.c.address).where(chats.c.id.in_(homes))
        for address in (await self._connection.execute(addresses)).scalars().all():
            await self._unread_asides(address)
        keys = await self._inbox_keys(household_id)
        await self._connection.execute(delete(inbox).where(inbox.c.household_key.in_(keys)))
        for table in (outbox, questions, photos):
            await self._connection.execute(delete(table).where(table.c.chat_id.in_(homes)))
        told_there = update(reminders).where(reminders.c.chat_id.in_(homes))
        await self._connection.execute(told_there.values(chat_id=None))
        for table in reversed(metadata.sorted_tables):
            if "household_id" in table.c and table is not chats:
                await self._delete_of(table, household_id)
        await self._drop_chats(household_id, now)
        nothing = update(households).where(households.c.id == household_id)
        await self._connection.execute(nothing.values(created_at=datetime.fromtimestamp(0, UTC)))
        await self._leave_no_stranger(people)
        self._memory.drop(household_id)

    async def person(self, household_id: int, person_id: int, now: datetime) -> None:
        """Takes a person out of a household: what they wrote, their name, their own chat with the assistant.

        What stands of the shared journal stays, said by nobody in particular; what they had taken back or
        changed is deleted with the words of all their messages. Others are untouched.
        Who was removed stays so.
        Needs a write transaction; idempotent.
        """
        await self._hold(household_id)
        wanted = select(persons.c.name, persons.c.address).where(persons.c.id == person_id)
        known = (await self._connection.execute(wanted)).first()
        if known is None:
            return
        name, address = known
        await self._forget_letters(household_id, name)
        await self._anonymise(household_id, person_id)
        await self._forget_reasons(household_id, name)
        if address is not None:
            await self._forget_updates(household_id, address)
            await self._close_own_chat(household_id, address, now)
        for table, theirs in (
            (questions, questions.c.person_id == person_id),
            (hands, hands.c.person_id == person_id),
            (photos, photos.c.person_id == person_id),
            (invites, or_(invites.c.made_by == person_id, invites.c.used_by == person_id)),
            (members, and_(members.c.person_id == person_id, members.c.role != "removed")),
        ):
            here = table.c.household_id == household_id
            await self._connection.execute(delete(table).where(here, theirs))
        await self._keep_out_nameless(household_id, person_id)
        await self._keep_a_keeper(household_id)
        await self._leave_no_stranger({person_id})
        self._memory.drop(household_id)

    async def _keep_out_nameless(self, household_id: int, person_id: int) -> None:
        """Of who was removed the platform's number stays, and no more: being forgotten lets nobody in."""
        theirs = select(members.c.household_id).where(members.c.person_id == person_id)
        if await self._numbers(theirs) == {household_id}:
            nameless = update(persons).where(persons.c.id == person_id).values(name="")
            await self._connection.execute(nameless)

    async def _keep_a_keeper(self, household_id: int) -> None:
        """Where the last keeper has gone, the helper who came first takes over, else whoever looks on: a
        household without a keeper could never invite, remove or end anything again."""
        here = select(members.c.person_id).where(members.c.household_id == household_id)
        if (await self._connection.execute(here.where(members.c.role == "keeper").limit(1))).first():
            return
        left = here.where(members.c.role != "removed").order_by(
            members.c.anonymous, members.c.role != "helper", members.c.person_id
        )
        heir = (await self._connection.execute(left.limit(1))).scalar_one_or_none()
        made = update(members).where(members.c.household_id == household_id, members.c.person_id == heir)
        await self._connection.execute(made.values(role="keeper"))

    async def _numbers(self, wanted: Any) -> set[int]:
        return set((await self._connection.execute(wanted)).scalars())

    async def _delete_of(self, table: Table, household_id: int) -> None:
        await self._connection.execute(delete(table).where(table.c.household_id == household_id))

    async def _inbox_keys(self, household_id: int) -> list[str]:
        """In whose name its updates came in; the first of a chat came before its household was known."""
        homes = select(chats.c.platform, chats.c.address).where(chats.c.household_id == household_id)
        rows = (await self._connection.execute(homes)).all()
        return [household_key(household_id), *(chat_key(platform, address) for platform, address in rows)]

    async def _unread_asides(self, address: str) -> None:
        """Deletes what was set aside before anybody knew whose it was, where it names the chat."""
        aside = select(inbox.c.id, inbox.c.raw).where(inbox.c.household_key.is_(None))
        numbers = [number for number, raw in await self._connection.execute(aside) if _names(raw, address)]
        await self._connection.execute(delete(inbox).where(inbox.c.id.in_(numbers)))

    async def _drop_chats(self, household_id: int, now: datetime) -> None:
        """Deletes the household's chats; one in which another household has its say becomes nameless."""
        theirs = select(revisions.c.chat_id, revisions.c.household_id).distinct()
        theirs = theirs.join(chats, chats.c.id == revisions.c.chat_id)
        for number, other in (
            await self._connection.execute(theirs.where(chats.c.household_id == household_id))
        ).all():
            moved = update(chats).where(chats.c.id == number)
            await self._connection.execute(moved.values(household_id=other, **_nameless(now)))
        await self._delete_of(chats, household_id)

    async def _leave_no_stranger(self, people: Iterable[int]) -> None:
        """Deletes those of the people who belong nowhere and said nothing that is kept."""
        mentioned = [
            exists().where(column == persons.c.id)
            for table in metadata.sorted_tables
            for column in table.c
            if any(key.column is persons.c.id for key in column.foreign_keys)
        ]
        await self._connection.execute(
            delete(persons).where(persons.c.id.in_(list(people)), ~or_(false(), *mentioned))
        )

    async def _anonymise(self, household_id: int, person_id: int) -> None:
        """Puts in the place of each of their messages one revision that says what stands, not who said it.

        It is numbered anew, so that every process that remembers the journal reads it again; the entries that
        stand keep their numbers. All earlier revisions go.
        """
        theirs = (
            select(revisions.c.chat_id, revisions.c.message)
            .where(revisions.c.household_id == household_id, revisions.c.person_id == person_id)
            .distinct()
        )
        lines = select(revisions).where(tuple_(revisions.c.chat_id, revisions.c.message).in_(theirs))
        rows = (await self._connection.execute(lines.order_by(revisions.c.number))).mappings().all()
        standing = {(row["chat_id"], row["message"]): row for row in rows}
        first = await self._first_free(revisions, len(standing))
        anew = [
            {
                **row,
                "id": first + place,
                "number": 1,
                "replaces": None,
                **(_NOBODY if row["person_id"] == person_id else {}),
            }
            for place, row in enumerate(standing.values())
        ]
        await self._clear_the_way([row["id"] for row in rows])
        await self._insert_all(revisions, anew)
        moves = [
            {"was": row["id"], "now": new["id"]} for row, new in zip(standing.values(), anew, strict=True)
        ]
        if moves:
            await self._connection.execute(_MOVED, moves)
        await self._delete_revisions([row["id"] for row in rows])

    async def _clear_the_way(self, numbers: list[int]) -> None:
        """Takes the old revisions off their messages, for a message has but one first revision."""
        aside = literal("forgotten:") + cast(revisions.c.id, Text)
        for some in _in_parts(numbers):
            await self._connection.execute(
                update(revisions).where(revisions.c.id.in_(some)).values(message=aside)
            )

    async def _delete_revisions(self, numbers: list[int]) -> None:
        """Deletes revisions with what entries they have left, the newest first: each names the one before."""
        for some in _in_parts(numbers[::-1]):
            await self._connection.execute(delete(entries).where(entries.c.revision_id.in_(some)))
            await self._connection.execute(delete(revisions).where(revisions.c.id.in_(some)))

    async def _forget_letters(self, household_id: int, name: str) -> None:
        """Deletes all that was sent to the household, for any of it may quote them, and what waits and names
        them. Undo and Correct go by the journal and still work; the working behind old answers is gone."""
        here = outbox.c.household_id == household_id
        await self._connection.execute(delete(outbox).where(here, outbox.c.outcome.is_not(None)))
        spellings = [json.dumps(each)[1:-1] for each in {name, escape(name, quote=False)} if each]
        waiting = await self._connection.execute(select(outbox.c.id, outbox.c.letter).where(here))
        naming = [number for number, letter in waiting if any(each in letter for each in spellings)]
        await self._connection.execute(delete(outbox).where(outbox.c.id.in_(naming)))

    async def _forget_reasons(self, household_id: int, name: str) -> None:
        """``Ana asked for it`` becomes ``someone asked for it``."""
        why = select(reminders.c.id, reminders.c.why).where(reminders.c.household_id == household_id)
        for number, text in (await self._connection.execute(why)).all():
            if name and name in text:
                said = update(reminders).where(reminders.c.id == number)
                await self._connection.execute(said.values(why=text.replace(name, SOMEONE)))

    async def _close_own_chat(self, household_id: int, address: str, now: datetime) -> None:
        """Their private chat, where it stood in this household, stays for what was said there, nameless."""
        own = select(chats.c.id).where(
            chats.c.household_id == household_id, chats.c.private, chats.c.address == address
        )
        for number in await self._numbers(own):
            await self._connection.execute(delete(outbox).where(outbox.c.chat_id == number))
            await self._connection.execute(update(chats).where(chats.c.id == number).values(_nameless(now)))

    async def _forget_updates(self, household_id: int, address: str) -> None:
        """Deletes what came in from them or speaks of them, once it has been handled."""
        keys = await self._inbox_keys(household_id)
        handled = select(inbox.c.id, inbox.c.raw).where(
            or_(inbox.c.household_key.in_(keys), inbox.c.household_key.is_(None)),
            inbox.c.outcome.is_not(None),
        )
        numbers = [number for number, raw in await self._connection.execute(handled) if _names(raw, address)]
        await self._connection.execute(delete(inbox).where(inbox.c.id.in_(numbers)))


def _nameless(now: datetime) -> dict[str, Any]:
    """A chat of which nothing is known but that something was said in it."""
    return {
        "platform": ELSEWHERE,
        "address": secrets.token_hex(16),
        "title": "",
        "thread": None,
        "left_at": now,
    }


def _in_parts(numbers: list[int]) -> Iterator[list[int]]:
    for start in range(0, len(numbers), ROWS_AT_ONCE):
        yield numbers[start : start + ROWS_AT_ONCE]


def _names(raw: str, address: str) -> bool:
    """Whether an update speaks of this address, as a whole and not as part of another."""
    return re.search(rf"(?<![\w-]){re.escape(address)}(?!\w)", raw) is not None
