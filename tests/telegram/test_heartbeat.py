"""The beat: often enough, through failures, and never broken off in the middle."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest

from bot.assistant.exchange import Letter
from bot.heartbeat import INBOX_KEPT, OUTBOX_KEPT, Heartbeat, tidy
from storage.engine import Store


async def nothing(_now: datetime) -> None:
    return None


class Ticks:
    """A tick that counts its calls and may fail or take long."""

    def __init__(self, *outcomes: int | Exception, wanted: int) -> None:
        self.times: list[datetime] = []
        self._outcomes = list(outcomes)
        self._wanted = wanted
        self.enough = asyncio.Event()

    async def __call__(self, now: datetime) -> int:
        self.times.append(now)
        if len(self.times) >= self._wanted:
            self.enough.set()
        outcome = self._outcomes.pop(0) if self._outcomes else 0
        if isinstance(outcome, Exception):
            raise outcome
        return outcome


async def test_beats_by_the_given_clock_and_tells_of_letters(clock: Callable[[], datetime]) -> None:
    ticks, told = Ticks(0, 2, 0, wanted=4), []
    beat = Heartbeat(ticks, nothing, clock=clock, on_letters=lambda: told.append(1), every_s=0.01)
    beat.start()
    async with asyncio.timeout(5):
        await ticks.enough.wait()
    await beat.stop()
    assert set(ticks.times) == {clock()}
    assert told == [1]


async def test_failure_is_followed_by_the_next_beat(clock: Callable[[], datetime]) -> None:
    ticks = Ticks(OSError("disk is gone"), OSError("disk is gone"), wanted=3)
    beat = Heartbeat(ticks, nothing, clock=clock, on_letters=lambda: None, every_s=0.01)
    beat.start()
    async with asyncio.timeout(5):
        await ticks.enough.wait()
    await beat.stop()


async def test_stop_waits_for_the_beat_that_is_under_way(clock: Callable[[], datetime]) -> None:
    began, ended = asyncio.Event(), []

    async def tick(_now: datetime) -> int:
        began.set()
        for _ in range(20):
            await asyncio.sleep(0)
        ended.append(1)
        return 0

    beat = Heartbeat(tick, nothing, clock=clock, on_letters=lambda: None, every_s=60)
    beat.start()
    async with asyncio.timeout(5):
        await began.wait()
    await beat.stop()
    assert ended == [1]


async def test_upkeep_is_made_at_the_start_and_its_failure_stops_nothing(
    clock: Callable[[], datetime],
) -> None:
    ticks, kept_up = Ticks(wanted=3), []

    async def upkeep(now: datetime) -> None:
        kept_up.append(now)
        raise OSError("disk is gone")

    beat = Heartbeat(ticks, upkeep, clock=clock, on_letters=lambda: None, every_s=0.01)
    beat.start()
    async with asyncio.timeout(5):
        await ticks.enough.wait()
    await beat.stop()
    assert kept_up == [clock()]


@pytest.mark.parametrize(("age", "left"), [(timedelta(days=1), 1), (INBOX_KEPT + timedelta(seconds=1), 0)])
async def test_tidy_deletes_what_was_handled_long_ago(
    store: Store, clock: Callable[[], datetime], age: timedelta, left: int
) -> None:
    async with store.write() as tx:
        await tx.inbox.set_aside("telegram:1", "{}", "unreadable", clock())
    await tidy(store, clock() + age)
    async with store.read() as tx:
        assert len(await tx.inbox.aside()) == left


@pytest.mark.parametrize(("is_sent", "is_left"), [(False, True), (True, False)])
async def test_tidy_never_deletes_what_still_waits(
    store: Store, clock: Callable[[], datetime], is_sent: bool, is_left: bool
) -> None:
    async with store.write() as tx:
        chat = await tx.households.chat("telegram", "5", private=True, title="Ana", thread=None, now=clock())
        letter = Letter("reply", "Saved").as_json()
        number = await tx.outbox.post(chat.household_id, chat.id, letter, dedupe_key="1", now=clock())
        assert number is not None
        if is_sent:
            (claim,) = await tx.outbox.claim(
                clock(), platform="telegram", limit=1, lease=timedelta(minutes=1)
            )
            await tx.outbox.sent(claim, "8", clock())
    await tidy(store, clock() + OUTBOX_KEPT + timedelta(seconds=1))
    async with store.read() as tx:
        assert (await tx.outbox.letter(number) is not None) == is_left
