"""What a tank's own answers to past doses teach about it: Bayes' rule over samples.

Not known of any home tank are its alkalinity, how much CO2 is dissolved, its phosphate, how fast CO2 leaves, its
true volume, the bottle's strength and the tester's error. Each sample is one complete guess at all of them that
agrees with the last trusted reading. Samples are drawn from broad priors and weighted by how well they foretold
every reading that followed (importance sampling, then a particle filter from reading to reading; Doucet, de
Freitas & Gordon 2001, Sequential Monte Carlo Methods in Practice, from memory).

The draws are a fixed Latin hypercube: the same situation gives the same answer, and a larger tank or gap moves
every sample the same way.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from domain.bottles import Bottle, bottle_of, feed_strength
from domain.chemistry.reagents import REAGENTS
from domain.chemistry.solution import (
    Solution,
    aired,
    carbon_from_ph,
    mixed,
    mol_to_reach,
    pco2_atm,
    ph,
    source_water,
    with_nutrient,
    with_reagent,
)
from domain.chemistry.species import co2_solubility_mol_l_atm, pka
from domain.facts import Feed, Product, ProductRole
from domain.tank import Dosed, Happening, Read, TankState, Watered

__all__ = ["PLAUSIBLE_PH", "SAMPLES", "Beliefs", "beliefs", "is_plausible_ph"]

Array = NDArray[np.float64]

SAMPLES = 256
PLAUSIBLE_PH = (3.5, 9.5)
"""Tap water and feeds stay inside; beyond it the meter is asked first (common practice)."""
READINGS = 6
"""Readings looked back on; older ones teach little of the water that is in the tank now."""

LN10 = math.log(10.0)
_MODEL_PH = 0.04
"""What the chemistry itself is off by. PHREEQC's own spread over databases is of this order. [pH]"""
_DRIFT_EQ_L_DAY = (0.05e-3, 0.2e-3)
"""Mean and deviation of what plants do to alkalinity, for nitrate feeds; common practice: pH creeps up 0.1 to 0.3 a day."""
_FEED_ACIDITY_EQ_L = 0.15e-3
"""How far feeds differ in the acid or base they bring: common practice."""
_DOUBT = (0.1, 0.6)
"""Chance that a dose or a refill was not written down: on a fresh fill, and from a day later on."""
_FAR = 4.0
"""A reading this many deviations from what was foretold is not explained by the model."""
_EXCHANGE_PER_H = (0.25, 1.2)
"""Median and log deviation of the rate at which CO2 leaves: still tank 0.03/h, waterfall 2/h (from memory)."""
_ROOM_LOG_PCO2 = (-3.25, 0.12)
"""A lived-in room with plants: 400 to 1,000 ppm (from memory)."""
_FRESH_LOG_PCO2 = (-2.1, 0.45)
"""Tap water, feed and acid just mixed: the reference waters of alkalinity 20 to 300 mg/L at pH 5.8 to 7.5."""
_MOST_LOG_PCO2 = -0.5
"""A third of an atmosphere: more would bubble out at once."""
_PHOSPHATE_PER_FEED = (0.7e-3, 0.45)
"""Median [mol/L per mS/cm] and log deviation; complete feeds carry 1 to 2 mmol/L at full strength (common practice)."""
_PHOSPHATE_DAYS = (5.0, 1.1)
"""Time in which plants take it down to a third; they can keep it near 0.05 mmol/L (Bugbee's titration)."""
_LEAST_PHOSPHATE_MOL_L = 0.03e-3
_EQUIVALENTS_NEAR_PH_6 = {"sulfuric acid": 2.0, "citric acid": 2.5, "potassium carbonate": 2.0}
_FEED_SHARE: Mapping[Feed, float] = {"plain": 0.0, "half": 0.5, "full": 1.0}
_SHORT_H = 0.05
_LEAST_ALIVE = 0.1
"""Share of the samples that one reading must leave standing; a sharper verdict on so few would be chance."""
_KERNEL = 0.2
_STRAYS_PH = (0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.6, 1.0)
_UNKNOWN_AGE_DAYS = 7.0
_UNKNOWN_REST_H = 24.0

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
    "source_ph",
)


