"""More than one program at the same household: on one database, or in parallel queues of the platform."""

from __future__ import annotations

import asyncio
from datetime import timedelta
from typing import Any

from bot_at_home import FastClock, Home, someone
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.assistant.assistant import Assistant
from bot.assistant.buttons import VERBS, button, pushed
from demo.room.platform import Platform
from storage.engine import open_store

HOUSEHOLDS = 100


async def test_two_workers_and_a_hundred_due_reminders(
    home: Home, platform: Platform, clock: FastClock
) -> None:
    """Case 51: two workers, one due reminder, 100 rounds (households here): 100 sends, not more."""
    await home.start()
    for number in range(HOUSEHOLDS):
        person, chat = someone(platform, 100 + number, f"Person {number}")
        platform.say(chat, person, "remind me to feed the fish in 2 hours")
    await platform.wait_for_sent(HOUSEHOLDS, timeout=30)
    await platform.settled()
    await home.stop()
    clock.jump(timedelta(hours=2, minutes=1))
    stores = [open_store(home.database_url) for _ in range(2)]
    workers = [Assistant(store, clock) for store in stores]
    posted = await asyncio.gather(*(worker.tick(clock()) for worker in workers for _ in range(2)))
    for store in stores:
        await store.close()
    assert sum(posted) == HOUSEHOLDS
    await home.start()
    await platform.wait_for_sent(2 * HOUSEHOLDS, timeout=30)
    await platform.settled()
    assert len(platform.sent) == 2 * HOUSEHOLDS


async def test_second_program_stands_by_and_takes_over(home: Home, platform: Platform) -> None:
    """Case 52: two pollers, one token: second waits; takes over after a kill; no 409 storm."""
    ana, chat = someone(platform)
    # Four seconds of lease: on a busy machine a renewal may be late.
    async with home.child("4") as first, home.child("4") as second:
        platform.say(chat, ana, "ph 6.1")
        await platform.wait_for_sent(1)
        await platform.settled()
        assert platform.room.updates.conflicts == 0
        await first.kill()
        platform.say(chat, ana, "ph 6.2")
        await platform.wait_for_sent(2, timeout=30)
        assert second.is_running
    assert platform.room.updates.conflicts <= 1  # the poll of the one that was killed
    assert len(await home.facts(chat)) == 2


async def test_tap_that_passes_the_text_sent_before_it(home: Home, platform: Platform) -> None:
    """Case 23: tap delivered before its sibling text, from a parallel queue: both effects right."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.1")
    (reply,) = await platform.wait_for_sent(1)
    await home.stop()
    text = platform.say(chat, ana, "ph 6.2")
    platform.press(reply, "Undo", ana)
    waiting: list[dict[str, Any]] = platform.pending
    platform.room.updates.drop_all()
    for update in reversed(waiting):
        platform.deliver(update)
    await home.start()
    await platform.wait_for_sent(3)
    await platform.settled()
    assert [getattr(fact, "ph", None) for fact in await home.facts(chat)] == [6.2]
    assert len(await home.history(chat, text["message_id"])) == 1


@settings(max_examples=60)
@given(verb=st.sampled_from(sorted(VERBS)), numbers=st.lists(st.integers(0, 10**18 - 1), max_size=2))
def test_every_button_fits(verb: str, numbers: list[int]) -> None:
    """Case 22: all callback_data at most 64 bytes: buttons carry numbers of rows and never a name."""
    data = button("x" * 200, verb, *numbers).data
    push = pushed(data)
    assert len(data.encode()) <= 64
    assert push is not None
    assert (push.verb, [push.number(place) for place in range(len(numbers))]) == (verb, numbers)
