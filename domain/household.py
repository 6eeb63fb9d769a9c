"""What a household has said of itself, folded from the journal: its choices and its bottles.

What was not said is ``None``, so that a reply can tell an assumption from a choice.
The defaults that stand in for silence are the constants below; each is said aloud when it is used.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from zoneinfo import ZoneInfo

from domain.facts import Away, Growing, Product, ProductRole, Setting
from domain.folds import Start, folded
from domain.journal import Entry
from domain.own_crops import CROP_SETTINGS

__all__ = [
    "DEFAULT_PPM_SCALE",
    "DEFAULT_UNITS",
    "DEFAULT_ZONE",
    "Choices",
    "ToldOfItself",
    "choices",
]

DEFAULT_UNITS = "metric"
DEFAULT_PPM_SCALE = 500
"""The scale of most home testers (NaCl factor 0.5): common practice."""
DEFAULT_ZONE = "UTC"
"""Where nothing is known, times are shown as UTC and said to be so."""


@dataclass(frozen=True, slots=True)
class Choices:
    """A household's choices; ``None`` or empty where it has not said.

    skipped : steps of the set-up that were passed over; they are not asked again.
    products : the newest product of each role and name.
    bands, intervals : settings that override the tables, the newest last; among ``bands`` also what the
        household said of crops of its own (``domain.own_crops``).
    marks : litres at a mark on the tank, such as ``12 cm``. [L]
    measures : what one drop, squirt, capful, scoop or pump of theirs holds. [ml or g]
    fish : whether it said, as a setting, that animals live in the tank.
    away : when nobody is home, and who takes over, the newest last.
    """

    system_name: str | None = None
    zone_name: str | None = None
    units: str | None = None
    ppm_scale: int | None = None
    strength_unit: str | None = None
    tank_volume_l: float | None = None
    minimum_level_l: float | None = None
    source_alkalinity_mg_l_caco3: float | None = None
    source_ph: float | None = None
    source_ec_ms_cm: float | None = None
    replies: str | None = None
    fish: bool = False
    sites: tuple[str, ...] = ()
    growing: tuple[Growing, ...] = ()
    products: tuple[Product, ...] = ()
    bands: tuple[Setting, ...] = ()
    intervals: tuple[Setting, ...] = ()
    away: tuple[Away, ...] = ()
    skipped: frozenset[str] = field(default=frozenset())
    marks: Mapping[str, float] = field(default_factory=dict)
    measures: Mapping[str, float] = field(default_factory=dict)

    @property
    def zone(self) -> ZoneInfo:
        """The household's zone, or UTC where it has not said."""
        return ZoneInfo(self.zone_name or DEFAULT_ZONE)

    @property
    def spoken_units(self) -> str:
        """``metric`` or ``us``."""
        return self.units or DEFAULT_UNITS

    @property
    def spoken_ppm_scale(self) -> int:
        """The meter's scale, or the usual one. [ppm per mS/cm]"""
        return self.ppm_scale or DEFAULT_PPM_SCALE

    def keeper_on(self, day: date) -> str | None:
        """Who looks after the tank that day, where the household is away and has named somebody."""
        for away in reversed(self.away):
            if away.start is not None and away.end is not None and away.start <= day <= away.end:
                return away.keeper
        return None

    def product(self, role: ProductRole) -> Product | None:
        """The product of this role that was named last."""
        return next((p for p in reversed(self.products) if p.role == role), None)


_NUMBERS = {
    "tank_volume_l",
    "minimum_level_l",
    "source_alkalinity_mg_l_caco3",
    "source_ph",
    "source_ec_ms_cm",
}
_WORDS = {"system_name": "system_name", "time_zone": "zone_name", "units": "units", "replies": "replies"}


@dataclass
class ToldOfItself:
    """What the household told of itself, as it was told; a ``domain.folds.Fold``."""

    entries: list[Entry] = field(default_factory=list)

    def copy(self) -> ToldOfItself:
        return ToldOfItself(list(self.entries))

    def take(self, entry: Entry) -> None:
        if isinstance(entry.fact, Setting | Product | Away | Growing):
            self.entries.append(entry)


def choices(entries: Sequence[Entry], start: Start[ToldOfItself] | None = None) -> Choices:
    """What stands after all settings, products and crops of the journal, the newest winning.

    start : of the first of these entries, where they were folded before.
    """
    chosen = Choices()
    for entry in sorted(folded(ToldOfItself(), entries, start).entries, key=lambda e: e.id):
        match entry.fact:
            case Setting() as setting:
                chosen = _with_setting(chosen, setting)
            case Product() as product:
                others = tuple(p for p in chosen.products if (p.role, p.name) != (product.role, product.name))
                chosen = replace(chosen, products=(*others, product))
            case Away() as away:
                chosen = replace(chosen, away=(*chosen.away, away))
            case Growing() as growing:
                chosen = replace(chosen, growing=(*chosen.growing, growing))
    return chosen


def _with_setting(chosen: Choices, setting: Setting) -> Choices:
    name, value = setting.name, setting.value
    if name in CROP_SETTINGS:
        return replace(chosen, bands=(*chosen.bands, setting))
    if name in ("mark", "measure") and value is not None and setting.what is not None:
        kept = chosen.marks if name == "mark" else chosen.measures
        return replace(chosen, **{f"{name}s": {**kept, setting.what: float(value)}})  # type: ignore[arg-type]
    if name == "interval":
        return replace(chosen, intervals=(*_without_task(chosen.intervals, setting), setting))
    if value is None:
        return chosen
    if name in _NUMBERS:
        return replace(chosen, **{name: float(value)})  # type: ignore[arg-type]
    if name in _WORDS:
        return replace(chosen, **{_WORDS[name]: value})  # type: ignore[arg-type]
    if name == "fish":
        return replace(chosen, fish=value.casefold() in ("yes", "true", "1"))
    if name == "ppm_scale":
        return replace(chosen, ppm_scale=int(float(value)))
    if name == "strength_unit":
        return replace(chosen, strength_unit=value)
    if name == "sites":
        return replace(chosen, sites=tuple(site.strip() for site in value.split(",") if site.strip()))
    if name == "setup_skipped":
        return replace(chosen, skipped=chosen.skipped | {value})
    return chosen


def _without_task(settings: Iterable[Setting], newer: Setting) -> tuple[Setting, ...]:
    return tuple(setting for setting in settings if setting.task != newer.task)
