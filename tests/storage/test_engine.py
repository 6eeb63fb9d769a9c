"""Opening, upgrading, and what the two kinds of transaction promise."""

from __future__ import annotations

import asyncio
import os
import re
import shutil
import stat
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import Connection, insert, select, text
from sqlalchemy.exc import StatementError
from stored import JOURNAL_CHANGED, LEASE, ph, questions_of, settled

from storage.engine import Store, open_store
from storage.models import households, metadata

NOW = datetime(2026, 5, 4, 19, 5, 30, 250_001, tzinfo=UTC)


async def test_the_migrated_tables_are_the_tables_of_the_models(store: Store) -> None:
    def differences(connection: Connection) -> list[object]:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        return list(compare_metadata(context, metadata))

    async with store._engine.connect() as connection:
        assert await connection.run_sync(differences) == []


async def test_the_comparison_would_see_a_missing_column(store: Store) -> None:
    def differences(connection: Connection) -> list[object]:
        connection.execute(text("ALTER TABLE inbox DROP COLUMN code"))
        return list(compare_metadata(MigrationContext.configure(connection), metadata))

    async with store._engine.connect() as connection:
        assert await connection.run_sync(differences) != []


async def test_upgrading_twice_changes_nothing(store: Store) -> None:
    home = await settled(store, "5", NOW)
    await store.upgrade()
    async with store.read() as tx:
        assert await tx.households.find_chat("telegram", "5") == home.chat


async def test_a_new_file_and_its_folder_are_the_owners_alone(tmp_path: Path) -> None:
    old_umask = os.umask(0)
    try:
        store = open_store(f"sqlite:///{tmp_path}/kept/deeper/rillkeeper.db")
        await store.upgrade()
        await settled(store, "5", NOW)
        modes = {
            path.name: stat.S_IMODE(path.stat().st_mode) for path in (tmp_path / "kept" / "deeper").iterdir()
        }
        await store.close()
    finally:
        os.umask(old_umask)
    assert modes == {"rillkeeper.db": 0o600, "rillkeeper.db-wal": 0o600, "rillkeeper.db-shm": 0o600}
    assert stat.S_IMODE((tmp_path / "kept" / "deeper").stat().st_mode) == 0o700


@pytest.mark.parametrize("url", ["sqlite://", "sqlite:///:memory:", "mysql://h/d"])
def test_a_database_that_would_not_last_is_refused(url: str) -> None:
    with pytest.raises(ValueError):
        open_store(url)


async def test_sqlite_is_set_up_to_keep_what_is_committed(tmp_path: Path) -> None:
    store = open_store(f"sqlite:///{tmp_path}/a.db")
    await store.upgrade()
    async with store._engine.connect() as connection:
        pragmas = {
            name: (await connection.execute(text(f"PRAGMA {name}"))).scalar_one()
            for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
        }
    await store.close()
    # synchronous 2 is FULL. Source: sqlite.org/pragma.html
    assert pragmas == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 5000}


async def test_only_a_note_does_not_wait_for_the_disk(tmp_path: Path) -> None:
    """What is confirmed to anybody is on the disk first, whatever kind of transaction came before it."""
    store = open_store(f"sqlite:///{tmp_path}/a.db")
    await store.upgrade()
    levels = []
    for begin in (store.write, store.note, store.write, store.note, store.note, store.write):
        async with begin() as tx:
            asked = await tx.households._connection.execute(text("PRAGMA synchronous"))
            levels.append(asked.scalar_one())
    await store.close()
    # 1 is NORMAL, 2 is FULL. Source: sqlite.org/pragma.html
    assert levels == [2, 1, 2, 1, 1, 2]


async def test_a_block_that_raises_leaves_nothing(store: Store) -> None:
    async def break_off() -> None:
        async with store.write() as tx:
            await tx.households.chat("telegram", "5", private=True, title="", thread=None, now=NOW)
            raise RuntimeError("half way")

    with pytest.raises(RuntimeError, match="half way"):
        await break_off()
    async with store.read() as tx:
        assert await tx.households.find_chat("telegram", "5") is None


async def test_instants_come_back_in_utc_to_the_microsecond(store: Store) -> None:
    told = datetime(2026, 5, 4, 21, 5, 30, 250_001, tzinfo=timezone(timedelta(hours=2)))
    async with store._engine.begin() as connection:
        await connection.execute(insert(households).values(created_at=told))
        found = (await connection.execute(select(households.c.created_at))).scalar_one()
    assert found == told
    assert found.tzinfo is UTC or found.utcoffset() == timedelta(0)
    assert (found.hour, found.microsecond) == (19, 250_001)


async def test_instants_without_a_zone_are_refused(store: Store) -> None:
    async with store._engine.connect() as connection:
        with pytest.raises(StatementError, match="without a zone"):
            await connection.execute(insert(households).values(created_at=datetime(2026, 5, 4)))  # noqa: DTZ001


async def test_instants_sort_in_the_database_as_they_do_in_time(store: Store) -> None:
    east, west = timezone(timedelta(hours=13)), timezone(timedelta(hours=-11))
    told = [
        datetime(2026, 5, 5, 1, 0, tzinfo=east),
        datetime(2026, 5, 4, 12, 0, 0, 1, tzinfo=UTC),
        datetime(2026, 5, 4, 1, 0, 1, tzinfo=west),
        datetime(2026, 5, 4, 12, 0, tzinfo=UTC),
        datetime(999, 1, 1, tzinfo=UTC),
    ]
    async with store._engine.begin() as connection:
        await connection.execute(insert(households), [{"created_at": instant} for instant in told])
        in_order = select(households.c.created_at).order_by(households.c.created_at, households.c.id)
        found = (await connection.execute(in_order)).scalars().all()
    assert list(found) == sorted(told)


