"""Spellings of units, and what they come to in the units that the journal keeps.

``UNITS`` is the one table of spellings for chat texts: a lookup in a dictionary, no arithmetic on names.
The ``..._from`` functions read answers to set-up questions and lines from labels; they may use pint,
which is imported only there, and only with unit names that stand in their own lists.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal, TypeVar

__all__ = [
    "UNITS",
    "Dimension",
    "Unit",
    "alkalinity_eq_l_from",
    "calcium_mol_l_from",
    "celsius_from_fahrenheit",
    "ec_ms_cm_from",
    "litres_from",
    "phosphate_mol_l_from",
    "temperature_c_from",
]

Dimension = Literal[
    "volume",
    "mass",
    "count",
    "temperature",
    "ec",
    "ppm",
    "percent",
    "length",
    "duration",
    "concentration",
    "ounce",
    "factor",
]
"""What a unit measures. ``ounce``: a mass or, of a liquid, a volume; ``factor``: the conductivity factor."""


@dataclass(frozen=True, slots=True)
class Unit:
    """One spelling's meaning: ``value * factor`` is in ``canonical``."""

    dimension: Dimension
    canonical: str
    factor: float


# 1 US gallon is 231 cubic inches, 3.785411784 L (NIST Handbook 44, Appendix C); the imperial gallon is
# 4.54609 L (Weights and Measures Act 1985); both exact. Cups and spoons as on nutrition labels: cup 240 ml,
# tablespoon 15 ml, teaspoon 5 ml (21 CFR 101.9(b)(5)(viii)).
US_GALLON_L = 3.785411784
IMPERIAL_GALLON_L = 4.54609
US_FLUID_OUNCE_ML = 1000 * US_GALLON_L / 128
OUNCE_G = 28.349523125
POUND_G = 453.59237

_T = TypeVar("_T")
_ML, _G = "ml", "g"

_SPELLINGS: tuple[tuple[str, Dimension, str, float], ...] = (
    ("l lt lts ltr ltrs liter liters litre litres litro litros", "volume", _ML, 1000),
    ("dl deciliter deciliters decilitre decilitres", "volume", _ML, 100),
    ("cl centiliter centiliters centilitre centilitres", "volume", _ML, 10),
    (
        "ml mls mil mils cc ccm milliliter milliliters millilitre millilitres mililiter mililitre",
        "volume",
        _ML,
        1,
    ),
    ("mililitros mililiters mililitres", "volume", _ML, 1),
    ("gal gals gallon gallons galon galons gallon/s", "volume", _ML, 1000 * US_GALLON_L),
    ("imperial_gallon", "volume", _ML, 1000 * IMPERIAL_GALLON_L),
    ("qt qts quart quarts", "volume", _ML, 250 * US_GALLON_L),
    ("pint pints", "volume", _ML, 125 * US_GALLON_L),
    ("cup cups", "volume", _ML, 240),
    ("fluid_ounce floz", "volume", _ML, US_FLUID_OUNCE_ML),
    ("tsp tsps teaspoon teaspoons teaspoonful teaspoonfuls", "volume", _ML, 5),
    ("tbsp tbsps tbs tbl tablespoon tablespoons tablespoonful tablespoonfuls", "volume", _ML, 15),
    ("oz ozs ounce ounces", "ounce", "oz", 1),
    ("mg mgs milligram milligrams", "mass", _G, 0.001),
    ("g gr grs gm gms gram grams gramme grammes gramos", "mass", _G, 1),
    ("kg kgs kilo kilos kilogram kilograms", "mass", _G, 1000),
    ("lb lbs pound pounds", "mass", _G, POUND_G),
    ("drop drops", "count", "drop", 1),
    ("squirt squirts", "count", "squirt", 1),
    ("scoop scoops scoopful scoopfuls", "count", "scoop", 1),
    ("capful capfuls cap caps capfull capfulls", "count", "capful", 1),
    ("pump pumps", "count", "pump", 1),
    ("celsius", "temperature", "c", 1),
    ("fahrenheit", "temperature", "f", 1),
    ("ms ms/cm millisiemens ds/m ds", "ec", "ms_cm", 1),
    ("us us/cm microsiemens", "ec", "ms_cm", 0.001),
    ("ppm ppms", "ppm", "ppm", 1),
    ("% percent pct", "percent", "%", 1),
    ("mg/l", "concentration", "mg_l", 1),
    ("mm millimeter millimeters millimetre millimetres", "length", "cm", 0.1),
    ("cm cms centimeter centimeters centimetre centimetres", "length", "cm", 1),
    ("inch inches", "length", "cm", 2.54),
    ("cf", "factor", "ms_cm", 0.1),
)

