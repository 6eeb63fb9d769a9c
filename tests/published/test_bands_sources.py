"""Bands against what publications say grew well or badly; each row names its source (data/sources.csv)."""

import pytest

from domain.bands import crop_band, tank_bands, verdict
from domain.wants import What


@pytest.mark.parametrize(
    ("crop", "what", "value", "source"),
    [
        ("lettuce", "ph", 5.8, "rutgers_env: set point of the floating system"),
        ("lettuce", "ec_ms_cm", 1.20, "rutgers_env: set point of the floating system"),
        ("arugula", "ec_ms_cm", 1.5, "yang_2021: lower end of the best strength"),
        ("arugula", "ec_ms_cm", 1.8, "yang_2021: upper end of the best strength"),
        ("collards", "ec_ms_cm", 1.8, "yang_2024: no more yield above"),
        ("kale", "ec_ms_cm", 1.8, "yang_2024: leaf minerals best from 1.5 to 1.8"),
        ("pak choi", "ec_ms_cm", 1.8, "ding_2018: best of eight strengths"),
        ("pak choi", "ec_ms_cm", 2.4, "ding_2018: best of eight strengths"),
        ("tomato", "ec_ms_cm", 2.0, "mendez_2023: best yield"),
        ("cherry tomato", "ec_ms_cm", 2.8, "buck_2008: the strength for yield"),
        ("mint", "ph", 5.6, "uf_ph_pg: target for most crops"),
        ("kale", "ph", 6.2, "uf_ph_pg: target for most crops"),
        ("oregano", "ph", 5.8, "uf_ph_pg: grew without disorder at 5.7 to 6.0"),
        ("oregano", "ec_ms_cm", 1.8, "uf_ph_pg: grew without disorder"),
        ("lettuce", "water_temp_c", 18.3, "hort_water_2021: chilled treatment"),
        ("basil", "water_temp_c", 22.0, "currey_basil_gg: solution of the trial"),
        ("spinach", "water_temp_c", 17.0, "gold_1985: no clear loss from root rot"),
        ("lettuce", "dissolved_oxygen_mg_l", 6.3, "foods_2022: setting of the facility"),
    ],
)
def test_what_a_source_aimed_at_is_ideal(crop: str, what: What, value: float, source: str) -> None:
    assert verdict(value, crop_band(crop, what, stage=None)).place == "in", source


@pytest.mark.parametrize(
    ("crop", "what", "value", "source"),
    [
        ("basil", "ec_ms_cm", 0.5, "walters_currey_2018: growth alike from 0.5 to 4.0"),
        ("basil", "ec_ms_cm", 3.0, "chiba_basil_2022: best at 18 days"),
        ("cilantro", "ec_ms_cm", 0.5, "currey_2019: growth alike from 0.5 to 4.0"),
        ("parsley", "ec_ms_cm", 2.5, "currey_2019: growth alike from 0.5 to 4.0"),
        ("lettuce", "ec_ms_cm", 1.8, "foods_2022: setting of one facility"),
        ("lettuce", "ph", 6.3, "foods_2022: setting of one facility"),
        ("basil", "ph", 6.5, "fao589: 5.5 to 6.5"),
        ("cherry tomato", "ec_ms_cm", 4.7, "buck_2008: less yield, sweeter fruit"),
        ("spinach", "ph", 5.8, "uf_ph_pg: stayed at 5.7 to 6.0 in the trial"),
        ("lettuce", "water_temp_c", 21.1, "hortsci_59_255: chilled treatment"),
    ],
)
def test_what_a_source_found_harmless_needs_no_action(
    crop: str, what: What, value: float, source: str
) -> None:
    assert not verdict(value, crop_band(crop, what, stage=None)).needs_action, source


@pytest.mark.parametrize(
    ("crop", "what", "value", "place", "urgent", "source"),
    [
        ("arugula", "ph", 7.0, "high", False, "uf_ph_pg: short of iron"),
        ("lettuce", "ec_ms_cm", 9.6, "high", False, "ding_2018: the strongest of eight, for pak choi"),
        ("spinach", "water_temp_c", 23.5, "high", True, "bates_1984: P. aphanidermatum takes over above 23"),
        ("spinach", "water_temp_c", 27.0, "high", True, "gold_1985: dead within 3 to 4 days"),
        ("lettuce", "water_temp_c", 27.5, "high", True, "gold_1985, for spinach"),
        ("lettuce", "dissolved_oxygen_mg_l", 0.3, "low", True, "goto_1996, yoshida_1997: growth fell"),
    ],
)
def test_what_a_source_found_harmful_calls_for_action(
    crop: str, what: What, value: float, place: str, urgent: bool, source: str
) -> None:
    said = verdict(value, crop_band(crop, what, stage=None))
    assert (said.place, said.is_urgent) == (place, urgent), source


@pytest.mark.parametrize(
    ("what", "low", "high", "source"),
    [
        ("ph", 5.6, 6.2, "uf_ph_pg: target for most crops"),
        ("ph", 5.8, 6.5, "agrikultuur_2016: soilless growing"),
    ],
)
def test_a_tank_of_which_nothing_is_known_bears_what_is_published(
    what: What, low: float, high: float, source: str
) -> None:
    band = tank_bands([]).of(what)
    assert band.tolerable_low <= low, source
    assert band.tolerable_high >= high, source
