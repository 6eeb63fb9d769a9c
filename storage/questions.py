"""What the assistant asked and has not been told yet: the steps of the set-up, a number that was unclear."""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import bindparam, delete, exists, insert, select, update

from storage.models import questions
from storage.repository import Repository

__all__ = ["Asked", "Questions"]


@dataclass(frozen=True, slots=True)
class Asked:
    """A question.

    person_id : whose answer is waited for; ``None``: anybody's in the chat.
    topic : what kind of question it is.
    payload : what is needed to use the answer, as JSON data.
    """

    id: int
    household_id: int
    chat_id: int
    person_id: int | None
    topic: str
    payload: dict[str, Any]
    asked_at: datetime
    expires_at: datetime


_COLUMNS = (
    questions.c.id,
    questions.c.household_id,
    questions.c.chat_id,
    questions.c.person_id,
    questions.c.topic,
    questions.c.payload,
    questions.c.asked_at,
    questions.c.expires_at,
)
_OPEN = questions.c.answered_at.is_(None) & ~questions.c.dropped
_WAITING = (
    select(*_COLUMNS)
    .where(questions.c.chat_id == bindparam("chat_id"), _OPEN, questions.c.expires_at > bindparam("now"))
    .order_by(questions.c.id)
)


class Questions(Repository):
    async def ask(
        self,
        household_id: int,
        chat_id: int,
        person_id: int | None,
        topic: str,
        payload: dict[str, Any],
        now: datetime,
        expires_at: datetime,
    ) -> int:
        """Keeps a question until it is answered, dropped or too old; gives its number."""
        asked = insert(questions).values(
            household_id=household_id,
            chat_id=chat_id,
            person_id=person_id,
            topic=topic,
            payload=json.dumps(payload),
            asked_at=now,
            expires_at=expires_at,
            dropped=False,
        )
        return int((await self._connection.execute(asked.returning(questions.c.id))).scalar_one())

    async def newest_open(self, chat_id: int, now: datetime) -> dict[str, Asked]:
        """The newest question of each topic that waits for an answer in the chat."""
        rows = await self._connection.execute(_WAITING, {"chat_id": chat_id, "now": now})
        asked = [_asked_or_none(row) for row in rows]
        return {each.topic: each for each in asked if each is not None}

    async def was_asked(self, household_id: int, topic: str) -> bool:
        """Whether the household was ever asked this, answered or not."""
        asked = exists().where(questions.c.household_id == household_id, questions.c.topic == topic)
        return bool((await self._connection.execute(select(asked))).scalar_one())

    async def get(self, question_id: int, *, household_id: int | None = None) -> Asked | None:
        """One question, answered or not; with ``household_id``, only if that household was asked."""
        wanted = select(*_COLUMNS).where(questions.c.id == question_id)
        if household_id is not None:
            wanted = wanted.where(questions.c.household_id == household_id)
        return _asked_or_none((await self._connection.execute(wanted)).first())

    async def take(self, question_id: int, now: datetime, *, household_id: int | None = None) -> Asked | None:
        """The question, answered from now on; ``None`` where it was answered, dropped or is too old."""
        taken = update(questions).where(questions.c.id == question_id, _OPEN, questions.c.expires_at > now)
        if household_id is not None:
            taken = taken.where(questions.c.household_id == household_id)
        answered = taken.values(answered_at=now).returning(*_COLUMNS)
        return _asked_or_none((await self._connection.execute(answered)).first())

    async def drop(self, chat_id: int, topic: str) -> None:
        """Nobody needs to answer the chat's questions of this kind any more."""
        dropped = update(questions).where(questions.c.chat_id == chat_id, questions.c.topic == topic, _OPEN)
        await self._connection.execute(dropped.values(dropped=True))

    async def put_away(self, question_id: int) -> None:
        """The question needs no answer any more, and what it held is not kept."""
        done = update(questions).where(questions.c.id == question_id)
        await self._connection.execute(done.values(payload="{}", dropped=True))

    async def forget(self, asked_before: datetime, *, but: Collection[str]) -> int:
        """Deletes what was asked before, for nobody can answer it any more; gives how many.

        but : topics of which ``was_asked`` must still know.
        """
        old = delete(questions).where(questions.c.asked_at < asked_before, questions.c.topic.not_in(but))
        return (await self._connection.execute(old.where(questions.c.expires_at < asked_before))).rowcount


def _asked_or_none(row: Any) -> Asked | None:
    if row is None:
        return None
    number, household_id, chat_id, person_id, topic, payload, asked_at, expires_at = row
    return Asked(number, household_id, chat_id, person_id, topic, json.loads(payload), asked_at, expires_at)