UNITS: dict[str, Unit] = {
    spelling: Unit(dimension, canonical, factor)
    for spellings, dimension, canonical, factor in _SPELLINGS
    for spelling in spellings.split()
}
"""Every spelling, in lower case, that a chat text may use. The reader joins longer ones (``fl oz``)."""


def celsius_from_fahrenheit(temp_f: float) -> float:
    """The same temperature in °C. [temp_f: °F]"""
    return (temp_f - 32) / 1.8


def _by_name(*rows: tuple[_T, str]) -> dict[str, _T]:
    """Every spelling with what it stands for."""
    return {name: meaning for meaning, names in rows for name in names.split("|")}


_AMOUNT = re.compile(r"\s*(?:about|approx\.?|~)?\s*(\d{1,9}(?:[.,]\d{1,9})?)\s*([^\d\s].{0,40})?\s*")

_VOLUME_NAMES = _by_name(
    ("litre", "l|lt|ltr|liter|liters|litre|litres"),
    ("millilitre", "ml|mls|milliliter|milliliters|millilitre|millilitres"),
    ("US_liquid_gallon", "gal|gals|gallon|gallons|us gal|us gallon|us gallons"),
    ("imperial_gallon", "imp gal|imperial gallon|imperial gallons|uk gal|uk gallon|uk gallons"),
    ("US_liquid_quart", "qt|qts|quart|quarts"),
    ("metre ** 3", "m3|m³|cubic metre|cubic metres|cubic meter|cubic meters"),
    ("foot ** 3", "cu ft|cubic foot|cubic feet|ft3"),
)

_TEMPERATURE_NAMES = _by_name(
    ("degC", "c|°c|° c|deg c|degrees c|celsius|degrees celsius|centigrade"),
    ("degF", "f|°f|° f|deg f|degrees f|fahrenheit|degrees fahrenheit"),
    ("kelvin", "k|kelvin"),
)

# Hardness degrees as mg/L of CaCO3: a German degree is 10 mg/L of CaO, a French one 10 mg/L of CaCO3, a Clark
# degree one grain in an imperial gallon (14.254 mg/L), gpg one grain in a US gallon (17.118 mg/L). From
# memory.
_CACO3_MG_L_PER_EQ_L = 50043.5
"""Half the molar mass of CaCO3 (100.0869 g/mol, IUPAC atomic weights), in mg for one equivalent."""

_BICARBONATE_MG_L_PER_EQ_L = 61016.8
"""Molar mass of HCO3- (61.0168 g/mol, IUPAC atomic weights), in mg for one equivalent."""

_ALKALINITY_EQ_L = _by_name(
    (
        1 / _CACO3_MG_L_PER_EQ_L,
        "mg/l|ppm|mg/l caco3|ppm caco3|mg/l as caco3|ppm as caco3|mg/l (caco3)|ppm (caco3)",
    ),
    (17.848 / _CACO3_MG_L_PER_EQ_L, "dh|°dh|dkh|°dkh|kh|german degrees"),
    (10 / _CACO3_MG_L_PER_EQ_L, "fh|°fh|°f|french degrees"),
    (14.254 / _CACO3_MG_L_PER_EQ_L, "clark|°clark|°e|english degrees"),
    (17.118 / _CACO3_MG_L_PER_EQ_L, "gpg|grains|grains per gallon"),
    (1e-3, "meq/l|mval/l|meq|mmol/l hco3|mmol/l kh"),
    (
        1 / _BICARBONATE_MG_L_PER_EQ_L,
        "ppm hco3|mg/l hco3|mg/l bicarbonate|ppm bicarbonate|mg/l as hco3|ppm as hco3",
    ),
)
"""eq/L in one of each unit in which a label or a water report gives alkalinity."""

