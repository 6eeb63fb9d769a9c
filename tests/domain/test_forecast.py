"""Where a value goes: the trend beside scipy's, what counts for it, and when the band is left.

How often the truth falls inside is no test but a figure: ``benchmarks.forecast``.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import theilslopes

from domain.forecast import TooLittle, Trend, trend
from domain.history import Hand, HandKind, Point, Quantity

NOW = datetime(2026, 5, 4, 19, tzinfo=UTC)


def ago(days: float) -> datetime:
    return NOW - timedelta(days=days)


def read(*values: tuple[float, float]) -> list[Point]:
    """Points of (days ago, value)."""
    return [Point(ago(days), value) for days, value in values]


def moving(points: list[Point], *hands: Hand, what: Quantity = "ph", now: datetime = NOW) -> Trend:
    found = trend(points, hands, what, now)
    assert isinstance(found, Trend)
    return found


RISING = read((4, 5.8), (3, 5.9), (2, 6.0), (1, 6.1), (0, 6.2))


@given(
    st.lists(
        st.tuples(st.integers(0, 200), st.floats(4, 8)),
        min_size=4,
        max_size=25,
        unique_by=lambda each: each[0],
    )
)
@settings(max_examples=40, deadline=None)
def test_the_slope_is_scipys(values: list[tuple[int, float]]) -> None:
    points = read(*sorted(((hour / 24, value) for hour, value in values), reverse=True))
    found = trend(points, (), "ph", NOW)
    if isinstance(found, Trend):
        days = np.array([(point.at - NOW) / timedelta(days=1) for point in points])
        slope = theilslopes([point.value for point in points], days).slope
        assert found.per_day == pytest.approx(slope, abs=1e-6)


def test_a_straight_line_goes_on_a_little_faster() -> None:
    """Drifts quicken (3 % a day for pH), so that in two days it has moved 0.206, not 0.2."""
    found = moving(RISING)
    assert found.per_day == pytest.approx(0.1)
    assert found.per_hour == pytest.approx(0.1 / 24)
    ahead = found.expected(ago(-2))
    assert ahead.middle == pytest.approx(6.406)
    assert ahead.low < 6.406 < ahead.high


def test_one_slip_does_not_turn_the_trend() -> None:
    slipped = [*RISING[:2], Point(RISING[2].at, 4.9), *RISING[3:]]
    assert moving(slipped).per_day == pytest.approx(0.1, abs=0.03)


@pytest.mark.parametrize(
    ("what", "kind", "counts"),
    [
        ("ph", "top_up", True),
        ("ph", "ph_down", True),
        ("ec_ms_cm", "ph_down", False),
        ("ec_ms_cm", "nutrient", True),
        ("water_temp_c", "ph_down", False),
        ("water_temp_c", "water_change", True),
        ("level_l", "nutrient", False),
        ("level_l", "top_up", True),
    ],
)
def test_only_what_came_after_the_last_hand_that_moves_it(
    what: Quantity, kind: HandKind, counts: bool
) -> None:
    hand = Hand(ago(3.5), kind)
    found = trend(RISING, (hand,), what, NOW)
    assert isinstance(found, Trend)
    assert (found.readings, found.hand) == ((4, hand) if counts else (5, None))


def test_readings_while_a_dose_still_mixes_do_not_count() -> None:
    hand = Hand(ago(4) - timedelta(minutes=20), "ph_down")
    assert moving(RISING, hand).readings == 4


@pytest.mark.parametrize(
    ("points", "readings"),
    [
        ([], 0),
        (RISING[:2], 2),
        (read((0.3, 6.0), (0.2, 6.1), (0.1, 6.2), (0, 6.3)), 4),
        ([Point(point.at, point.value, doubted=True) for point in RISING], 0),
        (read((20, 6.0), (19, 6.1), (18, 6.2)), 0),
    ],
    ids=["none", "two", "within hours", "doubted", "of long ago"],
)
def test_too_little_is_said_to_be_so(points: list[Point], readings: int) -> None:
    assert trend(points, (), "ph", NOW) == TooLittle("ph", readings, None)


def test_readings_at_one_moment_are_no_trend_by_themselves() -> None:
    twice = read((2, 6.0), (2, 6.2), (1, 6.1), (1, 6.3), (0, 6.2), (0, 6.4))
    assert moving(twice).per_day == pytest.approx(0.1, abs=0.05)


def test_when_the_band_is_left_and_between_which_times() -> None:
    found = moving(RISING).leaves(5.5, 6.5)
    assert found is not None
    assert (found.side, found.edge) == ("high", 6.5)
    assert found.at - NOW == pytest.approx(timedelta(days=3), abs=timedelta(hours=4))
    assert found.soonest < found.at
    assert found.latest is None or found.latest > found.at


def test_downwards_alike() -> None:
    falling = [Point(point.at, 12.0 - point.value) for point in RISING]
    up, down = moving(RISING).leaves(5.5, 6.5), moving(falling).leaves(5.5, 6.5)
    assert up is not None
    assert down is not None
    assert (down.side, down.at, down.soonest, down.latest) == ("low", up.at, up.soonest, up.latest)


@pytest.mark.parametrize(("low", "high"), [(6.4, 6.8), (5.0, 5.5), (5.5, 9.0)], ids=["below", "above", "far"])
def test_no_leaving_from_outside_or_beyond_what_is_foretold(low: float, high: float) -> None:
    assert moving(RISING).leaves(low, high) is None


def test_what_does_not_move_stays() -> None:
    still = moving(read((4, 6.0), (3, 6.0), (2, 6.0), (1, 6.0), (0, 6.0)))
    assert still.is_steady
    assert still.leaves(5.5, 6.5) is None


@given(st.integers(3, 12), st.floats(-0.4, 0.4), st.floats(0.2, 3))
@settings(max_examples=30, deadline=None)
def test_the_interval_widens_with_time_and_narrows_with_readings(
    count: int, per_day: float, apart: float
) -> None:
    points = read(*((apart * back, 6.0 - per_day * apart * back) for back in range(count - 1, -1, -1)))
    found = trend(points, (), "ph", NOW)
    if isinstance(found, Trend):
        widths = [found.expected(ago(-days)) for days in (0, 1, 3, 9)]
        spans = [each.high - each.low for each in widths]
        assert spans == sorted(spans)
