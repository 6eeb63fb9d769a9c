"""A dose that fell short is tested twice before more may follow: once mixed, and once settled."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from domain.bands import tank_bands
from domain.facts import Dose, Fact, Reading
from domain.journal import Entry
from domain.routine import due_dates
from domain.tank import SETTLED_AFTER

START = datetime(2026, 5, 4, 8, 0, tzinfo=UTC)
DOSE = Dose(product="ph_down", amount=4, unit="ml")
FEED = Dose(product="nutrient", amount=40, unit="ml")


def retest_after(*said: tuple[float, Fact], hours: float) -> datetime | None:
    """When the retest is due, by the minutes after the start at which each fact happened."""
    entries = [
        Entry(number, fact, at := START + timedelta(minutes=minute), at, "Ana", f"1:{number}")
        for number, (minute, fact) in enumerate(said, start=1)
    ]
    now = START + timedelta(hours=hours)
    dues = due_dates(entries, now=now, zone=ZoneInfo("UTC"), bands=tank_bands(()))
    return next((due.due_at for due in dues if due.key == "retest"), None)


HIGH, FINE = Reading(ph=6.9), Reading(ph=6.1)
SETTLED = timedelta(minutes=5) + SETTLED_AFTER


@pytest.mark.parametrize(
    ("said", "hours", "due"),
    [
        pytest.param([(0, HIGH), (5, DOSE)], 0.2, timedelta(minutes=35), id="untested: once it has mixed"),
        pytest.param(
            [(0, HIGH), (5, DOSE), (40, HIGH)], 1, timedelta(minutes=5) + SETTLED_AFTER, id="still high"
        ),
        pytest.param([(0, HIGH), (5, DOSE), (40, FINE)], 1, None, id="it arrived"),
        pytest.param([(0, HIGH), (5, DOSE), (40, HIGH), (500, HIGH)], 9, None, id="tested once settled"),
        pytest.param([(0, HIGH), (5, DOSE), (40, HIGH)], 40, None, id="missed for a day"),
        pytest.param([(0, HIGH), (5, FEED), (40, HIGH)], 1, None, id="feed settles at once"),
        pytest.param([(0, HIGH)], 1, None, id="nothing was dosed"),
    ],
)
def test_when_to_test_after_a_dose(
    said: list[tuple[float, Fact]], hours: float, due: timedelta | None
) -> None:
    assert retest_after(*said, hours=hours) == (None if due is None else START + due)
