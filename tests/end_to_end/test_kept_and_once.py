"""Nothing that was confirmed is lost, and one message has one effect, whatever breaks in between."""

from __future__ import annotations

from datetime import timedelta

from bot_at_home import FastClock, Home, crowd, someone

from bot.telegram.carrier import REPEATED
from demo.room.platform import Fault, Platform
from domain.facts import Reading


async def test_same_update_twice_is_one_entry_and_one_reply(home: Home, platform: Platform) -> None:
    """Case 1: same update posted twice, in one batch and again later: 1 entry, 1 sendMessage."""
    ana, chat = someone(platform)
    platform.fail("getUpdates", Fault(shuffle="twice"))
    platform.say(chat, ana, "ph 6.1")
    await home.start()
    await platform.wait_for_sent(1)
    platform.redeliver(1)
    await platform.settled()
    assert [reading.ph for reading in await home.facts(chat)] == [6.1]
    assert len(platform.sent) == 1


async def test_update_that_comes_again_after_a_restart(home: Home, platform: Platform) -> None:
    """Case 2: redelivered after a restart, as if it had not been confirmed: still 1 entry, 1 reply."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    await home.stop()
    platform.redeliver(1)
    await home.start()
    await platform.settled()
    assert len(await home.facts(chat)) == 1
    assert len(platform.sent) == 1


async def test_killed_with_five_updates_in_hand(home: Home, platform: Platform) -> None:
    """Case 3: 5 updates fetched, killed (-9) before handling: 5 entries, 5 replies, none twice."""
    chats = crowd(platform, 5)
    async with home.child("deaf", "0.5") as child:
        await child.says("kept")
        await platform.until(lambda: not platform.pending, what="all confirmed")
        await child.kill()
    assert not platform.sent
    async with home.child():
        await platform.wait_for_sent(5)
        await platform.settled()
    for place, chat in enumerate(chats):
        assert [reading.ph for reading in await home.facts(chat)] == [5 + place / 100]
        assert len(platform.sent_to(chat)) == 1


async def test_killed_after_the_commit_and_before_the_reply(home: Home, platform: Platform) -> None:
    """Case 4: killed after commit, before the reply: 1 entry; the reply is sent once, from the outbox."""
    ana, chat = someone(platform)
    platform.say(chat, ana, "ph 6.1")
    async with home.child("mute") as child:
        await child.says("heard")
        await child.kill()
    assert not platform.sent
    async with home.child():
        await platform.wait_for_sent(1)
        await platform.settled()
    assert len(await home.facts(chat)) == 1
    assert len(platform.sent) == 1


async def test_numbers_that_begin_again_far_lower(home: Home, platform: Platform) -> None:
    """Case 6: after a week of silence the next update's number is far lower: it is handled all the same."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.1", update_id=800_000)
    await platform.wait_for_sent(1)
    await platform.settled()
    platform.say(chat, ana, "ph 6.2", update_id=17)
    await platform.wait_for_sent(2)
    assert [reading.ph for reading in await home.facts(chat)] == [6.1, 6.2]


async def test_killed_between_sending_a_reminder_and_marking_it(
    home: Home, platform: Platform, clock: FastClock
) -> None:
    """Case 49: killed between reminder send and mark: at most one repeat, marked; never three."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "remind me to feed the fish in 2 hours")
    await platform.wait_for_sent(1)
    await home.stop()
    clock.jump(timedelta(hours=2, minutes=1))
    sent = len(platform.sent)
    platform.fail("sendMessage", Fault.silent(accepts=True), times=2)
    for times in (1, 2):
        async with home.child("0.3") as child:
            await platform.wait_for_sent(times, since=sent)
            await child.kill()
    async with home.child("0.3"):
        # Letters of one chat leave in order: once this is answered, no third one can follow.
        platform.say(chat, ana, "ph 6.1")
        await platform.wait_for_sent(3, since=sent)
    *reminders, reply = platform.sent[sent:]
    assert "6.1" in reply.text
    assert len(reminders) == 2
    assert not reminders[0].html.startswith(REPEATED)
    assert reminders[1].html.startswith(REPEATED)


async def test_terminated_with_fifty_updates_in_hand(home: Home, platform: Platform) -> None:
    """Case 53: SIGTERM with 50 queued updates: the last getUpdates confirms; 50 entries after restart."""
    chats = crowd(platform, 50)
    last = platform.pending[-1]["update_id"]
    async with home.child() as child:
        await child.says("kept")
        assert await child.terminate() == 0
    last_poll = [call for call in platform.calls if call.method == "getUpdates"][-1]
    assert int(last_poll.params["offset"]) == last + 1
    assert not platform.pending
    async with home.child():
        await platform.wait_for_sent(50, timeout=20)
    facts = [fact for chat in chats for fact in await home.facts(chat)]
    assert facts == [Reading(ph=5 + place / 100, when=fact.when) for place, fact in enumerate(facts)]
    assert len(facts) == 50
