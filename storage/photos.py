"""Photos by the platform's reference: where to get them again, never the pictures themselves."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, and_, delete, exists, or_, select

from storage.journal import message_key
from storage.models import photos, revisions
from storage.repository import Repository

__all__ = ["Photo", "Photos"]


@dataclass(frozen=True, slots=True)
class Photo:
    """reference : the platform's. is_file : it was sent as a file, and is shown again as one."""

    reference: str
    is_file: bool


_mate = photos.alias("mate")


class Photos(Repository):
    async def keep(
        self,
        household_id: int,
        chat_id: int,
        person_id: int | None,
        message: str,
        photo: Photo,
        *,
        album: str | None,
        now: datetime,
    ) -> None:
        """Keeps the photo of a message; another one in its place where the message was edited.

        album : what the photos share that were sent together.
        """
        says = {"album": album, "reference": photo.reference, "is_file": photo.is_file}
        kept = self._insert(photos).values(
            household_id=household_id,
            chat_id=chat_id,
            person_id=person_id,
            message=message,
            kept_at=now,
            **says,
        )
        kept = kept.on_conflict_do_update(index_elements=[photos.c.chat_id, photos.c.message], set_=says)
        await self._connection.execute(kept)

    async def of(self, household_id: int, chat_id: int, message: str) -> list[Photo]:
        """The photos that came with a message of this household, those of its album included, in order."""
        wanted = select(photos.c.reference, photos.c.is_file).where(
            photos.c.household_id == household_id, photos.c.chat_id == chat_id
        )
        rows = await self._connection.execute(wanted.where(_goes_with(message)).order_by(photos.c.id))
        return [Photo(reference, bool(is_file)) for reference, is_file in rows]

    async def messages(self, household_id: int) -> frozenset[str]:
        """The keys of the household's messages that came with photos."""
        wanted = select(photos.c.chat_id, photos.c.message).where(photos.c.household_id == household_id)
        rows = await self._connection.execute(wanted)
        return frozenset(message_key(chat_id, message) for chat_id, message in rows)

    async def forget_loose(self, kept_before: datetime) -> int:
        """Deletes photos of albums under which nobody wrote anything; gives how many."""
        said = exists().where(
            _mate.c.chat_id == photos.c.chat_id,
            or_(_mate.c.id == photos.c.id, _mate.c.album == photos.c.album),
            revisions.c.chat_id == _mate.c.chat_id,
            revisions.c.message == _mate.c.message,
        )
        loose = delete(photos).where(photos.c.kept_at < kept_before, ~said)
        return (await self._connection.execute(loose)).rowcount


def _goes_with(message: str) -> ColumnElement[Any]:
    album = (
        select(_mate.c.album)
        .where(_mate.c.chat_id == photos.c.chat_id, _mate.c.message == message)
        .scalar_subquery()
    )
    return or_(photos.c.message == message, and_(photos.c.album.is_not(None), photos.c.album == album))
