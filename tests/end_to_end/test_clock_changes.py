"""Reminders and entries over the days on which clocks are changed.

The changes themselves are the tz database's: Berlin 29 March and 25 October 2026, Cairo 24 April 2026 at
midnight. Nobody is woken: what is due at night is told in the morning of the same day.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from bot_at_home import FastClock, Home, someone

from demo.room.platform import Platform
from domain.facts import Reading, Reminder


@pytest.mark.parametrize(
    ("zone", "at", "first", "days"),
    [
        ("Europe/Berlin", "02:30", date(2026, 3, 28), 3),
        ("Europe/Berlin", "02:30", date(2026, 10, 24), 3),
        ("Europe/Berlin", "00:15", date(2026, 3, 28), 4),
        ("Africa/Cairo", "00:15", date(2026, 4, 23), 3),
        ("Europe/Berlin", "08:00", date(2026, 3, 28), 3),
        ("Europe/Berlin", "08:00", date(2026, 10, 24), 3),
    ],
    ids=["54", "55", "56 Berlin", "56 Cairo", "57 spring", "57 autumn"],
)
async def test_daily_reminder_comes_once_on_each_day(
    home: Home, platform: Platform, clock: FastClock, zone: str, at: str, first: date, days: int
) -> None:
    """Cases 54, 55, 56, 57: daily 02:30, 00:15 or 08:00 over a change of clocks: one send each day."""
    ana, chat = someone(platform)
    local = ZoneInfo(zone)
    clock.jump(datetime.combine(first - timedelta(days=1), time(12), local) - clock())
    await home.start()
    platform.say(chat, ana, f"time zone is {zone}")
    await platform.wait_for_sent(1)
    platform.say(chat, ana, f"remind me to feed the fish every day at {at}")
    before = len(await platform.wait_for_sent(2))
    for day in (first + timedelta(days=n) for n in range(days)):
        clock.jump(datetime.combine(day, time(12), local) - clock())
        before += 1
        await platform.wait_for_sent(before)
        (row,) = [row for row in await home.reminders(chat) if row.task == "own"]
        planned = row.due_at.astimezone(local)
        assert (planned.date(), planned.strftime("%H:%M")) == _next_at(day, at, zone)
    await platform.settled()
    assert len(platform.sent) == before
    assert all("feed the fish" in sent.text.lower() for sent in platform.sent[2:])


def _next_at(day: date, at: str, zone: str) -> tuple[date, str]:
    """The wall time on the following day; where the clock jumps over it, as much later as it jumps."""
    following = day + timedelta(days=1)
    gaps = {(date(2026, 3, 29), "Europe/Berlin", "02:30"): "03:30"}
    gaps |= {(date(2026, 4, 24), "Africa/Cairo", "00:15"): "01:15"}
    return following, gaps.get((following, zone, at), at)


async def test_hours_are_real_hours(home: Home, platform: Platform, clock: FastClock) -> None:
    """Case 57: every 6 h over a change: 6 h stays 6 real hours."""
    ana, chat = someone(platform)
    berlin = ZoneInfo("Europe/Berlin")
    began = datetime(2026, 3, 28, 15, 0, tzinfo=berlin)
    clock.jump(began - clock())
    await home.start()
    platform.say(chat, ana, "time zone is Europe/Berlin")
    await platform.wait_for_sent(1)
    asked = platform.say(chat, ana, "remind me to stir every 6 hours")
    await platform.wait_for_sent(2)
    (fact,) = [fact for fact in await home.facts(chat) if isinstance(fact, Reminder)]
    asked_at = datetime.fromtimestamp(asked["date"], UTC)
    (row,) = [row for row in await home.reminders(chat) if row.task == "own"]
    assert row.rrule == fact.rrule
    clock.jump(datetime(2026, 3, 29, 12, 30, tzinfo=berlin) - clock())
    await platform.wait_for_sent(3)
    (row,) = [row for row in await home.reminders(chat) if row.task == "own"]
    real_hours = (row.due_at - asked_at).total_seconds() / 3600
    assert row.due_at > clock()
    assert real_hours % 6 == pytest.approx(0, abs=0.05)


async def test_household_moves_to_another_zone(home: Home, platform: Platform, clock: FastClock) -> None:
    """Case 58: Berlin -> New York: the next date once, by the new clock; entries keep their instants."""
    ana, chat = someone(platform)
    clock.jump(datetime(2026, 6, 1, 9, tzinfo=UTC) - clock())
    await home.start()
    platform.say(chat, ana, "time zone is Europe/Berlin")
    await platform.wait_for_sent(1)
    platform.say(chat, ana, "remind me to feed the fish every day at 8am")
    await platform.wait_for_sent(2)
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(3)
    before = {entry.id: entry.happened_at for entry in await home.entries(chat)}
    (planned,) = [row.due_at for row in await home.reminders(chat) if row.task == "own"]
    assert planned == datetime(2026, 6, 2, 8, tzinfo=ZoneInfo("Europe/Berlin"))
    platform.say(chat, ana, "time zone is New York")
    await platform.wait_for_sent(4)
    (planned,) = [row.due_at for row in await home.reminders(chat) if row.task == "own"]
    assert planned == datetime(2026, 6, 2, 8, tzinfo=ZoneInfo("America/New_York"))
    after = {entry.id: entry.happened_at for entry in await home.entries(chat)}
    assert before.items() <= after.items()


async def test_two_entries_at_the_same_wall_time(home: Home, platform: Platform, clock: FastClock) -> None:
    """Case 59: entries at 02:30 twice on 25 October: kept and shown in the order in which they were."""
    ana, chat = someone(platform)
    clock.jump(datetime(2026, 10, 24, 9, tzinfo=UTC) - clock())
    await home.start()
    platform.say(chat, ana, "time zone is Europe/Berlin")
    await platform.wait_for_sent(1)
    clock.jump(datetime(2026, 10, 25, 2, tzinfo=UTC) - clock())
    for ph, minutes in ((6.2, 90), (6.1, 30)):
        said_at = datetime(2026, 10, 25, 0, minutes % 60, tzinfo=UTC) + timedelta(hours=minutes // 60)
        platform.say(chat, ana, f"ph {ph}", date=said_at)
    await platform.wait_for_sent(3)
    readings = [entry for entry in await home.entries(chat) if isinstance(entry.fact, Reading)]
    assert [entry.fact.ph for entry in readings if isinstance(entry.fact, Reading)] == [6.1, 6.2]
    berlin = ZoneInfo("Europe/Berlin")
    assert [entry.happened_at.astimezone(berlin).strftime("%H:%M") for entry in readings] == ["02:30"] * 2
    platform.say(chat, ana, "/journal")
    shown = (await platform.wait_for_sent(4))[-1].text
    assert "6.1" in shown
    assert "6.2" in shown
