"""A household in a few words, and ways to look into the database past the repositories."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import event

from domain.facts import Fact, Reading
from storage.engine import Store, Transaction
from storage.households import Chat, Person
from storage.journal import Action, Recorded, Revision

LEASE = timedelta(seconds=30)
JOURNAL_CHANGED = re.compile(r"\b(UPDATE|DELETE\s+FROM)\s+\"?(revisions|entries)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Home:
    """A chat of a household and somebody in it."""

    chat: Chat
    person: Person

    @property
    def id(self) -> int:
        return self.chat.household_id

    def says(
        self,
        message: str,
        *facts: Fact | Recorded,
        at: datetime,
        text: str = "",
        action: Action = "said",
        edited_at: datetime | None = None,
    ) -> Revision:
        return Revision(
            household_id=self.id,
            chat_id=self.chat.id,
            message=message,
            edited_at=edited_at,
            person_id=self.person.id,
            author=self.person.name,
            said_at=at,
            recorded_at=at,
            action=action,
            text=text,
            facts=tuple(fact if isinstance(fact, Recorded) else Recorded(fact, at) for fact in facts),
        )


async def settled(store: Store, address: str, now: datetime, *, private: bool = True) -> Home:
    """A household of its own, with one chat and one person."""
    async with store.write() as tx:
        return await settled_in(tx, address, now, private=private)


async def settled_in(tx: Transaction, address: str, now: datetime, *, private: bool = True) -> Home:
    chat = await tx.households.chat(
        "telegram", address, private=private, title=f"Home {address}", thread=None, now=now
    )
    return Home(chat, await tx.households.person("telegram", f"p{address}", "Ana", chat.household_id))


async def append(store: Store, revision: Revision) -> int | None:
    async with store.write() as tx:
        return await tx.journal.append(revision)


async def net(store: Store, household_id: int) -> list[Fact]:
    """The facts that stand, in the order of happening."""
    async with store.read() as tx:
        return [entry.fact for entry in await tx.journal.entries(household_id)]


def ph(value: float) -> Reading:
    return Reading(ph=value)


def letter(html: str, kind: str = "reply", **more: Any) -> dict[str, Any]:
    return {"kind": kind, "html": html, **more}


@contextmanager
def questions_of(store: Store) -> Iterator[list[tuple[str, Any]]]:
    """Every statement that the store sends meanwhile, with its values."""
    sent: list[tuple[str, Any]] = []

    def note(_: Any, __: Any, statement: str, values: Any, *___: Any) -> None:
        sent.append((statement, values))

    engine = store._engine.sync_engine
    event.listen(engine, "before_cursor_execute", note)
    try:
        yield sent
    finally:
        event.remove(engine, "before_cursor_execute", note)


@contextmanager
def statements_of(store: Store) -> Iterator[list[str]]:
    """The statements alone; complete when the block has ended."""
    statements: list[str] = []
    with questions_of(store) as sent:
        yield statements
    statements.extend(statement for statement, _ in sent)