@dataclass(frozen=True, slots=True)
class Beliefs:
    """Samples of the tank as it may be, each with its weight. Arrays hold one number a sample.

    weight : sums to one.
    water : what is in the tank now.
    ph : its true pH.
    volume_l : the water in it.
    source : what comes out of the tap.
    strength : by product: moles of its reagent in one ml. [mol/ml]
    exchange_per_h, pco2_atm : how fast CO2 leaves, and towards what.
    answers : doses that a reading has answered.
    answered : the bottles they came from.
    surprise : by how many deviations the last reading missed what was foretold; ``None`` where nothing was.
    """

    weight: Array
    water: Solution
    ph: Array
    volume_l: Array
    source: Solution
    strength: Mapping[tuple[ProductRole, str | None], Array]
    exchange_per_h: Array
    pco2_atm: Array
    answers: int
    answered: frozenset[tuple[ProductRole, str | None]]
    surprise: float | None

    def has_answered(self, product: Product) -> bool:
        """A dose of this bottle has been tested by a reading."""
        return _key(product) in self.answered

    def quantile(self, values: Array, share: float) -> float:
        """The largest of the values below which at most this share of the weight lies."""
        order = np.argsort(values, kind="stable")
        below = np.cumsum(self.weight[order])
        index = int(np.searchsorted(below, share + 1e-12, side="right"))
        return float(values[order[min(index, len(order) - 1)]])

    def chance(self, happens: NDArray[np.bool_]) -> float:
        """How likely it is that this happens. [0 to 1]"""
        return float(np.sum(self.weight[happens]))

    def strength_of(self, product: Product) -> Array:
        """Moles of the reagent in one ml of this bottle."""
        return self.strength[_key(product)]

    def later(self, water: Solution, hours: float) -> Solution:
        """This water after so many hours in the tank's air."""
        return _rested(water, self.exchange_per_h * hours, self.pco2_atm)


def beliefs(
    state: TankState,
    *,
    products: Sequence[Product] = (),
    samples: int = SAMPLES,
    seed: int = 0,
) -> Beliefs | None:
    """What may be true of the tank at ``state.now``; ``None`` without a pH reading.

    products : bottles whose strength is asked for beside those of the journal.
    samples : how many guesses, 64 to 2,000.
    seed : of the fixed draws.
    """
    readings = [h for h in state.since_fill if isinstance(h, Read) and is_plausible_ph(h.ph)]
    if not readings:
        return None
    anchor = readings[max(len(readings) - READINGS, 0)]
    filter_ = _Filter(state, anchor, products, _hypercube(samples, seed))
    start = state.happenings.index(anchor) + 1
    for happening in state.happenings[start:]:
        filter_.take(happening)
    return filter_.finish()


def is_plausible_ph(value: float | None) -> bool:
    """A pH that a tank can have: it is learned from and dosed on."""
    return value is not None and PLAUSIBLE_PH[0] <= value <= PLAUSIBLE_PH[1]


def _hypercube(samples: int, seed: int) -> dict[str, Array]:
    """A Latin hypercube: each column holds every share (i + 1/2)/n once, in its own order."""
    generator = np.random.default_rng(seed)
    shares = (np.arange(samples) + 0.5) / samples
    return {name: generator.permutation(shares) for name in _COLUMNS}


def _key(product: Product) -> tuple[ProductRole, str | None]:
    return product.role, product.name


def _lognormal(share: Array, median: float | Array, deviation: float) -> Array:
    return np.asarray(median * np.exp(deviation * ndtri(share)))


