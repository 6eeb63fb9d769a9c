"""Who may join a household, who belongs to it, and in which household a person's chats stand."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any

from sqlalchemy import and_, delete, exists, func, insert, select, update

from domain.roles import MAY
from storage.households import CHAT_COLUMNS, Chat, chat_of
from storage.models import chats, entries, households, invites, members, persons, questions
from storage.repository import Repository

__all__ = ["Belonging", "Invite", "Membership"]


@dataclass(frozen=True, slots=True)
class Invite:
    """A way into a household, open until it is used, revoked or too old, or its maker may invite no more."""

    id: int
    household_id: int
    role: str
    made_by: int
    expires_at: datetime


@dataclass(frozen=True, slots=True)
class Belonging:
    """A household that a person belongs to, with their role there and one of its chats' titles."""

    household_id: int
    role: str
    title: str


_INVITE = (
    invites.c.id,
    invites.c.household_id,
    invites.c.role,
    invites.c.made_by,
    invites.c.expires_at,
)


_MAKER_MAY_INVITE = exists().where(
    members.c.household_id == invites.c.household_id,
    members.c.person_id == invites.c.made_by,
    members.c.role.in_(MAY["invite"]),
)


class Membership(Repository):
    async def invite(
        self, household_id: int, token: str, *, role: str, made_by: int, now: datetime, expires_at: datetime
    ) -> int:
        """Keeps an invite, by the token's digest alone; gives its number."""
        made = insert(invites).values(
            household_id=household_id,
            digest=_digest(token),
            role=role,
            made_by=made_by,
            made_at=now,
            expires_at=expires_at,
        )
        return int((await self._connection.execute(made.returning(invites.c.id))).scalar_one())

    async def find_invite(self, token: str, now: datetime) -> Invite | None:
        """The open invite with this token."""
        wanted = select(*_INVITE).where(invites.c.digest == _digest(token), *_open(now))
        row = (await self._connection.execute(wanted)).first()
        return Invite(*row) if row else None

    async def use_invite(self, token: str, person_id: int, now: datetime) -> Invite | None:
        """Closes the open invite with this token; ``None`` where there is none (any more).

        One statement: of two who use it at once, one gets it.
        """
        used = update(invites).where(invites.c.digest == _digest(token), *_open(now))
        row = (
            await self._connection.execute(used.values(closed_at=now, used_by=person_id).returning(*_INVITE))
        ).first()
        return Invite(*row) if row else None

    async def revoke_invite(self, household_id: int, invite_id: int, now: datetime) -> bool:
        """Closes an open invite of this household; ``False`` where it is closed, or another one's."""
        revoked = update(invites).where(
            invites.c.id == invite_id, invites.c.household_id == household_id, *_open(now)
        )
        return (await self._connection.execute(revoked.values(closed_at=now))).rowcount == 1

    async def open_invites(self, household_id: int, now: datetime) -> list[Invite]:
        """The household's open invites, the oldest first."""
        wanted = select(*_INVITE).where(invites.c.household_id == household_id, *_open(now))
        return [Invite(*row) for row in await self._connection.execute(wanted.order_by(invites.c.id))]

    async def role_of(self, household_id: int, person_id: int) -> str | None:
        """The person's role there; ``None`` for one who never belonged to it or has left."""
        return (
            await self._connection.execute(select(members.c.role).where(*_member(household_id, person_id)))
        ).scalar_one_or_none()

    async def give_role(self, household_id: int, person_id: int, role: str) -> None:
        """Makes the person a member with this role, or gives a member this role."""
        given = self._insert(members).values(
            household_id=household_id, person_id=person_id, anonymous=False, role=role
        )
        given = given.on_conflict_do_update(
            index_elements=[members.c.household_id, members.c.person_id], set_={"role": role}
        )
        await self._connection.execute(given)

    async def leave(self, household_id: int, person_id: int) -> None:
        """The person belongs to the household no more; what they said stays."""
        await self._connection.execute(delete(members).where(*_member(household_id, person_id)))

    async def belongings(self, person_id: int) -> list[Belonging]:
        """Every household that the person belongs to, the oldest first."""
        title = (
            select(func.min(chats.c.title))
            .where(chats.c.household_id == members.c.household_id, chats.c.title != "")
            .scalar_subquery()
        )
        wanted = (
            select(members.c.household_id, members.c.role, func.coalesce(title, ""))
            .where(members.c.person_id == person_id, members.c.role != "removed")
            .order_by(members.c.household_id)
        )
        return [Belonging(*row) for row in await self._connection.execute(wanted)]

    async def own_chats(self, household_id: int, person_id: int) -> list[Chat]:
        """The person's private chats that stand in this household."""
        here = and_(persons.c.platform == chats.c.platform, persons.c.address == chats.c.address)
        wanted = (
            select(*CHAT_COLUMNS)
            .join(persons, here)
            .where(persons.c.id == person_id, chats.c.household_id == household_id, chats.c.private)
        )
        return [chat_of(row) for row in await self._connection.execute(wanted)]

    async def is_blank(self, household_id: int) -> bool:
        """Nothing was ever kept there."""
        kept = select(entries.c.id).where(entries.c.household_id == household_id).limit(1)
        return (await self._connection.execute(kept)).first() is None

    async def settle_chat(self, chat_id: int, household_id: int | None, now: datetime) -> int:
        """Puts the chat into a household (``None``: a new one) and gives its number.

        What the chat was asked is dropped: the answer would belong to the household before.
        """
        if household_id is None:
            made = insert(households).values(created_at=now).returning(households.c.id)
            household_id = int((await self._connection.execute(made)).scalar_one())
        moved = update(chats).where(chats.c.id == chat_id).values(household_id=household_id, tank=None)
        await self._connection.execute(moved)
        waiting = update(questions).where(questions.c.chat_id == chat_id, questions.c.answered_at.is_(None))
        await self._connection.execute(waiting.values(dropped=True))
        return household_id

    async def choose_tank(self, chat_id: int, tank: str | None) -> None:
        """Which tank messages in the chat are about where they name none."""
        await self._connection.execute(update(chats).where(chats.c.id == chat_id).values(tank=tank))


def _digest(token: str) -> str:
    return sha256(token.encode()).hexdigest()


def _open(now: datetime) -> tuple[Any, ...]:
    """An invite is good as long as whoever made it may still invite."""
    return invites.c.closed_at.is_(None), invites.c.expires_at > now, _MAKER_MAY_INVITE


def _member(household_id: int, person_id: int) -> tuple[Any, ...]:
    return members.c.household_id == household_id, members.c.person_id == person_id
