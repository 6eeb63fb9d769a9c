"""A database in a temporary file, and a clock that stands still until it is moved."""

from __future__ import annotations

from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from storage.engine import Store, open_store


class StillClock:
    """A clock that shows ``now`` until it is moved."""

    def __init__(self) -> None:
        self.now = datetime(2026, 5, 4, 18, 30, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now

    def move(self, **ahead: float) -> None:
        self.now += timedelta(**ahead)


@pytest.fixture
def clock() -> StillClock:
    return StillClock()


@pytest.fixture
async def store(tmp_path: Path) -> AsyncIterator[Store]:
    store = open_store(f"sqlite:///{tmp_path / 'rillkeeper.db'}")
    await store.upgrade()
    yield store
    await store.close()
