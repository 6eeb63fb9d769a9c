"""How an imperfect meter strays from what is in the water."""

from __future__ import annotations

from domain.chemistry.species import KELVIN

__all__ = ["ph_shown_uncompensated"]

ISOPOTENTIAL_PH = 7.0
"""Where a glass electrode gives no voltage at any temperature; common practice."""


def ph_shown_uncompensated(ph: float, temperature_c: float, calibrated_at_c: float = 25.0) -> float:
    """What a perfect electrode without temperature compensation shows. [pH]

    ph : of the sample, at its temperature. temperature_c, calibrated_at_c : 0 to 45. [degC]
    The liquid's own change with temperature is real and no part of this: see ``solution.ph``.
    Source: Nernst's slope, which goes with the absolute temperature.
    """
    slope = (temperature_c + KELVIN) / (calibrated_at_c + KELVIN)
    return ISOPOTENTIAL_PH + (ph - ISOPOTENTIAL_PH) * slope