class _Filter:
    """Carries the samples from reading to reading."""

    def __init__(
        self, state: TankState, anchor: Read, products: Sequence[Product], draws: dict[str, Array]
    ) -> None:
        self.state = state
        self.draws = draws
        self.at = anchor.at
        self.answered: list[tuple[ProductRole, str | None]] = []
        self.pending: list[tuple[ProductRole, str | None]] = []
        self.drift_h = 0.0
        self.surprise: float | None = None
        n = len(draws["ph"])
        self.generator = np.random.default_rng(n)
        level = state.level_l
        self.volume = _lognormal(draws["volume"], level.value, level.spread / level.value)
        self.exchange = _lognormal(draws["exchange"], *_EXCHANGE_PER_H)
        self.pco2 = 10.0 ** (_ROOM_LOG_PCO2[0] + _ROOM_LOG_PCO2[1] * ndtri(draws["room"]))
        alkalinity = state.source.alkalinity_eq_l
        self.alkalinity = _lognormal(
            draws["alkalinity"], alkalinity.value, alkalinity.spread / alkalinity.value
        )
        self.bottles, self.strength = self._bottles(products)
        self.temperature = state.temperature_c.value
        self.source = source_water(
            ph=state.source.ph.value + state.source.ph.spread * np.clip(ndtri(draws["source_ph"]), -2, 2),
            alkalinity_eq_l=self.alkalinity,
            temperature_c=self.temperature,
        )
        self.water, self.ph, self.log_weight = self._anchored(anchor)

    # -- the first reading ------------------------------------------------------------------------------------

    def _bottles(
        self, products: Sequence[Product]
    ) -> tuple[dict[tuple[ProductRole, str | None], Bottle], dict[tuple[ProductRole, str | None], Array]]:
        used = [h.product for h in self.state.happenings if isinstance(h, Dosed)]
        bottles = {}
        for product in (*self.state.products, *used, *products):
            if product.role in ("ph_down", "ph_up"):
                bottles[_key(product)] = bottle_of(product)
        return bottles, {key: bottle.draw(self.draws[bottle.role]) for key, bottle in bottles.items()}

    def _anchored(self, anchor: Read) -> tuple[Solution, Array, Array]:
        """Samples that agree with the first reading, drawn from two sides and weighted for both.

        Half are drawn by dissolved CO2 (sharp where the water has stood), half by alkalinity (sharp after a fill
        with known water); the weight is the balance heuristic of Veach & Guibas 1995 (from memory).
        """
        assert anchor.ph is not None
        true_ph = anchor.ph + anchor.ph_spread * ndtri(self.draws["ph"])
        draw = ndtri(self.draws["carbon"])
        base = self._fed(anchor)
        phosphate = np.asarray(base.phosphate_mol_l)
        log_pco2 = self._log_pco2_prior(anchor.at)
        alkalinity = self._alkalinity_prior(anchor.at)
        charge = alkalinity.middle + alkalinity.spread * draw + phosphate
        by_alkalinity = carbon_from_ph(replace(base, strong_charge_eq_l=charge), true_ph)
        by_carbon = _with_pco2(base, true_ph, 10.0 ** np.minimum(log_pco2.middle + log_pco2.spread * draw, _MOST_LOG_PCO2))
        possible = np.isfinite(np.asarray(by_alkalinity.carbon_mol_l))
        water = _woven(by_carbon, by_alkalinity, possible)
        return water, true_ph, self._anchor_weight(anchor.at, water, true_ph, log_pco2, alkalinity)

    def _anchor_weight(
        self, at: datetime, water: Solution, true_ph: Array, log_pco2: _Normal, alkalinity: _Normal
    ) -> Array:
        """Logarithm of the weight that makes the two kinds of draw one sample of the posterior."""
        phosphate = np.asarray(water.phosphate_mol_l)
        pressure = np.maximum(np.asarray(pco2_atm(water)), 1e-6)
        held = np.asarray(water.strong_charge_eq_l) - phosphate
        # How alkalinity changes with log pCO2 at this pH, and with pH at this pCO2: bicarbonate, and phosphate
        # on its second buffer (effective pK near 6.9 where calcium and magnesium pair with it).
        bicarbonate = _bicarbonate(pressure, true_ph, self.temperature)
        twice = 1.0 / (1.0 + 10.0 ** (6.9 - true_ph))
        buffer = LN10 * (bicarbonate + phosphate * twice * (1.0 - twice) + 10.0**-true_ph)
        by_log_pco2 = log_pco2.density(np.log10(pressure))
        told = alkalinity.density(held)
        untold = self._untold_alkalinity().density(held)
        doubt = self._doubt(at)
        by_alkalinity = (1.0 - doubt) * told + doubt * untold
        drawn = 0.5 * by_log_pco2 + 0.5 * told * LN10 * bicarbonate
        with np.errstate(divide="ignore", invalid="ignore"):
            log_weight = np.log(by_log_pco2) + np.log(by_alkalinity) + np.log(buffer) - np.log(drawn)
        return np.where(np.isfinite(log_weight), log_weight, -np.inf)

    def _fed(self, anchor: Read) -> Solution:
        """The source water with its feed as at this reading; charge and carbon still open."""
        ec = anchor.ec_ms_cm if anchor.ec_ms_cm is not None else self._usual_ec()
        fed = np.maximum(ec - self.state.source.ec_ms_cm.value, 0.0) * np.ones_like(self.volume)
        water = with_nutrient(self.source, ec_ms_cm=fed)
        age = _UNKNOWN_AGE_DAYS
        if self.state.filled_at is not None:
            age = max((anchor.at - self.state.filled_at).total_seconds() / 86_400, 0.0)
        lasting = np.exp(-age / _lognormal(self.draws["phosphate_days"], *_PHOSPHATE_DAYS))
        phosphate = fed * _lognormal(self.draws["phosphate"], *_PHOSPHATE_PER_FEED) * lasting
        return replace(water, phosphate_mol_l=np.maximum(phosphate, _LEAST_PHOSPHATE_MOL_L))

    def _usual_ec(self) -> float:
        known = self.state.ec_ms_cm
        return known.value if known is not None else 1.2

    def _log_pco2_prior(self, at: datetime) -> _Normal:
        """Dissolved CO2 by how long ago fresh water or acid last brought some."""
        rest = self._hours_at_rest(at)
        air = 10.0 ** _ROOM_LOG_PCO2[0]
        excess = (10.0 ** _FRESH_LOG_PCO2[0] - air) * np.exp(-self.exchange * rest)
        share = excess / (air + excess)
        spread = np.hypot(_ROOM_LOG_PCO2[1], _FRESH_LOG_PCO2[1] * share)
        return _Normal(np.log10(air + excess), spread)

    def _hours_at_rest(self, at: datetime) -> float:
        brought = [
            h.at
            for h in self.state.since_fill
            if h.at <= at and (isinstance(h, Watered) or (isinstance(h, Dosed) and h.role == "ph_down"))
        ]
        return max((at - brought[-1]).total_seconds() / 3600, 0.0) if brought else _UNKNOWN_REST_H

    def _alkalinity_prior(self, at: datetime) -> _Normal:
        """Alkalinity left by the journal's own balance: what the water brought less what acid has taken."""
        filled = self.state.filled_at
        if filled is None:
            return self._untold_alkalinity()
        held = self.alkalinity.copy()
        for happening in self.state.since_fill:
            if happening.at > at:
                break
            if isinstance(happening, Dosed) and happening.role in ("ph_down", "ph_up"):
                held = held + self._equivalents(happening)
            elif isinstance(happening, Watered) and not happening.whole:
                share = happening.added_l / self.state.volume_l.value
                held = held + share * self.alkalinity - happening.removed_l / self.state.volume_l.value * held
        days = max((at - filled).total_seconds() / 86_400, 0.0)
        mean, deviation = _DRIFT_EQ_L_DAY
        spread = np.hypot(_FEED_ACIDITY_EQ_L + 0.05 * self.alkalinity, deviation * math.sqrt(days))
        return _Normal(held + mean * days, spread)

    def _untold_alkalinity(self) -> _Normal:
        """Alkalinity of a tank in which acid, feed or plants have been at work that no entry tells of."""
        return _Normal(0.3 * self.alkalinity, 0.5 * self.alkalinity + 0.1e-3)

    def _doubt(self, at: datetime) -> float:
        """How likely it is that the journal's own balance misses something since the fill."""
        filled = self.state.filled_at
        if filled is None:
            return 0.0
        days = max((at - filled).total_seconds() / 86_400, 0.0)
        return _DOUBT[0] + (_DOUBT[1] - _DOUBT[0]) * min(days, 1.0)

    def _equivalents(self, dose: Dosed) -> Array:
        """What a dose adds to alkalinity, negative for an acid, near pH 6. [eq/L]"""
        bottle = self.bottles[_key(dose.product)]
        reagent = REAGENTS[bottle.reagent]
        per_mol = _EQUIVALENTS_NEAR_PH_6.get(bottle.reagent, 1.0)
        return (-per_mol if reagent.acid else per_mol) * self._mol_l(dose)

    def _mol_l(self, dose: Dosed) -> Array:
        bottle = self.bottles[_key(dose.product)]
        per_unit = self.strength[_key(dose.product)]
        if dose.unit != bottle.unit:
            # A powder measured by the spoon, or a liquid by the scale: within a tenth or two of a gram a ml.
            per_unit = per_unit / 1.1 if bottle.unit == "ml" else per_unit
        return np.asarray(dose.amount * per_unit / self.volume)

    # -- from one happening to the next -----------------------------------------------------------------------

    def take(self, happening: Happening) -> None:
        """Carries the samples on to this happening, and through it."""
        self._advance(happening.at)
        match happening:
            case Read():
                if happening.ph is not None and is_plausible_ph(happening.ph):
                    self._read(happening, happening.ph)
            case Dosed(role="ph_down" | "ph_up"):
                reagent = self.bottles[_key(happening.product)].reagent
                self.water = with_reagent(self.water, reagent, self._mol_l(happening))
                self.pending.append(_key(happening.product))
            case Dosed(role="nutrient"):
                feed = feed_strength(happening.product)
                gain = _lognormal(self.draws["feed"], feed.gain, feed.deviation)
                self.water = with_nutrient(self.water, ec_ms_cm=gain * happening.amount / self.volume)
            case Watered():
                self._water(happening)

    def _advance(self, at: datetime) -> None:
        hours = (at - self.at).total_seconds() / 3600
        if hours > _SHORT_H:
            self.water = _rested(self.water, self.exchange * hours, self.pco2)
            drift = _DRIFT_EQ_L_DAY[0] * hours / 24
            self.water = replace(
                self.water, strong_charge_eq_l=np.asarray(self.water.strong_charge_eq_l) + drift
            )
            self.drift_h += hours
        self.at = at

    def _water(self, watered: Watered) -> None:
        left = watered.level_before_l - watered.removed_l
        share = min(watered.added_l / max(left + watered.added_l, 1e-9), 1.0)
        self.water = mixed(self.water, self._poured(watered), share)

    def _poured(self, watered: Watered) -> Solution:
        if watered.ec_ms_cm is not None:
            fed = max(watered.ec_ms_cm - self.state.source.ec_ms_cm.value, 0.0)
        else:
            fed = _FEED_SHARE[watered.feed] * self._usual_ec()
        return with_nutrient(self.source, ec_ms_cm=fed * np.ones_like(self.volume))

    def _read(self, read: Read, seen: float) -> None:
        """Weighs each sample by this reading and moves it towards what was seen, as far as drift allows."""
        foretold = np.asarray(ph(self.water))
        slope = self._slope(foretold)
        drift = _DRIFT_EQ_L_DAY[1] * math.sqrt(self.drift_h / 24) * slope
        wander = np.hypot(drift, _MODEL_PH)
        missed = seen - foretold
        self.surprise = self._surprise(missed, wander**2 + read.ph_spread**2)
        z = ndtri(self.generator.permutation((np.arange(len(missed)) + 0.5) / len(missed)))
        if self.surprise > _FAR:
            # Something happened that nobody told: the reading stands, and it teaches nothing of what came before.
            true_ph = seen + read.ph_spread * z
        else:
            wander, likelihood = _weighed(self.log_weight, missed, wander, read.ph_spread)
            self.log_weight = self.log_weight + likelihood
            gain = wander**2 / (wander**2 + read.ph_spread**2)
            true_ph = foretold + gain * missed + np.sqrt(gain) * read.ph_spread * z
            self.answered += self.pending
        self.pending = []
        self.drift_h = 0.0
        self.water = _at_ph(self.water, foretold, true_ph)
        self.ph = true_ph
        self._renew(z)

    def _surprise(self, missed: Array, variance: Array) -> float:
        """By how many deviations the samples as a whole missed a reading."""
        weight = _normalised(self.log_weight)
        middle = float(np.sum(weight * missed))
        return abs(middle) / math.sqrt(float(np.sum(weight * ((missed - middle) ** 2 + variance))))

    def _renew(self, z: Array) -> None:
        """Drops samples that foretold badly and doubles good ones, a little apart in what does not show.

        Systematic resampling with the kernel of Liu & West 2001 (from memory) on the logarithms of bottle, volume and exchange.
        """
        weight = _normalised(self.log_weight)
        n = len(weight)
        if _effective(weight) > n / 2:
            return
        shares = (np.arange(n) + 0.5) / n
        kept = np.minimum(np.searchsorted(np.cumsum(weight), shares), n - 1)
        self.water = _picked(self.water, kept)
        self.source = _picked(self.source, kept)
        self.ph, self.pco2, self.alkalinity = self.ph[kept], self.pco2[kept], self.alkalinity[kept]
        self.draws = {name: values[kept] for name, values in self.draws.items()}
        self.exchange = _smoothed(self.exchange[kept], np.roll(z, 1))
        self.volume = _smoothed(self.volume[kept], np.roll(z, 2))
        self.strength = {
            key: _smoothed(values[kept], np.roll(z, 3 + i))
            for i, (key, values) in enumerate(self.strength.items())
        }
        self.log_weight = np.zeros(n)

    def _slope(self, at_ph: Array) -> Array:
        """Change of pH with strong charge, CO2 shut in. [pH per eq/L]"""
        nudge = 0.05e-3
        nudged = replace(self.water, strong_charge_eq_l=np.asarray(self.water.strong_charge_eq_l) + nudge)
        return np.abs(np.asarray(ph(nudged)) - at_ph) / nudge

    def finish(self) -> Beliefs:
        """What is believed at the state's own time."""
        self._advance(self.state.now)
        return Beliefs(
            weight=_normalised(self.log_weight),
            water=self.water,
            ph=np.asarray(ph(self.water)),
            volume_l=self.volume,
            source=self.source,
            strength=self.strength,
            exchange_per_h=self.exchange,
            pco2_atm=self.pco2,
            answers=len(self.answered),
            answered=frozenset(self.answered),
            surprise=self.surprise,
        )


