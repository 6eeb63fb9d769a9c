"""After a slip: thin with water, as much as it takes, and never the other bottle."""

import pytest
from tank_journal import AIM, FEED, NOON, household, journal

from domain.facts import Dose, Emergency, Product, Reading
from domain.rescue import ROOTS_LAST_H, Rescue, overdose_rescue, roots_last, system_named
from domain.tank import tank_state

STRONG = Product(role="ph_down", name="acid", reagent="phosphoric acid", percent_w_w=30.0)


def rescued(emergency: Emergency, *, reading: Reading | None = None, acid: Product = STRONG) -> Rescue:
    said = household(40.0, acid, FEED, alkalinity=100.0)
    if reading is not None:
        said.append((-1.0, reading))
    return overdose_rescue(tank_state(journal(*said), NOON), emergency, AIM)


READ = Reading(ph=6.4, ec_ms_cm=1.4)


def overdose(product: str | None, amount: float | None, unit: str = "ml") -> Emergency:
    return Emergency(about="overdose", product=product, amount=amount, unit=unit)  # type: ignore[arg-type]


def test_ten_times_the_dose_calls_for_a_swap_that_brings_the_water_back():
    found = rescued(overdose("ph_down", 50.0), reading=READ)
    assert found.predicted is not None
    assert found.predicted.ph_now is not None
    assert found.predicted.ph_now.middle < 5.2
    assert found.swap is not None
    assert found.swap.share >= 0.5
    assert found.swap.predicted is not None
    assert found.swap.predicted.ph_now is not None
    assert found.swap.predicted.ph_now.middle > found.predicted.ph_now.middle
    assert found.swap.litres == pytest.approx(40.0 * found.swap.share)


def test_a_little_too_much_needs_no_swap():
    found = rescued(overdose("ph_down", 0.5), reading=READ)
    assert found.swap is None
    assert found.predicted is not None


def test_a_larger_slip_takes_no_smaller_swap():
    shares = []
    for amount in (2.0, 10.0, 50.0):
        found = rescued(overdose("ph_down", amount), reading=READ)
        shares.append(found.swap.share if found.swap else 0.0)
    assert shares == sorted(shares)


def test_too_much_feed_is_thinned_to_the_band():
    found = rescued(overdose("nutrient", 160.0), reading=READ)
    assert found.swap is not None
    assert found.swap.predicted is not None
    assert found.swap.predicted.ec_ms_cm is not None
    assert found.swap.predicted.ec_ms_cm.middle <= 1.8


@pytest.mark.parametrize(
    "emergency", [overdose("ph_down", 50.0), overdose(None, None), overdose("other", 5.0)]
)
def test_without_a_reading_or_a_product_half_is_the_rule_of_thumb(emergency: Emergency):
    found = rescued(emergency)
    assert found.is_blind
    assert found.swap is not None
    assert (found.swap.share, found.swap.litres, found.swap.predicted) == (0.5, 20.0, None)


def test_an_unknown_bottle_is_reckoned_with_as_what_it_may_be():
    unknown = rescued(overdose("ph_down", 10.0), reading=READ, acid=Product(role="ph_down", name="some"))
    assert unknown.swap is not None
    assert not unknown.is_blind


def test_mist_dries_before_deep_water_suffocates():
    assert all(low <= high for low, high in ROOTS_LAST_H.values())
    assert ROOTS_LAST_H["mist"][1] <= ROOTS_LAST_H["film"][1] <= ROOTS_LAST_H["deep_water"][0]


def test_a_feed_noted_before_it_was_seen_as_too_much_still_counts_for_the_strength():
    slip = overdose("nutrient", 160.0)
    said = [
        *household(40.0, STRONG, FEED),
        (-1.0, READ),
        (-0.2, Dose(product="nutrient", amount=160.0, unit="ml")),
    ]
    noted = overdose_rescue(tank_state(journal(*said), NOON), slip, AIM, is_noted=True)
    plain = rescued(slip, reading=READ)
    assert noted.swap is not None
    assert plain.swap is not None
    assert noted.swap.share == plain.swap.share


@pytest.mark.parametrize(
    ("name", "system"),
    [
        ("kitchen tower", "tower"),
        ("my NFT", "film"),
        ("DWC bucket", "deep_water"),
        ("aeroponic barrel", "mist"),
        ("Dutch buckets", "medium"),
        ("ebb and flood table", "medium"),
        ("Greta", None),
        (None, None),
    ],
)
def test_a_name_tells_the_kind_of_system(name: str | None, system: str | None):
    assert system_named(name) == system


@pytest.mark.parametrize("system", [*ROOTS_LAST_H, None])
def test_heat_halves_the_time_and_an_unknown_system_gets_a_short_one(system: str | None):
    cool, hot = roots_last(system, 20.0), roots_last(system, 30.0)
    assert (hot.low_h, hot.high_h) == (cool.low_h / 2, cool.high_h / 2)
    assert roots_last(None, 20.0).high_h <= ROOTS_LAST_H["film"][1]
