"""All that is special to SQLite: its file, how a connection is set up, how a transaction begins."""

from __future__ import annotations

import os
import sqlite3
from functools import partial
from pathlib import Path
from typing import Any, Self

import aiosqlite
from sqlalchemy import URL, Connection, event
from sqlalchemy.ext.asyncio import AsyncEngine, create_async_engine

__all__ = [
    "BEGIN_TO_NOTE",
    "BEGIN_TO_WRITE",
    "BUSY_TIMEOUT_S",
    "empty_log",
    "file_of",
    "make_private_file",
    "sqlite_engine",
]

BUSY_TIMEOUT_S = 5.0
"""How long SQLite waits for another process that writes; ``?timeout=`` in the URL says otherwise. [s]"""


BEGIN_TO_WRITE = "BEGIN IMMEDIATE"
BEGIN_TO_NOTE = "BEGIN IMMEDIATE -- a note"
"""For what may be lost to a power cut (never to a crash of ours), since it would be done again."""

_SYNCHRONOUS = {BEGIN_TO_WRITE: "FULL", BEGIN_TO_NOTE: "NORMAL"}
# FULL: in WAL mode NORMAL may lose the last commits to a power cut, and those were confirmed.


def sqlite_engine(url: URL) -> AsyncEngine:
    """An engine whose transactions begin as the execution option ``sqlite_begin`` says, else deferred."""
    engine = create_async_engine(
        url,
        connect_args={"async_creator_fn": _connect},
        pool_size=5,
        # Every transaction here ends in a commit or a rollback, so the pool need not add one.
        pool_reset_on_return=None,
    )
    event.listen(engine.sync_engine, "connect", _prepare)
    event.listen(engine.sync_engine, "begin", _begin)
    return engine


def file_of(url: URL) -> Path | None:
    """The file of an SQLite URL; ``None`` for another kind of database and for one in memory."""
    if url.get_backend_name() != "sqlite" or url.database in (None, "", ":memory:"):
        return None
    return Path(str(url.database))


def make_private_file(path: Path) -> None:
    """Makes the file and its folder, where they are missing, for their owner alone."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))


def empty_log(path: Path) -> bool:
    """Moves what the write-ahead log holds into the database and empties it; ``False`` where somebody reads.

    Raises sqlite3.Error. Waits for writers; call it off the event loop.
    """
    connection = sqlite3.connect(path, timeout=BUSY_TIMEOUT_S, isolation_level=None)
    try:
        busy, _, _ = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        return bool(busy == 0)
    finally:
        connection.close()


def _prepare(connection: Any, _record: Any) -> None:
    # None: the driver sends no BEGIN of its own; `_begin` does.
    connection.isolation_level = None
    cursor = connection.cursor()
    cursor.execute("PRAGMA journal_mode = WAL")
    cursor.execute("PRAGMA foreign_keys = ON")
    # What was deleted is overwritten: a household that was forgotten must not be found in the file.
    cursor.execute("PRAGMA secure_delete = ON")
    cursor.close()


def _begin(connection: Connection) -> None:
    # A deferred BEGIN that reads first and then writes fails at once where another has written
    # meanwhile, whatever the timeout; hence IMMEDIATE for whoever may write.
    connection.exec_driver_sql(connection.get_execution_options().get("sqlite_begin", "BEGIN DEFERRED"))


class _Cursor:
    """Executes a statement and fetches its rows in one trip to the connection's thread, or in none.

    aiosqlite's own cursor makes four (open, execute, fetch, close), and the trips, not SQLite, are most of
    what a statement costs here. Once a write transaction has begun it waits for nobody: its statements take
    tens of microseconds and are executed where we are. What may wait stays in the thread: the beginning (for
    the lock), the end (for the disk), and all of a transaction that only reads. All rows are read at once,
    which SQLAlchemy does anyway.
    """

    arraysize = 1

    def __init__(self, connection: _Connection) -> None:
        self._connection = connection
        self._rows: list[Any] = []
        self.description: Any = None
        self.rowcount = -1
        self.lastrowid: int | None = None

    async def __aenter__(self) -> Self:
        return self

    async def execute(self, statement: str, values: Any = ()) -> Self:
        return await self._run(sqlite3.Connection.execute, statement, values)

    async def executemany(self, statement: str, values: Any) -> Self:
        return await self._run(sqlite3.Connection.executemany, statement, values)

    async def fetchall(self) -> list[Any]:
        return self._rows

    async def close(self) -> None:
        """Was closed in the thread already."""

    async def _run(self, how: Any, statement: str, values: Any) -> Self:
        connection = self._connection
        if connection.is_writing:
            found = _fetch(how, connection._conn, statement, values)
        else:
            # aiosqlite gives no types; this is how its own cursor reaches the thread.
            found = await connection._execute(_fetch, how, connection._conn, statement, values)  # type: ignore[no-untyped-call]
            connection.is_writing = statement in _SYNCHRONOUS
        self.description, self.rowcount, self.lastrowid, self._rows = found
        return self


def _fetch(how: Any, connection: sqlite3.Connection, statement: str, values: Any) -> tuple[Any, ...]:
    if statement in _SYNCHRONOUS:  # it cannot be changed inside a transaction
        connection.execute(f"PRAGMA synchronous = {_SYNCHRONOUS[statement]}")
    cursor = how(connection, statement, values)
    rows = cursor.fetchall() if cursor.description else []
    found = cursor.description, cursor.rowcount, cursor.lastrowid, rows
    cursor.close()
    return found


class _Connection(aiosqlite.Connection):
    """``is_writing`` : a write transaction is open, and so the file's one write lock is ours."""

    is_writing = False

    def cursor(self) -> Any:
        return _Cursor(self)

    async def commit(self) -> None:
        await super().commit()
        self.is_writing = False

    async def rollback(self) -> None:
        self.is_writing = False
        await super().rollback()


def _connect(database: str, *, timeout: float = BUSY_TIMEOUT_S, **options: Any) -> _Connection:
    connector = partial(sqlite3.connect, database, timeout=timeout, **options)
    connection = _Connection(connector, iter_chunk_size=64)
    # A thread that is still alive must not keep a program that breaks off from ending.
    connection._thread.daemon = True
    return connection
