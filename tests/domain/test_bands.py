"""Bands: the rule, the compromise, the verdict."""

import math
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from domain import tables
from domain.bands import Band, Standing, crop_band, tank_bands, verdict
from domain.compromise import Wish, compromise, cost
from domain.crops import crops
from domain.facts import Setting
from domain.sources import sources
from domain.stages import STAGES, Stage
from domain.wants import HOLDABLE, UNITS, What, critical_ends, published, want, what_named

WHATS: tuple[What, ...] = tuple(UNITS)
CROPS = st.sampled_from(sorted(crops()))
VOTING: list[Stage] = [stage for stage in STAGES if stage != "germinating"]
STANDING = st.builds(Standing, CROPS, st.sampled_from(VOTING), st.integers(min_value=1, max_value=12))
TANKS = st.lists(STANDING, min_size=1, max_size=6)
WISHES = st.lists(
    st.builds(
        lambda low, width, weight: Wish(low, low + width, weight),
        st.floats(min_value=0, max_value=8),
        st.floats(min_value=0, max_value=2),
        st.integers(min_value=1, max_value=9),
    ),
    min_size=1,
    max_size=7,
)


def _ends(band: Band) -> tuple[float, float, float, float]:
    return band.tolerable_low, band.ideal_low, band.ideal_high, band.tolerable_high


# --- the table ---------------------------------------------------------------------------------------------


def test_every_row_names_known_crops_sources_and_quantities() -> None:
    groups = {f"group:{crop.group}" for crop in crops().values()}
    for row in (*tables.rows("crop_rows"), *tables.rows("water")):
        assert set(tables.parts(row["crops"])) <= {*crops(), *groups, "all"}, row
        assert set(tables.parts(row["source"])) <= set(sources()), row
        assert row["kind"] in {"research", "table", "practice", "range", "limit", "critical", "outlier"}
        assert float(row["low"]) <= float(row["high"] or "inf"), row
        if row["kind"] == "outlier":
            assert row["note"], row


def test_crop_rows_are_about_what_has_a_band() -> None:
    assert {row["what"] for row in tables.rows("crop_rows")} <= set(WHATS)


def test_limits_of_source_water_are_at_hand() -> None:
    (sodium, _) = published("", "source_sodium_mg_l")
    assert (sodium.high, sodium.keys) == (50, ("osu_hla6722",))


def test_the_crop_tables_own_ranges_are_all_kept() -> None:
    for crop in crops().values():
        ranges: list[tuple[What, float | None, float | None]] = [
            ("ph", crop.ph.low, crop.ph.high),
            ("ec_ms_cm", crop.ec_ms_cm.low, crop.ec_ms_cm.high),
        ]
        for what, low, high in ranges:
            if low is not None:
                assert (low, high) in {(row.low, row.high) for row in published(crop.name, what)}, crop.name


# --- the rule for one crop ---------------------------------------------------------------------------------


def test_the_ideal_lies_within_the_tolerable_range() -> None:
    for crop in ["", *crops()]:
        for what in WHATS:
            for stage in STAGES:
                bears_low, low, high, bears_high = _ends(crop_band(crop, what, stage))
                assert bears_low <= low < high <= bears_high, (crop, what, stage)


def test_no_ph_band_leaves_the_shared_tanks_limits() -> None:
    # pH 5.4 to 6.5: the row of the water table for mixed tanks.
    for crop in crops():
        band = crop_band(crop, "ph")
        assert band.tolerable_low >= 5.4
        assert band.tolerable_high <= 6.5


def test_research_in_recirculating_culture_outranks_an_extension_table() -> None:
    band = crop_band("lettuce", "ph")
    assert (band.ideal_low, band.ideal_high) == (5.6, 6.0)  # rutgers_env, 5.8 +/- 0.2; the table says 6.0-7.0
    assert band.sources[0].key == "rutgers_env"


def test_an_extension_table_outranks_practice() -> None:
    band = crop_band("basil", "ph")
    assert (band.ideal_low, band.ideal_high) == (5.5, 6.0)  # osu_hla6722_t2


def test_a_table_that_was_not_read_is_cited_from_memory() -> None:
    line = next(line for line in crop_band("basil", "ph").sources if line.key == "osu_hla6722_t2")
    assert line.basis == "from memory"
    assert line.text.endswith("cited from memory")


