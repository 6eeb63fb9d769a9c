"""The tank as the journal leaves it: how much water, of what kind, last read when, and what has gone in
since.

A pure fold over the entries. An edit or an undo changes the entries, so that the next fold is right by
construction. Each figure says whether it was said, read, worked out or assumed, so that a reply can name its
assumptions. What to add is decided in ``domain.dosing``; what the tank's answers teach, in
``domain.response``.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import islice

from domain.facts import Product, ProductRole
from domain.folds import Start, folded
from domain.happenings import UNLABELLED, Dosed, Figure, FigureBasis, Happening, Read, Watered
from domain.household import Choices, choices
from domain.journal import Entry
from domain.tank_fold import DEFAULTS, Defaults, TankFold

__all__ = [
    "DEFAULTS",
    "SETTLED_AFTER",
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

SETTLED_AFTER = timedelta(hours=8)
"""So long after a dose of adjuster the next one waits, tested or not. By then most of the CO2 that the dose
freed has left a tank with a pump; on simulated tanks a reading once mixed and another by then bring the next
dose home where one reading leaves it short: our own design rule."""


MG_CACO3_PER_EQ = 50_043.5
"""Half the molar mass of calcium carbonate, in mg; by definition of the unit."""

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
    chosen: Choices | None = None,
    start: Start[TankFold] | None = None,
) -> TankState:
    """The tank as these entries leave it at ``now``.

    entries : the net journal in the order in which things happened; doubted ones are left out.
    now : aware; nothing after it counts.
    tank : only facts of this tank and those that name none; ``None``: all of them.
    planted : plants stand in it; the safer answer is the default.
    chosen : the household's choices by the same entries, where they are known already.
    start : of the first of these entries, where they were folded before; left aside where it does not fit.
    """
    chosen = chosen if chosen is not None else choices(entries)
    fold = _folded(entries, now, tank, TankFold(chosen, defaults), start)
    first_kept = bisect_left(fold.happenings, now - _KEEP_FOR, key=lambda h: h.at)
    kept = tuple(fold.happenings[first_kept:])
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


def _folded(
    entries: Sequence[Entry], now: datetime, tank: str | None, empty: TankFold, start: Start[TankFold] | None
) -> TankFold:
    fits = (
        start is not None
        and tank is None
        and start.fold.rests_on == empty.rests_on
        and all(entry.happened_at <= now for entry in entries[start.count - 1 : start.count])
    )
    done = start.count if start is not None and fits else 0
    later = [entry for entry in islice(entries, done, None) if _counts(entry, now, tank)]
    return folded(start.fold.copy() if start is not None and fits else empty, later)


def _counts(entry: Entry, now: datetime, tank: str | None) -> bool:
    named = entry.fact.tank
    here = tank is None or named is None or named.casefold() == tank.casefold()
    return here and not entry.doubted and entry.happened_at <= now


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
