"""The outbox: every letter on its way to a chat, written down before it is sent, sent in order and in pace.

The letters of a chat form one line, and only its head can be claimed. A platform cannot say whether a letter
whose confirmation was lost has arrived; then a reply is not sent again, and a reminder once.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import Any

from sqlalchemy import and_, bindparam, case, delete, exists, func, or_, select, update

from storage.households import CHAT_COLUMNS, Chat, chat_of
from storage.models import chats, outbox, reminders
from storage.pace import GROUP_LETTERS, earliest_next
from storage.repository import Repository, insert_into

__all__ = ["OpenLetter", "Outbox", "OutboxClaim"]

UNPACED = frozenset({"terminal"})
"""Platforms that take letters as fast as they come."""

SENT_ONCE = "reply"
"""The kind that is not sent again where it may have arrived: a second answer looks like a second record.
An edit or a reaction sent twice changes nothing; a reminder missed costs more than one told twice."""


@dataclass(frozen=True, slots=True)
class OutboxClaim:
    """A letter to send, held until its lease runs out.

    token : proves that the lease is still ours.
    letter : the letter as it was posted.
    attempts : how many times it has been claimed, this one included.
    repeated : a reminder that may have arrived once already, and should say so.
    amends_message : for an edit, the platform's id of the message to rewrite; ``None`` if it never arrived.
    """

    id: int
    token: str
    chat: Chat
    letter: dict[str, Any]
    reminder_id: int | None
    attempts: int
    repeated: bool
    amends_message: str | None


@dataclass(frozen=True, slots=True)
class OpenLetter:
    """A letter that waits."""

    id: int
    letter: dict[str, Any]
    posted_at: datetime


_OPEN = outbox.c.outcome.is_(None)
_LEASED = outbox.c.lease_token.is_not(None)
_FREE: dict[str, Any] = {"lease_token": None, "lease_until": None}
_earlier, _amended = outbox.alias("earlier"), outbox.alias("amended")
# One look into an index for each open letter, whatever the planner thinks of their number.
_IS_HEAD = outbox.c.id == (
    select(func.min(_earlier.c.id))
    .where(_earlier.c.chat_id == outbox.c.chat_id, _earlier.c.outcome.is_(None))
    .scalar_subquery()
)
_MAY_LEAVE_AT = case(
    (chats.c.not_before > outbox.c.not_before, chats.c.not_before), else_=outbox.c.not_before
)


_HELD = and_(outbox.c.id == bindparam("number"), outbox.c.lease_token == bindparam("token"))
_SENT_ONCE = (
    update(outbox)
    .where(_HELD)
    .values(outcome="sent", message=bindparam("arrived_as"), sent_at=bindparam("at"), code=None, **_FREE)
)
_SENT = _SENT_ONCE.where(_OPEN)
_PACE = update(chats).where(chats.c.id == bindparam("number")).values(not_before=bindparam("earliest"))


class Outbox(Repository):
    async def post(
        self,
        household_id: int,
        chat_id: int,
        letter: dict[str, Any],
        *,
        dedupe_key: str,
        now: datetime,
        reminder_id: int | None = None,
    ) -> int | None:
        """Puts a letter at the end of its chat's line; gives its number, or ``None`` if it was posted before.

        letter : JSON data with ``kind``, and ``answers``, ``amends`` and ``details`` where it has them.
        dedupe_key : what makes it the same letter, within the household.
        Needs a write transaction, and holds the household until its end; idempotent.
        """
        await self._hold(household_id)
        row = {
            "household_id": household_id,
            "chat_id": chat_id,
            "dedupe_key": dedupe_key,
            "letter": json.dumps(letter),
            "kind": letter["kind"],
            "answers": letter.get("answers"),
            "amends": letter.get("amends"),
            "details": letter.get("details"),
            "reminder_id": reminder_id,
            "posted_at": now,
            "not_before": now,
            "attempts": 0,
            "repeated": False,
        }
        posted = await self._connection.execute(_post(self._is_postgresql), row)
        return posted.scalar_one_or_none()

    async def claim(self, now: datetime, *, platform: str, limit: int, lease: timedelta) -> list[OutboxClaim]:
        """Takes up to ``limit`` letters to send, at most one of each chat: the oldest, if it may leave yet.

        Two workers never get the same. A lease that ran out means that the letter may have arrived: it is
        dealt with as ``uncertain`` deals with it, and the old claim can settle it no more.
        Needs a write transaction of its own; commit before sending.
        """
        lost = _OPEN & _LEASED & (outbox.c.lease_until <= now)
        await self._connection.execute(_put_in_doubt(lost, outbox.c.lease_until))
        heads = (
            select(outbox.c.id)
            .where(_OPEN, ~_LEASED, outbox.c.not_before <= now, _IS_HEAD, _chat_is_ready(platform, now))
            .order_by(outbox.c.not_before, outbox.c.id)
            .limit(limit)
            .with_for_update(skip_locked=True, of=outbox)
            .cte("heads")
        )
        token = secrets.token_hex(16)
        taken = (
            update(outbox)
            .where(outbox.c.id.in_(select(heads.c.id)))
            .values(lease_token=token, lease_until=now + lease, attempts=outbox.c.attempts + 1)
            .returning(outbox.c.id)
        )
        numbers = (await self._connection.execute(taken)).scalars().all()
        return await self._claims(numbers, token) if numbers else []

    async def sent(self, claim: OutboxClaim, message: str | None, now: datetime) -> bool:
        """The platform took the letter. The chat's next one waits as the pace demands.

        message : the platform's id of what was sent; ``None`` where it gave none (an edit keeps the old one).
        ``False`` where the lease was lost. A reply whose lease ran out is still marked as sent, and its
        message known, since nobody else sends it.
        """
        arrived = {
            "number": claim.id,
            "token": claim.token,
            "arrived_as": message or claim.amends_message,
            "at": now,
        }
        is_once = claim.letter["kind"] == SENT_ONCE
        settled = await self._connection.execute(_SENT_ONCE if is_once else _SENT, arrived)
        if settled.rowcount == 0:
            return False
        await self._keep_pace(claim.chat, now)
        return True

    async def not_sent(self, claim: OutboxClaim, retry_at: datetime) -> bool:
        """The platform surely did not take the letter; it stays the head of its line until ``retry_at``."""
        later = _mine(claim).values(not_before=retry_at, **_FREE)
        return (await self._connection.execute(later)).rowcount == 1

    async def uncertain(self, claim: OutboxClaim, now: datetime) -> bool:
        """The platform may have taken the letter: a reply is closed as unknown, others go back once."""
        mine = (outbox.c.id == claim.id) & (outbox.c.lease_token == claim.token) & _OPEN
        if (await self._connection.execute(_put_in_doubt(mine, now))).rowcount == 0:
            return False
        await self._keep_pace(claim.chat, now)
        return True

    async def failed(self, claim: OutboxClaim, code: str) -> bool:
        """The platform refuses the letter, and would again; the line moves on."""
        closed = _mine(claim).values(outcome="failed", code=code, **_FREE)
        return (await self._connection.execute(closed)).rowcount == 1

    async def shown(self, letter_ids: Sequence[int], now: datetime) -> None:
        """These open letters were read where they lie: a terminal needs neither lease nor pace."""
        read = update(outbox).where(outbox.c.id.in_(letter_ids), _OPEN)
        await self._connection.execute(read.values(outcome="sent", sent_at=now))

    async def letter(self, letter_id: int, *, household_id: int | None = None) -> dict[str, Any] | None:
        """A letter by its number, sent or not; with ``household_id``, only if it is that household's."""
        wanted = select(outbox.c.letter).where(outbox.c.id == letter_id)
        if household_id is not None:
            wanted = wanted.where(outbox.c.household_id == household_id)
        found = (await self._connection.execute(wanted)).scalar_one_or_none()
        return None if found is None else json.loads(found)

    async def details_of(self, chat_id: int, message: str, *, household_id: int | None = None) -> str | None:
        """What ``why`` shows under this message of the chat, as it was last written or rewritten.

        household_id : only what was said to that household: the chat may have stood in another one.
        """
        wanted = select(outbox.c.details).where(
            outbox.c.chat_id == chat_id, outbox.c.message == message, outbox.c.kind != "reaction"
        )
        if household_id is not None:
            wanted = wanted.where(outbox.c.household_id == household_id)
        newest = wanted.order_by(outbox.c.id.desc()).limit(1)
        return (await self._connection.execute(newest)).scalar_one_or_none()

    async def last_details(self, chat_id: int, *, household_id: int | None = None) -> str | None:
        """What ``why`` shows for the newest letter of the chat that has a working; household as above."""
        wanted = select(outbox.c.details).where(outbox.c.chat_id == chat_id, outbox.c.details.is_not(None))
        if household_id is not None:
            wanted = wanted.where(outbox.c.household_id == household_id)
        newest = wanted.order_by(outbox.c.id.desc()).limit(1)
        return (await self._connection.execute(newest)).scalar_one_or_none()

    async def shown_as(self, chat_id: int, message: str) -> int | None:
        """The letter that stands in the chat as this message; ``None`` where it is no longer kept."""
        wanted = select(func.min(outbox.c.id)).where(
            outbox.c.chat_id == chat_id, outbox.c.message == message, outbox.c.kind != "reaction"
        )
        number: int | None = (await self._connection.execute(wanted)).scalar_one()
        return number

    async def find_reply(self, chat_id: int, answers: str) -> int | None:
        """The first reply to this message that has arrived or still will: the one to amend after an edit.

        Later ones (a question that came with it) keep their own words.
        """
        wanted = select(outbox.c.id).where(
            outbox.c.chat_id == chat_id,
            outbox.c.answers == answers,
            outbox.c.kind == "reply",
            or_(_OPEN, outbox.c.outcome == "sent"),
        )
        first = wanted.order_by(outbox.c.id).limit(1)
        return (await self._connection.execute(first)).scalar_one_or_none()

    async def reminded_since(self, household_id: int, since: datetime, *, apart: str) -> int:
        """How many letters the household was sent unasked from ``since`` on, those on their way included.

        apart : reminders from this source are not counted.
        """
        told = (
            select(func.count(outbox.c.id))
            .outerjoin(reminders, reminders.c.id == outbox.c.reminder_id)
            .where(
                outbox.c.household_id == household_id,
                outbox.c.kind == "reminder",
                outbox.c.posted_at >= since,
                or_(reminders.c.id.is_(None), reminders.c.source != apart),
            )
        )
        return int((await self._connection.execute(told)).scalar_one())

    async def next_at(self, platform: str) -> datetime | None:
        """When the first letter that nobody holds may leave; ``None`` where none waits."""
        first = (
            select(_MAY_LEAVE_AT)
            .join(chats, chats.c.id == outbox.c.chat_id)
            .where(_OPEN, ~_LEASED, _IS_HEAD, chats.c.platform == platform, chats.c.left_at.is_(None))
        )
        return (await self._connection.execute(first.order_by(_MAY_LEAVE_AT).limit(1))).scalar_one_or_none()

    async def depth(self, now: datetime) -> tuple[int, datetime | None]:
        """How many letters are open and could leave but for the pace, and when the oldest was posted."""
        waiting = select(func.count(), func.min(outbox.c.posted_at)).where(_OPEN, outbox.c.not_before <= now)
        count, oldest = (await self._connection.execute(waiting)).one()
        return count, oldest

    async def open_of(self, chat_id: int) -> list[OpenLetter]:
        """The chat's letters that wait, the first to leave first."""
        wanted = select(outbox.c.id, outbox.c.letter, outbox.c.posted_at)
        wanted = wanted.where(outbox.c.chat_id == chat_id, _OPEN).order_by(outbox.c.id)
        rows = (await self._connection.execute(wanted)).all()
        return [OpenLetter(number, json.loads(letter), posted_at) for number, letter, posted_at in rows]

    async def forget(self, posted_before: datetime) -> int:
        """Deletes what was settled and posted before; gives how many. Their buttons then find nothing."""
        old = delete(outbox).where(~_OPEN, outbox.c.posted_at < posted_before)
        return (await self._connection.execute(old)).rowcount

    async def _claims(self, numbers: Sequence[int], token: str) -> list[OutboxClaim]:
        wanted = (
            select(
                outbox.c.id,
                outbox.c.letter,
                outbox.c.reminder_id,
                outbox.c.attempts,
                outbox.c.repeated & (outbox.c.kind == "reminder"),
                _amended.c.message,
                *CHAT_COLUMNS,
            )
            .join(chats, chats.c.id == outbox.c.chat_id)
            .outerjoin(_amended, _amended.c.id == outbox.c.amends)
            .where(outbox.c.id.in_(numbers))
            .order_by(outbox.c.id)
        )
        return [_claim(row, token) for row in await self._connection.execute(wanted)]

    async def _keep_pace(self, chat: Chat, now: datetime) -> None:
        """Moves the moment before which nothing more leaves for the chat."""
        if chat.platform in UNPACED:
            return
        times = [now] if chat.private else await self._arrivals(chat.id)
        earliest = earliest_next(times, private=chat.private)
        await self._connection.execute(_PACE, {"number": chat.id, "earliest": earliest})

    async def _arrivals(self, chat_id: int) -> list[datetime]:
        """When the newest letters arrived, or may have; one that was sent again counts twice."""
        recent = select(outbox.c.sent_at, outbox.c.repeated, outbox.c.attempts)
        recent = recent.where(outbox.c.chat_id == chat_id, outbox.c.sent_at.is_not(None))
        newest = recent.order_by(outbox.c.sent_at.desc()).limit(GROUP_LETTERS)
        times: list[datetime] = []
        for sent_at, repeated, attempts in await self._connection.execute(newest):
            times += [sent_at] * (2 if repeated and attempts > 1 else 1)
        return times


