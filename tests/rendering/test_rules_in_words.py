"""How often something comes, as it is repeated to the household."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from bot.rendering import Voice
from bot.rendering.describe import described
from domain.facts import Reminder, Setting
from domain.household import choices

VOICE = Voice.of(choices(()))
AT = datetime(2026, 5, 17, 18, 0, tzinfo=ZoneInfo("UTC"))


@pytest.mark.parametrize(
    ("rrule", "words"),
    [
        ("FREQ=WEEKLY;INTERVAL=3", "every 3 weeks"),
        ("FREQ=WEEKLY;INTERVAL=2;BYDAY=SU", "every 2 weeks on Sunday"),
        ("FREQ=HOURLY;INTERVAL=6", "every 6 hours"),
        ("", "not reminded of any more"),
        (None, "not reminded of any more"),
    ],
)
def test_an_interval(rrule: str | None, words: str) -> None:
    setting = Setting(name="interval", task="rinse_filter", rrule=rrule)
    assert described(setting, VOICE) == f"rinse filter: {words}"


@pytest.mark.parametrize(
    ("rrule", "words"),
    [
        ("FREQ=HOURLY;INTERVAL=6", ", every 6 hours"),
        ("FREQ=MONTHLY;BYDAY=3SU", ", every month on the third Sunday"),
        ("FREQ=NEVER", ""),  # told once: its rule cannot be followed
        (None, ""),
    ],
)
def test_a_reminder(rrule: str | None, words: str) -> None:
    reminder = Reminder(text="look", at=AT, rrule=rrule)
    assert described(reminder, VOICE) == f"I will remind you on Sun 17 May at 18:00{words}: look"
