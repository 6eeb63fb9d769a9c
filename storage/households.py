"""Who belongs together: a household, its chats on any platform, and the people in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import and_, bindparam, delete, insert, select, update

from storage.models import chats, households, inbox, members, outbox, persons, reminders
from storage.repository import Repository

__all__ = ["Chat", "Household", "Households", "Person", "chat_key", "household_key"]

ANONYMOUS = "anonymous"
"""The platform of a person of whom nothing is known but that they may write in the group's name."""


@dataclass(frozen=True, slots=True)
class Household:
    id: int
    created_at: datetime


@dataclass(frozen=True, slots=True)
class Chat:
    """A chat that belongs to a household.

    thread : its home, where the platform has topics: the one in which we were last spoken to.
    active : the assistant may still write there.
    tank : the one that a message here is about where it names none; ``None``: the household's first.
    """

    id: int
    household_id: int
    platform: str
    address: str
    private: bool
    title: str
    thread: str | None
    active: bool
    tank: str | None = None


@dataclass(frozen=True, slots=True)
class Person:
    """A member of a household.

    address : the platform's id of the person; ``None`` for the household's anonymous one.
    role : of ``domain.roles``, in that household.
    """

    id: int
    name: str
    platform: str
    address: str | None
    role: str = "keeper"


def household_key(household_id: int) -> str:
    """The inbox's key of everything that one household says, whichever chat it comes from."""
    return f"household:{household_id}"


def chat_key(platform: str, address: str) -> str:
    """The inbox's key of a chat that belongs to no household yet."""
    return f"chat:{platform}:{address}"


CHAT_COLUMNS = (
    chats.c.id,
    chats.c.household_id,
    chats.c.platform,
    chats.c.address,
    chats.c.private,
    chats.c.title,
    chats.c.thread,
    chats.c.left_at,
    chats.c.tank,
)
"""The columns of a ``Chat``, as ``chat_of`` wants them. Bare columns: SQLite 3.40 gives a wrong answer to
``IS NULL`` where it stands in a RETURNING."""


def chat_of(row: Sequence[Any]) -> Chat:
    *says, left_at, tank = row
    return Chat(*[*says, left_at is None, tank])


_CHAT = select(*CHAT_COLUMNS).where(
    chats.c.platform == bindparam("platform"), chats.c.address == bindparam("address")
)
_PERSON_COLUMNS = (persons.c.id, persons.c.name, persons.c.platform, persons.c.address)
# The person, and whether the household has them: one row or none.
_HERE = and_(members.c.person_id == persons.c.id, members.c.household_id == bindparam("household_id"))
_BOTH = select(*_PERSON_COLUMNS, members.c.role)
_NAMELESS = _BOTH.join(members, _HERE).where(members.c.anonymous)
_PERSON = _BOTH.outerjoin(members, _HERE).where(
    persons.c.platform == bindparam("platform"), persons.c.address == bindparam("address")
)


_PEOPLE = (
    select(*_PERSON_COLUMNS, members.c.role)
    .join(members, members.c.person_id == persons.c.id)
    .where(members.c.household_id == bindparam("household_id"), members.c.role != "removed")
    .order_by(persons.c.id)
)


