"""The inbox: every update that a platform brought, kept before it is confirmed, handled once and in order."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import Any

from sqlalchemy import bindparam, delete, exists, func, select, update
from sqlalchemy.exc import IntegrityError

from storage.households import chat_key, household_key
from storage.models import chats, inbox
from storage.repository import Repository, insert_into

__all__ = ["Inbox", "InboxClaim", "LeaseLost", "SetAside"]


@dataclass(frozen=True, slots=True)
class InboxClaim:
    """An update to handle, held until its lease runs out.

    token : proves that the lease is still ours.
    raw : the update as the platform sent it.
    attempts : how many times it has been claimed, this one included.
    household_key : whose turn this is.
    """

    id: int
    token: str
    raw: str
    update_id: str
    attempts: int
    household_key: str


@dataclass(frozen=True, slots=True)
class SetAside:
    """An update that could not be handled, for a person to look at. ``code`` says why."""

    id: int
    update_id: str | None
    raw: str
    code: str
    received_at: datetime


CLAIM_TRIES = 3
"""An update that was sent earlier may come in just as another worker takes a later one of its household.
The constraint lets one of the two workers through; the other looks again."""

_OPEN = inbox.c.outcome.is_(None)
_earlier, _leased = inbox.alias("earlier"), inbox.alias("leased")
# One look into an index for each open update, whatever the planner thinks of their number.
_IS_HEAD = inbox.c.id == (
    select(_earlier.c.id)
    .where(_earlier.c.household_key == inbox.c.household_key, _earlier.c.outcome.is_(None))
    .order_by(_earlier.c.sent_at, _earlier.c.id)
    .limit(1)
    .scalar_subquery()
)
_NONE_LEASED = ~exists().where(
    _leased.c.household_key == inbox.c.household_key,
    _leased.c.outcome.is_(None),
    _leased.c.lease_token.is_not(None),
)


_DONE = (
    update(inbox)
    .where(inbox.c.id == bindparam("number"), inbox.c.lease_token == bindparam("token"), _OPEN)
    .values(outcome="done", lease_token=None, lease_until=None)
)
_HOUSEHOLD = select(chats.c.household_id).where(
    chats.c.platform == bindparam("platform"), chats.c.address == bindparam("address")
)


class LeaseLost(Exception):
    """Somebody else has the update by now; what was done for it must not be committed."""


class Inbox(Repository):
    async def put(
        self, update_id: str, household_key: str, sent_at: datetime, raw: str, now: datetime
    ) -> bool:
        """Keeps an update; ``False`` where it is there already. Once this is committed it may be confirmed.

        update_id : the platform's number of the update, the platform's name before it.
        household_key : what ``Inbox.household_key`` says of its chat.
        sent_at : when it was sent (an edit: when it was edited), which is the order of handling.
        """
        row = {
            "update_id": update_id,
            "household_key": household_key,
            "raw": raw,
            "sent_at": sent_at,
            "received_at": now,
            "not_before": now,
            "attempts": 0,
        }
        return (await self._connection.execute(_put(self._is_postgresql), row)).first() is not None

    async def set_aside(self, update_id: str | None, raw: str, reason: str, now: datetime) -> None:
        """Keeps what cannot be handled where it holds nothing up. Idempotent by ``update_id``."""
        aside = {
            "outcome": "aside",
            "code": reason,
            "lease_token": None,
            "lease_until": None,
        }
        kept = self._insert(inbox).values(
            update_id=update_id, raw=raw, sent_at=now, received_at=now, not_before=now, attempts=0, **aside
        )
        kept = kept.on_conflict_do_update(index_elements=[inbox.c.update_id], set_=aside)
        await self._connection.execute(kept)

    async def claim(self, now: datetime, *, limit: int, lease: timedelta) -> list[InboxClaim]:
        """Takes up to ``limit`` updates to handle, at most one of each household: the one sent first.

        A household that has one in work, or whose first waits for a retry, gets no other. Two workers never
        get the same. A lease that ran out is over: its update is claimed anew, and the old claim is void.
        Needs a write transaction of its own; commit before handling.
        """
        await self._connection.execute(
            update(inbox)
            .where(_OPEN, inbox.c.lease_token.is_not(None), inbox.c.lease_until <= now)
            .values(lease_token=None, lease_until=None)
        )
        heads = (
            select(inbox.c.id)
            .where(_OPEN, inbox.c.lease_token.is_(None), inbox.c.not_before <= now, _IS_HEAD, _NONE_LEASED)
            .order_by(inbox.c.sent_at, inbox.c.id)
            .limit(limit)
            .with_for_update(skip_locked=True, of=inbox)
            .cte("heads")
        )
        token = secrets.token_hex(16)
        taken = (
            update(inbox)
            .where(inbox.c.id.in_(select(heads.c.id)))
            .values(lease_token=token, lease_until=now + lease, attempts=inbox.c.attempts + 1)
            .returning(
                inbox.c.id,
                inbox.c.lease_token,
                inbox.c.raw,
                inbox.c.update_id,
                inbox.c.attempts,
                inbox.c.household_key,
                inbox.c.sent_at,
            )
        )
        rows = sorted(await self._taken(taken), key=lambda row: (row.sent_at, row.id))
        return [InboxClaim(*row[:6]) for row in rows]

    async def hold(self, claim: InboxClaim, until: datetime) -> bool:
        """Handling it takes longer: it stays ours until then; ``False`` where the lease was lost."""
        mine = update(inbox).where(inbox.c.id == claim.id, inbox.c.lease_token == claim.token, _OPEN)
        return (await self._connection.execute(mine.values(lease_until=until))).rowcount == 1

    async def settle(self, claim: InboxClaim) -> bool:
        """The update is handled; ``False`` where the lease was lost: then roll back the rest too."""
        mine = {"number": claim.id, "token": claim.token}
        return (await self._connection.execute(_DONE, mine)).rowcount == 1

    async def fail(self, claim: InboxClaim, *, retry_at: datetime | None, code: str) -> None:
        """It went wrong: again at ``retry_at``, while the household waits; ``None`` sets it aside."""
        mine = update(inbox).where(inbox.c.id == claim.id, inbox.c.lease_token == claim.token, _OPEN)
        freed: dict[str, Any] = {"lease_token": None, "lease_until": None, "code": code}
        if retry_at is None:
            freed |= {"outcome": "aside"}
        else:
            freed |= {"not_before": retry_at}
        await self._connection.execute(mine.values(freed))

    async def more_waits(self, household_id: int, claim: InboxClaim) -> bool:
        """Whether the household has said more than what is being handled."""
        more = exists().where(
            inbox.c.household_key == household_key(household_id), _OPEN, inbox.c.id != claim.id
        )
        return bool((await self._connection.execute(select(more))).scalar_one())

    async def depth(self, now: datetime) -> tuple[int, datetime | None]:
        """How many updates are open and due, and when the oldest of them came in."""
        waiting = select(func.count(), func.min(inbox.c.received_at)).where(_OPEN, inbox.c.not_before <= now)
        count, oldest = (await self._connection.execute(waiting)).one()
        return count, oldest

    async def next_at(self) -> datetime | None:
        """When the first open update may be claimed, whoever holds it; ``None`` where none is open."""
        first = select(func.min(inbox.c.not_before)).where(_OPEN)
        earliest: datetime | None = (await self._connection.execute(first)).scalar_one()
        return earliest

    async def aside(self, limit: int = 100) -> list[SetAside]:
        """What was set aside, the newest first."""
        wanted = select(inbox.c.id, inbox.c.update_id, inbox.c.raw, inbox.c.code, inbox.c.received_at)
        wanted = wanted.where(inbox.c.outcome == "aside").order_by(inbox.c.id.desc()).limit(limit)
        return [SetAside(*row) for row in await self._connection.execute(wanted)]

    async def forget(self, received_before: datetime) -> int:
        """Deletes what is settled and came in before; gives how many. A platform repeats itself for 24 h."""
        old = delete(inbox).where(inbox.c.outcome.is_not(None), inbox.c.received_at < received_before)
        return (await self._connection.execute(old)).rowcount

    async def household_key(self, platform: str, address: str) -> str:
        """In whose line an update of this chat waits."""
        where = {"platform": platform, "address": address}
        household_id = (await self._connection.execute(_HOUSEHOLD, where)).scalar_one_or_none()
        return chat_key(platform, address) if household_id is None else household_key(household_id)

    async def _taken(self, taken: Any) -> Sequence[Any]:
        if not self._is_postgresql:
            return (await self._connection.execute(taken)).all()
        for _ in range(CLAIM_TRIES):
            with suppress(IntegrityError):
                async with self._connection.begin_nested():
                    return (await self._connection.execute(taken)).all()
        return []


@cache
def _put(is_postgresql: bool) -> Any:
    kept = insert_into(inbox, is_postgresql).on_conflict_do_nothing(index_elements=[inbox.c.update_id])
    return kept.returning(inbox.c.id)