@pytest.mark.parametrize(
    ("crop", "what", "low", "high"),
    [
        # What the reference notes call outliers, against what growers run: common practice.
        ("pak choi", "ph", 5.5, 6.5),
        ("cucumber", "ph", 5.5, 6.5),
        ("cabbage", "ph", 5.5, 6.5),
        ("sweet pepper", "ec_ms_cm", 1.8, 3.0),
        ("chilli pepper", "ec_ms_cm", 1.8, 3.0),
        ("bean", "ec_ms_cm", 1.4, 2.6),
    ],
)
def test_outliers_do_not_move_the_ideal_range(crop: str, what: What, low: float, high: float) -> None:
    band = crop_band(crop, what, stage=None)
    assert low <= band.ideal_low < band.ideal_high <= high
    outliers = [row for row in published(crop, what) if row.kind == "outlier"]
    assert outliers
    assert all(row.note for row in outliers)


@pytest.mark.parametrize(("scale", "low", "high"), [(500, 1.2, 1.6), (700, 600 / 700, 800 / 700)])
def test_seedlings_at_600_to_800_ppm_need_nothing(scale: int, low: float, high: float) -> None:
    """Common practice: seedlings of greens and herbs at pH 5.8-6.5 and 600-800 ppm as a tester shows it."""
    assert (600 / scale, 800 / scale) == pytest.approx((low, high))
    for crop in crops().values():
        if crop.group not in ("leafy", "herb"):
            continue
        strength, ph = (crop_band(crop.name, what, "seedling") for what in ("ec_ms_cm", "ph"))
        assert max(low, strength.tolerable_low) <= min(high, strength.tolerable_high), crop.name
        assert max(5.8, ph.tolerable_low) <= min(6.5, ph.tolerable_high), crop.name


@given(CROPS)
def test_a_seedling_wants_less_than_the_grown_crop(crop: str) -> None:
    young, grown = crop_band(crop, "ec_ms_cm", "seedling"), crop_band(crop, "ec_ms_cm", "vegetative")
    assert young.ideal_low < grown.ideal_low
    assert young.ideal_high < grown.ideal_high


@given(CROPS)
def test_a_grown_crop_is_given_its_full_strength(crop: str) -> None:
    full, young = crop_band(crop, "ec_ms_cm", None), crop_band(crop, "ec_ms_cm", "vegetative")
    assert young.ideal_low <= full.ideal_low
    assert young.ideal_high <= full.ideal_high


def test_a_crop_outside_the_table_wants_what_any_tank_gives() -> None:
    for stage in (None, *STAGES):
        assert crop_band("agretti", "ec_ms_cm", stage) == crop_band("", "ec_ms_cm", stage)


def test_only_strength_goes_by_stage() -> None:
    for what in WHATS:
        if what != "ec_ms_cm":
            assert _ends(crop_band("basil", what, "seedling")) == _ends(crop_band("basil", what, "flowering"))


def test_other_names_find_the_same_band() -> None:
    assert crop_band("Coriander", "ph") == crop_band("cilantro", "ph")


# --- what the household set --------------------------------------------------------------------------------


def _set(what: str, low: float | None, high: float | None, crop: str | None = None) -> Setting:
    return Setting(name="band", what=what, low=low, high=high, crop=crop)


def test_a_crops_band_set_by_the_household_wins_and_says_yours() -> None:
    band = crop_band("basil", "ec_ms_cm", settings=[_set("ec_ms_cm", 1.0, 1.4, "basil")])
    assert _ends(band) == (1.0, 1.0, 1.4, 1.4)
    assert [line.text for line in band.sources] == ["yours"]
    assert band.sources[0].basis == "yours"


def test_the_newest_setting_wins() -> None:
    both = [_set("ph", 5.0, 5.4, "basil"), _set("ph", 6.0, 6.4, "basil")]
    assert _ends(crop_band("basil", "ph", settings=both)) == (6.0, 6.0, 6.4, 6.4)


def test_a_setting_for_one_crop_leaves_the_others_alone() -> None:
    assert crop_band("dill", "ph", settings=[_set("ph", 5.0, 5.4, "basil")]) == crop_band("dill", "ph")


def test_one_end_alone_can_be_set() -> None:
    plain = crop_band("basil", "ph")
    band = crop_band("basil", "ph", settings=[_set("ph", None, 5.8, "basil")])
    assert _ends(band) == (plain.tolerable_low, plain.ideal_low, 5.8, 5.8)


