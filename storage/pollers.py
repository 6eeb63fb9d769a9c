"""Who asks the platform for a bot's updates: one program at a time, whoever else stands ready."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import delete, or_

from storage.models import pollers
from storage.repository import Repository

__all__ = ["Pollers"]


class Pollers(Repository):
    async def take(self, bot: str, holder: str, now: datetime, lease: timedelta) -> bool:
        """Takes the turn, or keeps it; ``False`` where another program has it and its lease runs.

        bot : the platform's id of the bot, the platform's name before it.
        holder : what names this program among others.
        """
        until = now + lease
        mine = self._insert(pollers).values(bot=bot, holder=holder, lease_until=until)
        mine = mine.on_conflict_do_update(
            index_elements=[pollers.c.bot],
            set_={"holder": holder, "lease_until": until},
            where=or_(pollers.c.holder == holder, pollers.c.lease_until <= now),
        )
        return (await self._connection.execute(mine.returning(pollers.c.bot))).first() is not None

    async def give_up(self, bot: str, holder: str) -> None:
        """Lets the next one have the turn at once."""
        mine = delete(pollers).where(pollers.c.bot == bot, pollers.c.holder == holder)
        await self._connection.execute(mine)
