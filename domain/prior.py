"""Guesses that agree with a tank's first reading, before any of its doses has taught something.

What the journal says of a fill and of acid since bounds the alkalinity; how long the water has stood bounds
its CO2; with the reading, either gives the other. Both are uncertain, so guesses are drawn from each side and
weighted by the other. Every spread below is a range from practice or from a published figure, not a fit to
our own results.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from scipy.special import ndtri

from domain.bottles import EQUIVALENTS_NEAR_PH_6, Bottle
from domain.chemistry.reagents import REAGENTS
from domain.chemistry.solution import (
    Solution,
    balanced_at,
    carbon_from_ph,
    pco2_atm,
    tap_ions,
    with_nutrient,
)
from domain.chemistry.species import co2_solubility_mol_l_atm, pka
from domain.guesses import Array, BottleKey, Guesses, bottle_key, even_shares, lognormal, picked
from domain.tank import Dosed, Happening, Read, TankState, Watered

__all__ = [
    "DRIFT_EQ_L_DAY",
    "MOST_CHARGE_EQ_L",
    "dose_mol_l",
    "drift_deviation_eq_l",
    "first_guesses",
    "usual_ec_ms_cm",
]

LN10 = math.log(10.0)

DRIFT_EQ_L_DAY = (0.05e-3, 0.1e-3)
"""Mean, and deviation over a day, of what plants do to alkalinity on nitrate feeds: pH creeps up 0.1 to 0.3 a
day (common practice), which a buffer of 0.25 meq/L for each pH makes 0.025 to 0.075 meq/L."""
_EXCHANGE_PER_H = (0.25, 1.2)
"""Median and log deviation of the rate at which CO2 leaves: still tank 0.03/h, waterfall 2/h (from
memory)."""
_ROOM_LOG_PCO2 = (-3.25, 0.12)
"""A lived-in room with plants: 400 to 1,000 ppm (from memory)."""
_FRESH_LOG_PCO2 = (-2.1, 0.45)
"""Tap water, feed and acid just mixed: the check waters of alkalinity 20 to 300 mg/L at pH 5.8 to 7.5."""
_UNKNOWN_FRESH_LOG_PCO2 = (-2.6, 0.6)
"""The same where nobody told what comes out of the tap: from water at rest in air (soft, aired, rain, reverse
osmosis: -3.4) to a well (-1.5), at 1.5 to 2 deviations (common practice)."""
_MOST_LOG_PCO2 = -0.5
"""A third of an atmosphere: more would bubble out at once."""
MOST_CHARGE_EQ_L = 0.02
"""Of acid or base over the other: several times the hardest tap; beyond it pH is past any dose's reach."""
_MOST_BICARBONATE_MOL_L = 0.02
"""Three times what the hardest taps carry."""
_PHOSPHATE_PER_FEED = (0.7e-3, 0.45)
"""Median [mol/L per mS/cm] and log deviation: complete feeds carry 1 to 2 mmol/L at full strength (common
practice)."""
_PHOSPHATE_DAYS = (10.0, 1.0)
"""Days in which plants take it down to a third, median and log deviation. A lettuce drinks 60 to 90 ml a day
(Barbosa et al. 2015) and takes 0.6 to 1.2 mmol of phosphorus with each litre (dry matter with 0.6 %, 3 to 6 g
of it a litre: Langenfeld et al. 2022): one plant to one or two litres empties a feed of 1 mmol/L in 10 to 50
days, twice as fast where it hoards. Plants can keep it near 0.05 mmol/L (Bugbee's titration of circulating
solution)."""
_SPENT_CHANCE = 0.1
_LEAST_LEFT = 0.05
"""How likely it is that much of the phosphate is gone whatever the days say, and the least that is then left:
a feed poor in it, calcium phosphate that settled from hard water, plants that hoard (from memory)."""
_LEAST_PHOSPHATE_MOL_L = 0.03e-3
_FEED_ACIDITY_EQ_L = 0.15e-3
"""How far feeds differ in the acid or base they bring: common practice."""
_UNTOLD_SHARE = (0.3, 0.5)
"""Mean and deviation of the share of the tap's alkalinity that a tank holds of which the journal tells
nothing: between none, where acid took it, and all of it."""
_DOUBT = (0.1, 0.6)
"""Chance that acid, a refill or a feed was not written down: on a fresh fill, and from a day later on."""
_PHOSPHORIC_SHARE = 0.6
"""Of acids sold as adjusters without a name that are phosphoric; the others leave no buffer behind (from
memory)."""
_EFFECTIVE_PK2 = 6.9
"""Of phosphate where calcium and magnesium pair with it: 6.75 to 7.07 over usual feeds."""
_UNKNOWN_AGE_DAYS = 7.0
_UNKNOWN_REST_H = 24.0
_USUAL_EC_MS_CM = 1.2