# Molar masses from the IUPAC atomic weights, in mg a mole: P 30.974, PO4 94.971, P2O5 141.945 (of two P), Ca
# 40.078, CaCO3 100.087.
_PHOSPHATE_MOL_L = _by_name(
    (1e-3, "mmol/l|mm|mmol"),
    (1 / 30_973.8, "mg/l p|ppm p|mg/l as p|ppm as p|mg/l po4-p"),
    (1 / 94_971.4, "mg/l po4|ppm po4|mg/l as po4|mg/l phosphate|ppm phosphate"),
    (2 / 141_944.5, "mg/l p2o5|ppm p2o5|mg/l as p2o5"),
)
_CALCIUM_MOL_L = _by_name(
    (1e-3, "mmol/l|mm|mmol"),
    (0.5e-3, "meq/l|mval/l|meq"),
    (1 / 40_078.0, "mg/l|ppm|mg/l ca|ppm ca|mg/l as ca|mg/l calcium"),
    (1 / 100_086.9, "mg/l caco3|ppm caco3|mg/l as caco3|ppm as caco3"),
)
_EC_MS_CM = _by_name(
    (1.0, "|ms|ms/cm|ds/m|ec|mmho/cm"),
    (1e-3, "us|µs|μs|us/cm|µs/cm|μs/cm|umho/cm"),
    (0.1, "cf"),
    (1 / 500, "ppm 500|ppm500|ppm (500)"),
    (1 / 640, "ppm 640|ppm640|ppm (640)"),
    (1 / 700, "ppm 700|ppm700|ppm (700)"),
)


def litres_from(text: str) -> float:
    """The volume that an answer such as ``45 L``, ``12 gal`` or ``10 imperial gallons`` gives. [L]

    text : a number and a unit; a number alone is refused.
    Raises ValueError with a line for the person who answered.
    """
    number, unit = _number_and_unit(text, _VOLUME_NAMES, "litres or gallons, such as 45 L")
    return float(_registry().Quantity(number, unit).to("litre").magnitude)


def temperature_c_from(text: str) -> float:
    """The temperature that an answer such as ``66 °F`` gives. [°C]

    Raises ValueError with a line for the person who answered.
    """
    number, unit = _number_and_unit(text, _TEMPERATURE_NAMES, "a temperature, such as 19 C or 66 F")
    return float(_registry().Quantity(number, unit).to("degC").magnitude)


def alkalinity_eq_l_from(text: str) -> float:
    """The alkalinity that an answer such as ``120 mg/L``, ``7 dH`` or ``2.5 meq/L`` gives. [eq/L]

    text : mg/L or ppm as CaCO3 (also where only mg/L stands), dH, fH, Clark, gpg, meq/L, or mg/L of HCO3.
    Raises ValueError with a line for the person who answered.
    """
    number, per_unit = _number_and_unit(text, _ALKALINITY_EQ_L, "an alkalinity, such as 120 mg/L or 7 dH")
    return number * per_unit


def phosphate_mol_l_from(text: str) -> float:
    """The phosphate that an answer such as ``1 mmol/L``, ``31 mg/L P`` or ``95 mg/L PO4`` gives. [mol/L]

    text : mg/L alone is refused: it may be of P or of PO4.
    Raises ValueError with a line for the person who answered.
    """
    wanted = "a phosphate, such as 1 mmol/L, 31 mg/L P or 95 mg/L PO4"
    number, per_unit = _number_and_unit(text, _PHOSPHATE_MOL_L, wanted)
    return number * per_unit


def calcium_mol_l_from(text: str) -> float:
    """The calcium that an answer such as ``2 mmol/L``, ``80 mg/L`` or ``200 mg/L CaCO3`` gives. [mol/L]

    text : mg/L alone is of calcium.
    Raises ValueError with a line for the person who answered.
    """
    number, per_unit = _number_and_unit(text, _CALCIUM_MOL_L, "a calcium, such as 80 mg/L or 2 mmol/L")
    return number * per_unit


def ec_ms_cm_from(text: str) -> float:
    """The strength that an answer such as ``1.4``, ``1400 µS/cm`` or ``720 ppm 500`` gives. [mS/cm]

    text : a number alone is in mS/cm; ppm need the scale of the meter behind them.
    Raises ValueError with a line for the person who answered.
    """
    wanted = "a strength, such as 1.4 mS/cm, 1400 µS/cm or, with the meter's scale, 720 ppm 500"
    number, per_unit = _number_and_unit(text, _EC_MS_CM, wanted)
    return number * per_unit


def _number_and_unit(text: str, names: dict[str, _T], wanted: str) -> tuple[float, _T]:
    found = _AMOUNT.fullmatch(text[:80])
    unit = " ".join((found[2] or "").lower().split()).rstrip(".") if found else ""
    if found is None or unit not in names:
        raise ValueError(f"I need {wanted}.")
    return float(found[1].replace(",", ".")), names[unit]


@cache
def _registry() -> Any:
    """pint's registry, made once and only when an answer needs it (0.4 s)."""
    from pint import UnitRegistry

    return UnitRegistry()
