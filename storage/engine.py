"""Opening the database, and the two kinds of transaction on it."""

from __future__ import annotations

import asyncio
import os
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, event, make_url
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine, create_async_engine

from storage.households import Households
from storage.inbox import Inbox
from storage.journal import Journal
from storage.memory import JournalMemory
from storage.outbox import Outbox
from storage.questions import Questions
from storage.reminders import Reminders

__all__ = ["Store", "Transaction", "open_store"]

BUSY_TIMEOUT_MS = 5_000
"""How long SQLite waits for another process that writes. [ms]"""

_DRIVERS = {"sqlite": "sqlite+aiosqlite", "postgresql": "postgresql+psycopg"}


class Transaction:
    """The repositories on one open transaction. Use it in one task only."""

    __slots__ = ("households", "inbox", "journal", "outbox", "questions", "reminders")

    def __init__(self, connection: AsyncConnection, memory: JournalMemory) -> None:
        self.households = Households(connection)
        self.journal = Journal(connection, memory)
        self.reminders = Reminders(connection)
        self.questions = Questions(connection)
        self.inbox = Inbox(connection)
        self.outbox = Outbox(connection)


class Store:
    """One database. Every process may have its own; all of them see the same."""

    def __init__(self, engine: AsyncEngine) -> None:
        self._engine = engine
        self._memory = JournalMemory()
        self._writing = engine.execution_options(sqlite_begin="BEGIN IMMEDIATE")
        # SQLite has one writer at a time. In one process they queue here, in turn and without
        # sleeping; between processes SQLite's own busy timeout does it, by trying again.
        self._turn = asyncio.Lock() if engine.dialect.name == "sqlite" else None

    async def upgrade(self) -> None:
        """Brings the tables up to this version of the program; does nothing where they are.

        The SQLite file and the folder it lies in are made where they are missing, for their owner alone.
        """
        path = _sqlite_path(self._engine.url)
        if path is not None:
            await asyncio.to_thread(_make_private_file, path)
        async with self._in_turn(), self._writing.begin() as connection:
            await connection.run_sync(_migrate)

    @asynccontextmanager
    async def write(self) -> AsyncIterator[Transaction]:
        """A transaction that may write: commits when the block ends well, rolls back when it raises.

        On SQLite it holds the one write lock from its first moment, so what it reads stays true until
        it commits; on PostgreSQL (READ COMMITTED) ``households.lock`` gives the same for one household.
        Never wait inside it for anything but the database, and never open a second one inside it.
        """
        async with self._in_turn(), self._writing.begin() as connection:
            yield Transaction(connection, self._memory)

    @asynccontextmanager
    async def read(self) -> AsyncIterator[Transaction]:
        """A transaction that only reads; it waits for no writer."""
        async with self._engine.begin() as connection:
            yield Transaction(connection, self._memory)

    async def close(self) -> None:
        """Gives all connections back. SQLite's threads would otherwise keep the process alive."""
        await self._engine.dispose()

    @asynccontextmanager
    async def _in_turn(self) -> AsyncIterator[None]:
        if self._turn is None:
            yield
            return
        async with self._turn:
            yield


def open_store(url: str) -> Store:
    """The store at ``sqlite:///path/to/file`` or ``postgresql://user@host/database``.

    Opens nothing yet: call ``upgrade`` before the first transaction.
    Raises ValueError for another kind of database and for one in memory, which would be lost.
    """
    parsed = make_url(url)
    backend = parsed.get_backend_name()
    if backend not in _DRIVERS:
        raise ValueError(f"the database must be sqlite:/// or postgresql://, not {backend}")
    if backend == "sqlite" and _sqlite_path(parsed) is None:
        raise ValueError("the SQLite database must be a file")
    engine = create_async_engine(parsed.set(drivername=_DRIVERS[backend]), **_pool_of(backend))
    if backend == "sqlite":
        event.listen(engine.sync_engine, "connect", _prepare_sqlite)
        event.listen(engine.sync_engine, "begin", _begin_sqlite)
    return Store(engine)


def _pool_of(backend: str) -> dict[str, Any]:
    if backend == "postgresql":
        return {"pool_size": 10, "pool_pre_ping": True}
    # Both kinds of transaction always end in a commit or a rollback, so the pool need not add one.
    return {"pool_size": 5, "pool_reset_on_return": None}


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    # None: the driver sends no BEGIN of its own; `_begin_sqlite` does.
    connection.isolation_level = None
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    cursor.execute("PRAGMA journal_mode = WAL")
    # FULL: in WAL mode NORMAL may lose the last commits to a power cut, and those were confirmed.
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.close()


def _begin_sqlite(connection: Connection) -> None:
    # A deferred BEGIN that reads first and then writes fails at once where another has written
    # meanwhile, whatever the timeout; hence IMMEDIATE for whoever may write.
    connection.exec_driver_sql(connection.get_execution_options().get("sqlite_begin", "BEGIN DEFERRED"))


def _sqlite_path(url: URL) -> Path | None:
    """The file of an SQLite URL; ``None`` for PostgreSQL and for a database in memory."""
    if url.get_backend_name() != "sqlite" or url.database in (None, "", ":memory:"):
        return None
    return Path(str(url.database))


def _make_private_file(path: Path) -> None:
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))


def _migrate(connection: Connection) -> None:
    # Imported here: only a start needs Alembic, and it takes a while to load.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "storage:migrations")
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
