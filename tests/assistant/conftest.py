"""The household that the tests of this room talk through."""

from __future__ import annotations

from typing import Any

import pytest

from bot.assistant.assistant import Assistant
from bot.assistant.exchange import ChatRef, PersonRef
from storage.engine import Store
from tests.assistant.talk import Talk


@pytest.fixture
async def talk(store: Store, clock: Any) -> Talk:
    chat = ChatRef("terminal", "home", private=True, title="Mina")
    return Talk(store, clock, Assistant(store, clock), chat, PersonRef("7", "Mina"))