@dataclass(frozen=True, slots=True)
class _Normal:
    """A normal distribution a sample."""

    middle: Array
    spread: Array

    def density(self, at: Array) -> Array:
        """Up to the constant that all normal densities share."""
        return np.asarray(np.exp(-0.5 * ((at - self.middle) / self.spread) ** 2) / self.spread)


def _effective(weight: Array) -> float:
    """How many equally good samples these are worth."""
    return float(1.0 / np.sum(weight**2))


def _weighed(log_weight: Array, missed: Array, wander: Array, tester: float) -> tuple[Array, Array]:
    """How far the model may have strayed, and the logarithm of each sample's likelihood with that.

    The model's own error is not known: it is taken as small as leaves enough samples standing to be told apart.
    """
    floor = len(log_weight) * _LEAST_ALIVE
    for stray in _STRAYS_PH:
        wider = np.hypot(wander, stray)
        variance = wider**2 + tester**2
        likelihood = -0.5 * missed**2 / variance - 0.5 * np.log(variance)
        if _effective(_normalised(log_weight + likelihood)) >= floor:
            break
    return wider, likelihood


def _smoothed(values: Array, z: Array) -> Array:
    """Copies moved a little apart, their mean and spread kept."""
    log = np.log(values)
    keep = math.sqrt(1.0 - _KERNEL**2)
    return np.asarray(np.exp(keep * log + (1.0 - keep) * log.mean() + _KERNEL * log.std() * z))


