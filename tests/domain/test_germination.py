"""When seed comes up; each published figure names its source beside it."""

import math

import pytest
from garden_journal import day, journal
from hypothesis import given
from hypothesis import strategies as st

from domain import tables
from domain.crops import crops
from domain.facts import Emerged, Lost, Reading, Sow
from domain.germination import chance_still, days_to_emergence, outlook, outlooks, warmth_since
from domain.plantings import garden
from domain.sources import sources


@pytest.mark.parametrize(
    ("crop", "temp_c", "days", "source"),
    [
        ("lettuce", 20, 3, "tofg_app4"),
        ("lettuce", 25, 2, "tofg_app4"),
        ("romaine lettuce", 20, 3, "tofg_app4: lettuce"),
        ("spinach", 20, 6, "tofg_app4"),
        ("celery", 15, 12, "tofg_app4"),
        ("parsley", 10, 29, "tofg_app4"),
        ("parsley", 30, 12, "tofg_app4"),
        ("tomato", 20, 8, "tofg_app4"),
        ("chilli pepper", 25, 8, "tofg_app4: pepper"),
        ("okra", 25, 13, "tofg_app4"),
        ("radish", 20, 4, "tofg_app4"),
        ("spring onion", 20, 5, "tofg_app4: onion"),
    ],
)
def test_the_published_day_lies_in_the_window(crop: str, temp_c: float, days: float, source: str) -> None:
    low, high, keys, recalled = days_to_emergence(crop, temp_c)
    assert low < days < high, source
    assert "tofg_app4" in keys
    assert not recalled


def test_parsley_between_two_published_temperatures_lies_between_their_days() -> None:
    """14 days at 20 degC, 29 at 10 (tofg_app4)."""
    window = {t: days_to_emergence("parsley", t)[:2] for t in (10, 15, 20)}
    assert window[20] < window[15] < window[10]


@pytest.mark.parametrize("name", list(crops()))
def test_cooler_is_never_quicker_where_no_source_says_so(name: str) -> None:
    spans = [days_to_emergence(name, t) for t in (22, 18, 14, 10)]
    lows = [span[0] for span in spans if span is not None]
    assert lows == sorted(lows)
    assert all(0 < span[0] < span[1] for span in spans if span is not None)


def test_every_row_names_a_known_crop_and_source() -> None:
    for row in tables.rows("emergence"):
        assert row["crop"] in crops()
        assert row["basis"] in ("read", "memory")
        assert set(tables.parts(row["source"])) <= set(sources())


@given(st.floats(0, 200), st.floats(0.1, 100), st.floats(1, 30), st.floats(0.5, 60), st.floats(0, 1))
def test_chance_falls_with_age_and_lies_within_its_limits(
    age: float, later: float, low: float, wider: float, viable: float
) -> None:
    first, second = (
        chance_still(age, low, low + wider, viable),
        chance_still(age + later, low, low + wider, viable),
    )
    assert 0 <= second <= first + 1e-12 <= viable + 2e-12


def test_chance_at_the_ends_of_the_window() -> None:
    """Bayes by hand for 85 % viable: one in twenty left, 0.0425 of 0.1925."""
    assert chance_still(0, 5, 10) == 0.85
    assert chance_still(10, 5, 10) == pytest.approx(0.0425 / 0.1925, abs=1e-3)
    assert chance_still(300, 5, 10) < 1e-6
    assert chance_still(10, 5, 10, viable=1.0) == 1.0


@pytest.mark.parametrize("bad", [(-1, 5, 10, 0.9), (1, 0, 10, 0.9), (1, 10, 10, 0.9), (math.nan, 5, 10, 0.9)])
def test_no_chance_for_nonsense(bad: tuple[float, ...]) -> None:
    with pytest.raises(ValueError):
        chance_still(*bad)


def _cautions(crop: str, temperature_c: float | None, age: float = 1) -> tuple[str, ...]:
    sowing = garden(journal((0, Sow(crop=crop, sites=("A1",)))), day(age)).sowings[0]
    return outlook(sowing, temperature_c, day(age)).cautions


@pytest.mark.parametrize(
    ("crop", "temp_c", "caution", "source"),
    [
        ("lettuce", 30, "too_warm", "hm_pct: 12 % normal seedlings at 30 degC"),
        ("spinach", 25, "too_warm", "hm_pct: 28 % normal seedlings at 25 degC"),
        ("celery", 30, "too_warm", "hm_pct: none at 30 degC"),
        ("lettuce", 20, "needs_light", "pender_2014: sown on the surface"),
        ("lavender", 20, "needs_cold", "from memory"),
        ("sweet pepper", 16, "too_cold", "uc_gn154: 60 degF is its lowest"),
    ],
)
def test_what_may_be_in_the_way(crop: str, temp_c: float, caution: str, source: str) -> None:
    assert caution in _cautions(crop, temp_c), source


def test_nothing_is_in_the_way_of_tomato_at_25() -> None:
    assert "too_warm" not in _cautions("tomato", 23)
    assert _cautions("tomato", 23) == ()


def test_warmth_is_of_the_air_since_then_and_else_of_the_water() -> None:
    entries = journal(
        (0, Reading(air_temp_c=15)), (5, Reading(water_temp_c=19)), (10, Reading(water_temp_c=21))
    )
    assert warmth_since(entries, day(4)) == 15  # the air of four days before says more than the water since
    assert warmth_since(entries[1:], day(4)) == 20
    assert warmth_since(entries[1:], day(12)) == 21
    assert warmth_since(entries, day(40)) is None
    assert warmth_since([], day(6)) is None


def test_only_what_waits_has_an_outlook_and_not_for_ever() -> None:
    told = journal(
        (0, Sow(crop="basil", sites=("A1", "A2"))),
        (1, Sow(crop="lettuce", sites=("B1",))),
        (2, Sow(crop="dill", sites=("C1",))),
        (4, Emerged(sites=("B1",))),
        (5, Lost(sites=("C1",))),
    )
    (basil,) = outlooks(garden(told, day(6)).sowings, told, day(6))
    assert (basil.sowing.crop, basil.sowing.waiting) == ("basil", 2)
    assert day(5) <= basil.opens_at < basil.closes_at < basil.give_up_at < day(16)
    assert outlooks(garden(told, day(60)).sowings, told, day(60)) == ()


def test_slow_herbs_are_given_half_as_long_again() -> None:
    """fao589: parsley 2 to 5 weeks."""
    sowing = garden(journal((0, Sow(crop="parsley", sites=("A1",)))), day(1)).sowings[0]
    parsley = outlook(sowing, 20, day(1))
    assert parsley.give_up_at - sowing.sown_at == 1.5 * (parsley.closes_at - sowing.sown_at)
