"""A whole household as plain rows, out of the database and into it, without loss and without addresses.

Numbers count inside the household alone, from 1 in the order of first mention: what the database or a chat
platform numbers has no meaning elsewhere. Of people and chats only what the household itself calls them goes
along. A row is JSON data; instants are written with their offset.
"""

from __future__ import annotations

import json
import secrets
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import and_, func, insert, select, update

from domain.due import OWN_KEY
from storage.models import chats, entries, households, members, persons, reminders, revisions
from storage.repository import Repository
from storage.times import UtcDateTime

__all__ = ["ELSEWHERE", "STAYS", "Holdings", "Summary", "Transfer"]

ELSEWHERE = "archive"
"""The platform of chats and people that came out of an archive: nobody can be reached there."""

_REVISION_FIELDS = (
    revisions.c.message,
    revisions.c.number,
    revisions.c.edited_at,
    revisions.c.author,
    revisions.c.said_at,
    revisions.c.recorded_at,
    revisions.c.action,
    revisions.c.text,
)
_REMINDER_FIELDS = tuple(
    column for column in reminders.c if column.name not in ("id", "household_id", "chat_id", "thread")
)

STAYS = "forget:"
"""What the keys of reminders begin with that are no part of what the household holds."""

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Holdings:
    """All that a household has said, and how far it has been reminded.

    people : ``number``, ``name``, ``anonymous``, ``role``. chats : ``number``, ``private``, ``title``,
        ``tank``.
    revisions : in order; ``revision``, ``chat``, ``person``, ``replaces`` by their numbers here, ``facts``,
        and the rest as the table has it.
    reminders : as the table has them, those of its own by the number of their entry here.
    """

    created_at: str
    people: tuple[Row, ...]
    chats: tuple[Row, ...]
    revisions: tuple[Row, ...]
    reminders: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Summary:
    """One household in few words, for whoever must choose among several."""

    household_id: int
    titles: tuple[str, ...]
    revisions: int


