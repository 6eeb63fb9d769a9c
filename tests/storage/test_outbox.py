"""Letters leave in order and in pace, and what may have arrived is dealt with by its kind."""

from __future__ import annotations

import asyncio
from collections import Counter
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from stored import LEASE, Home, letter, settled, settled_in

from storage.engine import Store
from storage.outbox import OutboxClaim

NOW = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)


def later(**by: float) -> datetime:
    return NOW + timedelta(**by)


async def post(store: Store, home: Home, key: str, says: dict[str, Any] | None = None) -> int:
    async with store.write() as tx:
        number = await tx.outbox.post(home.id, home.chat.id, says or letter(key), dedupe_key=key, now=NOW)
    assert number is not None
    return number


async def claim(store: Store, now: datetime = NOW, limit: int = 100) -> list[OutboxClaim]:
    async with store.write() as tx:
        return await tx.outbox.claim(now, platform="telegram", limit=limit, lease=LEASE)


async def sent(store: Store, claimed: OutboxClaim, now: datetime = NOW, message: str | None = None) -> bool:
    async with store.write() as tx:
        return await tx.outbox.sent(claimed, message, now)


async def test_a_letter_is_claimed_as_it_was_posted(store: Store) -> None:
    home = await settled(store, "5", NOW)
    says = letter(
        "<b>pH 6 ½</b>", answers="7", details="why", buttons=[[{"label": "Undo", "data": "v1:u:1"}]]
    )
    number = await post(store, home, "a", says)
    (claimed,) = await claim(store)
    assert (claimed.id, claimed.letter, claimed.chat) == (number, says, home.chat)
    assert (claimed.attempts, claimed.repeated, claimed.reminder_id, claimed.amends_message) == (
        1,
        False,
        None,
        None,
    )