def test_one_end_set_beyond_the_other_takes_it_along() -> None:
    band = crop_band("basil", "ph", settings=[_set("ph", 6.4, None, "basil")])
    assert _ends(band) == (6.4, 6.4, 6.4, 6.5)


def test_the_tanks_own_band_wins_over_every_plant() -> None:
    bands = tank_bands([Standing("lettuce", "vegetative", 6)], [_set("ph", 6.1, 6.3)])
    assert _ends(bands.ph) == (6.1, 6.1, 6.3, 6.3)
    assert bands.ec == tank_bands([Standing("lettuce", "vegetative", 6)]).ec


def test_a_setting_of_another_name_is_no_band() -> None:
    other = Setting(name="interval", what="ph", low=1.0, high=2.0)
    assert tank_bands([], [other]) == tank_bands([])


def test_the_names_that_a_setting_may_use() -> None:
    assert what_named("EC") == "ec_ms_cm"
    assert what_named("ph") == "ph"
    assert what_named("mood") is None


# --- one tank for many -------------------------------------------------------------------------------------


def test_a_tank_of_which_nothing_is_known() -> None:
    bands = tank_bands([])
    assert bands.assumed
    assert _ends(bands.ph) == (5.5, 5.6, 6.2, 6.5)
    assert {line.basis for line in bands.ec.sources} == {"common practice"}
    assert not bands.misfits


def test_germinating_plugs_have_no_vote() -> None:
    grown = Standing("lettuce", "vegetative", 4)
    assert tank_bands([grown, Standing("tomato", "germinating", 30)]) == tank_bands([grown])
    assert tank_bands([Standing("tomato", "germinating", 30)]).assumed


def test_plants_that_agree_get_what_suits_all() -> None:
    bands = tank_bands([Standing("lettuce", "vegetative", 4), Standing("basil", "vegetative", 2)])
    # lettuce 5.6-6.0 (rutgers_env), basil 5.5-6.0 (osu_hla6722_t2)
    assert (bands.ph.ideal_low, bands.ph.ideal_high) == (5.6, 6.0)
    assert bands.ph.set_by_low == "lettuce"
    assert bands.ph.set_by_high == "lettuce, basil"
    assert not bands.misfits


def test_the_majority_decides_and_the_minority_is_named() -> None:
    few = tank_bands([Standing("lettuce", "vegetative", 9), Standing("eggplant", "fruiting", 1)])
    many = tank_bands([Standing("lettuce", "vegetative", 1), Standing("eggplant", "fruiting", 9)])
    assert few.ec.ideal_high < many.ec.ideal_low
    (eggplant,) = [misfit for misfit in few.misfits if misfit.what == "ec_ms_cm"]
    assert (eggplant.crop, eggplant.is_beyond_tolerable) == ("eggplant", True)
    assert eggplant.by < 0  # the tank is weaker than it wants
    (lettuce,) = [misfit for misfit in many.misfits if misfit.what == "ec_ms_cm"]
    assert lettuce.crop == "lettuce"
    assert lettuce.by > 0


def test_one_against_one_goes_by_the_more_sensitive() -> None:
    """Common practice for clashing crops: the lower strength."""
    bands = tank_bands([Standing("lettuce", "vegetative", 1), Standing("eggplant", "fruiting", 1)])
    wanted = want("lettuce", "ec_ms_cm", "vegetative")
    assert bands.ec.ideal_low <= wanted.tolerable[1].value


def _brute_force(wishes: Sequence[Wish], above_costs: float) -> float:
    low, high = min(wish.low for wish in wishes), max(wish.high for wish in wishes)
    steps = 400
    tried = [low + (high - low) * step / steps for step in range(steps + 1)]
    return min(cost(wishes, value, above_costs=above_costs) for value in tried)


@settings(max_examples=60)
@given(WISHES, st.sampled_from([1.0, 2.0, 0.5]))
def test_no_value_anywhere_costs_less_than_the_compromise(wishes: list[Wish], above_costs: float) -> None:
    low, high = compromise(wishes, above_costs=above_costs)
    for value in (low, (low + high) / 2, high):
        here = cost(wishes, value, above_costs=above_costs)
        assert here <= _brute_force(wishes, above_costs) + 1e-6


