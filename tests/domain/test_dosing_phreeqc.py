"""Plans followed by the letter on tanks whose chemistry is PHREEQC's: they must arrive, and seldom overshoot.

The bounds are loose: a few dozen tanks tell a good rule from a bad one, not one good rule from another. The
full figures come from ``python -m benchmarks.dosing``.
"""

import pytest

from benchmarks.dosing import followed

TANKS = 24


@pytest.mark.timeout(240)
def test_with_labels_most_tanks_arrive_within_four_doses_and_few_overshoot():
    row = followed(TANKS, regimes="b", rules=("plan",))["b", "plan"]
    assert row["within 4"] >= 80
    assert row["overshoot % of doses"] <= 5


@pytest.mark.timeout(240)
def test_without_any_label_it_is_slower_but_no_less_safe():
    row = followed(TANKS, regimes="c", rules=("plan",))["c", "plan"]
    assert row["within 4"] >= 50
    assert row["overshoot % of doses"] <= 5


def test_the_measure_tells_a_reckless_rule_from_a_careful_one():
    row = followed(TANKS, regimes="b", rules=("whole dose",))["b", "whole dose"]
    assert row["overshoot % of doses"] > 15
