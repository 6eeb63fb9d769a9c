"""A simulated tank: what a tester would show, as plants drink, water goes and people pour.

The rates are those of a small indoor tank with a dozen young plants, from memory; they make a plausible story
and are no truth to check advice against. The pH itself is worked out by ``domain.chemistry``.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from domain.chemistry.solution import (
    Solution,
    exchanged,
    mixed,
    ph,
    source_water,
    with_nutrient,
    with_reagent,
)

__all__ = ["Tank"]

FULL_L = 40.0
TAP_ALKALINITY_EQ_L = 0.8e-3
TAP_EC_MS_CM = 0.4
FEED_EC_MS_CM = 1.0
LOST_L_A_DAY = 0.9
"""By leaves and from the surface, as water without salts."""
DRUNK_SHARE_A_DAY = 0.022
"""Of the feed, taken up by roots each day."""
NITRATE_EQ_L_A_DAY = 0.04e-3
"""Roots give back alkalinity as they take up nitrate."""
AIRED_PER_H = 0.4
ACID_MOL_ML = 0.10 * 1.053 / 97.99
"""Phosphoric acid 10 % w/w: 1.053 g/ml, 97.99 g/mol. [mol/ml]"""
_CONSERVED = (
    "strong_charge_eq_l",
    "carbon_mol_l",
    "phosphate_mol_l",
    "calcium_mol_l",
    "magnesium_mol_l",
    "sulfate_mol_l",
    "other_ions_mol_l",
)


@dataclass
class Tank:
    """What is in it now. ``feed_ms_cm``: the part of the conductivity that the feed brings. [mS/cm]"""

    litres: float = FULL_L
    temperature_c: float = 20.0
    tap_ms_cm: float = TAP_EC_MS_CM
    feed_ms_cm: float = FEED_EC_MS_CM
    water: Solution = field(init=False)

    def __post_init__(self) -> None:
        self.water = with_nutrient(self._tap(), ec_ms_cm=self.feed_ms_cm)

    @property
    def ph(self) -> float:
        return float(ph(self.water))

    @property
    def ec_ms_cm(self) -> float:
        return self.tap_ms_cm + self.feed_ms_cm

    def pass_time(self, hours: float) -> None:
        """Plants drink and feed, water goes, carbon dioxide leaves. hours : 0 to 48. [h]"""
        days = hours / 24.0
        left_l = max(self.litres - LOST_L_A_DAY * days, 1.0)
        thicker = self.litres / left_l
        self.litres = left_l
        fed = (1.0 - DRUNK_SHARE_A_DAY) ** days
        self.feed_ms_cm *= thicker * fed
        self.tap_ms_cm *= thicker
        grown = replace(self.water, **{name: getattr(self.water, name) * thicker for name in _CONSERVED})
        grown = replace(
            grown,
            temperature_c=self.temperature_c,
            phosphate_mol_l=grown.phosphate_mol_l * fed,
            strong_charge_eq_l=grown.strong_charge_eq_l + NITRATE_EQ_L_A_DAY * days,
        )
        self.water = exchanged(grown, rate_per_h=AIRED_PER_H, hours=hours)

    def top_up(self, litres: float) -> None:
        """Plain tap water. litres : 0 or more. [L]"""
        self._pour(litres, self._tap(), 0.0)

    def change(self) -> None:
        """All of it, for tap water with fresh feed."""
        self.litres, self.tap_ms_cm, self.feed_ms_cm = FULL_L, TAP_EC_MS_CM, FEED_EC_MS_CM
        self.water = with_nutrient(self._tap(), ec_ms_cm=FEED_EC_MS_CM)

    def add_acid(self, ml: float) -> None:
        """Phosphoric acid of 10 %. ml : 0 to 50. [mL]"""
        self.water = with_reagent(self.water, "phosphoric acid", ml * ACID_MOL_ML / self.litres)

    def _pour(self, litres: float, water: Solution, feed_ms_cm: float) -> None:
        share = litres / (self.litres + litres)
        self.water = mixed(self.water, water, share)
        self.feed_ms_cm = (1.0 - share) * self.feed_ms_cm + share * feed_ms_cm
        self.tap_ms_cm = (1.0 - share) * self.tap_ms_cm + share * TAP_EC_MS_CM
        self.litres += litres

    def _tap(self) -> Solution:
        return source_water(ph=7.6, alkalinity_eq_l=TAP_ALKALINITY_EQ_L, temperature_c=self.temperature_c)