class Households(Repository):
    async def chat(
        self, platform: str, address: str, *, private: bool, title: str, thread: str | None, now: datetime
    ) -> Chat:
        """The chat at this address, as it is called now; made, with a household of its own, where it is new.

        thread : the home of a new chat; ``set_home`` moves that of a known one.
        Whoever is heard from is active again. Needs a write transaction; idempotent.
        """
        chat = await self.find_chat(platform, address)
        if chat is None:
            chat = await self._make_chat(platform, address, private, title, thread, now)
        if (chat.title, chat.active) != (title, True):
            changed = update(chats).where(chats.c.id == chat.id)
            changed = changed.values(title=title, left_at=None).returning(*CHAT_COLUMNS)
            chat = chat_of((await self._connection.execute(changed)).one())
        return chat

    async def set_home(self, chat_id: int, thread: str | None) -> None:
        """In which topic the chat is told what belongs to no other."""
        await self._connection.execute(update(chats).where(chats.c.id == chat_id).values(thread=thread))

    async def forget_topic(self, chat_id: int, thread: str) -> None:
        """The topic is gone; what was to be told there is told at home."""
        gone = update(chats).where(chats.c.id == chat_id, chats.c.thread == thread)
        await self._connection.execute(gone.values(thread=None))
        theirs = update(reminders).where(reminders.c.chat_id == chat_id, reminders.c.thread == thread)
        await self._connection.execute(theirs.values(thread=None))

    async def find_chat(self, platform: str, address: str) -> Chat | None:
        found = await self._connection.execute(_CHAT, {"platform": platform, "address": address})
        return _chat_or_none(found.first())

    async def chat_by_id(self, chat_id: int) -> Chat | None:
        found = select(*CHAT_COLUMNS).where(chats.c.id == chat_id)
        return _chat_or_none((await self._connection.execute(found)).first())

    async def chats(self, household_id: int) -> list[Chat]:
        """The household's chats, the oldest first."""
        found = select(*CHAT_COLUMNS).where(chats.c.household_id == household_id).order_by(chats.c.id)
        return [chat_of(row) for row in await self._connection.execute(found)]

    async def household(self, household_id: int) -> Household | None:
        found = select(households.c.id, households.c.created_at).where(households.c.id == household_id)
        row = (await self._connection.execute(found)).first()
        return Household(*row) if row else None

    async def person(self, platform: str, address: str | None, name: str, household_id: int) -> Person:
        """The person at this address, as they are called now, and a member of the household from now on.

        The first member is its keeper, whoever else writes there a helper.
        address : ``None`` gives the one anonymous person of the household.
        Needs a write transaction; idempotent.
        """
        wanted = {"household_id": household_id, "platform": platform, "address": address}
        known = _NAMELESS if address is None else _PERSON
        row: Any = (await self._connection.execute(known, wanted)).first()
        if row is None:
            values = {
                "platform": platform if address is not None else ANONYMOUS,
                "address": address,
                "name": name,
            }
            made = insert(persons).values(values).returning(*_PERSON_COLUMNS)
            row, role = (await self._connection.execute(made)).one(), None
        else:
            role = row.role
        if role is None:
            role = await self._join(household_id, row[0], anonymous=address is None)
        if row[1] != name:
            await self._connection.execute(update(persons).where(persons.c.id == row[0]).values(name=name))
        return Person(row[0], name, row[2], row[3], role)

    async def _join(self, household_id: int, person_id: int, *, anonymous: bool) -> str:
        others = select(members.c.person_id).where(members.c.household_id == household_id).limit(1)
        is_first = (await self._connection.execute(others)).first() is None
        role = "keeper" if is_first else "helper"
        joined = insert(members).values(
            household_id=household_id, person_id=person_id, anonymous=anonymous, role=role
        )
        await self._connection.execute(joined)
        return role

    async def people(self, household_id: int) -> list[Person]:
        """The household's members, those who came first first; not who was removed."""
        found = await self._connection.execute(_PEOPLE, {"household_id": household_id})
        return [Person(*row) for row in found]

    async def lock(self, household_id: int) -> None:
        """Holds the household until the transaction ends, so that its messages are handled one at a time."""
        await self._hold(household_id)

    async def set_active(self, chat_id: int, active: bool, now: datetime) -> None:
        """Whether the assistant may write in the chat. What waited for a lost one is closed."""
        left_at = None if active else now
        await self._connection.execute(update(chats).where(chats.c.id == chat_id).values(left_at=left_at))
        if not active:
            waiting = and_(
                outbox.c.chat_id == chat_id, outbox.c.outcome.is_(None), outbox.c.lease_token.is_(None)
            )
            closed = update(outbox).where(waiting).values(outcome="failed", code="chat_inactive")
            await self._connection.execute(closed)

    async def move_chat(self, chat_id: int, household_id: int) -> Chat | None:
        """Puts the chat into another household; what it said before stays where it was said.

        Open messages of the chat keep their turn in the household that they were sent to.
        """
        moved = update(chats).where(chats.c.id == chat_id).values(household_id=household_id)
        return _chat_or_none((await self._connection.execute(moved.returning(*CHAT_COLUMNS))).first())

    async def readdress(self, platform: str, old: str, new: str, now: datetime) -> Chat | None:
        """The platform gave the chat a new address: its household, reminders and waiting letters go there.

        The old chat stays as a silent row of its own: messages are numbered anew at the new address, and
        a number must not name two messages. ``None`` where neither address is known; idempotent.
        """
        left, found = await self.find_chat(platform, old), await self.find_chat(platform, new)
        if left is None:
            return found
        if found is None:
            says = {"household_id": left.household_id, "platform": platform, "address": new}
            says |= {"private": left.private, "title": left.title, "thread": left.thread, "created_at": now}
            says["tank"] = left.tank
            made = insert(chats).values(says).returning(*CHAT_COLUMNS)
            entered = chat_of((await self._connection.execute(made)).one())
        else:
            entered = await self.move_chat(found.id, left.household_id) or found
        await self._connection.execute(update(chats).where(chats.c.id == left.id).values(left_at=now))
        theirs = update(reminders).where(reminders.c.chat_id == left.id).values(chat_id=entered.id)
        await self._connection.execute(theirs)
        await self._forward(left.id, entered.id)
        return entered

    async def _forward(self, left_id: int, entered_id: int) -> None:
        """Moves the letters that wait; one in work keeps its lease, unless there is one at work there."""
        waiting = update(outbox).where(outbox.c.chat_id == left_id, outbox.c.outcome.is_(None))
        busy = select(outbox.c.id).where(
            outbox.c.chat_id == entered_id, outbox.c.outcome.is_(None), outbox.c.lease_token.is_not(None)
        )
        moved: dict[str, Any] = {"chat_id": entered_id}
        if (await self._connection.execute(busy)).first() is not None:
            moved |= {"lease_token": None, "lease_until": None}
        await self._connection.execute(waiting.values(moved))

    async def _make_chat(
        self, platform: str, address: str, private: bool, title: str, thread: str | None, now: datetime
    ) -> Chat:
        home = insert(households).values(created_at=now).returning(households.c.id)
        household_id = (await self._connection.execute(home)).scalar_one()
        made = self._insert(chats).values(
            household_id=household_id,
            platform=platform,
            address=address,
            private=private,
            title=title,
            thread=thread,
            created_at=now,
        )
        # Two transactions may meet the same new chat on PostgreSQL: the second takes what the first made.
        made = made.on_conflict_do_update(
            index_elements=[chats.c.platform, chats.c.address], set_={"title": title}
        )
        chat = chat_of((await self._connection.execute(made.returning(*CHAT_COLUMNS))).one())
        if chat.household_id != household_id:
            await self._connection.execute(delete(households).where(households.c.id == household_id))
        # What the chat sent before its household was known now waits in the household's line. A leased
        # row is the one being handled at this moment: its settling is part of this transaction.
        waiting = update(inbox).where(
            inbox.c.household_key == chat_key(platform, address),
            inbox.c.outcome.is_(None),
            inbox.c.lease_token.is_(None),
        )
        await self._connection.execute(waiting.values(household_key=household_key(chat.household_id)))
        return chat


def _chat_or_none(row: Any) -> Chat | None:
    return chat_of(row) if row else None