def _picked(water: Solution, kept: NDArray[np.intp]) -> Solution:
    parts = {f.name: getattr(water, f.name) for f in fields(Solution)}
    return Solution(
        **{
            name: part[kept] if isinstance(part, np.ndarray) and part.ndim else part
            for name, part in parts.items()
        }
    )


def _normalised(log_weight: Array) -> Array:
    top = np.max(log_weight)
    if not np.isfinite(top):
        return np.full(len(log_weight), 1.0 / len(log_weight))
    weight = np.exp(log_weight - top)
    return np.asarray(weight / weight.sum())


def _bicarbonate(pressure_atm: Array, true_ph: Array, temperature_c: float) -> Array:
    """Bicarbonate under this pressure of CO2 at this pH, activities left out. [mol/L]"""
    return np.asarray(
        co2_solubility_mol_l_atm(temperature_c) * pressure_atm * 10.0 ** (true_ph - pka("CO2", temperature_c))
    )


def _with_pco2(base: Solution, true_ph: Array, pressure_atm: Array) -> Solution:
    """The charge and the carbon with which this water shows a pH under a pressure of CO2."""
    temperature_c = float(np.mean(base.temperature_c))
    # Start on the alkaline side of any answer, then see how much acid it takes to come back.
    start = 1.5 * (
        _bicarbonate(pressure_atm, true_ph, temperature_c) + 2.0 * np.asarray(base.phosphate_mol_l)
    )
    start = start + 0.5e-3
    acid = mol_to_reach(
        replace(base, carbon_mol_l=0.0, strong_charge_eq_l=start),
        "nitric acid",
        true_ph,
        aired=True,
        pco2_atm=pressure_atm,
    )
    return aired(replace(base, strong_charge_eq_l=start - acid, carbon_mol_l=0.0), pressure_atm)