_COLUMNS = (
    "alkalinity",
    "phosphate",
    "phosphate_days",
    "exchange",
    "room",
    "volume",
    "ph_down",
    "ph_up",
    "carbon",
    "ph",
    "feed",
    "phosphoric",
    "source_ph",
)


@dataclass(frozen=True, slots=True)
class _Normal:
    """A normal distribution for each guess."""

    middle: Array
    spread: Array

    def density(self, at: Array) -> Array:
        """Up to the constant that all normal densities share."""
        return np.asarray(np.exp(-0.5 * ((at - self.middle) / self.spread) ** 2) / self.spread)

    def draw(self, z: Array) -> Array:
        return self.middle + self.spread * z


def first_guesses(
    state: TankState, anchor: Read, bottles: Mapping[BottleKey, Bottle], count: int, seed: int
) -> Guesses:
    """Guesses that show what the first reading showed, within the tester's error.

    anchor : a reading with a pH.
    bottles : every adjuster that was or may be used.
    seed : of the draws, a Latin hypercube: each unknown takes every share of its range once.
    Raises ValueError where the reading has no pH.
    """
    if anchor.ph is None:
        raise ValueError("the first reading must have a pH")
    generator = np.random.default_rng(seed)
    draws = {name: generator.permutation(even_shares(count)) for name in _COLUMNS}
    guesses = _unread(state, bottles, draws)
    fed = _fed(state, anchor, guesses.water, draws)
    true_ph = anchor.ph + anchor.ph_spread * ndtri(draws["ph"])
    carbon = _log_pco2_prior(state, guesses.exchange_per_h, anchor)
    told = _told_alkalinity(state, guesses, bottles, anchor)
    untold = _untold_alkalinity(guesses.alkalinity_eq_l)
    water, pressure = _drawn(fed, true_ph, ndtri(draws["carbon"]), carbon, told, untold)
    doubt = _doubt(state, anchor.at)
    return replace(
        guesses,
        water=water,
        ph=true_ph,
        log_weight=_log_weight(water, pressure, true_ph, carbon, told, untold, doubt),
    )


def _unread(state: TankState, bottles: Mapping[BottleKey, Bottle], draws: Mapping[str, Array]) -> Guesses:
    """Everything but the water in the tank, in whose place the tap's ions stand."""
    alkalinity, level, source = state.source.alkalinity_eq_l, state.level_l, state.source
    alkalinity_eq_l = lognormal(draws["alkalinity"], alkalinity.value, alkalinity.spread / alkalinity.value)
    # Two deviations either side keep the pH inside what a tap can give.
    source_ph = source.ph.value + source.ph.spread * np.clip(ndtri(draws["source_ph"]), -2.0, 2.0)
    return Guesses(
        log_weight=np.zeros(len(alkalinity_eq_l)),
        water=tap_ions(alkalinity_eq_l, state.temperature_c.value),
        alkalinity_eq_l=alkalinity_eq_l,
        source_ph=source_ph,
        ph=source_ph,
        volume_l=lognormal(draws["volume"], level.value, level.spread / level.value),
        strength={key: bottle.draw(draws[bottle.role]) for key, bottle in bottles.items()},
        exchange_per_h=lognormal(draws["exchange"], *_EXCHANGE_PER_H),
        pco2_atm=10.0 ** (_ROOM_LOG_PCO2[0] + _ROOM_LOG_PCO2[1] * ndtri(draws["room"])),
        feed_share=draws["feed"],
        phosphoric=(draws["phosphoric"] < _PHOSPHORIC_SHARE).astype(float),
    )


def _fed(state: TankState, anchor: Read, source: Solution, draws: Mapping[str, Array]) -> Solution:
    """The source water with its feed as at this reading; charge and carbon still open."""
    ec = anchor.ec_ms_cm if anchor.ec_ms_cm is not None else usual_ec_ms_cm(state)
    fed = max(ec - state.source.ec_ms_cm.value, 0.0) * np.ones_like(draws["ph"])
    age_days = _UNKNOWN_AGE_DAYS
    if state.filled_at is not None:
        age_days = max((anchor.at - state.filled_at).total_seconds() / 86_400, 0.0)
    days, spent = draws["phosphate_days"], _SPENT_CHANCE
    left = np.exp(-age_days / lognormal(np.maximum(days, spent), *_PHOSPHATE_DAYS))
    # Some of the guesses have lost it otherwise, evenly from nearly all of it to none.
    left = np.where(days < spent, left * np.maximum(days / spent, _LEAST_LEFT), left)
    phosphate = fed * lognormal(draws["phosphate"], *_PHOSPHATE_PER_FEED) * left
    return replace(
        with_nutrient(source, ec_ms_cm=fed), phosphate_mol_l=np.maximum(phosphate, _LEAST_PHOSPHATE_MOL_L)
    )


