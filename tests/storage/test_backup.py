"""A backup while the database is written to, and the restore that the README describes."""

from __future__ import annotations

import asyncio
import shutil
import sqlite3
import stat
from datetime import UTC, datetime
from pathlib import Path

import pytest
from typer.testing import CliRunner

from bot.__main__ import app
from storage.backup import BackupError, back_up
from storage.engine import Store, open_store

NOW = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)


async def add_chat(store: Store, number: int) -> None:
    async with store.write() as tx:
        await tx.households.chat("terminal", f"{number}", private=True, title="x" * 500, thread=None, now=NOW)


async def count(url: str) -> int:
    store = open_store(url)
    await store.upgrade()
    async with store.read() as tx:
        found = await tx.transfer.summaries()
    await store.close()
    return len(found)


def restore(backup: Path, home: Path) -> None:
    """The steps of the README."""
    for file in home.parent.glob(f"{home.name}*"):
        file.unlink()
    shutil.copy(backup, home)


def damage(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[4096 * 3 : 4096 * 6] = b"\xff" * (4096 * 3)
    path.write_bytes(content)


def beside(backup: Path) -> Path:
    """Where a copy grows before it is good."""
    return backup.with_name(f".{backup.name}.part")


@pytest.fixture
async def home(tmp_path: Path) -> Path:
    path = tmp_path / "rillkeeper.db"
    store = open_store(f"sqlite:///{path}")
    await store.upgrade()
    for number in range(5):
        await add_chat(store, number)
    await store.close()
    return path


async def test_a_copy_that_is_made_while_somebody_writes_is_whole(home: Path, tmp_path: Path) -> None:
    store = open_store(f"sqlite:///{home}")
    copies = [tmp_path / f"copy{number}.db" for number in range(3)]

    async def write() -> None:
        for number in range(100, 160):
            await add_chat(store, number)

    writing = asyncio.create_task(write())
    for copy in copies:
        await asyncio.sleep(0.02)
        await asyncio.to_thread(back_up, f"sqlite:///{home}", copy)
    await writing
    await store.close()
    counts = [await count(f"sqlite:///{copy}") for copy in copies]
    assert counts == sorted(counts)
    assert all(5 <= found <= 65 for found in counts)
    assert await count(f"sqlite:///{home}") == 65


async def test_it_is_restored_as_the_readme_says(home: Path, tmp_path: Path) -> None:
    backup = tmp_path / "monday.db"
    run = CliRunner().invoke(app, ["backup", str(backup), "--db", f"sqlite:///{home}"])
    assert run.exit_code == 0, run.stderr
    assert stat.S_IMODE(backup.stat().st_mode) == 0o600
    store = open_store(f"sqlite:///{home}")
    await add_chat(store, 99)  # said after the backup
    await store.close()
    restore(backup, home)
    assert await count(f"sqlite:///{home}") == 5


async def test_a_new_copy_replaces_the_old_one_only_when_it_is_good(home: Path, tmp_path: Path) -> None:
    backup = tmp_path / "monday.db"
    back_up(f"sqlite:///{home}", backup)
    before = backup.read_bytes()
    damage(home)
    with pytest.raises(BackupError):
        back_up(f"sqlite:///{home}", backup)
    assert backup.read_bytes() == before
    assert not beside(backup).exists()


def test_what_cannot_be_copied_is_told_in_one_line(tmp_path: Path) -> None:
    other = tmp_path / "other.db"
    with sqlite3.connect(other) as made:
        made.execute("CREATE TABLE theirs (id INTEGER)")
    made.close()
    for url, target, why in (
        ("postgresql://you@host/db", tmp_path / "x", "pg_dump"),
        (f"sqlite:///{tmp_path / 'missing.db'}", tmp_path / "x", "no database"),
        (f"sqlite:///{other}", other, "itself"),
        (f"sqlite:///{other}", tmp_path / "x", "none of this program's"),
        (f"sqlite:///{other}", tmp_path / "no" / "x", "cannot be written"),
    ):
        with pytest.raises(BackupError, match=why):
            back_up(url, target)
        assert target == other or not target.exists()