def _at_ph(water: Solution, foretold: Array, true_ph: Array) -> Solution:
    """The water with just the strong charge that moves it from the pH foretold to this one, carbon kept."""
    up = mol_to_reach(water, "potassium hydroxide", np.maximum(true_ph, foretold))
    down = mol_to_reach(water, "nitric acid", np.minimum(true_ph, foretold))
    moved = np.nan_to_num(np.asarray(up)) - np.nan_to_num(np.asarray(down))
    return replace(water, strong_charge_eq_l=np.asarray(water.strong_charge_eq_l) + moved)


def _rested(water: Solution, folds: Array, pressure_atm: Array) -> Solution:
    """The water once CO2 has moved towards the air for so many times 1/kLa.

    One straight line of carbon against CO2 between now and rest: see ``chemistry.solution.exchanged``, which
    follows the curve at four times the cost; they agree within 0.1 pH.
    """
    now_atm = np.asarray(pco2_atm(water))
    rest = aired(water, pressure_atm)
    solubility = co2_solubility_mol_l_atm(water.temperature_c)
    carbon = np.asarray(water.carbon_mol_l) - np.asarray(rest.carbon_mol_l)
    co2 = (now_atm - pressure_atm) * solubility
    per_co2 = np.where(np.abs(co2) > 1e-9, carbon / np.where(np.abs(co2) > 1e-9, co2, 1.0), 1.0)
    left = np.exp(-folds / np.maximum(per_co2, 1.0))
    return aired(water, pressure_atm + (now_atm - pressure_atm) * left)


def _woven(even: Solution, odd: Solution, odd_holds: NDArray[np.bool_]) -> Solution:
    """Every second sample of each; the even one where the odd one does not hold."""

    def both(name: str) -> Array:
        a, b = np.broadcast_arrays(getattr(even, name), getattr(odd, name))
        return np.asarray(np.where((np.arange(a.size) % 2 == 0) | ~odd_holds, a, b))

    return replace(even, strong_charge_eq_l=both("strong_charge_eq_l"), carbon_mol_l=both("carbon_mol_l"))
