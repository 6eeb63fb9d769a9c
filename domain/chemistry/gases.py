"""Oxygen and carbon dioxide over water: what the air allows, not what the roots have.

Carbon dioxide's part in pH is in ``solution``; its solubility, which both rooms need, in ``species``.
"""

from __future__ import annotations

import math

from domain.chemistry.species import KELVIN, co2_solubility_mol_l_atm

__all__ = ["co2_at_rest_mg_l", "oxygen_saturation_mg_l", "pressure_at_altitude_atm"]

CO2_G_MOL = 44.009
"""IUPAC standard atomic weights."""


def oxygen_saturation_mg_l(temperature_c: float, pressure_atm: float = 1.0) -> float:
    """Dissolved oxygen in fresh water at rest under moist air. [mg/L]

    temperature_c : 0 to 40. [degC]
    pressure_atm : of the air, 0.5 to 1.1. [atm]
    Raises ValueError outside these ranges; never clamps.
    Accuracy: the published table to its third decimal at 1 atm. Nutrient salts lower it by less than 1 %.
    Source: Benson & Krause 1984, as in APHA Standard Methods 4500-O; the pressure term from memory.
    """
    if not 0.0 <= temperature_c <= 40.0:
        raise ValueError(f"oxygen saturation is known from 0 to 40 degC, not at {temperature_c}")
    if not 0.5 <= pressure_atm <= 1.1:
        raise ValueError(f"oxygen saturation is known from 0.5 to 1.1 atm, not at {pressure_atm}")
    kelvin = temperature_c + KELVIN
    at_one_atm = math.exp(
        -139.34411
        + 1.575701e5 / kelvin
        - 6.642308e7 / kelvin**2
        + 1.243800e10 / kelvin**3
        - 8.621949e11 / kelvin**4
    )
    vapour_atm = math.exp(11.8571 - 3840.70 / kelvin - 216961.0 / kelvin**2)
    theta = 0.000975 - 1.426e-5 * temperature_c + 6.436e-8 * temperature_c**2
    dry = (1.0 - vapour_atm / pressure_atm) * (1.0 - theta * pressure_atm)
    return at_one_atm * pressure_atm * dry / ((1.0 - vapour_atm) * (1.0 - theta))


def pressure_at_altitude_atm(altitude_m: float) -> float:
    """Usual air pressure at a height. [atm]

    altitude_m : above the sea, -500 to 5000. [m]
    Raises ValueError outside this range.
    Source: the international standard atmosphere, lowest layer.
    """
    if not -500.0 <= altitude_m <= 5000.0:
        raise ValueError(f"no garden is known at {altitude_m} m")
    return float((1.0 - 2.25577e-5 * altitude_m) ** 5.25588)


def co2_at_rest_mg_l(temperature_c: float, pco2_atm: float) -> float:
    """Dissolved carbon dioxide of water at rest with air. [mg/L]

    temperature_c : 0 to 45. [degC]
    pco2_atm : carbon dioxide in that air; 0.0004 outdoors, 0.001 in an occupied room. [atm]
    Source: Plummer & Busenberg 1982.
    """
    return float(co2_solubility_mol_l_atm(temperature_c)) * pco2_atm * CO2_G_MOL * 1000.0
