"""Every row of checks.csv is either checked by some test or named here with the reason why it is not."""

import importlib
from collections import Counter

from published_rows import ROWS, USED

ROOMS = {
    "VPD": "its room is not built yet",
    "drift": "its room is not built yet",
    "water-use": "its room is not built yet",
}
"""Whole topics that another room will check."""

TOO_STRONG = (
    "5 g/L at 20 degC: stronger than any tank, beyond the ionic strength that our conductance is made for"
)
UNUSED = {
    "AX-WH": "the six waters of this paper were never obtained: there is no number to check",
    "AX-FA-ratio": "hydrochloric acid is not among the adjusters",
    "EC-cat10": "a rule of thumb, 12 % off, without a tolerance; we count ions instead",
    "EF-msu-100": "the grade of the example is not stated",
    "EF-msu-200": "the grade of the example is not stated",
    "EF-grade-20-20-20": "an unstated part of its nitrogen is urea, which does not conduct",
    "EF-mem-MgSO4.7H2O": "recalled as 0.8, which the computed row EF-1-MgSO4 (0.71) contradicts",
    **dict.fromkeys((name for name in ROWS if name.startswith("EF-crc-")), TOO_STRONG),
}
"""Single rows that cannot be checked."""

MODULES = ("ph", "reagents", "units", "conductivity", "light_and_flow", "seeds")


def test_no_row_is_dropped_in_silence() -> None:
    for name in MODULES:
        importlib.import_module(f"test_published_{name}")
    waiting = {row.id for row in ROWS.values() if row.topic in ROOMS}
    assert set(ROWS) == USED | set(UNUSED) | waiting
    assert not USED & set(UNUSED), "checked after all: take it off the list"
    assert not USED & waiting, "its room is built: take the topic off the list"


def test_the_count_of_rows_is_the_tables() -> None:
    """So that a row lost from the table itself is seen."""
    assert len(ROWS) == 371
    by_topic = Counter(row.topic for row in ROWS.values())
    assert (by_topic["acid-dose"], by_topic["base-dose"], by_topic["acid-to-target"]) == (60, 24, 24)