def usual_ec_ms_cm(state: TankState) -> float:
    """The last strength, or what a tank usually has. [mS/cm]"""
    return state.ec_ms_cm.value if state.ec_ms_cm is not None else _USUAL_EC_MS_CM


def _before(state: TankState, anchor: Read) -> tuple[Happening, ...]:
    """What happened in this water before the first reading; what one message says stands in its order."""
    happened = state.since_fill
    return happened[: happened.index(anchor)]


def _log_pco2_prior(state: TankState, exchange_per_h: Array, anchor: Read) -> _Normal:
    """Dissolved CO2 by how long ago fresh water or acid last brought some; log10 of atm."""
    brought = [
        h.at
        for h in _before(state, anchor)
        if isinstance(h, Watered) or (isinstance(h, Dosed) and h.role == "ph_down")
    ]
    rest_h = max((anchor.at - brought[-1]).total_seconds() / 3600, 0.0) if brought else _UNKNOWN_REST_H
    is_any = state.filled_at is not None and state.source.alkalinity_eq_l.is_assumed
    fresh, deviation = _UNKNOWN_FRESH_LOG_PCO2 if is_any else _FRESH_LOG_PCO2
    air = 10.0 ** _ROOM_LOG_PCO2[0]
    excess = (10.0**fresh - air) * np.exp(-exchange_per_h * rest_h)
    spread = np.hypot(_ROOM_LOG_PCO2[1], deviation * excess / (air + excess))
    return _Normal(np.log10(air + excess), spread)


def _told_alkalinity(
    state: TankState, guesses: Guesses, bottles: Mapping[BottleKey, Bottle], anchor: Read
) -> _Normal:
    """Alkalinity left by the journal's own balance: what the water brought less what acid has taken. [eq/L]

    Counted from the carbon dioxide end point, so that a phosphate of the feed neither adds nor takes any.
    """
    tap = guesses.alkalinity_eq_l
    if state.filled_at is None:
        return _untold_alkalinity(tap)
    held, full_l = tap, state.volume_l.value
    for happening in _before(state, anchor):
        if isinstance(happening, Dosed) and happening.role in ("ph_down", "ph_up"):
            reagent = REAGENTS[bottles[bottle_key(happening.product)].reagent]
            per_mol = EQUIVALENTS_NEAR_PH_6.get(reagent.name, 1.0) * (-1.0 if reagent.acid else 1.0)
            held = held + per_mol * dose_mol_l(happening, guesses, bottles)
        elif isinstance(happening, Watered) and not happening.whole:
            held = held * (1.0 - happening.removed_l / full_l) + tap * happening.added_l / full_l
    days = max((anchor.at - state.filled_at).total_seconds() / 86_400, 0.0)
    spread = np.hypot(_FEED_ACIDITY_EQ_L + 0.05 * tap, drift_deviation_eq_l(days))
    held = np.clip(held + DRIFT_EQ_L_DAY[0] * days, -MOST_CHARGE_EQ_L, MOST_CHARGE_EQ_L)
    return _Normal(held, spread)


def drift_deviation_eq_l(days: float) -> float:
    """How far plants may have moved the alkalinity from what is usual. [eq/L]

    Within a day they keep their pace, so that it grows with time; one day tells little of the next.
    """
    return DRIFT_EQ_L_DAY[1] * (days if days < 1.0 else math.sqrt(days))


def _untold_alkalinity(tap_eq_l: Array) -> _Normal:
    """Alkalinity of a tank in which acid, feed or plants have been at work that no entry tells of. [eq/L]"""
    mean, deviation = _UNTOLD_SHARE
    return _Normal(mean * tap_eq_l, deviation * tap_eq_l + _FEED_ACIDITY_EQ_L)


def _doubt(state: TankState, at: datetime) -> float:
    """How likely it is that the journal's balance misses something."""
    if state.filled_at is None or state.source.alkalinity_eq_l.is_assumed:
        return 1.0
    days = max((at - state.filled_at).total_seconds() / 86_400, 0.0)
    return _DOUBT[0] + (_DOUBT[1] - _DOUBT[0]) * min(days, 1.0)


