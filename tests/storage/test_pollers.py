"""One program at a time asks for a bot's updates."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from storage.engine import Store

NOW = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)
LEASE = timedelta(seconds=25)


async def take(store: Store, holder: str, after_s: float, bot: str = "telegram:42") -> bool:
    async with store.note() as tx:
        return await tx.pollers.take(bot, holder, NOW + timedelta(seconds=after_s), LEASE)


async def test_second_waits_for_the_lease_of_the_first(store: Store) -> None:
    """Case 52: it takes over within 30 s of a kill."""
    assert [await take(store, "first", 0), await take(store, "second", 1)] == [True, False]
    assert await take(store, "first", 8)
    # Killed now: its lease runs out at 33 s.
    assert [await take(store, "second", at) for at in (26, 32.9, 33)] == [False, False, True]
    assert not await take(store, "first", 34)


async def test_turn_that_is_given_up_is_free_at_once(store: Store) -> None:
    assert await take(store, "first", 0)
    async with store.note() as tx:
        await tx.pollers.give_up("telegram:42", "second")
    assert not await take(store, "second", 1)
    async with store.note() as tx:
        await tx.pollers.give_up("telegram:42", "first")
    assert await take(store, "second", 1)


async def test_bots_have_turns_of_their_own(store: Store) -> None:
    assert [await take(store, "first", 0), await take(store, "second", 0, "telegram:43")] == [True, True]