async def test_fifty_counts_at_once_lose_none(store: Store) -> None:
    home = await settled(store, "5", NOW)

    async def count_one_more() -> None:
        async with store.write() as tx:
            await tx.households.lock(home.id)
            chat = await tx.households.find_chat("telegram", "5")
            assert chat is not None
            await tx.households.chat(
                "telegram", "5", private=True, title=str(int(chat.title) + 1), thread=None, now=NOW
            )

    async with store.write() as tx:
        await tx.households.chat("telegram", "5", private=True, title="0", thread=None, now=NOW)
    await asyncio.gather(*(count_one_more() for _ in range(50)))
    async with store.read() as tx:
        chat = await tx.households.find_chat("telegram", "5")
    assert chat is not None
    assert chat.title == "50"


async def test_two_processes_that_write_wait_for_each_other(store: Store) -> None:
    """Two stores on one database share no lock in memory, as two processes do not."""
    other = open_store(
        store._engine.url.set(drivername=store._engine.url.get_backend_name()).render_as_string()
    )
    home = await settled(store, "5", NOW)

    async def note(through: Store, number: int) -> None:
        async with through.write() as tx:
            await tx.households.lock(home.id)
            chat = await tx.households.find_chat("telegram", "5")
            assert chat is not None
            title = f"{chat.title} {number}"
            await tx.households.chat("telegram", "5", private=True, title=title, thread=None, now=NOW)

    await asyncio.gather(*(note((store, other)[number % 2], number) for number in range(20)))
    async with other.read() as tx:
        chat = await tx.households.find_chat("telegram", "5")
    await other.close()
    assert chat is not None
    assert sorted(map(int, chat.title.removeprefix("Home 5").split())) == list(range(20))


async def test_a_write_inside_a_write_is_told_at_once(upgraded_file: Path, tmp_path: Path) -> None:
    shutil.copy(upgraded_file, tmp_path / "a.db")
    store = open_store(f"sqlite:///{tmp_path / 'a.db'}")

    async def write_twice() -> None:
        async with store.write(), store.write():
            pass

    for _ in range(2):
        with pytest.raises(RuntimeError, match="inside another"):
            await write_twice()
    await settled(store, "5", NOW)
    await store.close()


async def test_reading_goes_on_while_somebody_writes(store: Store) -> None:
    await settled(store, "5", NOW)
    async with store.write() as writing:
        await writing.households.chat("telegram", "6", private=True, title="", thread=None, now=NOW)
        async with store.read() as reading:
            assert await reading.households.find_chat("telegram", "5") is not None
            assert await reading.households.find_chat("telegram", "6") is None


async def test_no_frequent_question_walks_through_a_whole_table(tmp_path: Path, upgraded_file: Path) -> None:
    """Of the mailboxes, the journal and the reminders only what is open, due or asked for is looked at."""
    shutil.copy(upgraded_file, tmp_path / "a.db")
    store = open_store(f"sqlite:///{tmp_path / 'a.db'}")
    home = await settled(store, "5", NOW)
    with questions_of(store) as asked:
        async with store.write() as tx:
            await tx.inbox.claim(NOW, limit=5, lease=LEASE)
            await tx.inbox.depth(NOW)
            await tx.outbox.claim(NOW, platform="telegram", limit=5, lease=LEASE)
            await tx.outbox.next_at("telegram")
            await tx.outbox.depth(NOW)
            await tx.outbox.find_reply(home.chat.id, "7")
            await tx.outbox.details_of(home.chat.id, "7")
            await tx.reminders.due(NOW)
            await tx.reminders.of(home.id)
            await tx.reminders.next_due_at()
            await tx.questions.newest_open(home.chat.id, NOW)
            await tx.journal.append(home.says("1", ph(6.0), at=NOW))
            await tx.journal.entries(home.id)
            await tx.journal.last_standing_by(home.id, home.person.id)
            await tx.households.chat("telegram", "5", private=True, title="", thread=None, now=NOW)
            await tx.households.person("telegram", "p5", "Ana", home.id)
    walks = []
    async with store._engine.connect() as connection:
        for statement, values in asked:
            plan = await connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values)
            walks += [row.detail for row in plan if re.fullmatch(r"SCAN (?!heads)\w+", row.detail)]
        plan = await connection.exec_driver_sql("EXPLAIN QUERY PLAN SELECT * FROM outbox WHERE code = 'x'")
        assert [row.detail for row in plan] == ["SCAN outbox"]
    await store.close()
    assert walks == []


@pytest.mark.parametrize(
    ("statement", "changes"),
    [
        ("UPDATE entries SET doubted = 1", True),
        ('DELETE FROM "revisions" WHERE id = 1', True),
        ("INSERT INTO entries (id) VALUES (1)", False),
        ("UPDATE outbox SET letter = 'entries'", False),
    ],
)
def test_the_watch_on_the_journal_sees_what_it_should(statement: str, changes: bool) -> None:
    assert bool(JOURNAL_CHANGED.search(statement)) is changes
