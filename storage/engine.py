"""Opening the database, and the two kinds of transaction on it."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

from sqlalchemy import Connection, make_url
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine, create_async_engine

from storage.erasure import Erasure
from storage.hands import Hands
from storage.history import History
from storage.households import Households
from storage.inbox import Inbox
from storage.journal import Journal
from storage.membership import Membership
from storage.memory import JournalMemory
from storage.outbox import Outbox
from storage.photos import Photos
from storage.pollers import Pollers
from storage.questions import Questions
from storage.reminders import Reminders
from storage.sqlite import (
    BEGIN_TO_NOTE,
    BEGIN_TO_WRITE,
    empty_log,
    file_of,
    make_private_file,
    sqlite_engine,
)
from storage.transfer import Transfer

__all__ = ["CANNOT_BE_USED", "Store", "Transaction", "open_store"]

CANNOT_BE_USED = (ValueError, OSError, SQLAlchemyError)
"""What opening or upgrading raises where a database is no database, or not to be reached."""


class Transaction:
    """The repositories on one open transaction. Use it in one task only."""

    __slots__ = (
        "erasure",
        "hands",
        "history",
        "households",
        "inbox",
        "journal",
        "membership",
        "outbox",
        "photos",
        "pollers",
        "questions",
        "reminders",
        "transfer",
    )

    def __init__(self, connection: AsyncConnection, memory: JournalMemory) -> None:
        self.hands = Hands(connection)
        self.households = Households(connection)
        self.membership = Membership(connection)
        self.journal = Journal(connection, memory)
        self.erasure = Erasure(connection, memory)
        self.history = History(connection)
        self.reminders = Reminders(connection)
        self.photos = Photos(connection)
        self.questions = Questions(connection)
        self.inbox = Inbox(connection)
        self.outbox = Outbox(connection)
        self.pollers = Pollers(connection)
        self.transfer = Transfer(connection)


class Store:
    """One database. Every process may have its own; all of them see the same."""

    def __init__(self, engine: AsyncEngine) -> None:
        self._engine = engine
        self._memory = JournalMemory()
        self._writing = engine.execution_options(sqlite_begin=BEGIN_TO_WRITE)
        self._noting = engine.execution_options(sqlite_begin=BEGIN_TO_NOTE)
        # SQLite has one writer at a time. In one process they queue here, in turn and without
        # sleeping; between processes SQLite's own busy timeout does it, by trying again.
        self._turn = asyncio.Lock() if engine.dialect.name == "sqlite" else None
        self._writer: asyncio.Task[Any] | None = None

    async def upgrade(self) -> None:
        """Brings the tables up to this version of the program; does nothing where they are.

        The SQLite file and the folder it lies in are made where they are missing, for their owner alone.
        """
        path = file_of(self._engine.url)
        if path is not None:
            await asyncio.to_thread(make_private_file, path)
        async with self._in_turn(), self._writing.begin() as connection:
            await connection.run_sync(_migrate)

    @asynccontextmanager
    async def write(self) -> AsyncIterator[Transaction]:
        """A transaction that may write: commits when the block ends well, rolls back when it raises.

        On SQLite it holds the one write lock from its first moment, so what it reads stays true until
        it commits; on PostgreSQL (READ COMMITTED) ``households.lock`` gives the same for one household.
        Never wait inside it for anything but the database. A second one inside it raises RuntimeError on
        SQLite, where it could never begin.
        """
        async with self._in_turn(), self._writing.begin() as connection:
            yield Transaction(connection, self._memory)

    @asynccontextmanager
    async def note(self) -> AsyncIterator[Transaction]:
        """As ``write``, for what a power cut may take back because it would then be done again: a lease.

        What is written afterwards by ``write`` carries it to the disk with it. Elsewhere than on SQLite, and
        wherever only the program dies, there is no difference.
        """
        async with self._in_turn(), self._noting.begin() as connection:
            yield Transaction(connection, self._memory)

    @asynccontextmanager
    async def read(self) -> AsyncIterator[Transaction]:
        """A transaction that only reads; it waits for no writer."""
        async with self._engine.begin() as connection:
            yield Transaction(connection, self._memory)

    async def scrub(self) -> bool:
        """Leaves nothing of what was deleted in the write-ahead log; ``False``: try again later.

        Only SQLite's files need it; elsewhere there is nothing to do.
        """
        path = file_of(self._engine.url)
        if path is None:
            return True
        async with self._in_turn():
            return await asyncio.to_thread(empty_log, path)

    async def close(self) -> None:
        """Gives all connections back. SQLite's threads would otherwise keep the process alive."""
        await self._engine.dispose()

    @asynccontextmanager
    async def _in_turn(self) -> AsyncIterator[None]:
        if self._turn is None:
            yield
            return
        task = asyncio.current_task()
        if task is not None and task is self._writer:
            raise RuntimeError("a write transaction was opened inside another one, and would wait for ever")
        async with self._turn:
            self._writer = task
            try:
                yield
            finally:
                self._writer = None


def open_store(url: str) -> Store:
    """The store at ``sqlite:///path/to/file`` or ``postgresql://user@host/database``.

    Opens nothing yet: call ``upgrade`` before the first transaction.
    Raises ValueError for another kind of database and for one in memory, which would be lost.
    """
    parsed = make_url(url)
    match parsed.get_backend_name():
        case "sqlite" if file_of(parsed) is not None:
            return Store(sqlite_engine(parsed.set(drivername="sqlite+aiosqlite")))
        case "sqlite":
            raise ValueError("the SQLite database must be a file")
        case "postgresql":
            url_of_driver = parsed.set(drivername="postgresql+psycopg")
            return Store(create_async_engine(url_of_driver, pool_size=10, pool_pre_ping=True))
        case other:
            raise ValueError(f"the database must be sqlite:/// or postgresql://, not {other}")


def _migrate(connection: Connection) -> None:
    # Imported here: only a start needs Alembic, and it takes a while to load.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "storage:migrations")
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
