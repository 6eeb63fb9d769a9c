"""Dates that follow the tank: its own loss of water, its spent water, and where its values are going."""

from __future__ import annotations

import random
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from garden_journal import day, journal
from hypothesis import given, settings
from hypothesis import strategies as st

from domain.bands import tank_bands
from domain.facts import Dose, Fact, Reading, Setting, TopUp, WaterChange
from domain.routine import Due, due_dates
from domain.water_use import WaterUse, water_use

LISBON = ZoneInfo("Europe/Lisbon")
TANK = (0.0, Setting(name="tank_volume_l", value="40"))
PUMP = (0.0, Setting(name="minimum_level_l", value="24"))
FRESH = (0.1, WaterChange())


def dues(*told: tuple[float, Fact], now: float) -> dict[str, Due]:
    entries = journal(*told)
    found = due_dates(entries, now=day(now), zone=LISBON, bands=tank_bands(()))
    return {due.task: due for due in found}


def local(due: Due) -> str:
    return f"{due.due_at.astimezone(LISBON):%d %b %H:%M}"


# --- how fast the water goes -------------------------------------------------------------------------------


def use_of(*told: tuple[float, Fact]) -> WaterUse | None:
    return water_use(journal(*told), 40.0)


@pytest.mark.parametrize(
    ("told", "a_day"),
    [
        # 4 L are missing after two days: 2 L a day, by arithmetic.
        ((FRESH, (2.1, TopUp(litres=4))), 2.0),
        ((FRESH, (2.1, Reading(level_l=36))), 2.0),
        ((FRESH, (2.1, Reading(level_l=36)), (2.2, TopUp(litres=4)), (4.2, TopUp(litres=2))), 1.5),
        ((FRESH, (2.1, TopUp(litres=4)), (4.1, TopUp(litres=4)), (5.1, TopUp(litres=12))), 2.0),
        ((FRESH, (4.1, Reading(level_mark="half"))), 5.0),
        ((FRESH, (1.1, TopUp(to_mark="the line")), (3.1, TopUp(litres=3))), 1.5),
    ],
)
def test_the_loss_is_what_went_in_and_what_the_level_fell_by(
    told: tuple[tuple[float, Fact], ...], a_day: float
) -> None:
    use = use_of(*told)
    assert use is not None
    assert use.a_day == pytest.approx(a_day, rel=0.01)
    assert use.low_a_day < use.a_day < use.high_a_day


@pytest.mark.parametrize(
    "told",
    [(), (FRESH,), (FRESH, (0.2, TopUp(litres=2))), (FRESH, (30.0, TopUp(litres=9))), ((1.0, TopUp()),)],
)
def test_nothing_is_known_of_too_little(told: tuple[tuple[float, Fact], ...]) -> None:
    assert use_of(*told) is None


def test_a_slip_does_not_move_the_median() -> None:
    steady = [(0.1 + 2 * n, TopUp(litres=4.0)) for n in range(1, 8)]
    use = use_of(FRESH, *steady[:4], (9.1, TopUp(litres=30.0)), *steady[4:])
    assert use is not None
    assert use.a_day == pytest.approx(2.0, rel=0.05)


def test_four_days_in_five_lie_inside_the_interval() -> None:
    """Simulated: a day's loss is normal with a quarter of its mean as deviation; 200 tanks."""
    random.seed(5)
    inside = 0
    for _ in range(200):
        told: list[tuple[float, Fact]] = [FRESH]
        for number in range(1, 9):
            told.append((0.1 + number, TopUp(litres=max(0.1, random.gauss(2.0, 0.5)))))
        use = use_of(*told)
        assert use is not None
        inside += use.low_a_day <= random.gauss(2.0, 0.5) <= use.high_a_day
    assert 0.7 <= inside / 200 <= 0.9


@settings(max_examples=30, deadline=None)
@given(st.floats(0.3, 6.0), st.integers(1, 6), st.integers(1, 4))
def test_a_steady_tank_is_found_out_exactly(a_day: float, times: int, apart: int) -> None:
    told = [(0.1 + apart * n, TopUp(litres=a_day * apart)) for n in range(1, times + 1)]
    use = use_of(FRESH, *told)
    assert use is not None
    assert use.a_day == pytest.approx(min(a_day, 40 / apart), rel=1e-6)
    low, middle, high = use.level(use.level_at + timedelta(days=3))
    assert low <= middle <= high


# --- top-up ------------------------------------------------------------------------------------------------


def test_the_top_up_comes_before_the_pump_runs_dry() -> None:
    """2 L a day, at most 3.2 of which four days in five (one loss: 30 %, times 1.28): 16 L last 5.8 days."""
    told = (TANK, PUMP, FRESH, (2.1, TopUp(litres=4)))
    due = dues(*told, now=3)["top_up"]
    full_at = day(2.1)
    dry_at = full_at + timedelta(days=(40 - 24) / (2.0 * (1 + 1.2816 * 0.3)))
    assert timedelta(0) < dry_at - due.due_at < timedelta(days=2)
    assert due.due_at.astimezone(LISBON).hour == 18
    assert due.brief == "loses about 2 L (1.2–2.8) a day"
    assert "the pump needs 24 L" in due.why
    assert due.rrule == "FREQ=DAILY"
    assert dues(*told, now=6)["top_up"] == due


def test_a_thirsty_tank_is_topped_up_sooner_than_a_slow_one() -> None:
    fast = dues(TANK, PUMP, FRESH, (1.1, TopUp(litres=6)), now=2)["top_up"]
    slow = dues(TANK, PUMP, FRESH, (1.1, TopUp(litres=1)), now=2)["top_up"]
    assert fast.due_at < slow.due_at <= day(1.1) + timedelta(days=8)


