"""How far along a plant is, by what was seen of it or else by its age."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal, cast, get_args

from domain import tables
from domain.crops import Crop, CropGroup, Span, crop_names, crops
from domain.own_crops import like_its_group

__all__ = ["STAGES", "Seen", "Stage", "StageRow", "stage_named", "stage_of", "stage_row", "start_days"]

Stage = Literal["germinating", "seedling", "vegetative", "flowering", "fruiting", "past"]

STAGES: tuple[Stage, ...] = get_args(Stage)
"""The stages in the order in which a plant passes through them."""

_ORDER = {stage: place for place, stage in enumerate(STAGES)}

_SAID: Mapping[str, Stage] = MappingProxyType({**{stage: stage for stage in STAGES}, "bolting": "flowering"})
"""Every word for a stage that a fact may carry. A plant that bolts is flowering."""


@dataclass(frozen=True, slots=True)
class Seen:
    """Somebody saw the plant in a stage.

    days_ago : how long before now. [days, >= 0]
    """

    stage: Stage
    days_ago: float


@dataclass(frozen=True, slots=True)
class StageRow:
    """What a group of crops needs in one stage.

    starts_after : what its typical start is counted from; ``seen`` where age does not tell.
    starts_days, starts_factor : the start is ``starts_factor`` times that span, plus ``starts_days``.
    ec_factor : its share of the strength that the grown crop wants.
    ec_ms_cm : strengths that growers use at this stage whatever the crop; open ends where none is known.
    water_temp_c, dli : [degC], [mol/m2/d]
    light_hours, notes : as in the table, ready to show.
    sources : keys of ``data/sources.csv`` by what they stand behind.
    """

    group: CropGroup
    stage: Stage
    starts_after: Literal["sowing", "emergence", "first harvest", "last first harvest", "seen"]
    starts_days: float
    starts_factor: float
    ec_factor: tuple[float, float]
    ec_ms_cm: Span
    water_temp_c: Span
    dli: Span
    light_hours: str
    notes: str
    sources: Mapping[str, tuple[str, ...]]


def stage_of(
    crop: str, days_from_seed: float | None, events: Sequence[Seen] = (), group: CropGroup | None = None
) -> Stage:
    """How far along a plant is.

    crop : any name of a crop; one that is not in the table and has no group counts as vegetative until
        something is seen.
    days_from_seed : its age; ``None`` where the sowing was never told. [days, >= 0]
    events : what was seen of it, in any order. The latest wins over age: the plant is in that stage,
        and its later stages follow as long after as they would have after a typical start of it.
    group : whose ways a crop outside the table follows, where the household has said.
    A plant of unknown age of which nothing was seen counts as vegetative: it stands on the tank.
    """
    seen = max(events, key=lambda each: (-each.days_ago, _ORDER[each.stage]), default=None)
    known = crops().get(crop_names().get(crop.lower(), ""))
    if known is None and group is not None:
        known = like_its_group(group)
    if known is None:
        return seen.stage if seen else "vegetative"
    if seen is None:
        return "vegetative" if days_from_seed is None else _stage_by_age(known, days_from_seed)
    start = start_days(known, seen.stage)
    age = days_from_seed if start is None else start + seen.days_ago
    if age is None:
        return seen.stage
    return max(seen.stage, _stage_by_age(known, age), key=_ORDER.__getitem__)


def stage_named(word: str) -> Stage | None:
    """The stage that a fact's word stands for; ``None`` where it is no stage."""
    return _SAID.get(word.lower())


def start_days(crop: Crop, stage: Stage) -> float | None:
    """The age at which a crop typically enters a stage; never before an earlier stage. [days]

    ``None`` where the crop has no such stage or age does not tell (bolting).
    """
    own = _own_start(crop, stage)
    if own is None:
        return None
    return max(start for each in STAGES[: _ORDER[stage] + 1] if (start := _own_start(crop, each)) is not None)


def stage_row(group: CropGroup, stage: Stage) -> StageRow | None:
    """The table's row; ``None`` where the group has no such stage."""
    return _rows().get((group, stage))


def _own_start(crop: Crop, stage: Stage) -> float | None:
    row = stage_row(crop.group, stage)
    if row is None or row.starts_after == "seen":
        return None
    counted_from = {
        "sowing": 0.0,
        "emergence": crop.days_to_emergence.high,
        "first harvest": crop.days_to_first_harvest.low,
        "last first harvest": crop.days_to_first_harvest.high,
    }[row.starts_after]
    return None if counted_from is None else row.starts_days + row.starts_factor * counted_from


def _stage_by_age(crop: Crop, days: float) -> Stage:
    reached: Stage = "germinating"
    for stage in STAGES:
        start = start_days(crop, stage)
        if start is not None and days >= start:
            reached = stage
    return reached


@cache
def _rows() -> Mapping[tuple[CropGroup, Stage], StageRow]:
    return MappingProxyType(
        {(row.group, row.stage): row for row in (_row_of(cells) for cells in tables.rows("stages"))}
    )


def _row_of(cells: Mapping[str, str]) -> StageRow:
    def span(field: str) -> Span:
        low, high = (field.replace("*", end) for end in ("low", "high"))
        return Span(tables.number(cells[low]), tables.number(cells[high]))

    return StageRow(
        group=cast(CropGroup, cells["group"]),
        stage=cast(Stage, cells["stage"]),
        starts_after=cells["starts_after"],  # type: ignore[arg-type]  # a test holds the table to the Literal
        starts_days=float(cells["starts_days"] or 0),
        starts_factor=float(cells["starts_factor"] or 0),
        ec_factor=(float(cells["ec_factor_low"]), float(cells["ec_factor_high"])),
        ec_ms_cm=span("ec_*_ms_cm"),
        water_temp_c=span("water_temp_c_*"),
        dli=span("dli_*"),
        light_hours=cells["light_hours"],
        notes=cells["notes"],
        sources=MappingProxyType(
            {
                what: tables.parts(cells[f"{what}_source"])
                for what in ("starts", "ec", "water_temp", "light", "air")
            }
        ),
    )