def dose_mol_l(dose: Dosed, guesses: Guesses, bottles: Mapping[BottleKey, Bottle]) -> Array:
    """What a dose brought of its reagent, by guess. [mol/L]"""
    bottle = bottles[bottle_key(dose.product)]
    amount = dose.amount
    if dose.unit != bottle.unit and bottle.unit == "ml":
        amount /= _ADJUSTER_G_ML  # a liquid that was weighed
    return np.asarray(amount * guesses.strength[bottle_key(dose.product)] / guesses.volume_l)


_ADJUSTER_G_ML = 1.1
"""Density of household adjusters: 1.05 to 1.3 (10 to 45 %), from the density tables."""


def _drawn(
    fed: Solution, true_ph: Array, z: Array, carbon: _Normal, told: _Normal, untold: _Normal
) -> tuple[Solution, Array]:
    """The water of each guess, and the pressure of CO2 with which it would be at rest. [atm]

    Half of the guesses are drawn by CO2, a quarter by the journal's alkalinity, a quarter by any alkalinity.
    Where no carbon gives that alkalinity this pH, the pressure is NaN and a neighbour's water stands in.
    """
    rows = np.arange(len(z))
    by_air, by_held = rows[::2], rows[1::2]
    per_atm = _bicarbonate(np.ones_like(true_ph), true_ph, float(np.mean(fed.temperature_c)))
    most = np.minimum(10.0**_MOST_LOG_PCO2, _MOST_BICARBONATE_MOL_L / per_atm)
    pressure = np.minimum(10.0 ** carbon.draw(z), most)
    aired = balanced_at(picked(fed, by_air), true_ph[by_air], pressure[by_air])
    held = np.where(rows % 4 == 1, told.draw(z), untold.draw(z)) + np.asarray(fed.phosphate_mol_l)
    shut = picked(replace(fed, strong_charge_eq_l=held), by_held)
    shut = carbon_from_ph(shut, true_ph[by_held])
    possible = np.isfinite(np.asarray(shut.carbon_mol_l))
    shut = replace(
        shut,
        strong_charge_eq_l=np.where(possible, shut.strong_charge_eq_l, aired.strong_charge_eq_l),
        carbon_mol_l=np.where(possible, shut.carbon_mol_l, aired.carbon_mol_l),
    )
    pressure[by_held] = np.where(possible, np.asarray(pco2_atm(shut)), np.nan)
    charge, dissolved = held, np.empty_like(held)
    charge[by_air], dissolved[by_air] = aired.strong_charge_eq_l, aired.carbon_mol_l
    charge[by_held], dissolved[by_held] = shut.strong_charge_eq_l, shut.carbon_mol_l
    return replace(fed, strong_charge_eq_l=charge, carbon_mol_l=dissolved), pressure


def _log_weight(
    water: Solution,
    pressure_atm: Array,
    true_ph: Array,
    carbon: _Normal,
    told: _Normal,
    untold: _Normal,
    doubt: float,
) -> Array:
    """Logarithm of the weight that makes all draws one sample of what may be true.

    The balance heuristic of Veach & Guibas 1995 (from memory): the density wanted over the mean of the
    densities drawn from, all per unit of pH and log pCO2.
    """
    phosphate = np.asarray(water.phosphate_mol_l)
    pressure = np.maximum(pressure_atm, 1e-6)
    held = np.asarray(water.strong_charge_eq_l) - phosphate
    bicarbonate = _bicarbonate(pressure, true_ph, float(np.mean(water.temperature_c)))
    # How alkalinity changes with pH at this pCO2 (bicarbonate, phosphate on its second buffer, protons), and
    # with log pCO2 at this pH (bicarbonate alone).
    twice = 1.0 / (1.0 + 10.0 ** (_EFFECTIVE_PK2 - true_ph))
    by_ph = LN10 * (bicarbonate + phosphate * twice * (1.0 - twice) + 10.0**-true_ph)
    by_log_pco2 = LN10 * bicarbonate
    wanted_carbon = carbon.density(np.log10(pressure))
    as_told, as_any = told.density(held), untold.density(held)
    wanted = wanted_carbon * ((1.0 - doubt) * as_told + doubt * as_any) * by_ph
    drawn = 0.5 * wanted_carbon + 0.25 * by_log_pco2 * (as_told + as_any)
    with np.errstate(divide="ignore", invalid="ignore"):
        log_weight = np.log(wanted) - np.log(drawn)
    return np.where(np.isfinite(log_weight), log_weight, -np.inf)


def _bicarbonate(pressure_atm: Array, true_ph: Array, temperature_c: float) -> Array:
    """Bicarbonate under this pressure of CO2 at this pH, activities left out. [mol/L]"""
    co2 = co2_solubility_mol_l_atm(temperature_c) * pressure_atm
    return np.asarray(co2 * 10.0 ** (true_ph - pka("CO2", temperature_c)))
