"""Intervals of a share against the rows of checks.csv; each row names its source."""

import re

import pytest
from published_rows import ROWS, Row, each

from domain.proportions import difference, jeffreys, wilson


def trial(row: Row) -> tuple[int, int]:
    came, trials = re.match(r"(\d+)(?:/| defective of )(\d+)", row.inputs).groups()
    return int(came), int(trials)


def ids(topic: str) -> list[str]:
    return [row.id for row in ROWS.values() if row.topic == topic]


@each(ids("binomial-Wilson"))
def test_wilson(row: Row) -> None:
    found = wilson(*trial(row))
    row.holds((found.low, found.high))


@each(ids("binomial-Jeffreys"))
def test_jeffreys(row: Row) -> None:
    found = jeffreys(*trial(row))
    row.holds((found.low, found.high))


@each(ids("binomial-exact"))
def test_jeffreys_lies_within_the_exact_interval(row: Row) -> None:
    """Brown, Cai and DasGupta 2001, section 4.1.2: it always does, and so is never wider."""
    level = 0.90 if "90 %" in row.inputs else 0.95
    low, high = row.wanted
    found = jeffreys(*trial(row), level)
    assert low < found.low < found.high < high, row.source


def test_difference_of_two_shares() -> None:
    """Newcombe 1998, Statistics in Medicine 17:873, table II, method 10, example (a); from memory."""
    found = difference((56, 70), (48, 80))
    assert found.low == pytest.approx(0.0524, abs=1e-4)
    assert found.high == pytest.approx(0.3339, abs=1e-4)


@pytest.mark.parametrize(("came", "trials"), [(0, 0), (-1, 5), (6, 5)])
def test_what_is_no_share_of_trials_is_refused(came: int, trials: int) -> None:
    for interval in (wilson, jeffreys):
        with pytest.raises(ValueError):
            interval(came, trials)
