"""What a household does all day: log, ask, be reminded."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from bot_at_home import FastClock, Home, someone

from demo.room.platform import Platform
from domain.facts import Question, Reading, Reminder, Setting


async def test_reading_is_kept_and_answered(home: Home, platform: Platform) -> None:
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.1 ppm 720 temp 19")
    (reply,) = await platform.wait_for_sent(1)
    (reading,) = await home.facts(chat)
    assert isinstance(reading, Reading)
    assert (reading.ph, reading.ppm, reading.water_temp_c) == (6.1, 720, 19)
    assert reply.chat_id == chat.id
    assert "Undo" in reply.labels


async def test_reading_is_dated_by_when_it_was_sent(home: Home, platform: Platform, clock: FastClock) -> None:
    """A backlog arrives late: what counts is the message's own date, not when it is handled."""
    ana, chat = someone(platform)
    sent_at = clock().replace(microsecond=0) - timedelta(hours=20)
    platform.say(chat, ana, "ph 6.1", date=sent_at)
    await home.start()
    await platform.wait_for_sent(1)
    (entry,) = await home.entries(chat)
    assert (entry.said_at, entry.happened_at) == (sent_at, sent_at)


async def test_question_is_answered_with_a_dose_and_leaves_no_trace(home: Home, platform: Platform) -> None:
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 7.2 ec 1.4 temp 20")
    await platform.wait_for_sent(1)
    before = await home.facts(chat)
    platform.say(chat, ana, "how much ph down for 40 litres")
    _, answer = await platform.wait_for_sent(2)
    assert "ml" in answer.text
    assert await home.facts(chat) == before
    assert not any(isinstance(fact, Question) for fact in before)


async def test_reminder_survives_a_restart(home: Home, platform: Platform, clock: FastClock) -> None:
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "remind me to feed the fish in 2 hours")
    await platform.wait_for_sent(1)
    (asked,) = await home.facts(chat)
    assert isinstance(asked, Reminder)
    await home.stop()
    clock.jump(timedelta(hours=2, minutes=1))
    await home.start()
    _, told = await platform.wait_for_sent(2)
    assert "feed the fish" in told.text.lower()
    await home.stop()
    await home.start()
    await platform.settled(calm=0.3)
    assert len(platform.sent) == 2


async def test_reminder_that_fell_due_while_the_bot_was_down(
    home: Home, platform: Platform, clock: FastClock
) -> None:
    """Case 50: bot down from 07:00 to 10:00, reminder 08:00 daily: one late reminder, next 08:00 tomorrow."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "time zone UTC")
    await platform.wait_for_sent(1)
    platform.say(chat, ana, "remind me to feed the fish every day at 8am")
    await platform.wait_for_sent(2)
    await home.stop()
    clock.jump(datetime(2026, 5, 5, 10, 0, tzinfo=UTC) - clock())
    await home.start()
    await platform.wait_for_sent(3)
    await platform.settled(calm=0.3)
    assert len(platform.sent) == 3
    assert "feed the fish" in platform.sent[-1].text.lower()
    (row,) = [row for row in await home.reminders(chat) if "feed the fish" in row.text.lower()]
    assert row.due_at == datetime(2026, 5, 6, 8, 0, tzinfo=UTC)


async def test_what_is_set_is_kept_over_a_restart(home: Home, platform: Platform) -> None:
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "tank holds 45 L")
    await platform.wait_for_sent(1)
    await home.stop()
    await home.start()
    assert [fact.value for fact in await home.facts(chat) if isinstance(fact, Setting)] == ["45"]
