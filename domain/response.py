"""What a tank's own answers to past doses teach about it: Bayes' rule over guesses.

Not known of any home tank are its alkalinity, how much CO2 is dissolved, its phosphate, how fast CO2 leaves,
its true volume, the bottle's strength and the tester's error. Guesses at all of them that agree with the
first reading are carried through every dose, top-up and hour that followed, and sorted by how well they
foretold each reading (a particle filter; Doucet, de Freitas & Gordon 2001, Sequential Monte Carlo Methods in
Practice, from memory).

The draws are fixed: the same situation gives the same answer, and a larger tank or gap moves every guess
alike.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from domain.bottles import Bottle, bottle_of, feed_strength
from domain.chemistry.solution import (
    Solution,
    charge_to_reach,
    exchanged_roughly,
    mixed,
    ph,
    with_nutrient,
)
from domain.facts import Feed, Product
from domain.guesses import (
    Array,
    BottleKey,
    Guesses,
    bottle_key,
    effective,
    flattened,
    lognormal,
    poured,
    resampled,
    shuffled_normals,
)
from domain.happenings import Jarred
from domain.jars import JAR_TESTERS, jar_missed, strength_by_jar
from domain.prior import (
    DRIFT_EQ_L_DAY,
    MOST_CHARGE_EQ_L,
    dose_mol_l,
    drift_deviation_eq_l,
    first_guesses,
    usual_ec_ms_cm,
)
from domain.stretches import READINGS, episodes, is_plausible_ph, readings_in
from domain.tank import Dosed, Happening, Read, TankState, Watered
from domain.weighing import surprise, weighed

__all__ = ["Beliefs", "beliefs"]

FIRST_GUESSES = 768
"""Drawn at first: few of them survive the first answers."""
KEPT_GUESSES = 240
"""Carried on afterwards: one in two hundred is still one of them."""
_LEAST_DEVIATION = 0.15
"""What is left of doubt about a bottle in the best case: it may be diluted, or refilled."""
LEAST_AGREEING = 12.0
"""Of the guesses first drawn: fewer agree with a reading that no such water shows."""
ODD = 9.0
FAR = 4.0
"""A reading this many deviations from what was foretold is not explained by the model."""

_MODEL_PH = 0.02
"""What the chemistry itself is off by: the solver stays within 0.01 to 0.03 of PHREEQC. [pH]"""
MOST_FEED_MS_CM = 4.0
"""Beyond the range of the chemistry, and of any plant."""
_FEED_SHARE: Mapping[Feed, float] = {"plain": 0.0, "half": 0.5, "full": 1.0}
_SHORT_H = 0.05  # things said in one message happened together


@dataclass(frozen=True, slots=True)
class Beliefs:
    """What may be true of the tank now. Arrays hold one number a guess.

    weight : how good each guess is; sums to one.
    water : what is in the tank. ph : its true pH.
    volume_l : the water in it.
    exchange_per_h, pco2_atm : how fast CO2 leaves, and towards what.
    answers : doses that a reading has answered.
    surprise : by how many deviations the last reading missed what was foretold; ``None`` where nothing was.
    """

    weight: Array
    water: Solution
    ph: Array
    volume_l: Array
    exchange_per_h: Array
    pco2_atm: Array
    answers: int
    surprise: float | None
    _tap: Guesses
    _strength: Mapping[BottleKey, Array]
    _answered: frozenset[BottleKey]
    _phosphoric: Array

    @property
    def source(self) -> Solution:
        """What comes out of the tap."""
        return self._tap.source

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
        """Moles of the reagent in one unit of this bottle.

        Raises KeyError for a bottle that was neither used nor named to ``beliefs``.
        """
        return self._strength[bottle_key(product)]

    def has_answered(self, product: Product) -> bool:
        """A dose of this bottle has been tested by a reading."""
        return bottle_key(product) in self._answered

    def with_dose(self, water: Solution, product: Product, amount: float) -> Solution:
        """This water after so many units of a bottle, CO2 still in."""
        moles = amount * self.strength_of(product) / self.volume_l
        return poured(water, bottle_of(product), moles, self._phosphoric)

    def later(self, water: Solution, hours: float) -> Solution:
        """This water after so many hours in the tank's air."""
        return self.in_air(water, hours)[0]

    def in_air(self, water: Solution, hours: float) -> tuple[Solution, Array]:
        """This water after so many hours in the tank's air, and the pH that it then shows."""
        later, shown = exchanged_roughly(water, folds=self.exchange_per_h * hours, pco2_atm=self.pco2_atm)
        return later, np.asarray(shown)


