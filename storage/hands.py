"""Whose hands are in the water: what somebody has said that they are putting in now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import insert, select, update

from storage.models import hands, persons
from storage.repository import Repository

__all__ = ["Hand", "Hands"]


@dataclass(frozen=True, slots=True)
class Hand:
    """What somebody is putting in, from when, and until when it is believed to be under way."""

    person_id: int
    name: str
    what: str
    taken_at: datetime
    until: datetime


class Hands(Repository):
    async def take(
        self,
        household_id: int,
        person_id: int,
        what: str,
        *,
        tank: str | None,
        now: datetime,
        until: datetime,
    ) -> Hand | None:
        """Says that the person is putting it in; gives whose hand is at it already, where one is.

        Needs a write transaction, and holds the household until its end: of two who take it at once, one
        gets it. The same person again only prolongs it.
        """
        await self._hold(household_id)
        there = next((h for h in await self.open(household_id, now, tank=tank) if h.what == what), None)
        if there is not None and there.person_id != person_id:
            return there
        await self.end(household_id, what, now, tank=tank)
        row = {"person_id": person_id, "tank": tank, "what": what, "taken_at": now, "until": until}
        await self._connection.execute(insert(hands).values(household_id=household_id, **row))
        return None

    async def open(self, household_id: int, now: datetime, *, tank: str | None = None) -> list[Hand]:
        """What is under way in this tank, the first taken first."""
        wanted = (
            select(hands.c.person_id, persons.c.name, hands.c.what, hands.c.taken_at, hands.c.until)
            .join(persons, persons.c.id == hands.c.person_id)
            .where(
                hands.c.household_id == household_id,
                hands.c.tank.is_not_distinct_from(tank),
                hands.c.ended_at.is_(None),
                hands.c.until > now,
            )
            .order_by(hands.c.id)
        )
        return [Hand(*row) for row in await self._connection.execute(wanted)]

    async def end(self, household_id: int, what: str, now: datetime, *, tank: str | None = None) -> None:
        """It is in, or was left off."""
        ended = update(hands).where(
            hands.c.household_id == household_id,
            hands.c.tank.is_not_distinct_from(tank),
            hands.c.what == what,
            hands.c.ended_at.is_(None),
        )
        await self._connection.execute(ended.values(ended_at=now))
