"""Meters, labels and balances of mass: round trips, directions, and refusals outside their ranges."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from domain.chemistry import conductivity, label, mixing
from domain.chemistry.conductance import (
    SALTS,
    ec_of_grade,
    ec_of_ions,
    ec_of_label_dose,
    ec_of_salts,
    solution_of_ions,
)
from domain.chemistry.gases import co2_at_rest_mg_l, oxygen_saturation_mg_l, pressure_at_altitude_atm
from domain.chemistry.meters import ph_shown_uncompensated
from domain.chemistry.solution import ph
from domain.facts import Product

ATOMIC_MASS = {"K": 39.098, "Na": 22.990, "Ca": 40.078, "Mg": 24.305, "Cl": 35.45}
ION_MASS = ATOMIC_MASS | {
    "NO3": 62.004,
    "SO4": 96.056,
    "NH4": 18.039,
    "phosphate": 96.986,
    "carbonate": 61.016,
}
"""IUPAC standard atomic weights; phosphate as H2PO4, carbonate as HCO3. [g/mol]"""
WATER_G_MOL = 18.015


@given(st.floats(0, 6), st.sampled_from(sorted(conductivity.PPM_SCALES)))
def test_ppm_and_back(ec: float, scale: int) -> None:
    assert conductivity.ec_from_ppm(conductivity.ppm_from_ec(ec, scale), scale) == pytest.approx(ec)


@pytest.mark.parametrize("convert", [conductivity.ppm_from_ec, conductivity.ec_from_ppm])
def test_an_unknown_scale_is_refused(convert: object) -> None:
    with pytest.raises(ValueError, match="scale of 442"):
        convert(1.0, 442)  # type: ignore[operator]


@given(st.floats(0.0, 35.9), st.floats(0.1, 3.0))
def test_compensation_turns_about_25_degrees(temperature: float, ec: float) -> None:
    for compensated in (
        conductivity.to_25c_linear(ec, temperature),
        conductivity.to_25c_natural_water(ec, temperature),
    ):
        assert (compensated >= ec) == (temperature <= 25.0) or compensated == pytest.approx(ec)


@given(st.floats(10.0, 30.0))
def test_both_compensations_agree_in_a_living_room(temperature: float) -> None:
    """The two rules, 1.9 and 2.1 %/degC differ by 2.5 % at 15 degC, 4 % at 10 degC."""
    linear = conductivity.to_25c_linear(1.0, temperature)
    natural = conductivity.to_25c_natural_water(1.0, temperature)
    assert linear == pytest.approx(natural, rel=0.04)


@pytest.mark.parametrize("temperature", [-0.1, 36.0])
def test_the_table_is_not_stretched(temperature: float) -> None:
    with pytest.raises(ValueError, match=r"35\.9"):
        conductivity.to_25c_natural_water(1.0, temperature)


@pytest.mark.parametrize(
    "formula",
    [name for name in SALTS if name not in {"urea", "K2CO3", "HNO3"} and "carbonate" not in SALTS[name][1]],
)
def test_salt_weighs_as_much_as_its_ions_and_water(formula: str) -> None:
    molar_mass, ions = SALTS[formula]
    waters = {"Ca(NO3)2.4H2O": 4, "MgSO4.7H2O": 7, "5Ca(NO3)2.NH4NO3.10H2O": 10}.get(formula, 0)
    mass = sum(ION_MASS[ion] * count for ion, count in ions.items()) + waters * WATER_G_MOL
    assert molar_mass == pytest.approx(mass, abs=0.05)


@given(st.sampled_from([name for name in SALTS if name != "urea"]), st.floats(0.05, 0.9))
def test_more_salt_conducts_more_and_each_gram_less(formula: str, grams: float) -> None:
    weaker, stronger = ec_of_salts({formula: grams}), ec_of_salts({formula: grams * 1.1})
    assert weaker < stronger < 1.1 * weaker + 1e-3


def test_ions_without_a_name_are_refused() -> None:
    with pytest.raises(KeyError, match="Fe"):
        ec_of_ions({"Fe": 1e-3})


def test_free_acid_conducts_five_times_as_much_as_its_salt() -> None:
    """An EC jump after acid means acid that has not reacted (CRC: HNO3 28.4, KNO3 5.5 mS/cm at 0.5 %)."""
    acid, salt = ec_of_ions({"NO3": 5e-3}), ec_of_ions({"K": 5e-3, "NO3": 5e-3})
    assert 2.5 < acid / salt < 3.5


def test_pure_water_has_almost_no_conductivity() -> None:
    """0.055 uS/cm, the figure of every water purifier."""
    assert ec_of_ions({}) == pytest.approx(5.5e-5, rel=0.03)
    assert ph(solution_of_ions({})) == pytest.approx(7.0, abs=0.01)


@given(st.floats(0, 30), st.floats(0, 30), st.floats(0, 30), st.floats(0.1, 1.5))
def test_a_grade_gives_a_range(n: float, p2o5: float, k2o: float, grams: float) -> None:
    found = ec_of_grade(n, p2o5, k2o, grams)
    assert 0.0 <= found.low_ms_cm <= found.high_ms_cm * 1.001 + 1e-9


def test_a_label_dose_is_read_with_its_unit() -> None:
    """A millilitre of liquid feed weighs up to 1.3 g, a gram is a gram."""

    def feed(unit: str) -> Product:
        return Product(role="nutrient", n_pct=5, p2o5_pct=3, k2o_pct=8, dose_per_litre=2.0, dose_unit=unit)

    powder, liquid = ec_of_label_dose(feed("g")), ec_of_label_dose(feed("ml"))
    assert powder is not None
    assert liquid is not None
    assert powder.low_ms_cm == pytest.approx(liquid.low_ms_cm)
    assert 1.2 < liquid.high_ms_cm / powder.high_ms_cm < 1.3
    assert ec_of_label_dose(Product(role="nutrient", dose_per_litre=2.0, dose_unit="g")) is None
    assert ec_of_label_dose(Product(role="nutrient", n_pct=5, p2o5_pct=3, k2o_pct=8)) is None


@given(st.sampled_from(sorted(label.OXIDES)), st.floats(0, 60))
def test_oxide_and_element(oxide: str, percent: float) -> None:
    assert label.oxide_from_element(oxide, label.element_from_oxide(oxide, percent)) == pytest.approx(percent)


@given(st.floats(1, 300), st.floats(1, 50), st.floats(1, 500))
def test_grams_for_a_strength_give_that_strength(mg_l: float, percent: float, volume: float) -> None:
    grams = label.grams_for(mg_l, percent, volume)
    assert label.mg_l_from_label(grams / volume, percent) == pytest.approx(mg_l)


strengths = st.floats(0.01, 5.0)


@given(strengths, strengths, st.floats(0, 1))
def test_swapping_the_share_asked_for_gives_what_was_wanted(now: float, water: float, share: float) -> None:
    wanted = mixing.after_swaps(now, water, share)
    if abs(now - water) < 1e-6:
        return
    assert mixing.swap_fraction(now, water, wanted) == pytest.approx(share, abs=1e-6)


@given(strengths, st.floats(1, 200), st.floats(0.01, 0.9))
def test_diluting_gives_what_was_wanted(now: float, volume: float, share: float) -> None:
    wanted = now * share
    litres = mixing.litres_to_dilute(volume, now, 0.0, wanted)
    assert mixing.after_top_up(now, volume, 0.0, litres) == pytest.approx(wanted)


@given(strengths, st.floats(5, 200), st.floats(0.01, 0.9))
def test_what_evaporates_comes_back_as_pure_water(now: float, volume: float, share: float) -> None:
    left = mixing.after_evaporation(now, volume, share * volume)
    assert left > now
    assert mixing.after_top_up(left, volume * (1 - share), 0.0, volume * share) == pytest.approx(now)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: mixing.swap_fraction(1.0, 0.4, 1.6),
        lambda: mixing.swap_fraction(2.0, 0.4, 0.2),
        lambda: mixing.swap_fraction(1.0, 1.0, 1.5),
        lambda: mixing.litres_to_dilute(20, 1.0, 0.4, 0.3),
        lambda: mixing.litres_to_dilute(20, 1.0, 0.4, 1.5),
    ],
)
def test_what_that_water_cannot_do_is_refused(ask: object) -> None:
    with pytest.raises(ValueError, match="never gives"):
        ask()  # type: ignore[operator]


@given(st.floats(0.05, 0.95), st.floats(0.05, 0.95))
def test_the_number_of_swaps_is_just_enough(share: float, fraction: float) -> None:
    times = mixing.swaps_to_leave(share, fraction)
    assert mixing.after_swaps(1.0, 0.0, fraction, times) <= share + 1e-9
    assert times == 0 or mixing.after_swaps(1.0, 0.0, fraction, times - 1) > share - 1e-9


def test_a_bleed_brings_a_useless_ion_to_rest() -> None:
    """Day after day: half a litre out, two litres evaporate, all of it filled up from the tap (30 mg/L)."""
    sodium = 0.0
    for _ in range(400):
        sodium = mixing.after_evaporation(sodium, 20 - 0.5, 2.0)
        sodium = mixing.after_top_up(sodium, 20 - 2.5, 30.0, 2.5)
    assert sodium == pytest.approx(mixing.resting_strength_with_bleed(30.0, 2.0, 0.5), rel=1e-3)


@given(st.floats(0, 39), st.floats(0.1, 1.0))
def test_warm_water_holds_less_oxygen(temperature: float, warmer: float) -> None:
    assert oxygen_saturation_mg_l(temperature) > oxygen_saturation_mg_l(temperature + warmer)


@given(st.floats(0, 3000), st.floats(1, 1000))
def test_the_air_thins_with_height(altitude: float, higher: float) -> None:
    assert pressure_at_altitude_atm(altitude) > pressure_at_altitude_atm(altitude + higher)


def test_sea_level_and_an_impossible_height() -> None:
    assert pressure_at_altitude_atm(0.0) == 1.0
    with pytest.raises(ValueError, match="9000"):
        pressure_at_altitude_atm(9000.0)


def test_carbon_dioxide_of_water_at_rest() -> None:
    """About half a milligram a litre outdoors at 25 degC; text-book figure, from memory."""
    assert co2_at_rest_mg_l(25.0, 10**-3.4) == pytest.approx(0.6, abs=0.05)


@given(st.floats(3, 10), st.floats(0, 45))
def test_an_electrode_is_right_at_its_own_temperature_and_at_seven(value: float, temperature: float) -> None:
    assert ph_shown_uncompensated(value, 25.0) == pytest.approx(value)
    assert ph_shown_uncompensated(7.0, temperature) == 7.0
