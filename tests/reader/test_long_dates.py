"""Dates in words: which tables or which library reads them, and what is never taken for a date."""

import subprocess
import sys
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from bot.reader import read
from bot.reader.long_dates import long_date_end
from bot.reader.scan import tokens_of

ZONE = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 5, 4, 19, 5, tzinfo=ZONE)


def _days(text: str) -> list[date]:
    said = read(text, now=NOW, zone=ZONE)
    assert said.unclear == ()
    return [found.fact.when.date() for found in said.facts]


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        # by our own tables
        ("May 3rd, 2026", date(2026, 5, 3)),
        ("3 de mayo", date(2026, 5, 3)),
        ("3 août 2025", date(2025, 8, 3)),
        ("24. Oktober 2025", date(2025, 10, 24)),
        ("24. Okt 2025", date(2025, 10, 24)),
        ("3 avr. 2026", date(2026, 4, 3)),
        ("3 de mayo de 2026", date(2026, 5, 3)),
        # by dateparser
        ("3 мая 2026", date(2026, 5, 3)),
        ("2. huhtikuuta 2026", date(2026, 4, 2)),
        ("2 kwietnia 2026", date(2026, 4, 2)),
        ("3 Mayıs 2026", date(2026, 5, 3)),
        ("3. října 2025", date(2025, 10, 3)),
        ("le 3 juil", date(2025, 7, 3)),
        ("den 3 maj", date(2026, 5, 3)),
    ],
)
def test_dates_in_words_are_read_before_and_after_a_value(typed: str, day: date) -> None:
    assert _days(f"ph 6.1 {typed}") == [day]
    assert _days(f"{typed}: ph 6.1") == [day]


def test_a_clock_time_may_follow() -> None:
    (found,) = read("3 мая 2026 7pm ph 6", now=NOW, zone=ZONE).facts
    assert found.fact.when == datetime(2026, 5, 3, 19, tzinfo=ZONE)


def test_a_day_that_has_not_come_is_implausible() -> None:
    said = read("ph 6 3 июня 2026", now=NOW, zone=ZONE)
    assert said.facts == ()
    assert [bit.reason for bit in said.unclear] == ["implausible"]


@pytest.mark.parametrize(
    "text",
    [
        "5.9",
        "may",
        "ph 5.9",
        "5.9 1.4 19",
        "3 of them",
        "5 glugs",
        "12 squirts",
        "5 de",
        "20 minutes",
        "ph 6. then",
    ],
)
def test_what_is_no_date_is_never_shown_to_the_library(text: str) -> None:
    tokens = tokens_of(text)
    assert all(long_date_end(tokens, i) is None for i in range(len(tokens)))


def test_may_is_no_date_by_itself() -> None:
    assert _days("ph may be 5.9") == []
    assert _days("ph 5.9, may top up later") == [NOW.date()]


USUAL = """
import sys
from datetime import datetime
from zoneinfo import ZoneInfo
from benchmarks.reader import MESSAGES
from bot.reader import read

zone = ZoneInfo("Europe/Lisbon")
for text in (*MESSAGES, "3 of them are up", "5 glugs of acid", "ph 6 on may 3rd, 2026", "4 de mayo ph 6"):
    read(text, now=datetime(2026, 5, 4, 19, 5, tzinfo=zone), zone=zone)
sys.exit("dateparser" in sys.modules)
"""


def test_usual_messages_never_load_the_library() -> None:
    assert subprocess.run([sys.executable, "-c", USUAL], check=False, timeout=30).returncode == 0
