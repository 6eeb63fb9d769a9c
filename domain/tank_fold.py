"""What is in the tank, entry by entry: its level and fills, and all that was read, dosed and poured in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime

from domain.facts import (
    Dose,
    Emergency,
    JarTest,
    Observation,
    Product,
    ProductRole,
    Reading,
    Setting,
    TopUp,
    WaterChange,
)
from domain.happenings import (
    Dosed,
    Figure,
    Happening,
    Jarred,
    Read,
    Watered,
    changes_all,
    dose_amount,
    is_noted,
    level_at_mark,
    product_of,
)
from domain.household import Choices
from domain.journal import Entry

__all__ = ["DEFAULTS", "Defaults", "TankFold"]


@dataclass(frozen=True, slots=True)
class Defaults:
    """What stands in for what the household has not said. Each is marked ``assumed`` where it is used.

    Sources: volume: the usual size of a home tower (common practice). Alkalinity, pH and EC of tap water:
    common practice; the spread of alkalinity covers soft to hard supplies (about 25 to 400 mg/L at two
    deviations). Tester: home meters state bounds of 0.1 pH (evenly spread: a deviation of
    0.06) and 2 % of the reading.
    """

    volume_l: float = 40.0
    volume_spread: float = 12.0
    said_volume_share: float = 0.05
    source_alkalinity_eq_l: float = 2.0e-3
    source_alkalinity_share: float = 0.7
    said_alkalinity_share: float = 0.15
    source_ph: float = 7.6
    source_ph_spread: float = 0.4
    source_ec_ms_cm: float = 0.35
    source_ec_spread: float = 0.2
    temperature_c: float = 20.0
    temperature_spread_c: float = 2.0
    ph_tester_spread: float = 0.06
    ec_tester_share: float = 0.02
    approx_ph_spread: float = 0.25
    top_up_share: float = 0.1


DEFAULTS = Defaults()

_LEAST_SHARE = 0.02
"""Of the whole: what a pump leaves behind in a tank that is said to be empty."""
_FISH = re.compile(
    r"\b(?:fish|goldfish|koi|guppies|tilapia|shrimps?|snails?|turtles?|axolotls?|aquaponics?)\b", re.I
)
_NO_FISH = re.compile(
    r"fish(?:\s|-)*(?:emulsion|meal|fert\w*|food|feed|smell)|smell\w*|no fish|without fish", re.I
)


class TankFold:
    """The running state of the water while the entries are read one by one; a ``domain.folds.Fold``.

    chosen : the household's choices as they are now, which hold for all that happened.
    defaults : what stands in for what it has not said.
    """

    def __init__(self, chosen: Choices, defaults: Defaults) -> None:
        self.volume = _volume(chosen, defaults)
        self.level = Figure(self.volume.value, "assumed", self.volume.spread)
        self.chosen = chosen
        self.defaults = defaults
        self.filled_at: datetime | None = None
        self.happenings: list[Happening] = []
        self.fish = False
        self.labels: dict[tuple[ProductRole, str | None], Product] = {}

    @property
    def rests_on(self) -> tuple[object, ...]:
        """All of its choices that bear on it: folds of the same entries that rest on the same are alike."""
        return self.chosen.tank_volume_l, self.chosen.products, self.defaults

    def copy(self) -> TankFold:
        copy = TankFold(self.chosen, self.defaults)
        copy.level, copy.filled_at, copy.fish = self.level, self.filled_at, self.fish
        copy.happenings = list(self.happenings)
        copy.labels = dict(self.labels)
        return copy

    def take(self, entry: Entry) -> None:
        match entry.fact:
            case Reading() as reading:
                self._read(entry, reading)
            case Product(role="ph_down" | "ph_up") as told:
                self.labels[told.role, told.name] = told
            case Dose() as dose:
                self.happenings.append(self._dosed(entry, dose))
            case Emergency(about="overdose", product=role, amount=amount, unit=unit) if role and amount:
                slip = Dose(product=role, amount=amount, unit=unit or "ml")
                if not is_noted(self.happenings, slip, entry.happened_at):
                    self.happenings.append(self._dosed(entry, slip))
            case JarTest() as jar:
                said = Dose(product=jar.role, amount=jar.ml_per_l, unit="ml", name=jar.name)
                bottle, _ = self._bottle(said)
                tried = (bottle, jar.ph_from, jar.ph_to, jar.ml_per_l)
                self.happenings.append(Jarred(entry.happened_at, entry.id, *tried))
            case TopUp() as top_up:
                self._topped_up(entry, top_up)
            case WaterChange() as change:
                self._changed(entry, change)
            case Observation() as seen if _FISH.search(seen.text) and not _NO_FISH.search(seen.text):
                self.fish = True
            case Setting(name="fish", value=value):
                self.fish = (value or "").casefold() in ("yes", "true", "1")

    def _read(self, entry: Entry, reading: Reading) -> None:
        level_l = reading.level_l
        if level_l is None and reading.level_mark:
            level_l = level_at_mark(reading.level_mark, self.volume.value, self.chosen.marks)
        if level_l is not None:
            level_l = max(level_l, _LEAST_SHARE * self.volume.value)
            self.level = Figure(level_l, "read", 0.05 * level_l, entry.happened_at)
        approx = bool(reading.approx)
        spread = self.defaults.approx_ph_spread if approx else self.defaults.ph_tester_spread
        if reading.ph_span:
            # A colour between two marks: anywhere in the span, a uniform spread of span / sqrt(12) at least.
            spread = max(spread, reading.ph_span / 12**0.5)
        if reading.ph is None and reading.ec_ms_cm is None and reading.water_temp_c is None:
            return
        self.happenings.append(
            Read(
                entry.happened_at,
                entry.id,
                reading.ph,
                spread,
                reading.ec_ms_cm,
                reading.water_temp_c,
                approx,
            )
        )

    def _dosed(self, entry: Entry, dose: Dose) -> Dosed:
        amount, unit, share = dose_amount(dose, self.chosen.measures)
        product, portion = self._bottle(dose)
        return Dosed(entry.happened_at, entry.id, dose.product, product, amount * portion, unit, share)

    def _bottle(self, dose: Dose) -> tuple[Product, float]:
        """The bottle in use at the time: another label since is another bottle, the first one ever completes
        what went before."""
        product, portion = product_of(dose, self.chosen.products)
        told = self.labels.get((product.role, product.name))
        return (told, portion) if told is not None and told.reagent is not None else (product, portion)

    def _topped_up(self, entry: Entry, top_up: TopUp) -> None:
        before, full = self.level.value, self.volume.value
        room = max(full - before, 0.0)
        litres = top_up.litres
        if litres is None:
            litres = room if room > 0 else self.defaults.top_up_share * full
        if top_up.to_mark or top_up.litres is None:
            self.level = Figure(full, "worked_out", self.volume.spread, entry.happened_at)
        elif self.level.basis != "assumed":
            self.level = Figure(
                min(before + litres, full), "worked_out", self.level.spread, entry.happened_at
            )
        before = min(before, max(full - litres, 0.0))
        self.happenings.append(
            Watered(
                entry.happened_at,
                entry.id,
                litres,
                0.0,
                before,
                False,
                top_up.feed or "plain",
                top_up.ec_ms_cm,
            )
        )

    def _changed(self, entry: Entry, change: WaterChange) -> None:
        full, before = self.volume.value, self.level.value
        litres = change.litres if change.litres is not None else (change.fraction or 1.0) * full
        whole = changes_all(change, full)
        if whole:
            litres, self.filled_at = full, entry.happened_at
        self.level = Figure(full, "worked_out", self.volume.spread, entry.happened_at)
        removed = before if whole else min(litres, before)
        self.happenings.append(
            Watered(
                entry.happened_at,
                entry.id,
                litres,
                removed,
                before,
                whole,
                change.feed or "plain",
                change.ec_ms_cm,
            )
        )


def _volume(chosen: Choices, defaults: Defaults) -> Figure:
    if chosen.tank_volume_l is None:
        return Figure(defaults.volume_l, "assumed", defaults.volume_spread)
    return Figure(chosen.tank_volume_l, "said", defaults.said_volume_share * chosen.tank_volume_l)
