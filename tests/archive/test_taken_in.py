"""Taking an archive in: what the transaction did not keep, nobody remembers."""

from __future__ import annotations

from typing import Any

import pytest

from bot.assistant import bringing_in
from bot.assistant.assistant import Assistant
from bot.assistant.exchange import ChatRef, PersonRef
from storage.engine import Store
from tests.assistant.talk import Talk


async def test_an_archive_that_was_rolled_back_is_not_remembered(store: Store, clock: Any) -> None:
    chat_of_ana = ChatRef("terminal", "1", private=True, title="Ana")
    await Talk(store, clock, Assistant(store, clock), chat_of_ana, PersonRef("1", "Ana")).say("ph 6.1")
    async with store.read() as tx:
        chat = await tx.households.find_chat("terminal", "1")
        assert chat is not None
        kept = await tx.transfer.holdings(chat.household_id)
    async with store.write() as tx:
        empty = await tx.transfer.new_household(clock())

    async def breaks_off() -> None:
        async with store.write() as tx:
            await bringing_in.write_archive(tx, empty, kept)
            assert await tx.journal.entries(empty)
            raise ConnectionError

    with pytest.raises(ConnectionError):
        await breaks_off()
    async with store.read() as tx:
        assert await tx.journal.entries(empty) == []
