"""What was asked is answered once, in time, and in its own chat."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime, timedelta

from stored import settled

from storage.engine import Store

NOW = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)
HOUR = timedelta(hours=1)


async def test_the_newest_open_question_of_each_topic_waits_for_its_answer(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        payload = {"options": [1.4, "ppm"], "text": "40 ½"}
        first = await tx.questions.ask(
            home.id, home.chat.id, home.person.id, "unclear", payload, NOW, NOW + HOUR
        )
        await tx.questions.ask(home.id, home.chat.id, None, "setup", {"step": 2}, NOW, NOW + HOUR)
        second = await tx.questions.ask(home.id, home.chat.id, None, "setup", {"step": 3}, NOW, NOW + HOUR)
        waiting = await tx.questions.newest_open(home.chat.id, NOW)
    assert waiting.keys() == {"unclear", "setup"}
    assert (waiting["setup"].id, waiting["setup"].payload) == (second, {"step": 3})
    unclear = waiting["unclear"]
    assert (unclear.id, unclear.payload, unclear.person_id) == (first, payload, home.person.id)
    assert (unclear.asked_at, unclear.expires_at) == (NOW, NOW + HOUR)


async def test_a_question_is_answered_once_however_many_answer(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        number = await tx.questions.ask(home.id, home.chat.id, None, "setup", {}, NOW, NOW + HOUR)

    async def answer() -> bool:
        async with store.write() as tx:
            return await tx.questions.take(number, NOW) is not None

    assert sum(await asyncio.gather(*(answer() for _ in range(8)))) == 1
    async with store.read() as tx:
        assert await tx.questions.newest_open(home.chat.id, NOW) == {}
        assert await tx.questions.get(number) is not None


async def test_a_question_that_is_too_old_is_not_answered(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        number = await tx.questions.ask(home.id, home.chat.id, None, "setup", {}, NOW, NOW + HOUR)
        assert await tx.questions.newest_open(home.chat.id, NOW + HOUR) == {}
        assert await tx.questions.take(number, NOW + HOUR) is None
        assert await tx.questions.take(number, NOW + HOUR - timedelta(seconds=1)) is not None


async def test_dropping_is_for_one_chat_and_one_topic(store: Store) -> None:
    home, other = await settled(store, "5", NOW), await settled(store, "6", NOW)
    async with store.write() as tx:
        for asked, topic in ((home, "setup"), (home, "unclear"), (other, "setup")):
            await tx.questions.ask(asked.id, asked.chat.id, None, topic, {}, NOW, NOW + HOUR)
        await tx.questions.drop(home.chat.id, "setup")
        assert (await tx.questions.newest_open(home.chat.id, NOW)).get("setup") is None
        assert (await tx.questions.newest_open(home.chat.id, NOW)).get("unclear") is not None
        assert (await tx.questions.newest_open(other.chat.id, NOW)).get("setup") is not None
