"""A season to play: a story that the assistant can read, of a tank that behaves, told in order."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from aiohttp import ClientSession

from bot.reader import read
from demo.room.platform import Platform
from demo.room.playing import PLAYER, Playing
from demo.season.household import season
from demo.season.tank import FULL_L, Tank
from domain.facts import Dose, Harvest, Reading, Sow, TopUp, WaterChange

START = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)


def test_every_message_is_read_whole() -> None:
    kinds = set()
    for said in season(START):
        found = read(said.text, now=said.at, zone=ZoneInfo("Europe/Lisbon"))
        assert found.facts, said.text
        assert not found.unclear, said.text
        kinds |= {type(each.fact) for each in found.facts}
    assert kinds >= {Reading, Dose, TopUp, WaterChange, Sow, Harvest}


def test_the_story_is_told_in_order_and_the_same_each_time() -> None:
    story = list(season(START, days=15))
    assert story == list(season(START, days=15))
    assert story[:30] != list(season(START, days=15, seed=8))[:30]
    assert [said.at for said in story] == sorted(said.at for said in story)
    assert START + timedelta(days=13) < story[-1].at < START + timedelta(days=15)


def test_the_household_keeps_its_tank_where_plants_live() -> None:
    assert all(5.5 < said.tank_ph < 7.2 for said in season(START))


def test_the_tank_goes_the_way_of_tanks() -> None:
    tank = Tank()
    tank.pass_time(24)
    assert tank.litres < FULL_L
    before = tank.ph
    tank.add_acid(5)
    assert tank.ph < before
    acid = tank.ph
    tank.pass_time(48)  # nitrate is taken up, and carbon dioxide leaves
    assert tank.ph > acid
    strong = tank.ec_ms_cm
    tank.top_up(FULL_L - tank.litres)
    assert tank.litres == pytest.approx(FULL_L)
    assert tank.ec_ms_cm < strong


@pytest.fixture
async def address() -> AsyncIterator[str]:
    platform = Platform()
    platform.extend(Playing(platform, days=2).add_route)
    async with platform:
        answering = asyncio.create_task(answer_everything(platform))
        yield f"http://127.0.0.1:{platform.port}"
        answering.cancel()
        await asyncio.gather(answering, return_exceptions=True)


async def answer_everything(platform: Platform) -> None:
    """A bot that replies to each message, over HTTP."""
    base = f"{platform.base_url}{platform.token}"
    offset = 0
    async with ClientSession() as session:
        while True:
            async with session.get(f"{base}/getUpdates", params={"offset": offset, "timeout": 5}) as response:
                updates = (await response.json())["result"]
            for update in updates:
                offset = update["update_id"] + 1
                message = update["message"]
                reply = {
                    "chat_id": message["chat"]["id"],
                    "text": "heard",
                    "reply_parameters": {"message_id": message["message_id"]},
                }
                async with session.post(f"{base}/sendMessage", json=reply) as response:
                    assert response.status == 200


async def played(session: ClientSession, address: str, total: int) -> list[dict[str, Any]]:
    async with asyncio.timeout(10):
        while True:
            async with session.get(f"{address}/room/api/chats/{PLAYER[0]}") as response:
                lines: list[dict[str, Any]] = (await response.json())["result"]
            if len(lines) == 2 * total:
                return lines
            await asyncio.sleep(0.05)


async def test_each_message_waits_for_its_answer_and_is_dated_back(address: str) -> None:
    async with ClientSession() as session:
        async with session.post(f"{address}/room/api/season", json={}) as response:
            begun = (await response.json())["result"]
        lines = await played(session, address, begun["total"])
        assert begun["chat"] == PLAYER[0]
        assert [line["name"] for line in lines[:4]] == [PLAYER[1], "Rillkeeper"] * 2
        assert [line["at"] for line in lines] == sorted(line["at"] for line in lines)
        assert datetime.fromtimestamp(lines[0]["at"], UTC) < datetime.now(UTC) - timedelta(days=1)
        async with session.post(f"{address}/room/api/season", json={}) as response:
            assert response.status == 409
