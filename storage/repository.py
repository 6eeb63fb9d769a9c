"""What every repository stands on: one connection inside one open transaction."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Table, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.ext.asyncio import AsyncConnection

from storage.models import households

__all__ = ["Repository"]


class Repository:
    """A set of statements on one transaction. Never commits; the transaction's owner does."""

    def __init__(self, connection: AsyncConnection) -> None:
        self._connection = connection

    @property
    def _is_postgresql(self) -> bool:
        return self._connection.dialect.name == "postgresql"

    async def _hold(self, household_id: int) -> None:
        """Holds the household until the transaction ends; on SQLite a write transaction holds everything.

        On PostgreSQL rows are numbered before they are committed. With the household held, its rows are
        committed in the order of their numbers, so that nothing slips in behind what was read or claimed.
        """
        if self._is_postgresql:
            held = select(households.c.id).where(households.c.id == household_id).with_for_update()
            await self._connection.execute(held)

    def _insert(self, table: Table) -> Any:
        """An INSERT that knows ON CONFLICT, which both databases write alike."""
        return postgresql.insert(table) if self._is_postgresql else sqlite.insert(table)
