"""Every update kept, handled once, in the order of its household."""

from __future__ import annotations

import asyncio
from collections import Counter, defaultdict
from datetime import UTC, datetime, timedelta

import pytest
from stored import LEASE, settled

from storage.engine import Store
from storage.inbox import InboxClaim

NOW = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)


async def put(store: Store, update_id: str, key: str = "chat:telegram:5", *, sent: float = 0) -> bool:
    """Puts an update that was sent ``sent`` seconds from now."""
    async with store.write() as tx:
        return await tx.inbox.put(update_id, key, NOW + timedelta(seconds=sent), f"raw {update_id}", NOW)


async def claim(store: Store, now: datetime = NOW, limit: int = 100) -> list[InboxClaim]:
    async with store.write() as tx:
        return await tx.inbox.claim(now, limit=limit, lease=LEASE)


async def settle(store: Store, claimed: InboxClaim) -> bool:
    async with store.write() as tx:
        return await tx.inbox.settle(claimed)


async def test_an_update_is_kept_once(store: Store) -> None:
    assert [await put(store, "101") for _ in range(3)] == [True, False, False]
    (claimed,) = await claim(store)
    assert (claimed.update_id, claimed.raw, claimed.attempts) == ("101", "raw 101", 1)
    await settle(store, claimed)
    assert await put(store, "101") is False
    assert await claim(store) == []


async def test_a_lease_that_is_renewed_lasts_longer_and_one_that_was_lost_is_not(store: Store) -> None:
    await put(store, "101")
    (claimed,) = await claim(store)
    async with store.write() as tx:
        assert await tx.inbox.hold(claimed, NOW + 3 * LEASE)
    assert await claim(store, NOW + 2 * LEASE) == []
    (taken,) = await claim(store, NOW + 3 * LEASE)
    async with store.write() as tx:
        assert not await tx.inbox.hold(claimed, NOW + 9 * LEASE)
        assert await tx.inbox.hold(taken, NOW + 9 * LEASE)


async def test_eight_workers_handle_three_hundred_updates_once_each(store: Store) -> None:
    async with store.write() as tx:
        for number in range(300):
            await tx.inbox.put(
                str(number), f"household:{number % 60}", NOW + timedelta(seconds=number), "", NOW
            )
    handled: list[str] = []

    async def work() -> None:
        while claims := await claim(store, limit=9):
            handled.extend(claimed.update_id for claimed in claims)
            async with store.write() as tx:
                assert all([await tx.inbox.settle(claim) for claim in claims])

    await asyncio.gather(*(work() for _ in range(8)))
    # A worker leaves where all that remains is held by others; what they leave behind is taken here.
    await work()
    assert Counter(handled) == Counter(str(number) for number in range(300))


async def test_a_household_is_served_one_at_a_time_in_the_order_of_sending(store: Store) -> None:
    for update_id, sent in (("c", 3), ("a", 1), ("b", 2), ("b2", 2)):
        await put(store, update_id, "household:1", sent=sent)
    served = []
    while claims := await claim(store):
        assert len(claims) == 1
        assert await claim(store) == []
        served.append(claims[0].update_id)
        await settle(store, claims[0])
    assert served == ["a", "b", "b2", "c"]


async def test_households_are_served_side_by_side_and_the_longest_waiting_first(store: Store) -> None:
    for number in range(50):
        await put(store, f"flood {number}", "household:1", sent=number)
    await put(store, "one", "household:2", sent=100)
    await put(store, "early", "household:3", sent=-100)
    assert [claimed.update_id for claimed in await claim(store)] == ["early", "flood 0", "one"]


async def test_one_that_comes_late_but_was_sent_earlier_waits_for_the_one_in_work(store: Store) -> None:
    await put(store, "second", sent=2)
    (second,) = await claim(store)
    await put(store, "first", sent=1)
    assert await claim(store) == []
    await settle(store, second)
    assert [claimed.update_id for claimed in await claim(store)] == ["first"]


async def test_concurrent_workers_keep_each_households_order(store: Store) -> None:
    async with store.write() as tx:
        for number in range(120):
            await tx.inbox.put(
                str(number), f"household:{number % 5}", NOW + timedelta(seconds=number), "", NOW
            )
    served: dict[str, list[int]] = defaultdict(list)

    async def work() -> None:
        while claims := await claim(store, limit=2):
            for claimed in claims:
                served[claimed.household_key].append(int(claimed.update_id))
                await settle(store, claimed)

    await asyncio.gather(*(work() for _ in range(4)))
    await work()
    assert {key: len(numbers) for key, numbers in served.items()} == {f"household:{n}": 24 for n in range(5)}
    assert all(numbers == sorted(numbers) for numbers in served.values())


