"""The slip beside the log shows what the assistant goes by, and nothing of anybody else."""

from __future__ import annotations

from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from aiohttp import ClientSession

from bot.assistant.assistant import Assistant
from bot.assistant.exchange import ChatRef, Heard, PersonRef
from demo.room.platform import Platform
from demo.room.understood import NOTHING_YET, Understanding
from storage.engine import open_store

NOW = datetime(2026, 5, 4, 18, 5, tzinfo=UTC)
WREN, IDRIS = "5101", "5102"


class Talk:
    """People who write to the assistant at one database, and the slip read from it."""

    def __init__(self, assistant: Assistant, understanding: Understanding) -> None:
        self._assistant = assistant
        self._understanding = understanding
        self._said = 0

    async def say(self, address: str, *texts: str) -> None:
        for text in texts:
            self._said += 1
            chat = ChatRef(platform="telegram", address=address, private=True, title="a chat")
            person = PersonRef(address=address, name=f"person {address}")
            at = NOW + timedelta(minutes=self._said)
            await self._assistant.hear(
                Heard(chat=chat, person=person, message=str(self._said), text=text, said_at=at)
            )

    async def slip(self, address: str) -> dict[str, Any]:
        return await self._understanding.of(address, NOW + timedelta(minutes=self._said))


@pytest.fixture
async def talk(tmp_path: Path) -> AsyncIterator[Talk]:
    file = tmp_path / "journal.db"
    store = open_store(f"sqlite:///{file}")
    await store.upgrade()
    understanding = Understanding(file)
    yield Talk(Assistant(store, lambda: NOW), understanding)
    await understanding.close()
    await store.close()


def words(slip: dict[str, Any]) -> list[str]:
    return [entry["words"] for entry in slip["entries"]]


async def test_facts_stand_there_as_they_were_read_the_newest_first(talk: Talk) -> None:
    await talk.say(WREN, "tank holds 40 L", "ph 6,1 ppm 720 temp 66F", "sowed basil in A1-A3")
    slip = await talk.slip(WREN)
    assert words(slip) == ["sowed basil in A1–A3", "pH 6.1, 720 ppm and 18.9 °C", "tank volume 40 L"]
    assert {entry["who"] for entry in slip["entries"]} == {"person 5101"}
    assert [row["what"] for row in slip["bands"]] == ["pH", "strength", "water"]
    assert slip["bands"][0]["keep"] == "5.5–6.5"
    assert any("basil" in due["what"] for due in slip["due"])


async def test_talk_is_not_understood_and_an_undone_entry_is_gone(talk: Talk) -> None:
    await talk.say(WREN, "dinner at 7?", "ph 6.1", "undo")
    assert words(await talk.slip(WREN)) == []


async def test_a_doubted_reading_is_marked(talk: Talk) -> None:
    await talk.say(WREN, "tank holds 40 L", "ph 6.0", "ph 9.4")
    assert [(entry["words"], entry["doubted"]) for entry in (await talk.slip(WREN))["entries"][:2]] == [
        ("pH 9.4", True),
        ("pH 6.0", False),
    ]


async def test_another_household_sees_nothing_of_it(talk: Talk) -> None:
    await talk.say(WREN, "ph 6.1")
    await talk.say(IDRIS, "topped up 4 L")
    assert words(await talk.slip(IDRIS)) == ["topped up 4 L"]
    assert await talk.slip("777") == NOTHING_YET


async def test_before_the_bot_made_its_file_nothing_is_known_and_nothing_is_made(tmp_path: Path) -> None:
    file = tmp_path / "not yet.db"
    platform = Platform()
    understanding = Understanding(file)
    platform.extend(understanding.add_route)
    async with platform, ClientSession() as session:
        address = f"http://127.0.0.1:{platform.port}/room/api/understood/{WREN}"
        async with session.get(address) as response:
            assert (await response.json())["result"] == NOTHING_YET
        async with session.get(address, headers={"Origin": "https://elsewhere.example"}) as response:
            assert response.status == 403
    await understanding.close()
    assert not file.exists()
