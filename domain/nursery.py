"""Trays, domes and the like: places beside the tank where seedlings have a feed and a light of their own.

What stands there draws nothing from the tank and has no say in its bands until it is moved to a site.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType

from domain.bands import Band, Standing, tank_bands
from domain.crops import CropGroup, Span, crops
from domain.facts import Setting
from domain.plantings import Planting
from domain.plots import is_nursery
from domain.stages import StageRow, stage_row

__all__ = ["NURSERY_NAMES", "READY_AFTER_UP", "Care", "Ready", "nursery_care", "ready_to_move"]

_BASES = ("tray", "dome", "nursery", "propagator", "incubator")

NURSERY_NAMES: tuple[str, ...] = tuple(
    name
    for base in _BASES
    for name in (
        base,
        f"seed {base}",
        f"seedling {base}",
        f"seedlings {base}",
        f"nursery {base}",
        f"germination {base}",
        *(f"{base} {number}" for number in range(1, 7)),
    )
)
"""What households call such a place; the reader takes these for sites."""

READY_AFTER_UP: MappingProxyType[CropGroup, timedelta] = MappingProxyType(
    {
        "leafy": timedelta(days=10),
        "herb": timedelta(days=14),
        "fruiting": timedelta(days=21),
        "root": timedelta(days=7),
        "flower": timedelta(days=14),
    }
)
"""From coming up until two to four true leaves stand and roots reach out of the plug: common practice.
Lettuce went to the pond 11 days after it was sown (goto_1996)."""


@dataclass(frozen=True, slots=True)
class Care:
    """What the plants in one nursery want while they stand there.

    feed : their strength, as a band; ``None`` while none is up: plain water will do.
    light_hours : a day, ready to show. dli : light of a day that suits all, where tables say. [mol/m2/d]
    """

    feed: Band | None
    light_hours: str
    dli: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Ready:
    """When plants of a nursery can go to the tank. ``is_up_told``: counted from when they were told up."""

    planting: Planting
    at: datetime
    is_up_told: bool


def nursery_care(plantings: Sequence[Planting], settings: Sequence[Setting] = ()) -> Care | None:
    """What all that stands in one nursery wants together; ``None`` where nothing of a known crop stands.

    plantings : what stands there. settings : the household's ``band`` settings.
    """
    rows = [row for planting in plantings if (row := _row(planting)) is not None]
    if not rows:
        return None
    up = [
        Standing(planting.crop, planting.stage, planting.drawing_count)
        for planting in plantings
        if planting.stage != "germinating" and planting.drawing_count > 0
    ]
    of_crops = [setting for setting in settings if setting.crop]
    lows = [row.dli.low for row in rows if row.dli.low is not None]
    highs = [row.dli.high for row in rows if row.dli.high is not None]
    shared = (max(lows), min(highs)) if lows and highs else None
    return Care(
        feed=tank_bands(up, of_crops).ec if up else None,
        light_hours=next((row.light_hours for row in rows if row.light_hours), ""),
        dli=shared if shared is not None and shared[0] <= shared[1] else None,
    )


def ready_to_move(plantings: Iterable[Planting]) -> tuple[Ready, ...]:
    """When what stands in nurseries can go to the tank, the soonest first; it does not change by waiting.

    Counted from when it was told up, else from the end of its usual wait. What was found growing, and crops
    of which no table knows how long they take, are left out.
    """
    found = []
    for planting in plantings:
        crop = crops().get(planting.crop)
        if crop is None or planting.sown_at is None or not any(is_nursery(site) for site in planting.sites):
            continue
        up_at = planting.up_at or _usually_up(planting.sown_at, crop.days_to_emergence)
        if up_at is not None:
            found.append(Ready(planting, up_at + READY_AFTER_UP[crop.group], planting.up_at is not None))
    return tuple(sorted(found, key=lambda each: (each.at, each.planting.key)))


def _usually_up(sown_at: datetime, days: Span) -> datetime | None:
    return None if days.high is None else sown_at + timedelta(days=days.high)


def _row(planting: Planting) -> StageRow | None:
    crop = crops().get(planting.crop)
    return stage_row(crop.group, "seedling") if crop is not None else None