class TestLease:
    async def test_one_that_ran_out_is_claimed_again_and_the_old_claim_is_void(self, store: Store) -> None:
        await put(store, "101")
        (dead,) = await claim(store)
        assert await claim(store, NOW + LEASE - timedelta(seconds=1)) == []
        (alive,) = await claim(store, NOW + LEASE)
        assert (alive.id, alive.attempts) == (dead.id, 2)
        assert await settle(store, dead) is False
        async with store.write() as tx:
            await tx.inbox.fail(dead, retry_at=None, code="late")
            assert await tx.inbox.aside() == []
        assert await settle(store, alive) is True
        assert await settle(store, alive) is False

    async def test_one_that_ran_out_still_holds_where_nobody_took_over(self, store: Store) -> None:
        await put(store, "101")
        (slow,) = await claim(store)
        assert await settle(store, slow) is True

    async def test_what_a_transaction_that_fails_has_settled_is_open_again(self, store: Store) -> None:
        await put(store, "101")
        (claimed,) = await claim(store)

        async def handle() -> None:
            async with store.write() as tx:
                await tx.inbox.settle(claimed)
                raise RuntimeError("half way")

        with pytest.raises(RuntimeError, match="half way"):
            await handle()
        assert await settle(store, claimed) is True


class TestFailure:
    async def test_a_retry_waits_and_its_household_with_it(self, store: Store) -> None:
        await put(store, "101", sent=0)
        await put(store, "102", sent=1)
        await put(store, "201", "household:2")
        first = next(claimed for claimed in await claim(store) if claimed.update_id == "101")
        async with store.write() as tx:
            await tx.inbox.fail(first, retry_at=NOW + timedelta(seconds=10), code="retry")
        assert await claim(store, NOW + timedelta(seconds=9)) == []
        (again,) = await claim(store, NOW + timedelta(seconds=10))
        assert (again.update_id, again.attempts) == ("101", 2)

    async def test_one_set_aside_for_good_lets_the_next_one_through(self, store: Store) -> None:
        await put(store, "101", sent=0)
        await put(store, "102", sent=1)
        (first,) = await claim(store)
        async with store.write() as tx:
            await tx.inbox.fail(first, retry_at=None, code="gave_up")
            (aside,) = await tx.inbox.aside()
        assert (aside.update_id, aside.code, aside.raw) == ("101", "gave_up", "raw 101")
        assert [claimed.update_id for claimed in await claim(store)] == ["102"]

    async def test_what_cannot_be_read_is_kept_apart(self, store: Store) -> None:
        async with store.write() as tx:
            await tx.inbox.set_aside(None, "{}", "no_update_id", NOW)
            await tx.inbox.set_aside(None, "[]", "no_update_id", NOW)
            for _ in range(2):
                await tx.inbox.set_aside("7", "{'x'}", "unreadable", NOW)
            aside = await tx.inbox.aside()
        assert [(row.update_id, row.raw) for row in aside] == [("7", "{'x'}"), (None, "[]"), (None, "{}")]
        assert await claim(store) == []
        assert await put(store, "7") is False

    async def test_one_that_is_set_aside_while_open_is_open_no_more(self, store: Store) -> None:
        await put(store, "101")
        (claimed,) = await claim(store)
        async with store.write() as tx:
            await tx.inbox.set_aside("101", "raw 101", "unreadable", NOW)
        assert await settle(store, claimed) is False
        assert await claim(store, NOW + LEASE) == []


class TestHouseholdKey:
    async def test_it_is_the_household_once_there_is_one(self, store: Store) -> None:
        async with store.read() as tx:
            before = await tx.inbox.household_key("telegram", "5")
        home = await settled(store, "5", NOW)
        async with store.read() as tx:
            after = await tx.inbox.household_key("telegram", "5")
        assert (before, after) == ("chat:telegram:5", f"household:{home.id}")

    async def test_what_waits_when_the_household_is_made_waits_in_its_line(self, store: Store) -> None:
        for update_id, sent in (("1", 1), ("2", 2)):
            await put(store, update_id, "chat:telegram:5", sent=sent)
        (first,) = await claim(store)
        async with store.write() as tx:
            home = await tx.households.chat("telegram", "5", private=True, title="", thread=None, now=NOW)
            await tx.inbox.settle(first)
        await put(store, "3", f"household:{home.household_id}", sent=3)
        (second,) = await claim(store)
        assert (second.update_id, second.household_key) == ("2", f"household:{home.household_id}")


async def test_the_depth_is_what_waits_and_since_when(store: Store) -> None:
    async with store.write() as tx:
        assert await tx.inbox.depth(NOW) == (0, None)
        assert await tx.inbox.next_at() is None
        await tx.inbox.put("1", "household:1", NOW - timedelta(hours=20), "", NOW - timedelta(minutes=2))
        await tx.inbox.put("2", "household:2", NOW, "", NOW)
        assert await tx.inbox.depth(NOW) == (2, NOW - timedelta(minutes=2))
        assert await tx.inbox.next_at() == NOW - timedelta(minutes=2)


async def test_what_is_forgotten_is_old_and_settled(store: Store) -> None:
    await put(store, "done", "household:1")
    await settle(store, (await claim(store))[0])
    await put(store, "open", "household:2")
    async with store.write() as tx:
        assert await tx.inbox.forget(NOW) == 0
        assert await tx.inbox.forget(NOW + timedelta(days=2)) == 1
        assert await tx.inbox.depth(NOW) == (1, NOW)
