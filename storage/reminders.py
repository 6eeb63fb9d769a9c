"""Reminders: the table that is the truth about what the household will be told, and when next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import Select, bindparam, exists, func, select, update

from storage.models import chats, households, reminders
from storage.repository import Repository, insert_into

__all__ = ["ReminderRow", "Reminders"]


@dataclass(frozen=True, slots=True)
class ReminderRow:
    """One reminder.

    chat_id : where to tell it; ``None`` leaves that to whoever tells it.
    thread : in which topic; ``None``: wherever the chat is at home.
    key : what it is about, unique in the household: ``water_change``, ``retest``, ``own:17``.
    why : why it is due now, for the ``why`` button.
    rrule : RFC 5545; ``None`` where it does not repeat by a rule.
    due_at : when next, aware UTC.
    planned_at : the date that the journal gave; ``due_at`` moves on from it when it is told or put off.
    fired_count : how many times it has been told.
    source : who wants it told: the routine, the household, a test that must be repeated.
    ended : it will not be told any more.
    settled : somebody said that it is done, or left it out, since it was planned for that date.
    """

    id: int
    household_id: int
    chat_id: int | None
    key: str
    task: str
    text: str
    why: str
    rrule: str | None
    due_at: datetime
    planned_at: datetime
    fired_count: int
    paused: bool
    source: str
    ended: bool = False
    thread: str | None = None
    settled: bool = False


_COLUMNS = (
    reminders.c.id,
    reminders.c.household_id,
    reminders.c.chat_id,
    reminders.c.key,
    reminders.c.task,
    reminders.c.text,
    reminders.c.why,
    reminders.c.rrule,
    reminders.c.due_at,
    reminders.c.planned_at,
    reminders.c.fired_count,
    reminders.c.paused,
    reminders.c.source,
    reminders.c.ended,
    reminders.c.thread,
    reminders.c.settled_at,
)


_ALL = (
    select(*_COLUMNS)
    .where(reminders.c.household_id == bindparam("household_id"))
    .order_by(reminders.c.due_at, reminders.c.id)
)
_ONGOING = _ALL.where(~reminders.c.ended)


class Reminders(Repository):
    async def of(self, household_id: int, *, with_ended: bool = False) -> list[ReminderRow]:
        """The household's reminders, the next one first; paused ones too, ended ones where asked for."""
        return await self._rows(_ALL if with_ended else _ONGOING, household_id=household_id)

    async def get(self, reminder_id: int, *, household_id: int | None = None) -> ReminderRow | None:
        """One reminder, ended or not; with ``household_id``, only if it is that household's."""
        wanted = select(*_COLUMNS).where(reminders.c.id == reminder_id)
        if household_id is not None:
            wanted = wanted.where(reminders.c.household_id == household_id)
        rows = await self._rows(wanted)
        return rows[0] if rows else None

    async def put(
        self,
        household_id: int,
        key: str,
        *,
        chat_id: int | None,
        task: str,
        text: str,
        why: str,
        rrule: str | None,
        due_at: datetime,
        source: str,
        now: datetime,
        thread: str | None = None,
    ) -> int:
        """Makes the reminder, or makes the one with this key say this from now on; gives its number.

        ``due_at`` becomes its planned date too, and its count of firings starts anew.
        One that had ended begins again; one that is paused stays so. Needs a write transaction; idempotent.
        """
        row = {
            "household_id": household_id,
            "key": key,
            "paused": False,
            "chat_id": chat_id,
            "thread": thread,
            "task": task,
            "text": text,
            "why": why,
            "rrule": rrule,
            "due_at": due_at,
            "planned_at": due_at,
            "fired_count": 0,
            "source": source,
            "ended": False,
            "settled_at": None,
            "updated_at": now,
        }
        return int((await self._connection.execute(_put(self._is_postgresql), row)).scalar_one())

    async def end(self, household_id: int, key: str) -> None:
        await self._connection.execute(_of_key(household_id, key).values(ended=True))

    async def pause(self, household_id: int, key: str, paused: bool) -> None:
        """Whether the reminder keeps silent until further notice."""
        await self._connection.execute(_of_key(household_id, key).values(paused=paused))

    async def due(
        self, now: datetime, limit: int = 100, *, household_id: int | None = None
    ) -> list[ReminderRow]:
        """What is due, the longest overdue first; nothing of chats that cannot be written to.

        In a write transaction the rows are this transaction's own, and on PostgreSQL their households are
        held: another one that asks at the same time gets those of other households, and a household in
        which a message is being handled has its turn next time. Nobody waits here, so nobody waits in a
        circle. Move each row on with ``advance`` before the transaction ends.

        household_id : only this household's.
        """
        wanted = (
            select(*_COLUMNS)
            .join(households, households.c.id == reminders.c.household_id)
            .where(*_is_due(now))
            .order_by(reminders.c.due_at, reminders.c.id)
            .limit(limit)
        )
        if household_id is not None:
            wanted = wanted.where(reminders.c.household_id == household_id)
        return await self._rows(wanted.with_for_update(skip_locked=True, of=(reminders, households)))

    async def households_due(self, now: datetime) -> list[int]:
        """The households for which something is due, the one with the longest overdue first."""
        wanted = select(reminders.c.household_id).where(*_is_due(now)).group_by(reminders.c.household_id)
        found = await self._connection.execute(wanted.order_by(func.min(reminders.c.due_at)))
        return list(found.scalars())

    async def put_off(self, reminder_id: int, due_at: datetime) -> None:
        """The reminder is due at another time, without being told; one that had ended begins again."""
        moved = update(reminders).where(reminders.c.id == reminder_id)
        await self._connection.execute(moved.values(due_at=due_at, ended=False))

    async def move(self, reminder_id: int, due_at: datetime) -> None:
        """The reminder stands at another time as if the journal had given it; it has not been told for it."""
        moved = update(reminders).where(reminders.c.id == reminder_id)
        anew = {"due_at": due_at, "ended": False, "settled_at": None, "fired_count": 0}
        await self._connection.execute(moved.values(anew))

    async def settle(self, reminder_id: int, now: datetime) -> None:
        """Somebody did what it is about, or left it out, and no log says so."""
        await self._connection.execute(
            update(reminders).where(reminders.c.id == reminder_id).values(settled_at=now)
        )

    async def advance(self, reminder_id: int, due_at: datetime | None) -> None:
        """The reminder was told; it is due again at ``due_at``, or never (``None``)."""
        told: dict[str, Any] = {"fired_count": reminders.c.fired_count + 1, "settled_at": None}
        told |= {"ended": True} if due_at is None else {"due_at": due_at}
        await self._connection.execute(update(reminders).where(reminders.c.id == reminder_id).values(told))

    async def release(self, chat_id: int) -> None:
        """The household's reminders that were told in this chat are told wherever it has another.

        What somebody asked for themselves stays with the chat.
        """
        theirs = update(reminders).where(reminders.c.chat_id == chat_id, reminders.c.task != "own")
        await self._connection.execute(theirs.values(chat_id=None))

    async def next_due_at(self) -> datetime | None:
        """When the next reminder of all is due; ``None`` where there is none."""
        first = select(reminders.c.due_at).where(~reminders.c.ended, ~reminders.c.paused)
        found = await self._connection.execute(first.order_by(reminders.c.due_at).limit(1))
        return found.scalar_one_or_none()

    async def _rows(self, wanted: Select[Any], **values: Any) -> list[ReminderRow]:
        found = await self._connection.execute(wanted, values)
        return [_reminder(row) for row in found]


def _reminder(row: Sequence[Any]) -> ReminderRow:
    *says, settled_at = row
    return ReminderRow(*[*says, settled_at is not None])


@cache
def _put(is_postgresql: bool) -> Any:
    put = insert_into(reminders, is_postgresql)
    kept = {"id", "household_id", "key", "paused"}
    says = {column.name: column for column in put.excluded if column.name not in kept}
    by_key = [reminders.c.household_id, reminders.c.key]
    return put.on_conflict_do_update(index_elements=by_key, set_=says).returning(reminders.c.id)


def _of_key(household_id: int, key: str) -> Any:
    return update(reminders).where(reminders.c.household_id == household_id, reminders.c.key == key)


def _is_due(now: datetime) -> tuple[Any, ...]:
    closed = exists().where(chats.c.id == reminders.c.chat_id, chats.c.left_at.is_not(None))
    return ~reminders.c.ended, ~reminders.c.paused, reminders.c.due_at <= now, ~closed