class Transfer(Repository):
    async def summaries(self) -> list[Summary]:
        """Every household that has a chat or has said anything."""
        counted = select(revisions.c.household_id, func.count()).group_by(revisions.c.household_id)
        counts = {row[0]: row[1] for row in await self._connection.execute(counted)}
        titles: dict[int, list[str]] = defaultdict(list)
        named = select(chats.c.household_id, chats.c.title, chats.c.platform).order_by(chats.c.id)
        for number, title, platform in await self._connection.execute(named):
            titles[number] += [title or platform]
        return [
            Summary(number, tuple(titles[number]), counts.get(number, 0))
            for number in sorted({*counts, *titles})
        ]

    async def last_revision(self, household_id: int) -> int:
        """The number of the household's newest revision; 0 where it has said nothing."""
        newest = select(func.max(revisions.c.id)).where(revisions.c.household_id == household_id)
        return (await self._connection.execute(newest)).scalar_one() or 0

    async def holdings(self, household_id: int, *, up_to: int | None = None) -> Holdings:
        """All that the household has said, up to revision ``up_to``."""
        wanted = select(
            revisions.c.id,
            revisions.c.chat_id,
            revisions.c.person_id,
            revisions.c.replaces,
            *_REVISION_FIELDS,
        ).where(revisions.c.household_id == household_id)
        if up_to is not None:
            wanted = wanted.where(revisions.c.id <= up_to)
        said: Sequence[Any] = (
            (await self._connection.execute(wanted.order_by(revisions.c.id))).mappings().all()
        )
        facts, numbers = await self._facts(household_id, up_to)
        reminded = await self._reminders(household_id)
        chat_numbers = _numbered([row["chat_id"] for row in [*said, *reminded]])
        person_numbers = _numbered([row["person_id"] for row in said])
        revision_numbers = _numbered([row["id"] for row in said])
        born = select(households.c.created_at).where(households.c.id == household_id)
        created_at: datetime = (await self._connection.execute(born)).scalar_one()
        return Holdings(
            created_at=created_at.isoformat(),
            people=await self._people(household_id, person_numbers),
            chats=await self._chats(chat_numbers),
            revisions=tuple(
                {
                    "revision": revision_numbers[row["id"]],
                    "replaces": revision_numbers.get(row["replaces"]),
                    "chat": chat_numbers[row["chat_id"]],
                    "person": person_numbers.get(row["person_id"]),
                    **{column.name: _plain(row[column.name]) for column in _REVISION_FIELDS},
                    "facts": facts.get(row["id"], []),
                }
                for row in said
            ),
            reminders=tuple(
                {
                    **{column.name: _plain(row[column.name]) for column in _REMINDER_FIELDS},
                    "key": _renumbered(row["key"], numbers),
                    "chat": chat_numbers.get(row["chat_id"]),
                }
                for row in reminded
                if _goes_along(row["key"], numbers)
            ),
        )

    async def put(self, household_id: int, kept: Holdings) -> None:
        """Gives a household that has said nothing yet all that ``kept`` holds.

        People whom the household knows by the same name, and alone by it, are taken for the same. Chats
        become silent ones of the household: what was said there can be read, nothing is written to them.
        Needs a write transaction. Raises ValueError where the household has said something already.
        """
        await self._hold(household_id)
        if await self.last_revision(household_id):
            raise ValueError("the journal is not empty")
        born = datetime.fromisoformat(kept.created_at)
        this = update(households).where(households.c.id == household_id)
        await self._connection.execute(this.values(created_at=born))
        people = await self._put_people(household_id, kept.people)
        homes = await self._put_chats(household_id, kept.chats, born)
        numbers = await self._put_revisions(household_id, kept.revisions, people, homes)
        await self._put_reminders(household_id, kept.reminders, homes, numbers)

    async def new_household(self, now: datetime) -> int:
        """An empty household without a chat."""
        made = insert(households).values(created_at=now).returning(households.c.id)
        return int((await self._connection.execute(made)).scalar_one())

    async def _facts(
        self, household_id: int, up_to: int | None
    ) -> tuple[dict[int, list[Row]], dict[int, int]]:
        """What each revision says, and the number here of each entry."""
        wanted = select(entries).where(entries.c.household_id == household_id)
        if up_to is not None:
            wanted = wanted.where(entries.c.revision_id <= up_to)
        facts: dict[int, list[Row]] = defaultdict(list)
        numbers: dict[int, int] = {}
        rows = await self._connection.execute(wanted.order_by(entries.c.revision_id, entries.c.id))
        for number, row in enumerate(rows.mappings(), start=1):
            numbers[row["id"]] = number
            span = None if row["span_start"] is None else [row["span_start"], row["span_end"]]
            facts[row["revision_id"]].append(
                {
                    "fact": json.loads(row["fact"]),
                    "happened_at": _plain(row["happened_at"]),
                    "span": span,
                    "doubted": bool(row["doubted"]),
                }
            )
        return facts, numbers

    async def _reminders(self, household_id: int) -> Sequence[Any]:
        wanted = select(reminders.c.chat_id, *_REMINDER_FIELDS)
        wanted = wanted.where(reminders.c.household_id == household_id).order_by(reminders.c.id)
        return (await self._connection.execute(wanted)).mappings().all()

    async def _people(self, household_id: int, numbers: Mapping[int, int]) -> tuple[Row, ...]:
        here = and_(members.c.person_id == persons.c.id, members.c.household_id == household_id)
        wanted = select(persons.c.id, persons.c.name, members.c.anonymous, members.c.role)
        wanted = wanted.outerjoin(members, here)
        rows = await self._connection.execute(wanted.where(persons.c.id.in_(numbers)))
        found = [
            {"number": numbers[person_id], "name": name, "anonymous": bool(anonymous), "role": role}
            for person_id, name, anonymous, role in rows
        ]
        return tuple(sorted(found, key=lambda row: row["number"]))

    async def _chats(self, numbers: Mapping[int, int]) -> tuple[Row, ...]:
        wanted = select(chats.c.id, chats.c.private, chats.c.title, chats.c.tank)
        wanted = wanted.where(chats.c.id.in_(numbers))
        found = [
            {"number": numbers[chat_id], "private": bool(private), "title": title, "tank": tank}
            for chat_id, private, title, tank in await self._connection.execute(wanted)
        ]
        return tuple(sorted(found, key=lambda row: row["number"]))

    async def _put_people(self, household_id: int, people: Sequence[Row]) -> dict[int, int]:
        known: dict[tuple[str, bool], list[int]] = defaultdict(list)
        here = select(persons.c.id, persons.c.name, members.c.anonymous).join(
            members, members.c.person_id == persons.c.id
        )
        for number, name, anonymous in await self._connection.execute(
            here.where(members.c.household_id == household_id)
        ):
            known["" if anonymous else name, bool(anonymous)].append(number)
        names = [("" if row["anonymous"] else row["name"], row["anonymous"]) for row in people]
        found: dict[int, int] = {}
        for row, key in zip(people, names, strict=True):
            if len(known[key]) == 1 and names.count(key) == 1:
                found[row["number"]] = known[key][0]
                continue
            made = insert(persons).values(platform=ELSEWHERE, address=None, name=row["name"])
            number = (await self._connection.execute(made.returning(persons.c.id))).scalar_one()
            if row["role"] is not None:  # who has left is no member
                joined = {"anonymous": row["anonymous"], "role": row["role"]}
                await self._connection.execute(
                    insert(members).values(household_id=household_id, person_id=number, **joined)
                )
            found[row["number"]] = number
        return found

    async def _put_chats(self, household_id: int, homes: Sequence[Row], born: datetime) -> dict[int, int]:
        found: dict[int, int] = {}
        for row in homes:
            made = insert(chats).values(
                household_id=household_id,
                platform=ELSEWHERE,
                address=secrets.token_hex(16),
                private=row["private"],
                title=row["title"],
                tank=row["tank"],
                left_at=born,
                created_at=born,
            )
            found[row["number"]] = (await self._connection.execute(made.returning(chats.c.id))).scalar_one()
        return found

    async def _put_revisions(
        self,
        household_id: int,
        said: Sequence[Row],
        people: Mapping[int, int],
        homes: Mapping[int, int],
    ) -> dict[int, int]:
        """Puts the revisions and their entries; gives each entry's number by its number in the archive."""
        first = await self._first_free(revisions, len(said))
        first_entry = await self._first_free(entries, sum(len(row["facts"]) for row in said))
        rows: list[Row] = []
        facts: list[Row] = []
        for place, row in enumerate(said):
            typed = {column.name: _typed(column, row[column.name]) for column in _REVISION_FIELDS}
            replaces = row["replaces"]
            rows.append(
                {
                    **typed,
                    "id": first + place,
                    "household_id": household_id,
                    "chat_id": homes[row["chat"]],
                    "person_id": people.get(row["person"]),
                    "replaces": None if replaces is None else first + replaces - 1,
                }
            )
            facts += [
                _entry(household_id, first + place, said_so, first_entry + len(facts) + nth)
                for nth, said_so in enumerate(row["facts"])
            ]
        await self._insert_all(revisions, rows)
        await self._insert_all(entries, facts)
        return {number: first_entry + number - 1 for number in range(1, len(facts) + 1)}

    async def _put_reminders(
        self,
        household_id: int,
        reminded: Iterable[Row],
        homes: Mapping[int, int],
        numbers: Mapping[int, int],
    ) -> None:
        rows = [
            {
                **{c.name: _typed(c, row[c.name]) for c in _REMINDER_FIELDS if c.name in row},
                "household_id": household_id,
                "chat_id": homes.get(row["chat"]),
                "key": _renumbered(row["key"], numbers),
            }
            for row in reminded
        ]
        await self._insert_all(reminders, rows)


