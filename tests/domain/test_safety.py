"""Caps, cautions, emergency advice and who to call."""

from zoneinfo import available_timezones

import pytest

from domain.dosing import Step
from domain.safety import (
    CAPS,
    CAUTIONS,
    EMERGENCY,
    caps_for,
    cautions_for,
    country_of_zone,
    poison_centre,
)
from domain.sources import sources


def test_a_planted_tank_is_bound_by_every_cap_and_a_fresh_fill_by_two():
    planted, fresh = caps_for(planted=True), caps_for(planted=False)
    assert (planted.lowest_ph_just_after, planted.highest_ph_just_after) == (5.2, 7.0)
    assert planted.settled_shift_per_day == 1.0
    assert planted.ec_rise_per_step == 0.4
    assert planted.concentrate_ml_per_l == fresh.concentrate_ml_per_l == 1.0
    assert fresh.lowest_ph_just_after == 5.2
    assert fresh.settled_shift_per_day == fresh.ec_rise_per_step == float("inf")


def test_every_cap_and_caution_names_its_source():
    assert all(cap.source for cap in CAPS.values())
    assert all(caution.source and caution.text for caution in CAUTIONS.values())
    assert all(advice.source and advice.lines for advice in EMERGENCY.values())


def test_a_brief_caution_fits_a_line_of_a_phone():
    assert max(len(caution.brief) for caution in CAUTIONS.values()) <= 45


def acid(action: str = "add", reagent: str | None = "phosphoric acid") -> Step:
    return Step(action, role="ph_down", reagent=reagent, unit="ml", first=1.0)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("step", "code"),
    [
        (acid(), "adjuster"),
        (acid(), "never_mix"),
        (acid(reagent="nitric acid"), "strong_acid"),
        (acid(reagent="sulfuric acid"), "strong_acid"),
        (acid("test_portion", None), "unknown_bottle"),
        (acid("jar_test", None), "adjuster"),
        (Step("add", role="ph_up", reagent="potassium bicarbonate"), "foaming"),
        (Step("add", role="nutrient", parts=("A", "B")), "parts_apart"),
        (Step("drain_refill", unit="l", first=5.0), "unplug"),
    ],
)
def test_each_step_brings_its_caution(step: Step, code: str):
    assert code in cautions_for([step])


def test_concentrate_never_comes_without_a_caution_and_harmless_steps_with_none():
    assert cautions_for([acid()])[0] == "adjuster"
    assert cautions_for([Step("wait"), Step("read"), Step("top_up", unit="l", first=2.0)]) == ()
    assert cautions_for([Step("add", role="nutrient")]) == ()
    assert len(cautions_for([acid(), acid()])) == len(set(cautions_for([acid()])))


EXPOSURES = {code: advice for code, advice in EMERGENCY.items() if code.startswith("exposure")}


@pytest.mark.parametrize(
    ("code", "first", "also", "call"),
    [
        # HRSA Poison Help: 15 to 20 minutes of running water; emergency services first for collapse.
        (
            "exposure_eye_skin",
            "rinse under running water now",
            ("15 to 20 minutes", "lenses", "clothing off", "without pain", "do not neutralise", "label"),
            "poison_centre",
        ),
        # Missouri Poison Center, First aid: nothing by mouth until the call; 911 for the unconscious.
        (
            "exposure_swallowed",
            "call at once",
            ("nothing by mouth", "emergency number first", "do not bring on vomiting", "label"),
            "poison_centre",
        ),
        # Missouri Poison Center, First aid: fresh air at once, doors open wide.
        (
            "exposure_gas",
            "leave the room",
            ("fresh air", "door open", "not go back", "do not neutralise"),
            "poison_centre",
        ),
        # MidAmerican Energy, Electric shock: touch nobody, main breaker off, emergency number.
        (
            "exposure_electric",
            "power off at the breaker",
            ("touch no person or water", "get out", "licensed electrician"),
            "emergency",
        ),
        # Birchbark Foundation, Household risks: ask the vet before anything; caustics do harm when vomited.
        ("exposure_pet", "call your vet", ("animal poison line", "not make it vomit", "label"), "nobody"),
        (
            "exposure",
            "eye or skin: rinse",
            ("emergency number first", "swallowed:", "breathed in:", "15 to 20 minutes"),
            "poison_centre",
        ),
    ],
)
def test_an_exposure_says_the_first_thing_first_and_leaves_nothing_out(
    code: str, first: str, also: tuple[str, ...], call: str
):
    advice = EXPOSURES[code]
    said = " ".join(advice.lines).lower()
    assert advice.lines[0].lower().startswith(first)
    assert [part for part in also if part not in said] == []
    assert advice.call == call


def test_an_exposure_fits_five_short_lines_with_the_one_that_says_who_to_call():
    for advice in EXPOSURES.values():
        assert len(advice.lines) + (advice.call != "nobody") <= 5, advice.code
        assert max(len(line) for line in advice.lines) <= 62, advice.code


def test_each_emergency_stands_under_its_own_code():
    assert all(code == advice.code for code, advice in EMERGENCY.items())


def test_the_american_number_is_the_published_one():
    centre = poison_centre("America/Chicago")
    assert centre is not None
    # HRSA Poison Help, poisonhelp.hrsa.gov.
    assert centre.number == "1-800-222-1222"
    assert "HRSA" in sources()[centre.source].short


@pytest.mark.parametrize(
    ("zone", "country"),
    # From the tz database's own table, and its links for former names.
    [
        ("Europe/Lisbon", "PT"),
        ("Atlantic/Azores", "PT"),
        ("US/Eastern", "US"),
        ("Asia/Calcutta", "IN"),
        ("Europe/Stockholm", "SE"),
        ("GB", "GB"),
    ],
)
def test_a_zone_lies_in_its_country(zone: str, country: str):
    assert country_of_zone(zone) == country


@pytest.mark.parametrize("zone", ["UTC", "Etc/GMT+3", "Nowhere/Town", ""])
def test_a_zone_of_no_place_has_no_country(zone: str):
    assert country_of_zone(zone) is None
    assert poison_centre(zone) is None


def test_no_number_is_given_out_that_nobody_has_read_in_a_source():
    found = {c for zone in available_timezones() if (c := poison_centre(zone)) is not None}
    assert len(found) > 20
    for centre in found:
        assert centre.emergency_number
        assert sources()[centre.emergency_source].was_read, centre.country
        assert bool(centre.number) == bool(centre.source)
        assert not centre.number or sources()[centre.source].was_read, centre.country


def test_only_a_centre_that_closes_names_its_hours():
    irish, american = poison_centre("Europe/Dublin"), poison_centre("America/Chicago")
    assert irish is not None
    assert american is not None
    assert (irish.limited_hours, american.limited_hours) == ("8 am to 10 pm", "")
