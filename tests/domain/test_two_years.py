"""Two years of reminders through every clock change and a leap day, beside dateutil's own expansion.

The household is told as the bot tells it: what ``due_dates`` plans, moved on by ``after_telling``. What
should have been told comes from dateutil alone: its rules over wall times, its zones, its way out of a gap.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil import rrule, tz

from domain.facts import Chore, Reminder, Setting
from domain.journal import Entry
from domain.routine import after_telling, due_dates

FROM, UNTIL = datetime(2027, 1, 1, 12), datetime(2029, 1, 1, 12)  # noqa: DTZ001 — wall times
"""Four changes of the clock each, but for Kolkata; 29 February 2028."""

ZONES = ("Europe/Lisbon", "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata")

RULES = (
    ("FREQ=DAILY", "00:15"),
    ("FREQ=DAILY", "01:30"),  # skipped in Lisbon, doubled there in autumn
    ("FREQ=DAILY", "01:45"),  # doubled in Lord Howe, which moves by half an hour
    ("FREQ=DAILY", "02:15"),  # skipped in Lord Howe
    ("FREQ=DAILY", "02:30"),  # skipped in New York
    ("FREQ=DAILY;INTERVAL=3", "18:00"),
    ("FREQ=WEEKLY;BYDAY=MO,TH", "08:00"),
    ("FREQ=WEEKLY;INTERVAL=2;BYDAY=SU", "02:30"),
    ("FREQ=MONTHLY;BYMONTHDAY=31", "18:00"),
    ("FREQ=MONTHLY;BYMONTHDAY=-1", "23:59"),
    ("FREQ=MONTHLY;BYMONTHDAY=29", "09:00"),
    ("FREQ=MONTHLY;BYDAY=1SU", "02:30"),
    ("FREQ=MONTHLY;INTERVAL=3;BYDAY=-1FR", "19:30"),
)


def expected(text: str, first: datetime, zone: str) -> list[datetime]:
    """What dateutil says: wall times of the rule, each once, out of a gap by its length, the first of two."""
    there = tz.gettz(zone)
    walls = rrule.rrulestr(text, dtstart=first).between(FROM, UNTIL, inc=True)
    return [tz.resolve_imaginary(wall.replace(tzinfo=there, fold=0)).astimezone(UTC) for wall in walls]


def journal(reminder: Reminder, zone: str) -> list[Entry]:
    at = reminder.at - timedelta(days=1)
    said = (Setting(name="time_zone", value=zone), reminder)
    return [
        Entry(number, fact, happened_at=at, said_at=at, author="Ana", message_key=f"1:{number}")
        for number, fact in enumerate(said, start=1)
    ]


def told(entries: list[Entry], zone: ZoneInfo) -> list[datetime]:
    """Every time at which the household is told, in order, by a beat that is never late."""
    end = UNTIL.replace(tzinfo=zone).astimezone(UTC)
    start = FROM.replace(tzinfo=zone).astimezone(UTC)
    (due,) = (due for due in due_dates(entries, now=start, zone=zone) if due.task == "own")
    at: datetime | None = due.due_at
    found = []
    while at is not None and at <= end:
        found.append(at)
        at = after_telling(due.rrule, due.due_at, at, zone)
    return found


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize(("text", "wall"), RULES)
def test_two_years_are_told_as_dateutil_lays_them_out(text: str, wall: str, zone: str) -> None:
    hour, minute = map(int, wall.split(":"))
    naive = FROM.replace(hour=hour, minute=minute)
    (first,) = rrule.rrulestr(text, dtstart=naive).xafter(FROM, count=1, inc=True)
    at = first.replace(tzinfo=ZoneInfo(zone))
    heard = told(journal(Reminder(text="look", at=at, rrule=text), zone), ZoneInfo(zone))
    assert heard == expected(text, first, zone)
    days = [each.astimezone(ZoneInfo(zone)).date() for each in heard]
    assert len(set(days)) == len(days) > 3


@pytest.mark.parametrize("zone", ZONES)
def test_two_years_of_filter_rinsing_keep_their_sunday_evening(zone: str) -> None:
    """A chore that is done each time it is told: every second Sunday at 18:00, whatever the clock does."""
    there = ZoneInfo(zone)
    text = "FREQ=WEEKLY;INTERVAL=2;BYDAY=SU"
    began = datetime(2027, 1, 1, 12, tzinfo=there)
    chosen = Setting(name="interval", task="rinse_filter", rrule=text)
    entries = [Entry(1, chosen, happened_at=began, said_at=began, author="Ana", message_key="1:1")]
    heard = []
    while True:
        dues = due_dates(entries, now=entries[-1].happened_at, zone=there)
        (due,) = (due for due in dues if due.task == "rinse_filter")
        if due.due_at >= datetime(2029, 1, 1, tzinfo=UTC):
            break
        heard.append(due.due_at)
        done = due.due_at + timedelta(hours=2)
        fact = Chore(task="rinse_filter", when=done)
        number = len(entries) + 1
        entries = [entries[0], Entry(number, fact, done, done, "Ana", f"1:{number}")]
    first = heard[0].astimezone(there).replace(tzinfo=None)
    walls = rrule.rrulestr(text, dtstart=first).between(first, UNTIL, inc=True)
    assert [each.astimezone(there).replace(tzinfo=None) for each in heard] == walls
    assert len(heard) == 52
