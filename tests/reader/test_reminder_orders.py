"""Orders about reminders, told from records and from talk."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from bot.reader import ReaderSettings
from bot.reader.reminder_orders import ReminderOrder, reminder_order

LISBON = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 5, 4, 19, 5, tzinfo=LISBON)  # a Monday


def heard(text: str) -> ReminderOrder | None:
    return reminder_order(text, now=NOW, zone=LISBON, settings=ReaderSettings())


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("pause the filter reminder", ReminderOrder("pause", "filter")),
        ("Please pause reminders.", ReminderOrder("pause", "")),
        ("pause all reminders", ReminderOrder("pause", "")),
        ("mute the reminder to rinse the filter", ReminderOrder("pause", "rinse the filter")),
        ("resume the filter reminder", ReminderOrder("resume", "filter")),
        ("stop reminding us about the filter", ReminderOrder("stop", "filter")),
        ("delete the reminder to rinse the filter", ReminderOrder("stop", "rinse the filter")),
        ("cancel the filter reminder", ReminderOrder("stop", "filter")),
        ("don't remind us about the filter any more", ReminderOrder("stop", "filter")),
        (
            "move the filter reminder to saturday 10am",
            ReminderOrder("move", "filter", datetime(2026, 5, 9, 10, tzinfo=LISBON)),
        ),
        (
            "postpone the water change to friday",
            ReminderOrder("move", "water change", datetime(2026, 5, 8, 9, tzinfo=LISBON)),
        ),
        ("move the filter reminder to whenever", ReminderOrder("move", "filter", None)),
    ],
)
def test_what_is_ordered(text: str, order: ReminderOrder) -> None:
    assert heard(text) == order


@pytest.mark.parametrize(
    "text",
    [
        "move the kale to C4",
        "moved the kale from A1 to C4",
        "remind us to rinse the filter every 2 weeks",
        "stop the pump",
        "removed B2",
        "delete",
        "delete reminders",
        "cancel that",
        "pause",
        "ph 5.9 ppm 720 temp 19",
        "x" * 4096,
        "move " * 800,
    ],
)
def test_what_is_none(text: str) -> None:
    assert heard(text) is None
