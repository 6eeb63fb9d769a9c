"""What a household's own marks and measures stand for."""

import pytest
from tank_journal import ACID, FEED, NOON, household, journal

from domain.facts import Dose, Fact, Reading, Setting
from domain.happenings import level_at_mark
from domain.tank import Dosed, TankState, tank_state

MARKS = {"12 cm": 25.0, "8cm": 16.0, "20 cm": 40.0}


@pytest.mark.parametrize(
    ("mark", "litres"),
    [
        ("12 cm", 25.0),
        ("12cm", 25.0),
        ("120 mm", 25.0),
        ("10 cm", 20.5),  # halfway between 16 and 25
        ("16 cm", 32.5),  # halfway between 25 and 40
        ("half", 20.0),
        ("21 cm", None),
        ("5 cm", None),
    ],
)
def test_a_mark_is_a_volume_once_it_was_told(mark: str, litres: float | None):
    assert level_at_mark(mark, 40.0, MARKS) == (None if litres is None else pytest.approx(litres))


def test_a_height_that_nobody_told_of_is_no_volume():
    assert level_at_mark("12 cm", 40.0) is None


def state(*said: Fact) -> TankState:
    return tank_state(journal(*household(40.0, ACID, FEED), *((0.0, fact) for fact in said)), NOON)


def test_the_level_follows_the_households_marks():
    told = Setting(name="mark", what="12 cm", value="25")
    level = state(told, Reading(level_mark="12 cm")).level_l
    assert (level.value, level.basis) == (pytest.approx(25.0), "read")
    assert state(Reading(level_mark="12 cm")).level_l.basis == "assumed"


def test_a_measure_of_their_own_counts_as_they_say_and_for_surer():
    poured = Dose(product="ph_down", amount=2.0, unit="capful")
    usual, own = (
        next(h for h in state(*said).happenings if isinstance(h, Dosed))
        for said in ((poured,), (Setting(name="measure", what="capful", value="3.5"), poured))
    )
    assert own.amount == pytest.approx(7.0)
    assert own.unit == "ml"
    assert own.share < usual.share
