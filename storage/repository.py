"""What every repository stands on: one connection inside one open transaction.

Statements that every message needs are put together once, as constants with named values: SQLAlchemy takes
longer to put one together than SQLite to execute it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Table, bindparam, func, insert, select, text
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.ext.asyncio import AsyncConnection

from storage.models import households

__all__ = ["ROWS_AT_ONCE", "Repository", "insert_into"]

ROWS_AT_ONCE = 500


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

    async def _first_free(self, table: Table, count: int) -> int:
        """The first of ``count`` numbers in a row that nobody else gets."""
        if not self._is_postgresql:
            # A write transaction of SQLite's is alone with the table until its end.
            newest = (await self._connection.execute(select(func.max(table.c.id)))).scalar_one()
            return (newest or 0) + 1
        # setval moves the sequence behind the block; the lock keeps others from taking a number meanwhile.
        await self._connection.execute(text(f"LOCK TABLE {table.name} IN SHARE ROW EXCLUSIVE MODE"))
        sequence = f"pg_get_serial_sequence('{table.name}', 'id')"
        first = int((await self._connection.execute(text(f"SELECT nextval({sequence})"))).scalar_one())
        if count > 1:
            await self._connection.execute(text(f"SELECT setval({sequence}, {first + count - 1})"))
        return first

    async def _insert_all(self, table: Table, rows: Sequence[dict[str, Any]]) -> None:
        for start in range(0, len(rows), ROWS_AT_ONCE):
            await self._connection.execute(insert(table), list(rows[start : start + ROWS_AT_ONCE]))


def insert_into(table: Table, is_postgresql: bool) -> Any:
    """As ``Repository._insert``, for a statement that is put together once."""
    return postgresql.insert(table) if is_postgresql else sqlite.insert(table)


_HELD = select(households.c.id).where(households.c.id == bindparam("household_id")).with_for_update()