@given(WISHES)
def test_what_suits_all_is_the_compromise(wishes: list[Wish]) -> None:
    low, high = max(wish.low for wish in wishes), min(wish.high for wish in wishes)
    if low + 1e-6 < high:
        assert compromise(wishes) == pytest.approx((low, high), abs=1e-6)
        assert cost(wishes, (low + high) / 2) == 0


@pytest.mark.parametrize("what", WHATS)
@settings(max_examples=40)
@given(tank=TANKS)
def test_the_tanks_ideal_middle_is_the_cheapest_of_what_all_bear(what: What, tank: list[Standing]) -> None:
    """Brute force over the whole tolerable range; a set point's room is symmetric about its middle."""
    band = tank_bands(tank).of(what)
    above = 2.0 if what == "ec_ms_cm" else 1.0
    wishes = [
        Wish(low.value, high.value, each.count)
        for each in tank
        for low, high in [want(each.crop, what, each.stage).ideal]
    ]
    borne = [
        Wish(low.value, high.value, each.count)
        for each in tank
        for low, high in [want(each.crop, what, each.stage).tolerable]
    ]
    bears_low, bears_high = compromise(borne, above_costs=above)
    middle = (band.ideal_low + band.ideal_high) / 2
    if bears_high - bears_low < HOLDABLE[what]:  # too narrow to confine anything
        bears_low, bears_high = band.tolerable_low - 1, band.tolerable_high + 1
    here = cost(wishes, middle, above_costs=above)
    steps = 300
    for step in range(steps + 1):
        tried = bears_low + (bears_high - bears_low) * step / steps
        assert here <= cost(wishes, tried, above_costs=above) + 0.001 * sum(wish.weight for wish in wishes)


@settings(max_examples=40)
@given(TANKS)
def test_the_order_of_the_plants_changes_no_number(tank: list[Standing]) -> None:
    mixed = sorted(tank, key=lambda each: (each.count, each.crop, each.stage))
    for what in WHATS:
        assert _ends(tank_bands(tank).of(what)) == _ends(tank_bands(mixed).of(what))


@settings(max_examples=40)
@given(TANKS)
def test_ten_plants_count_as_much_as_ten_times_one(tank: list[Standing]) -> None:
    single = [Standing(each.crop, each.stage, 1) for each in tank for _ in range(each.count)]
    for what in WHATS:
        assert _ends(tank_bands(single).of(what)) == pytest.approx(_ends(tank_bands(tank).of(what)))


@settings(max_examples=40)
@given(TANKS)
def test_every_tanks_bands_can_be_held(tank: list[Standing]) -> None:
    for what in WHATS:
        bears_low, low, high, bears_high = _ends(tank_bands(tank).of(what))
        assert bears_low <= low < high <= bears_high
        assert (
            high - low
            >= {"ph": 0.2, "ec_ms_cm": 0.2, "water_temp_c": 1, "dissolved_oxygen_mg_l": 0.5}[what] - 1e-6
        )


@settings(max_examples=40)
@given(TANKS)
def test_every_band_says_who_and_on_whose_word(tank: list[Standing]) -> None:
    bands = tank_bands(tank)
    for what in WHATS:
        band = bands.of(what)
        assert band.set_by_low
        assert band.set_by_high
        assert band.sources
        assert len(set(band.sources)) == len(band.sources)


# --- the verdict -------------------------------------------------------------------------------------------

PH = tank_bands([]).ph


@pytest.mark.parametrize(
    ("value", "place", "urgent"),
    [
        (4.9, "low", True),
        (5.0, "low", False),
        (5.49, "low", False),
        (5.5, "near_low", False),
        (5.59, "near_low", False),
        (5.6, "in", False),
        (5.9, "in", False),
        (6.2, "in", False),
        (6.21, "near_high", False),
        (6.5, "near_high", False),
        (6.51, "high", False),
        (7.0, "high", False),
        (7.1, "high", True),
    ],
)
def test_where_a_reading_lies(value: float, place: str, urgent: bool) -> None:
    said = verdict(value, PH)
    assert (said.place, said.is_urgent) == (place, urgent)
    assert said.needs_action == (place in ("low", "high"))


def test_rounding_of_floats_moves_no_verdict() -> None:
    assert verdict(0.1 + 0.2 + 5.2, PH).place == "near_low"
    assert verdict(math.nextafter(6.5, 7), PH).place == "near_high"


def test_oxygen_has_no_urgent_upper_end() -> None:
    assert critical_ends("lettuce", "dissolved_oxygen_mg_l") == (3.0, None)