def beliefs(
    state: TankState,
    *,
    products: Sequence[Product] = (),
    supposed: Read | None = None,
    first: int = FIRST_GUESSES,
    kept: int = KEPT_GUESSES,
    seed: int = 0,
) -> Beliefs | None:
    """What may be true of the tank at ``state.now``; ``None`` without a plausible pH reading.

    products : bottles whose strength is asked for beside those of the journal.
    supposed : a reading that was only supposed; water like this tank's that shows it. The tank's own answers
        tell of its bottles alone.
    first, kept : how many guesses are drawn, and carried on. 64 to 4,000.
    seed : of the fixed draws.
    """
    bottles = _bottles(state, products)
    answered: list[BottleKey] = []
    earlier = episodes(state, bottles)
    if supposed is not None:
        earlier = [*earlier, state]
        state = replace(state, happenings=(supposed,), filled_at=None)
    for episode in earlier:
        carried = _carried(episode, bottles, first // 2, kept, seed)
        if carried is not None:
            answered += carried.answered
            bottles = {key: carried.learned(key, bottle) for key, bottle in bottles.items()}
    carried = _carried(state, bottles, first, kept, seed)
    return carried.now(answered) if carried is not None else None


def _carried(
    state: TankState, bottles: Mapping[BottleKey, Bottle], first: int, kept: int, seed: int
) -> _Carried | None:
    """Guesses from the first of the last readings in this water to its last happening."""
    readings = readings_in(state)[-READINGS:]
    if not readings:
        return None
    anchor = readings[0]
    guesses = first_guesses(state, anchor, bottles, first, seed)
    carried = _Carried(state, bottles, guesses, anchor.at, kept)
    for happening in state.happenings[state.happenings.index(anchor) + 1 :]:
        carried.through(happening)
    return carried


def _bottles(state: TankState, products: Sequence[Product]) -> dict[BottleKey, Bottle]:
    used = [h.product for h in state.happenings if isinstance(h, Dosed | Jarred)]
    return {
        bottle_key(product): bottle_of(product)
        for product in (*state.products, *used, *products)
        if product.role in ("ph_down", "ph_up")
    }


class _Carried:
    """Guesses on their way from the first reading to now."""

    def __init__(
        self,
        state: TankState,
        bottles: Mapping[BottleKey, Bottle],
        guesses: Guesses,
        at: datetime,
        kept: int,
    ) -> None:
        self.state = state
        self.bottles = bottles
        self.at = at
        self.kept = kept
        self.generator = np.random.default_rng(kept)
        self.answered: list[BottleKey] = []
        self.pending: list[BottleKey] = []
        self.drift_h = 0.0
        self.shown: Array | None = None
        # A first reading that hardly any guess can show is as odd as one that misses what was foretold.
        is_odd = effective(guesses.weight) < LEAST_AGREEING
        self.surprise: float | None = ODD if is_odd else None
        self.guesses = replace(guesses, log_weight=flattened(guesses.log_weight, kept / 4))

    def through(self, happening: Happening) -> None:
        """On to this happening, and past it."""
        self._advance(happening.at)
        match happening:
            case Read():
                if happening.ph is not None and is_plausible_ph(happening.ph):
                    self._read(happening.ph, happening.ph_spread)
            case Dosed(role="ph_down" | "ph_up"):
                key = bottle_key(happening.product)
                moles = dose_mol_l(happening, self.guesses, self.bottles)
                # A capful or a squirt is not the same each time.
                z = shuffled_normals(self.generator, self.guesses.count)
                moles = moles * np.exp(happening.share * z)
                self._becomes(poured(self.guesses.water, self.bottles[key], moles, self.guesses.phosphoric))
                self.pending.append(key)
            case Dosed(role="nutrient"):
                feed = feed_strength(happening.product)
                gain = lognormal(self.guesses.feed_share, feed.gain, feed.deviation)
                rise = gain * happening.amount / self.guesses.volume_l
                self._becomes(with_nutrient(self.guesses.water, ec_ms_cm=np.minimum(rise, MOST_FEED_MS_CM)))
            case Jarred() if self.bottles[bottle_key(happening.product)].unit == "ml":
                self._jar(happening)
            case Watered():
                left_l = happening.level_before_l - happening.removed_l
                share = min(happening.added_l / max(left_l + happening.added_l, 1e-9), 1.0)
                self._becomes(mixed(self.guesses.water, self._poured(happening), share))

    def _jar(self, jar: Jarred) -> None:
        """Weighs each guess by what its water did in a jar; the tank's own stays as it is."""
        key, guesses = bottle_key(jar.product), self.guesses
        bottle, tester = self.bottles[key], JAR_TESTERS * self.state.defaults.ph_tester_spread
        z, z_share = (shuffled_normals(self.generator, guesses.count) for _ in range(2))
        if bottle.is_known or key in self.answered:
            missed, wander = jar_missed(guesses, jar, bottle, z_share), np.full(guesses.count, _MODEL_PH)
            if surprise(guesses.weight, missed, wander**2 + tester**2) > FAR:
                return
            _, likelihood = weighed(guesses.log_weight, missed, wander, tester)
            guesses = replace(guesses, log_weight=guesses.log_weight + likelihood)
        else:
            guesses = strength_by_jar(guesses, jar, bottle, tester, z, z_share)
            if effective(guesses.weight) < LEAST_AGREEING or not np.isfinite(guesses.log_weight).any():
                return
        self.guesses = guesses
        self.answered.append(key)
        self._renew()

    def _becomes(self, water: Solution) -> None:
        charge = np.clip(np.asarray(water.strong_charge_eq_l), -MOST_CHARGE_EQ_L, MOST_CHARGE_EQ_L)
        self.guesses = replace(self.guesses, water=replace(water, strong_charge_eq_l=charge))
        self.shown = None

    def _advance(self, at: datetime) -> None:
        hours = (at - self.at).total_seconds() / 3600
        if hours > _SHORT_H:
            guesses = self.guesses
            charge = np.asarray(guesses.water.strong_charge_eq_l) + DRIFT_EQ_L_DAY[0] * hours / 24
            drifted = replace(guesses.water, strong_charge_eq_l=charge)
            folds = guesses.exchange_per_h * hours
            water, shown = exchanged_roughly(drifted, folds=folds, pco2_atm=guesses.pco2_atm)
            self._becomes(water)
            self.shown = np.asarray(shown)
            self.drift_h += hours
        self.at = at

    def _poured(self, watered: Watered) -> Solution:
        source = self.guesses.source
        if watered.ec_ms_cm is not None:
            fed = max(watered.ec_ms_cm - self.state.source.ec_ms_cm.value, 0.0)
        else:
            fed = _FEED_SHARE[watered.feed] * usual_ec_ms_cm(self.state)
        return with_nutrient(source, ec_ms_cm=fed * np.ones(self.guesses.count))

    def _read(self, seen: float, tester: float) -> None:
        """Weighs each guess by this reading and moves it towards what was seen, as far as drift allows."""
        water = self.guesses.water
        foretold = self._foretold()
        missed = seen - foretold
        charge = np.asarray(charge_to_reach(water, seen))
        per_charge = missed / np.where(np.abs(charge) > 1e-9, charge, np.inf)
        drift = drift_deviation_eq_l(self.drift_h / 24) * np.abs(per_charge)
        wander = np.hypot(drift, _MODEL_PH)
        self.surprise = surprise(self.guesses.weight, missed, wander**2 + tester**2)
        z = shuffled_normals(self.generator, self.guesses.count)
        log_weight = self.guesses.log_weight
        if self.surprise > FAR:
            # Something happened that nobody told: the reading stands, and teaches nothing of what came
            # before.
            gain = np.ones_like(missed)
        else:
            wander, likelihood = weighed(log_weight, missed, wander, tester)
            log_weight = log_weight + likelihood
            gain = wander**2 / (wander**2 + tester**2)
            self.answered += self.pending
        moved = gain * missed + np.sqrt(gain) * tester * z
        share = np.where(np.abs(missed) > 1e-9, moved / np.where(missed == 0.0, 1.0, missed), 0.0)
        self.guesses = replace(
            self.guesses,
            log_weight=log_weight,
            ph=foretold + moved,
            water=replace(water, strong_charge_eq_l=np.asarray(water.strong_charge_eq_l) + share * charge),
        )
        self.pending, self.drift_h, self.shown = [], 0.0, None
        self._renew()

    def _foretold(self) -> Array:
        """The pH that each guess shows now; worked out once where nothing has gone in since."""
        if self.shown is None or len(self.shown) != self.guesses.count:
            self.shown = np.asarray(ph(self.guesses.water))
        return self.shown

    def _renew(self) -> None:
        """As many good guesses as are carried on, where few of those that were drawn are left standing."""
        if self.guesses.count == self.kept and effective(self.guesses.weight) > self.kept / 2:
            return
        columns = 2 + len(self.guesses.strength)
        z = [shuffled_normals(self.generator, self.kept) for _ in range(columns)]
        self.guesses, self.shown = resampled(self.guesses, self.kept, z), None

    def learned(self, key: BottleKey, bottle: Bottle) -> Bottle:
        """The bottle as its answers here tell it; as it was where the label says its strength, or none
        came."""
        if bottle.is_known or key not in self.answered:
            return bottle
        weight, log = self.guesses.weight, np.log(self.guesses.strength[key])
        middle = float(np.sum(weight * log))
        deviation = math.sqrt(float(np.sum(weight * (log - middle) ** 2)))
        return replace(bottle, middle=math.exp(middle), deviation=max(deviation, _LEAST_DEVIATION))

    def now(self, answered_before: Sequence[BottleKey]) -> Beliefs:
        """What is believed at the state's own time. answered_before : bottles that earlier answers told
        of."""
        if self.guesses.count != self.kept:
            self._renew()
        self._advance(self.state.now)
        guesses = self.guesses
        return Beliefs(
            weight=guesses.weight,
            water=guesses.water,
            ph=self._foretold(),
            volume_l=guesses.volume_l,
            _tap=guesses,
            exchange_per_h=guesses.exchange_per_h,
            pco2_atm=guesses.pco2_atm,
            answers=len(self.answered) + len(answered_before),
            surprise=self.surprise,
            _strength=guesses.strength,
            _answered=frozenset((*self.answered, *answered_before)),
            _phosphoric=guesses.phosphoric,
        )