@cache
def _post(is_postgresql: bool) -> Any:
    posted = insert_into(outbox, is_postgresql)
    posted = posted.on_conflict_do_nothing(index_elements=[outbox.c.household_id, outbox.c.dedupe_key])
    return posted.returning(outbox.c.id)


def _chat_is_ready(platform: str, now: datetime) -> Any:
    return exists().where(
        chats.c.id == outbox.c.chat_id,
        chats.c.platform == platform,
        chats.c.left_at.is_(None),
        or_(chats.c.not_before.is_(None), chats.c.not_before <= now),
    )


def _mine(claim: OutboxClaim) -> Any:
    return update(outbox).where(outbox.c.id == claim.id, outbox.c.lease_token == claim.token, _OPEN)


def _put_in_doubt(which: Any, since: Any) -> Any:
    """The letters may have arrived ``since``: closed as unknown, or given back with a mark."""
    is_closed = or_(outbox.c.kind == SENT_ONCE, outbox.c.repeated)
    return (
        update(outbox)
        .where(which)
        .values(
            outcome=case((is_closed, "unknown")),
            sent_at=since,
            repeated=True,
            # What is closed keeps its token: a reply that was taken after all can still say so.
            lease_token=case((is_closed, outbox.c.lease_token)),
            lease_until=None,
        )
    )


def _claim(row: Any, token: str) -> OutboxClaim:
    number, letter, reminder_id, attempts, repeated, amends_message, *chat = row
    return OutboxClaim(
        id=number,
        token=token,
        chat=chat_of(chat),
        letter=json.loads(letter),
        reminder_id=reminder_id,
        attempts=attempts,
        repeated=bool(repeated),
        amends_message=amends_message,
    )
