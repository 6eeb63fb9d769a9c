"""What every repository stands on: one connection inside one open transaction."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Table
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.ext.asyncio import AsyncConnection

__all__ = ["Repository"]


class Repository:
    """A set of statements on one transaction. Never commits; the transaction's owner does."""

    def __init__(self, connection: AsyncConnection) -> None:
        self._connection = connection

    @property
    def _is_postgresql(self) -> bool:
        return self._connection.dialect.name == "postgresql"

    def _insert(self, table: Table) -> Any:
        """An INSERT that knows ON CONFLICT, which both databases write alike."""
        return postgresql.insert(table) if self._is_postgresql else sqlite.insert(table)