def _entry(household_id: int, revision_id: int, said: Row, number: int) -> Row:
    start, end = said["span"] or (None, None)
    return {
        "id": number,
        "household_id": household_id,
        "revision_id": revision_id,
        "fact": json.dumps(said["fact"]),
        "happened_at": datetime.fromisoformat(said["happened_at"]),
        "span_start": start,
        "span_end": end,
        "doubted": said["doubted"],
    }


def _numbered(mentioned: Iterable[int | None]) -> dict[int, int]:
    """Numbers from 1 in the order of first mention."""
    first = dict.fromkeys(number for number in mentioned if number is not None)
    return {number: place for place, number in enumerate(first, start=1)}


def _entry_of(key: str) -> int:
    return int(key.removeprefix(OWN_KEY))


def _goes_along(key: str, numbers: Mapping[int, int]) -> bool:
    """Not what belongs to an entry that stays behind, nor what is planned for this database alone."""
    if key.startswith(OWN_KEY):
        return _entry_of(key) in numbers
    return not key.startswith(STAYS)


def _renumbered(key: str, numbers: Mapping[int, int]) -> str:
    """A reminder's key with the other number of its entry; the routine's keys have none."""
    return f"{OWN_KEY}{numbers[_entry_of(key)]}" if key.startswith(OWN_KEY) else key


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, datetime) else value


def _typed(column: Any, value: Any) -> Any:
    is_instant = isinstance(column.type, UtcDateTime) and value is not None
    return datetime.fromisoformat(value) if is_instant else value
