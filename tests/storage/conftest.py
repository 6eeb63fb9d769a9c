"""On every test of storage: nothing that the journal holds is changed or deleted."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from stored import JOURNAL_CHANGED, statements_of

from storage.engine import Store


@pytest.fixture(autouse=True)
def append_only(request: pytest.FixtureRequest) -> Iterator[None]:
    if "store" not in request.fixturenames:
        yield
        return
    store: Store = request.getfixturevalue("store")
    with statements_of(store) as sent:
        yield
    assert [statement for statement in sent if JOURNAL_CHANGED.search(statement)] == []
