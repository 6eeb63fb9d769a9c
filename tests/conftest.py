"""What every test stands on: no network but the loopback, a clean environment, a clock that we move."""

from __future__ import annotations

import asyncio
import os
import shutil
import socket
from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from storage.engine import Store, open_store

settings.register_profile("dev", max_examples=30, deadline=None)
settings.register_profile(
    "ci",
    max_examples=60,
    deadline=None,
    derandomize=True,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("ci" if os.environ.get("CI") else "dev")

LOOPBACK = ("127.0.0.1", "::1", "localhost")

POSTGRESQL_URL = os.environ.get("TEST_POSTGRESQL_URL")
"""A database that the tests may empty; without it they run on SQLite alone."""

BACKENDS = ["sqlite", *(["postgresql"] if POSTGRESQL_URL else [])]


class FakeClock:
    """A clock that stands still until it is moved."""

    def __init__(self, now: datetime) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now

    def advance(self, **by: float) -> datetime:
        """Moves on by ``days``, ``hours``, ``minutes``, ``seconds`` ... and gives the time it is then."""
        self.now += timedelta(**by)
        return self.now


@pytest.fixture
def clock() -> FakeClock:
    return FakeClock(datetime(2026, 5, 4, 19, 5, tzinfo=UTC))


@pytest.fixture(autouse=True)
def clean_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in list(os.environ):
        if name.startswith("RILLKEEPER_"):
            monkeypatch.delenv(name)


@pytest.fixture(scope="session", autouse=True)
def loopback_only() -> Any:
    """Refuses every connection that would leave this machine."""
    patch = pytest.MonkeyPatch()
    for name in ("connect", "connect_ex"):
        patch.setattr(socket.socket, name, _only_to_loopback(getattr(socket.socket, name)))
    yield
    patch.undo()


def _only_to_loopback(connect: Any) -> Any:
    def guarded(self: socket.socket, address: Any) -> Any:
        if self.family in (socket.AF_INET, socket.AF_INET6) and address[0] not in LOOPBACK:
            raise AssertionError(f"a test tried to reach {address!r}")
        return connect(self, address)

    return guarded


@pytest.fixture(scope="session")
def upgraded_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An SQLite file with the tables and nothing in them, to be copied."""
    path = tmp_path_factory.mktemp("upgraded") / "rillkeeper.db"

    async def upgrade() -> None:
        store = open_store(f"sqlite:///{path}")
        await store.upgrade()
        await store.close()

    asyncio.run(upgrade())
    return path


@pytest.fixture(params=BACKENDS)
async def store(request: pytest.FixtureRequest, upgraded_file: Path, tmp_path: Path) -> AsyncIterator[Store]:
    """A store with the tables and nothing in them, on each database that is there."""
    if request.param == "postgresql":
        assert POSTGRESQL_URL is not None
        await _empty(POSTGRESQL_URL)
        opened = open_store(POSTGRESQL_URL)
        await opened.upgrade()
    else:
        shutil.copy(upgraded_file, tmp_path / "rillkeeper.db")
        opened = open_store(f"sqlite:///{tmp_path / 'rillkeeper.db'}")
    yield opened
    await opened.close()


async def _empty(url: str) -> None:
    import psycopg

    async with await psycopg.AsyncConnection.connect(url, autocommit=True) as connection:
        await connection.execute("DROP SCHEMA public CASCADE")
        await connection.execute("CREATE SCHEMA public")
