"""The tank as the journal leaves it: how much water, of what kind, last read when, and what has gone in
since.

A pure fold over the entries. An edit or an undo changes the entries, so that the next fold is right by
construction. Each figure says whether it was said, read, worked out or assumed, so that a reply can name its
assumptions. What to add is decided in ``domain.dosing``; what the tank's answers teach, in
``domain.response``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

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
    UNLABELLED,
    Dosed,
    Figure,
    FigureBasis,
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
from domain.household import Choices, choices
from domain.journal import Entry

__all__ = [
    "DEFAULTS",
    "UNLABELLED",
    "Defaults",
    "Dosed",
    "Figure",
    "FigureBasis",
    "Happening",
    "Read",
    "SourceWater",
    "TankState",
    "Watered",
    "tank_state",
]


@dataclass(frozen=True, slots=True)
class Defaults:
    """What stands in for what the household has not said. Each is marked ``assumed`` where it is used.

    Sources: volume: the usual size of a home tower (common practice). Alkalinity, pH and EC of tap water:
    common practice; the spread of alkalinity covers soft to hard supplies (about 25 to 400 mg/L at two
    deviations). Tester: home meters state 0.1 pH and 2 % of the reading.
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
    ph_tester_spread: float = 0.07
    ec_tester_share: float = 0.02
    approx_ph_spread: float = 0.25
    top_up_share: float = 0.1


DEFAULTS = Defaults()

MG_CACO3_PER_EQ = 50_043.5
"""Half the molar mass of calcium carbonate, in mg; by definition of the unit."""

_LEAST_SHARE = 0.02
"""Of the whole: what a pump leaves behind in a tank that is said to be empty."""
_FISH = re.compile(
    r"\b(?:fish|goldfish|koi|guppies|tilapia|shrimps?|snails?|turtles?|axolotls?|aquaponics?)\b", re.I
)
_NO_FISH = re.compile(
    r"fish(?:\s|-)*(?:emulsion|meal|fert\w*|food|feed|smell)|smell\w*|no fish|without fish", re.I
)
_KEEP_FOR = timedelta(days=60)


@dataclass(frozen=True, slots=True)
class SourceWater:
    """The water that goes in. Alkalinity in eq/L, EC in mS/cm at 25 degC."""

    alkalinity_eq_l: Figure
    ph: Figure
    ec_ms_cm: Figure


@dataclass(frozen=True, slots=True)
class TankState:
    """What is known of the tank now. See the module's first lines.

    volume_l : what it holds when filled to the line.
    level_l : the water in it now.
    ph, ec_ms_cm : the last trusted reading of each; ``None`` where there is none.
    temperature_c : the last reading, or the usual one.
    filled_at : when the whole water was last changed; ``None`` where that was never said.
    happenings : readings, doses and waterings, oldest first, at most 60 days back.
    products : the bottles and bags of the household, the newest of a role last.
    planted : plants stand in it, so that the gentler caps bind.
    fish : animals live in it.
    needs : settings whose answers would make advice better, as codes, the most useful first.
    """

    now: datetime
    volume_l: Figure
    level_l: Figure
    minimum_level_l: float | None
    ph: Figure | None
    ec_ms_cm: Figure | None
    temperature_c: Figure
    filled_at: datetime | None
    happenings: tuple[Happening, ...]
    source: SourceWater
    products: tuple[Product, ...]
    planted: bool
    fish: bool
    approx: bool
    needs: tuple[str, ...]
    defaults: Defaults

    def product(self, role: ProductRole) -> Product | None:
        """The product of this role that was named last."""
        return next((p for p in reversed(self.products) if p.role == role), None)

    @property
    def since_fill(self) -> tuple[Happening, ...]:
        """What happened in the water that is in the tank now."""
        start = self.filled_at
        return tuple(h for h in self.happenings if start is None or h.at >= start)

    def doses_since(self, at: datetime | None, *roles: ProductRole) -> tuple[Dosed, ...]:
        """Doses of these roles after a time; all of them where it is ``None``."""
        return tuple(
            h
            for h in self.happenings
            if isinstance(h, Dosed) and h.role in roles and (at is None or h.at > at)
        )

    @property
    def unanswered(self) -> tuple[Dosed, ...]:
        """Adjuster doses that no pH reading has followed yet."""
        answered = 0
        for index, happening in enumerate(self.happenings):
            if isinstance(happening, Read) and happening.ph is not None:
                answered = index
        return tuple(
            h for h in self.happenings[answered:] if isinstance(h, Dosed) and h.role in ("ph_down", "ph_up")
        )


