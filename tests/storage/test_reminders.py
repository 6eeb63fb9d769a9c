"""What will be told, when, and that each due reminder is moved on once."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from stored import Home, letter, settled

from storage.engine import Store, Transaction

NOW = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)
RINSE: dict[str, Any] = {
    "task": "rinse_filter",
    "text": "Rinse the filter",
    "why": "Two weeks since the last time",
    "rrule": "FREQ=WEEKLY;INTERVAL=2",
    "source": "routine",
}


async def put(tx: Transaction, home: Home, key: str, due_at: datetime, **other: Any) -> int:
    says = {"chat_id": home.chat.id, **RINSE, **other}
    return await tx.reminders.put(home.id, key, due_at=due_at, now=NOW, **says)


async def test_a_reminder_comes_back_as_it_was_put(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        number = await put(tx, home, "filter", NOW)
        row = await tx.reminders.get(number)
    assert row is not None
    assert (row.key, row.task, row.text, row.why, row.rrule, row.source) == ("filter", *_said(RINSE))
    assert (row.due_at, row.planned_at, row.fired_count, row.paused, row.ended) == (NOW, NOW, 0, False, False)


def _said(says: dict[str, Any]) -> tuple[str, ...]:
    return tuple(says[name] for name in ("task", "text", "why", "rrule", "source"))


async def test_a_key_has_one_reminder_that_says_what_was_put_last(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        first = await put(tx, home, "filter", NOW)
        second = await put(tx, home, "filter", NOW + timedelta(days=1), text="Rinse it")
        (row,) = await tx.reminders.of(home.id)
    assert first == second == row.id
    assert (row.text, row.due_at) == ("Rinse it", NOW + timedelta(days=1))


async def test_what_ended_begins_again_when_it_is_put_again(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        await put(tx, home, "filter", NOW)
        await tx.reminders.end(home.id, "filter")
        assert await tx.reminders.of(home.id) == []
        assert [row.ended for row in await tx.reminders.of(home.id, with_ended=True)] == [True]
        assert await tx.reminders.due(NOW) == []
        await put(tx, home, "filter", NOW)
        assert len(await tx.reminders.due(NOW)) == 1


async def test_due_is_what_is_due_the_longest_overdue_first(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        for key, minutes in (("b", -1), ("c", 1), ("a", -60), ("now", 0)):
            await put(tx, home, key, NOW + timedelta(minutes=minutes))
        await put(tx, home, "paused", NOW)
        await tx.reminders.pause(home.id, "paused", True)
        assert [row.key for row in await tx.reminders.due(NOW)] == ["a", "b", "now"]
        assert [row.key for row in await tx.reminders.due(NOW, limit=1)] == ["a"]
        assert await tx.reminders.next_due_at() == NOW - timedelta(minutes=60)
        await tx.reminders.pause(home.id, "paused", False)
        assert "paused" in [row.key for row in await tx.reminders.due(NOW)]


async def test_nothing_is_due_in_a_chat_that_cannot_be_written_to(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        await put(tx, home, "here", NOW)
        await put(tx, home, "anywhere", NOW, chat_id=None)
        await tx.households.set_active(home.chat.id, False, NOW)
        assert [row.key for row in await tx.reminders.due(NOW)] == ["anywhere"]
        await tx.households.set_active(home.chat.id, True, NOW)
        assert len(await tx.reminders.due(NOW)) == 2


async def test_telling_moves_it_on_or_ends_it(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        number = await put(tx, home, "filter", NOW)
        await tx.reminders.advance(number, NOW + timedelta(days=14))
        again = await tx.reminders.get(number)
        await tx.reminders.advance(number, None)
        ended = await tx.reminders.get(number)
    assert again is not None
    assert ended is not None
    assert (again.due_at, again.planned_at, again.fired_count) == (NOW + timedelta(days=14), NOW, 1)
    assert (ended.ended, ended.fired_count) == (True, 2)


async def test_putting_off_is_no_telling(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        number = await put(tx, home, "filter", NOW)
        await tx.reminders.put_off(number, NOW + timedelta(hours=1))
        row = await tx.reminders.get(number)
    assert row is not None
    assert (row.due_at, row.planned_at, row.fired_count) == (NOW + timedelta(hours=1), NOW, 0)


async def test_putting_off_what_had_ended_begins_it_again(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        number = await put(tx, home, "own:1", NOW, rrule=None)
        await tx.reminders.advance(number, None)
        assert await tx.reminders.due(NOW + timedelta(days=1)) == []
        await tx.reminders.put_off(number, NOW + timedelta(hours=3))
        (row,) = await tx.reminders.due(NOW + timedelta(hours=3))
    assert (row.planned_at, row.fired_count, row.ended) == (NOW, 1, False)


async def test_a_household_may_ask_for_its_own_alone(store: Store) -> None:
    first, second, third = [await settled(store, str(number), NOW) for number in range(3)]
    async with store.write() as tx:
        await put(tx, first, "filter", NOW)
        await put(tx, second, "filter", NOW - timedelta(hours=1))
        await put(tx, second, "pump", NOW)
        await put(tx, third, "filter", NOW + timedelta(minutes=1))
        assert [row.household_id for row in await tx.reminders.due(NOW, household_id=first.id)] == [first.id]
        assert await tx.reminders.households_due(NOW) == [second.id, first.id]


async def test_eight_ticks_at_once_tell_each_reminder_once(store: Store) -> None:
    homes = [await settled(store, str(number), NOW) for number in range(4)]
    async with store.write() as tx:
        for number in range(40):
            await put(tx, homes[number % 4], f"own:{number}", NOW)

    async def tick() -> int:
        told = 0
        while True:
            async with store.write() as tx:
                rows = await tx.reminders.due(NOW, limit=7)
                for row in rows:
                    key = f"{row.id}:{row.due_at.isoformat()}"
                    says = letter(row.text, "reminder")
                    assert row.chat_id is not None
                    assert await tx.outbox.post(row.household_id, row.chat_id, says, dedupe_key=key, now=NOW)
                    await tx.reminders.advance(row.id, NOW + timedelta(days=14))
            if not rows:
                return told
            told += len(rows)

    assert sum(await asyncio.gather(*(tick() for _ in range(8)))) == 40
    async with store.read() as tx:
        letters = [await tx.outbox.open_of(home.chat.id) for home in homes]
    assert [len(of_chat) for of_chat in letters] == [10] * 4


@pytest.mark.parametrize("breaks_off", [True, False])
async def test_a_tick_that_breaks_off_tells_nothing_and_loses_nothing(store: Store, breaks_off: bool) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        await put(tx, home, "filter", NOW)

    async def tick() -> None:
        async with store.write() as tx:
            (row,) = await tx.reminders.due(NOW)
            await tx.outbox.post(home.id, home.chat.id, letter(row.text, "reminder"), dedupe_key="a", now=NOW)
            await tx.reminders.advance(row.id, None)
            if breaks_off:
                raise RuntimeError("half way")

    try:
        await tick()
    except RuntimeError:
        assert breaks_off
    async with store.read() as tx:
        waiting, due = await tx.outbox.open_of(home.chat.id), await tx.reminders.due(NOW)
    assert (len(waiting), len(due)) == ((0, 1) if breaks_off else (1, 0))