def test_the_households_own_interval_and_unknown_tanks_keep_the_table() -> None:
    own = (1.0, Setting(name="interval", task="top_up", rrule="FREQ=DAILY;INTERVAL=2"))
    told = (TANK, PUMP, FRESH, (2.1, TopUp(litres=12)))
    assert dues(*told, own, now=3)["top_up"].rrule == "FREQ=DAILY;INTERVAL=2"
    assert dues(*told[1:], now=3)["top_up"].rrule == "FREQ=DAILY;INTERVAL=3"


def test_a_household_that_counts_in_gallons_reads_gallons() -> None:
    us = (0.0, Setting(name="units", value="us"))
    assert "gal" in dues(TANK, us, FRESH, (2.1, TopUp(litres=4)), now=3)["top_up"].brief


# --- water change ------------------------------------------------------------------------------------------


def test_age_alone_keeps_the_date_of_the_table() -> None:
    assert local(dues(TANK, FRESH, now=1)["water_change"]) == "16 Mar 18:00"


def test_top_ups_that_come_to_the_tank_s_volume_bring_it_forward() -> None:
    """Common practice: change when as much was topped up as the tank holds."""
    told = (TANK, FRESH, *((0.1 + n, TopUp(litres=8)) for n in range(1, 6)))
    due = dues(*told, now=5.2)["water_change"]
    assert local(due) == "07 Mar 18:00"  # the fifth 8 L, on the evening of day 5
    assert due.brief == "40 L topped up since the change"
    ahead = dues(*told[:-2], now=3.2)["water_change"]
    assert ahead.due_at < day(14)
    assert dues(*told, (5.5, WaterChange()), now=6)["water_change"].due_at > day(18)


def fed(rises: list[float]) -> list[tuple[float, Fact]]:
    """A feed of 10 ml every day or so, each between two readings."""
    told: list[tuple[float, Fact]] = []
    ec = 1.0
    for number, rise in enumerate(rises):
        start = 1.0 + number
        told += [
            (start, Reading(ec_ms_cm=ec)),
            (start + 0.01, Dose(product="nutrient", amount=10, unit="ml")),
            (start + 0.06, Reading(ec_ms_cm=ec + rise)),
        ]
    return told


@pytest.mark.parametrize(
    ("rises", "is_sooner"),
    [
        ([0.4, 0.4, 0.4, 0.4], False),
        ([0.4, 0.4, 0.3, 0.3], False),
        ([0.4, 0.4, 0.1, 0.1], True),
        ([0.2, 0.2, 0.5, 0.5], True),
        ([0.4, 0.1], False),
    ],
)
def test_strength_that_no_longer_follows_the_feed(rises: list[float], is_sooner: bool) -> None:
    due = dues(TANK, FRESH, *fed(rises), now=6)["water_change"]
    assert (due.due_at < day(13)) == is_sooner
    assert ("no longer follows" in due.why) == is_sooner


# --- a test sooner -----------------------------------------------------------------------------------------


def test_a_value_on_its_way_out_is_tested_before_it_is_out() -> None:
    rising = [(n / 1.0, Reading(ph=5.6 + 0.15 * n)) for n in range(5)]
    due = dues(*rising, now=4.1)["test_water"]
    steady = dues(*((n / 1.0, Reading(ph=5.9)) for n in range(5)), now=4.1)["test_water"]
    assert due.due_at < steady.due_at
    assert due.due_at > day(4)
    assert due.why.startswith("pH may rise above ")
    assert dues(*rising, now=5.5)["test_water"] == due


def test_a_hand_in_the_water_ends_the_trend() -> None:
    rising = [(n / 1.0, Reading(ph=5.6 + 0.15 * n)) for n in range(5)]
    dosed = (4.01, Dose(product="ph_down", amount=3, unit="ml"))
    due = dues(*rising, dosed, (4.1, Reading(ph=5.8)), now=4.2)["test_water"]
    assert "may rise" not in due.why


# --- every date --------------------------------------------------------------------------------------------

TOLD = st.lists(
    st.tuples(
        st.floats(0.2, 40),
        st.sampled_from(
            [
                TopUp(litres=4),
                TopUp(to_mark="the line"),
                Reading(level_l=30),
                Reading(ph=6.1, ec_ms_cm=1.4),
                Reading(ph=6.4, ec_ms_cm=1.1),
                Dose(product="nutrient", amount=10, unit="ml"),
                WaterChange(),
                WaterChange(fraction=0.5),
            ]
        ),
    ),
    min_size=1,
    max_size=14,
)


@settings(max_examples=40, deadline=None)
@given(TOLD, st.floats(41, 80))
def test_every_adapted_date_says_why_and_stands_still(told: list[tuple[float, Fact]], later: float) -> None:
    entries = journal(TANK, PUMP, *told)
    found: list[dict[str, Due]] = []
    for moment in (41.0, later):
        due = due_dates(entries, now=day(moment), zone=LISBON, bands=tank_bands(()))
        found.append(
            {each.key: each for each in due if each.task in ("top_up", "water_change", "test_water")}
        )
    assert found[0] == found[1]
    for each in found[0].values():
        assert each.why
        assert len(each.brief) <= 60
        assert each.due_at.astimezone(LISBON).hour == 18


def test_the_clock_of_the_household_counts() -> None:
    told = (TANK, PUMP, FRESH, (2.1, TopUp(litres=4)))
    kolkata = ZoneInfo("Asia/Kolkata")
    due = next(d for d in due_dates(journal(*told), now=day(3), zone=kolkata) if d.task == "top_up")
    assert due.due_at.astimezone(kolkata).hour == 18