def tank_state(
    entries: Sequence[Entry],
    now: datetime,
    *,
    tank: str | None = None,
    planted: bool = True,
    defaults: Defaults = DEFAULTS,
) -> TankState:
    """The tank as these entries leave it at ``now``.

    entries : the net journal in the order in which things happened; doubted ones are left out.
    now : aware; nothing after it counts.
    tank : only facts of this tank and those that name none; ``None``: all of them.
    planted : plants stand in it; the safer answer is the default.
    """
    chosen = choices(entries)
    standing = [entry for entry in entries if _counts(entry, now, tank)]
    fold = _Fold(_volume(chosen, defaults), chosen, defaults)
    for entry in standing:
        fold.take(entry)
    kept = tuple(h for h in fold.happenings if now - h.at <= _KEEP_FOR)
    source = _source(chosen, defaults)
    return TankState(
        now=now,
        volume_l=fold.volume,
        level_l=fold.level,
        minimum_level_l=chosen.minimum_level_l,
        ph=_last_ph(fold.happenings),
        ec_ms_cm=_last_ec(fold.happenings, defaults),
        temperature_c=_last_temperature(fold.happenings, defaults),
        filled_at=fold.filled_at,
        happenings=kept,
        source=source,
        products=chosen.products,
        planted=planted,
        fish=fold.fish,
        approx=any(isinstance(h, Read) and h.ph is not None and h.approx for h in kept[-1:]),
        needs=_needs(fold.volume, source, chosen),
        defaults=defaults,
    )


def _counts(entry: Entry, now: datetime, tank: str | None) -> bool:
    named = entry.fact.tank
    here = tank is None or named is None or named.casefold() == tank.casefold()
    return here and not entry.doubted and entry.happened_at <= now


class _Fold:
    """The running state of the water while the entries are read one by one."""

    def __init__(self, volume: Figure, chosen: Choices, defaults: Defaults) -> None:
        self.volume = volume
        self.level = Figure(volume.value, "assumed", volume.spread)
        self.chosen = chosen
        self.defaults = defaults
        self.filled_at: datetime | None = None
        self.happenings: list[Happening] = []
        self.fish = False

    def take(self, entry: Entry) -> None:
        match entry.fact:
            case Reading() as reading:
                self._read(entry, reading)
            case Dose() as dose:
                self.happenings.append(self._dosed(entry, dose))
            case Emergency(about="overdose", product=role, amount=amount, unit=unit) if role and amount:
                slip = Dose(product=role, amount=amount, unit=unit or "ml")
                if not is_noted(self.happenings, slip, entry.happened_at):
                    self.happenings.append(self._dosed(entry, slip))
            case JarTest() as jar:
                said = Dose(product=jar.role, amount=jar.ml_per_l, unit="ml", name=jar.name)
                bottle, _ = product_of(said, self.chosen.products)
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
            level_l = level_at_mark(reading.level_mark, self.volume.value)
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
        amount, unit, share = dose_amount(dose)
        product, portion = product_of(dose, self.chosen.products)
        return Dosed(entry.happened_at, entry.id, dose.product, product, amount * portion, unit, share)

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


def _source(chosen: Choices, defaults: Defaults) -> SourceWater:
    if chosen.source_alkalinity_mg_l_caco3 is None:
        usual = defaults.source_alkalinity_eq_l
        alkalinity = Figure(usual, "assumed", defaults.source_alkalinity_share * usual)
    else:
        # Rain or reverse osmosis: a kit that shows none may hide 5 mg/L (its smallest step, from memory).
        said = max(chosen.source_alkalinity_mg_l_caco3, 5.0) / MG_CACO3_PER_EQ
        alkalinity = Figure(said, "said", defaults.said_alkalinity_share * said)
    ph = (
        Figure(defaults.source_ph, "assumed", defaults.source_ph_spread)
        if chosen.source_ph is None
        else Figure(chosen.source_ph, "said", 0.15)
    )
    ec = (
        Figure(defaults.source_ec_ms_cm, "assumed", defaults.source_ec_spread)
        if chosen.source_ec_ms_cm is None
        else Figure(chosen.source_ec_ms_cm, "said", 0.05)
    )
    return SourceWater(alkalinity, ph, ec)


def _last_ph(happenings: Sequence[Happening]) -> Figure | None:
    for h in reversed(happenings):
        if isinstance(h, Read) and h.ph is not None:
            return Figure(h.ph, "read", h.ph_spread, h.at)
    return None


def _last_ec(happenings: Sequence[Happening], defaults: Defaults) -> Figure | None:
    for h in reversed(happenings):
        if isinstance(h, Read) and h.ec_ms_cm is not None:
            return Figure(h.ec_ms_cm, "read", defaults.ec_tester_share * h.ec_ms_cm, h.at)
    return None


def _last_temperature(happenings: Sequence[Happening], defaults: Defaults) -> Figure:
    for h in reversed(happenings):
        if isinstance(h, Read) and h.temperature_c is not None:
            return Figure(h.temperature_c, "read", 0.5, h.at)
    return Figure(defaults.temperature_c, "assumed", defaults.temperature_spread_c)


def _needs(volume: Figure, source: SourceWater, chosen: Choices) -> tuple[str, ...]:
    needs = []
    if volume.is_assumed:
        needs.append("tank_volume")
    if source.alkalinity_eq_l.is_assumed:
        needs.append("alkalinity")
    if chosen.product("ph_down") is None and chosen.product("ph_up") is None:
        needs.append("ph_product")
    return tuple(needs)
