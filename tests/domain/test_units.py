"""Units: the table against pint, and answers from labels and water reports against published equivalents."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint import UnitRegistry

from domain.units import UNITS, alkalinity_eq_l_from, celsius_from_fahrenheit, litres_from, temperature_c_from

REGISTRY = UnitRegistry()
LEAST = -273.15
"""No answer gives less: absolute zero. [°C]"""

PINT_NAMES = {
    "l": "litre",
    "dl": "decilitre",
    "ml": "millilitre",
    "gal": "US_liquid_gallon",
    "imperial_gallon": "imperial_gallon",
    "qt": "US_liquid_quart",
    "pint": "pint",
    "fluid_ounce": "US_fluid_ounce",
    "g": "gram",
    "mg": "milligram",
    "kg": "kilogram",
    "lb": "pound",
    "inch": "inch",
    "mm": "millimetre",
}


@pytest.mark.parametrize(("spelling", "name"), PINT_NAMES.items())
def test_factors_agree_with_pint(spelling: str, name: str) -> None:
    unit = UNITS[spelling]
    canonical = {"ml": "millilitre", "g": "gram", "cm": "centimetre"}[unit.canonical]
    assert unit.factor == pytest.approx(REGISTRY.Quantity(1, name).to(canonical).magnitude, rel=1e-9)


@pytest.mark.parametrize(
    ("spelling", "millilitres", "source"),
    [
        ("tsp", 5, "21 CFR 101.9(b)(5)(viii): 1 teaspoon means 5 mL"),
        ("tbsp", 15, "21 CFR 101.9(b)(5)(viii): 1 tablespoon means 15 mL"),
        ("cup", 240, "21 CFR 101.9(b)(5)(viii): 1 cup means 240 mL"),
    ],
)
def test_kitchen_measures_are_those_of_labels(spelling: str, millilitres: float, source: str) -> None:
    assert UNITS[spelling].factor == millilitres, source


def test_spellings_are_lower_case_and_say_one_thing() -> None:
    assert all(spelling == spelling.lower() for spelling in UNITS)
    assert UNITS["ms"].canonical == UNITS["us"].canonical == "ms_cm"
    assert UNITS["us"].factor * 1000 == UNITS["ms"].factor


@given(st.floats(min_value=-40, max_value=140))
def test_fahrenheit_agrees_with_pint(temp_f: float) -> None:
    expected = REGISTRY.Quantity(temp_f, "degF").to("degC").magnitude
    assert celsius_from_fahrenheit(temp_f) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "litres"),
    [
        ("45 L", 45),
        ("45l", 45),
        ("about 45 litres", 45),
        ("4,5 L", 4.5),
        ("12 gal", 45.42494),  # 12 x 231 cubic inches, NIST Handbook 44, Appendix C
        ("10 imperial gallons", 45.4609),  # UK Units of Measurement Regulations 1995
        ("0.05 m3", 50),
    ],
)
def test_volumes_of_answers(text: str, litres: float) -> None:
    assert litres_from(text) == pytest.approx(litres, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "temp_c"), [("19 C", 19), ("66 F", 18.8889), ("66°F", 18.8889), ("292.15 K", 19)]
)
def test_temperatures_of_answers(text: str, temp_c: float) -> None:
    assert temperature_c_from(text) == pytest.approx(temp_c, abs=1e-3)


@pytest.mark.parametrize(
    ("text", "mmol_l_charge", "source"),
    [
        ("50.04 mg/L CaCO3", 1.0, "half the molar mass of CaCO3, IUPAC atomic weights"),
        ("50.04 mg/L", 1.0, "water reports give alkalinity as CaCO3 (common practice)"),
        (
            "2.8 dH",
            1.0,
            "1 mmol/L of charge is 2.8 dH: 28.04 mg/L of CaO (half its molar mass), 10 mg/L a degree",
        ),
        ("5 fH", 1.0, "1 mmol/L of charge is 5 fH (from memory)"),
        ("3.51 Clark", 1.0, "1 mmol/L of charge is 3.51 Clark degrees (from memory)"),
        ("2.92 gpg", 1.0, "50.04 / 17.118 (from memory)"),
        ("2.5 meq/L", 2.5, "by definition"),
        ("61.02 mg/L HCO3", 1.0, "molar mass of HCO3-, IUPAC atomic weights"),
    ],
)
def test_alkalinities_of_answers(text: str, mmol_l_charge: float, source: str) -> None:
    assert alkalinity_eq_l_from(text) * 1000 == pytest.approx(mmol_l_charge, rel=2e-3), source


@pytest.mark.parametrize("ask", [litres_from, temperature_c_from, alkalinity_eq_l_from])
@pytest.mark.parametrize(
    "text", ["", "45", "lots", "5.9 ph", "-3 L", "nan L", "1e999 L", "45 parsecs", "4" * 500]
)
def test_anything_else_is_asked_again(ask, text: str) -> None:
    with pytest.raises(ValueError, match="I need"):
        ask(text)


@given(st.text(max_size=40))
def test_any_answer_gives_a_number_or_a_plain_line(text: str) -> None:
    for ask in (litres_from, temperature_c_from, alkalinity_eq_l_from):
        with suppress(ValueError):
            assert ask(text) >= LEAST
