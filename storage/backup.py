"""A copy of the database while it is in use, checked before it takes its place."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import make_url

from storage.sqlite import BUSY_TIMEOUT_S, file_of

__all__ = ["BackupError", "back_up"]


class BackupError(Exception):
    """No copy was made; an older one at its place is as it was. Its text is one line that says why."""


def back_up(url: str, target: Path) -> int:
    """Copies an SQLite database, whoever writes to it meanwhile, and gives the copy's size. [bytes]

    The copy holds every transaction that was committed when it began. It is read through once more
    (integrity_check, foreign_key_check) before it replaces what was at ``target``; it is its owner's alone.
    Blocks: call it off the event loop. Raises BackupError.
    """
    source = file_of(make_url(url))
    if source is None:
        raise BackupError("PostgreSQL has a tool of its own: pg_dump --format=custom --file=FILE URL")
    if not source.is_file():
        raise BackupError(f"there is no database at {source}")
    if target.exists() and target.samefile(source):
        raise BackupError("that is the database itself; name another file")
    beside = target.with_name(f".{target.name}.part")
    try:
        beside.unlink(missing_ok=True)
        os.close(os.open(beside, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
        _copy(source, beside)
        _check(beside)
        size = beside.stat().st_size
        _settle(beside)
        beside.replace(target)
    except OSError as error:
        raise BackupError(f"{target} cannot be written: {error.strerror}") from None
    except sqlite3.Error as error:
        raise BackupError(f"the database cannot be copied: {error}") from None
    finally:
        beside.unlink(missing_ok=True)
    return size


def _copy(source: Path, target: Path) -> None:
    read_only = f"{source.absolute().as_uri()}?mode=ro"
    with (
        closing(sqlite3.connect(read_only, timeout=BUSY_TIMEOUT_S, uri=True)) as old,
        closing(sqlite3.connect(target)) as new,
    ):
        old.backup(new)
        # The copy is one file: no log beside it that could be left behind.
        new.execute("PRAGMA journal_mode = DELETE")


def _check(copy: Path) -> None:
    with closing(sqlite3.connect(copy)) as opened:
        (found,) = opened.execute("PRAGMA integrity_check(1)").fetchone()
        if found != "ok":
            raise BackupError(f"the copy is damaged, so the database may be: {str(found)[:80]}")
        if opened.execute("PRAGMA foreign_key_check").fetchone() is not None:
            raise BackupError("the copy names rows that are not there, so the database may be damaged")
        version = "SELECT count(*) FROM sqlite_master WHERE name = 'alembic_version'"
        if opened.execute(version).fetchone() == (0,):
            raise BackupError("that database is none of this program's")


def _settle(copy: Path) -> None:
    """Waits until the copy is on the disk."""
    with copy.open("rb+") as opened:
        os.fsync(opened.fileno())
