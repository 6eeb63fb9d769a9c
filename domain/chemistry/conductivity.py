"""What a conductivity meter's figure means: at which temperature, on which scale.

Everything elsewhere is mS/cm at 25 degC. A ppm figure without its scale is nothing; a meter that compensates
itself must not be compensated again. What ions conduct is in ``conductance``, which also reads a label's
dose.
"""

from __future__ import annotations

import numpy as np

from domain.chemistry.conductance import EcRange, ec_of_label_dose

__all__ = [
    "LINEAR_PER_DEGREE",
    "PPM_SCALES",
    "EcRange",
    "ec_from_ppm",
    "ec_of_label_dose",
    "ionic_strength_from_ec",
    "ppm_from_ec",
    "to_25c_linear",
    "to_25c_natural_water",
]

LINEAR_PER_DEGREE = 0.019
"""Rise of a nutrient solution's conductivity, per degree, relative to 25 degC. Common practice; potassium
chloride 0.01 mol/kg has 0.0187 at 10 degC to 0.0197 at 30 degC (NIST standards, in the CRC Handbook)."""

PPM_SCALES: dict[int, str] = {
    500: "half of EC: sodium chloride",
    640: "0.64 of EC: USDA Handbook 60 (1954), below 5 mS/cm",
    700: "0.7 of EC: '442', 40 % Na2SO4, 40 % NaHCO3, 20 % NaCl",
}
"""The scales that meters speak, ppm for each mS/cm, and where each comes from. None is the true mass of a
feed, which is 740 to 820."""

_NATURAL_WATER_F25 = (
    (0.0, 1.918),
    (5.0, 1.643),
    (10.0, 1.428),
    (15.0, 1.256),
    (18.0, 1.168),
    (20.0, 1.116),
    (28.0, 0.940),
    (30.0, 0.903),
    (35.0, 0.822),
)
"""ISO 7888:1985, factor from a temperature to 25 degC for natural waters; from a reproduction in a meter's
manual."""

_IONIC_STRENGTH_PER_MS_CM = 0.0117
"""Of a nutrient solution (PHREEQC on the recipe in ``solution.NUTRIENT``); the rule of 0.016, made for other
waters, is a third too high."""


def to_25c_linear(ec_ms_cm: float, temperature_c: float, per_degree: float = LINEAR_PER_DEGREE) -> float:
    """Conductivity at 25 degC of a reading that was not compensated. [mS/cm]

    temperature_c : of the water, 0 to 45. [degC]
    per_degree : relative rise for a degree, 0.0175 to 0.022. [1/degC]
    """
    return ec_ms_cm / (1.0 + per_degree * (temperature_c - 25.0))


def to_25c_natural_water(ec_ms_cm: float, temperature_c: float) -> float:
    """Conductivity at 25 degC of natural water that was not compensated. [mS/cm]

    temperature_c : 0 to 35.9. [degC]
    Raises ValueError outside this range.
    Accuracy: the table's third decimal at its temperatures, 0.002 between them.
    Source: ISO 7888:1985, table for natural water.
    """
    if not 0.0 <= temperature_c <= 35.9:
        raise ValueError(f"the table for natural water ends at 35.9 degC, asked for {temperature_c}")
    # The rise per degree is close to a straight line, the factor itself is not.
    known = [(t, (1.0 / factor - 1.0) / (t - 25.0)) for t, factor in _NATURAL_WATER_F25]
    per_degree = float(np.interp(temperature_c, [t for t, _ in known], [rise for _, rise in known]))
    return to_25c_linear(ec_ms_cm, temperature_c, per_degree)


def ppm_from_ec(ec_ms_cm: float, scale: int) -> float:
    """Dissolved solids that a meter with this scale shows. [ppm]

    ec_ms_cm : at 25 degC. [mS/cm]
    scale : 500, 640 or 700. [ppm per mS/cm]
    Raises ValueError for another scale.
    """
    if scale not in PPM_SCALES:
        raise ValueError(f"no meter is known with a scale of {scale}")
    return ec_ms_cm * scale


def ec_from_ppm(ppm: float, scale: int) -> float:
    """Conductivity at 25 degC behind a meter's ppm. [mS/cm]. As ``ppm_from_ec``."""
    if scale not in PPM_SCALES:
        raise ValueError(f"no meter is known with a scale of {scale}")
    return ppm / scale


def ionic_strength_from_ec(ec_ms_cm: float) -> float:
    """Ionic strength of a nutrient solution, from its conductivity at 25 degC. [mol/L]. Within 10 %."""
    return _IONIC_STRENGTH_PER_MS_CM * ec_ms_cm