async def test_a_letter_is_posted_once(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        posted = [
            await tx.outbox.post(home.id, home.chat.id, letter("a"), dedupe_key="a", now=NOW)
            for _ in range(3)
        ]
    assert [number is None for number in posted] == [False, True, True]


async def test_a_chat_gets_one_at_a_time_in_the_order_of_posting(store: Store) -> None:
    home, other = await settled(store, "5", NOW), await settled(store, "6", NOW)
    for key in "abc":
        await post(store, home, key)
    await post(store, other, "x")
    claims = await claim(store)
    assert [claimed.letter["html"] for claimed in claims] == ["a", "x"]
    assert await claim(store, later(seconds=5)) == []
    order, now = [claims[0].letter["html"]], NOW
    await sent(store, claims[0], now)
    for _ in range(2):
        now += timedelta(seconds=1)
        (claimed,) = [mine for mine in await claim(store, now) if mine.chat == home.chat]
        order.append(claimed.letter["html"])
        await sent(store, claimed, now)
    assert order == ["a", "b", "c"]


async def test_eight_senders_take_three_hundred_letters_once_each(store: Store) -> None:
    async with store.write() as tx:
        for number in range(300):
            home = await settled_in(tx, str(number), NOW)
            await tx.outbox.post(home.id, home.chat.id, letter(home.chat.address), dedupe_key="a", now=NOW)
    taken: list[str] = []

    async def send() -> None:
        while claims := await claim(store, limit=7):
            taken.extend(claimed.letter["html"] for claimed in claims)

    await asyncio.gather(*(send() for _ in range(8)))
    await send()
    assert Counter(taken) == Counter(str(number) for number in range(300))


async def test_only_the_platforms_own_letters_are_claimed(store: Store) -> None:
    async with store.write() as tx:
        desk = await tx.households.chat("terminal", "here", private=True, title="", thread=None, now=NOW)
        await tx.outbox.post(desk.household_id, desk.id, letter("a"), dedupe_key="a", now=NOW)
    assert await claim(store) == []


async def test_a_silent_chat_gets_nothing(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        await tx.households.set_active(home.chat.id, False, NOW)
    await post(store, home, "a")
    assert await claim(store) == []
    async with store.read() as tx:
        assert await tx.outbox.next_at("telegram") is None


class TestPace:
    async def test_the_next_letter_waits_a_second_even_if_it_is_posted_afterwards(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await post(store, home, "a")
        await sent(store, (await claim(store))[0], NOW)
        await post(store, home, "b")
        async with store.read() as tx:
            assert await tx.outbox.next_at("telegram") == later(seconds=1)
        assert await claim(store, later(seconds=0.999)) == []
        assert len(await claim(store, later(seconds=1))) == 1

    @pytest.mark.parametrize("private", [True, False])
    async def test_a_flood_leaves_within_the_limits(self, store: Store, private: bool) -> None:
        home = await settled(store, "-5", NOW, private=private)
        async with store.write() as tx:
            for number in range(45):
                key = str(number)
                await tx.outbox.post(home.id, home.chat.id, letter(key), dedupe_key=key, now=NOW)
        now, times = NOW, list[datetime]()
        while len(times) < 45:
            async with store.write() as tx:
                next_at = await tx.outbox.next_at("telegram")
                assert next_at is not None
                now = max(now, next_at)
                (claimed,) = await tx.outbox.claim(now, platform="telegram", limit=9, lease=LEASE)
                await tx.outbox.sent(claimed, claimed.letter["html"], now)
            times.append(now)
        assert all(after - before >= timedelta(seconds=1) for before, after in pairwise(times))
        most = max(sum(first <= other < first + timedelta(seconds=60) for other in times) for first in times)
        assert most == (45 if private else 20)

    async def test_what_may_have_arrived_counts_for_a_group_too(self, store: Store) -> None:
        home = await settled(store, "-5", NOW, private=False)
        async with store.write() as tx:
            for number in range(25):
                says = letter(str(number), "reminder" if number < 3 else "reply")
                await tx.outbox.post(home.id, home.chat.id, says, dedupe_key=str(number), now=NOW)
        now, arrived = NOW, list[datetime]()
        while len(arrived) < 28:
            async with store.write() as tx:
                now = max(now, await tx.outbox.next_at("telegram") or now)
                (claimed,) = await tx.outbox.claim(now, platform="telegram", limit=9, lease=LEASE)
                arrived.append(now)
                if claimed.letter["kind"] == "reminder" and claimed.attempts == 1:
                    await tx.outbox.uncertain(claimed, now)
                else:
                    await tx.outbox.sent(claimed, str(len(arrived)), now)
        most = max(
            sum(first <= other < first + timedelta(seconds=60) for other in arrived) for first in arrived
        )
        assert most <= 20

    async def test_a_chat_that_was_told_to_wait_holds_up_nobody_else(self, store: Store) -> None:
        home, other = await settled(store, "5", NOW), await settled(store, "6", NOW)
        for key in "ab":
            await post(store, home, key)
        await post(store, other, "x")
        mine, theirs = await claim(store)
        async with store.write() as tx:
            assert await tx.outbox.not_sent(mine, later(seconds=30))
            assert await tx.outbox.sent(theirs, "1", NOW)
        await post(store, other, "y")
        assert [claimed.letter["html"] for claimed in await claim(store, later(seconds=29))] == ["y"]
        (again,) = await claim(store, later(seconds=30))
        assert (again.letter["html"], again.attempts, again.repeated) == ("a", 2, False)

    async def test_a_terminal_needs_no_pace(self, store: Store) -> None:
        async with store.write() as tx:
            desk = await tx.households.chat("terminal", "here", private=True, title="", thread=None, now=NOW)
            for key in "abc":
                await tx.outbox.post(desk.household_id, desk.id, letter(key), dedupe_key=key, now=NOW)
            waiting = await tx.outbox.open_of(desk.id)
            await tx.outbox.shown([open_letter.id for open_letter in waiting[:2]], NOW)
            (claimed,) = await tx.outbox.claim(NOW, platform="terminal", limit=9, lease=LEASE)
            await tx.outbox.sent(claimed, None, NOW)
            left = await tx.outbox.open_of(desk.id)
        assert [open_letter.letter["html"] for open_letter in waiting] == ["a", "b", "c"]
        assert claimed.letter["html"] == "c"
        assert left == []


class TestDoubt:
    """The platform may have taken the letter: it timed out, or the one who sent it died."""

    async def test_a_reply_is_not_sent_again(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await post(store, home, "a")
        (claimed,) = await claim(store)
        async with store.write() as tx:
            assert await tx.outbox.uncertain(claimed, NOW)
        assert await claim(store, later(hours=1)) == []

    async def test_a_reminder_is_sent_again_once_and_says_so(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await post(store, home, "a", letter("Rinse the filter", "reminder"))
        (first,) = await claim(store)
        async with store.write() as tx:
            await tx.outbox.uncertain(first, NOW)
        assert await claim(store, later(seconds=0.5)) == []
        (second,) = await claim(store, later(seconds=1))
        async with store.write() as tx:
            await tx.outbox.uncertain(second, later(seconds=1))
        assert (first.repeated, second.repeated) == (False, True)
        assert await claim(store, later(hours=1)) == []

    @pytest.mark.parametrize("kind", ["edit", "reaction"])
    async def test_what_changes_nothing_when_repeated_is_repeated_without_a_word(
        self, store: Store, kind: str
    ) -> None:
        home = await settled(store, "5", NOW)
        await post(store, home, "a", letter("x", kind))
        (first,) = await claim(store)
        async with store.write() as tx:
            await tx.outbox.uncertain(first, NOW)
        (second,) = await claim(store, later(seconds=1))
        assert (second.attempts, second.repeated) == (2, False)

    async def test_a_sender_that_died_leaves_the_same_doubt(self, store: Store) -> None:
        home, other = await settled(store, "5", NOW), await settled(store, "6", NOW)
        await post(store, home, "reply")
        await post(store, home, "after")
        await post(store, other, "reminder", letter("Rinse the filter", "reminder"))
        assert len(await claim(store)) == 2
        assert await claim(store, NOW + LEASE - timedelta(seconds=1)) == []
        claims = await claim(store, NOW + LEASE)
        assert [(claimed.letter["html"], claimed.repeated) for claimed in claims] == [
            ("after", False),
            ("Rinse the filter", True),
        ]
        claims = await claim(store, NOW + 2 * LEASE)
        assert claims == []

    async def test_the_dead_senders_claim_settles_nothing_that_was_claimed_again(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await post(store, home, "a", letter("Rinse the filter", "reminder"))
        (dead,) = await claim(store)
        (alive,) = await claim(store, NOW + LEASE)
        async with store.write() as tx:
            assert not await tx.outbox.sent(dead, "1", NOW + LEASE)
            assert not await tx.outbox.not_sent(dead, NOW)
            assert not await tx.outbox.failed(dead, "x")
            assert not await tx.outbox.uncertain(dead, NOW)
            assert await tx.outbox.sent(alive, "2", NOW + LEASE)
            assert not await tx.outbox.sent(alive, "3", NOW + LEASE)

    async def test_a_slow_sender_still_tells_what_became_of_its_reply(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await post(store, home, "a", letter("a", answers="7", details="why"))
        (slow,) = await claim(store)
        assert await claim(store, NOW + LEASE) == []
        assert await sent(store, slow, NOW + LEASE, "77")
        async with store.read() as tx:
            assert await tx.outbox.find_reply(home.chat.id, "7") == slow.id
            assert await tx.outbox.details_of(home.chat.id, "77") == "why"


async def test_a_letter_that_is_refused_makes_way(store: Store) -> None:
    home = await settled(store, "5", NOW)
    await post(store, home, "a", letter("a", answers="7"))
    await post(store, home, "b")
    (first,) = await claim(store)
    async with store.write() as tx:
        assert await tx.outbox.failed(first, "bad_request")
    assert [claimed.letter["html"] for claimed in await claim(store)] == ["b"]
    async with store.read() as tx:
        assert await tx.outbox.find_reply(home.chat.id, "7") is None


class TestAmending:
    async def test_an_edit_knows_the_message_that_it_rewrites(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        reply = await post(store, home, "a", letter("pH 6.1", answers="7", details="old"))
        await sent(store, (await claim(store))[0], NOW, "77")
        async with store.read() as tx:
            assert await tx.outbox.find_reply(home.chat.id, "7") == reply
        await post(store, home, "b", letter("pH 6.4", "edit", amends=reply, details="new"))
        (edit,) = await claim(store, later(seconds=1))
        assert edit.amends_message == "77"
        await sent(store, edit, later(seconds=1))
        async with store.read() as tx:
            assert await tx.outbox.details_of(home.chat.id, "77") == "new"
            assert await tx.outbox.last_details(home.chat.id) == "new"
            assert await tx.outbox.letter(reply) == letter("pH 6.1", answers="7", details="old")

    async def test_an_edit_that_overtakes_nothing_waits_for_its_reply(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        reply = await post(store, home, "a", letter("pH 6.1", answers="7"))
        await post(store, home, "b", letter("pH 6.4", "edit", amends=reply))
        (first,) = await claim(store)
        assert first.id == reply

    async def test_the_first_reply_is_the_one_to_amend(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await post(store, home, "r", letter("\N{OK HAND SIGN}", "reaction", answers="7"))
        first = await post(store, home, "a", letter("first", answers="7"))
        await post(store, home, "b", letter("a question beside it", answers="7"))
        await post(store, home, "c", letter("other", answers="8"))
        async with store.read() as tx:
            assert await tx.outbox.find_reply(home.chat.id, "7") == first
            assert await tx.outbox.find_reply(home.chat.id, "9") is None


async def test_what_is_forgotten_is_old_and_settled(store: Store) -> None:
    home = await settled(store, "5", NOW)
    old = await post(store, home, "a")
    await post(store, home, "b", letter("b", "edit", amends=old))
    await sent(store, (await claim(store))[0], NOW, "77")
    async with store.write() as tx:
        assert await tx.outbox.depth(NOW) == (1, NOW)
        assert await tx.outbox.forget(later(days=1)) == 1
        assert await tx.outbox.letter(old) is None
    (edit,) = await claim(store, later(days=1))
    assert edit.amends_message is None


async def test_a_number_is_never_given_to_another_letter(store: Store) -> None:
    home = await settled(store, "5", NOW)
    old = await post(store, home, "a")
    await sent(store, (await claim(store))[0], NOW, "77")
    async with store.write() as tx:
        await tx.outbox.forget(later(days=1))
    assert await post(store, home, "b") > old
