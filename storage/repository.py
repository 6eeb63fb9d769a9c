"""What every repository stands on: one connection inside one open transaction.

Statements that every message needs are put together once, as constants with named values: SQLAlchemy takes
longer to put one together than SQLite to execute it.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Table, bindparam, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.ext.asyncio import AsyncConnection

from storage.models import households

__all__ = ["Repository", "insert_into"]


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
            await self._connection.execute(_HELD, {"household_id": household_id})

    def _insert(self, table: Table) -> Any:
        """An INSERT that knows ON CONFLICT, which both databases write alike."""
        return insert_into(table, self._is_postgresql)


def insert_into(table: Table, is_postgresql: bool) -> Any:
    """As ``Repository._insert``, for a statement that is put together once."""
    return postgresql.insert(table) if is_postgresql else sqlite.insert(table)


_HELD = select(households.c.id).where(households.c.id == bindparam("household_id")).with_for_update()
