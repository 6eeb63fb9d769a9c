"""What one crop wants of the tank, weighed from published ranges that disagree.

Every row of ``data/crop_rows.csv`` (crops) and ``data/water.csv`` (any tank, groups of crops, source water)
is one source's range, kept as it is. From them a crop gets two ranges:

*Ideal*, where to aim. Of the rows that are left after clipping to the shared tank's limits, those of the
first kind present count: research on the crop in recirculating culture; an extension table for the crop;
research on solutions in general; growers' practice for the crop, for its group, for any tank. Rows of the
same kind are joined. A range too narrow to hold at home is a set point: it gets the room of ``HOLDABLE``.

*Tolerable*, beyond which to act. All that any source allows: the ideal range (for strength with a fifth more
either way), the crop's other rows, and the general ``range`` rows, joined and clipped to the limits.

Rows marked ``outlier`` disagree with every other figure; they are shown and do not count, and each says why.
Strengths are for the grown crop; ``domain.stages`` says what share of them a younger one wants.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import isfinite
from types import MappingProxyType
from typing import Literal, cast, get_args

from domain import tables
from domain.crops import CropGroup, crop_names, crops
from domain.fact_json import DECIMALS
from domain.facts import Setting
from domain.own_crops import own_group
from domain.sources import COMMON_PRACTICE, YOURS, SourceLine, source_line
from domain.stages import Stage, StageRow, stage_row

__all__ = [
    "HOLDABLE",
    "UNITS",
    "Edge",
    "Published",
    "Want",
    "What",
    "critical_ends",
    "given_room",
    "published",
    "set_by_household",
    "want",
    "what_named",
]

What = Literal["ph", "ec_ms_cm", "water_temp_c", "dissolved_oxygen_mg_l"]

UNITS: Mapping[What, str] = MappingProxyType(
    {"ph": "", "ec_ms_cm": "mS/cm", "water_temp_c": "°C", "dissolved_oxygen_mg_l": "mg/L"}
)

HOLDABLE: Mapping[What, float] = MappingProxyType(
    {"ph": 0.2, "ec_ms_cm": 0.2, "water_temp_c": 1.0, "dissolved_oxygen_mg_l": 0.5}
)
"""Half the room that a set point needs; a range at least as wide as this is none.

pH 5.8 +/- 0.2: ``rutgers_env``. 1.2 and 1.8 +/- 0.2 mS/cm: ``foods_2022``. The others: common practice.
"""

STRENGTH_MARGIN = 0.2
"""How far strength may leave the ideal range before leaves burn or pale, as a share: common practice."""

_Kind = Literal["research", "table", "practice", "range", "limit", "critical", "outlier"]
_Scope = Literal["crop", "group", "all"]
_SCOPES: tuple[_Scope, ...] = get_args(_Scope)

_RANKS: tuple[tuple[_Kind, _Scope], ...] = (
    ("research", "crop"),
    ("table", "crop"),
    ("research", "group"),
    ("research", "all"),
    ("practice", "crop"),
    ("practice", "group"),
    ("practice", "all"),
)
"""Which rows set the ideal range: the first of these that is present."""

_SAID: Mapping[str, What] = MappingProxyType(
    {
        **{what: what for what in get_args(What)},
        "ec": "ec_ms_cm",
        "temp": "water_temp_c",
        "water_temp": "water_temp_c",
        "do": "dissolved_oxygen_mg_l",
        "dissolved_oxygen": "dissolved_oxygen_mg_l",
    }
)

_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Published:
    """One source's range for one crop, a group of crops or any tank, as the table has it.

    low, high : as printed, before any clipping; infinite where the source leaves that end open.
    kind : what the row counts for: see the module's text.
    scope : whether it is about this crop, its group or any tank.
    note : conditions, or why it does not count; may be empty.
    """

    low: float
    high: float
    kind: _Kind
    scope: _Scope
    keys: tuple[str, ...]
    note: str

    @property
    def sources(self) -> tuple[SourceLine, ...]:
        return tuple(source_line(key) for key in self.keys)


@dataclass(frozen=True, slots=True)
class Edge:
    """One end of a range, with who wants it and on whose word."""

    value: float
    who: str
    sources: tuple[SourceLine, ...]


@dataclass(frozen=True, slots=True)
class Want:
    """What one crop at one stage wants of one quantity. ``ideal`` lies within ``tolerable``."""

    crop: str
    what: What
    ideal: tuple[Edge, Edge]
    tolerable: tuple[Edge, Edge]


def want(crop: str, what: What, stage: Stage | None = "vegetative", settings: Sequence[Setting] = ()) -> Want:
    """What a crop wants.

    crop : any of its names; a crop outside the table wants what any tank should give.
    stage : strength goes by it; ``None`` for a grown crop at full strength. Outside the table it makes no
        difference.
    settings : the household's ``band`` and ``crop_group`` settings, newest last; those for this crop win over
        the tables.
    """
    name = crop_names().get(crop.lower(), crop.lower())
    group = crops()[name].group if name in crops() else own_group(name, settings)
    wanted = _from_tables(name, what, stage, group)
    for setting in settings:
        if setting.crop and crop_names().get(setting.crop.lower(), setting.crop.lower()) == name:
            wanted = set_by_household(wanted, setting)
    return wanted


def set_by_household(wanted: Want, setting: Setting) -> Want:
    """``wanted`` with what the household set: its ends are both the ideal and the tolerable ones.

    Unchanged where the setting is about another quantity.
    """
    if setting.name != "band" or what_named(setting.what or "") != wanted.what:
        return wanted
    who = wanted.crop if wanted.crop and wanted.crop not in crops() else None
    given = [end for end in (setting.low, setting.high) if end is not None]
    low = min(given) if setting.low is not None and given else None
    high = max(given) if setting.high is not None and given else None
    return replace(
        wanted,
        ideal=_with_ends(wanted.ideal, low, high, who),
        tolerable=_with_ends(wanted.tolerable, low, high, who),
    )


def what_named(word: str) -> What | None:
    """The quantity that a setting's ``what`` means; ``None`` where no band goes by it."""
    return _SAID.get(word.lower())


@lru_cache(maxsize=4096)
def published(crop: str, what: str, group: CropGroup | None = None) -> tuple[Published, ...]:
    """Every source's range that bears on a crop, the crop's own first, then its group's, then any tank's.

    crop : canonical name; any other text finds what holds for any tank.
    what : a ``What``, or another quantity of the water table, such as ``source_sodium_mg_l``.
    group : of a crop outside the table.
    """
    scope_of: dict[str, _Scope] = {crop: "crop", "all": "all"}
    if (its_group := crops()[crop].group if crop in crops() else group) is not None:
        scope_of[f"group:{its_group}"] = "group"
    found = [
        Published(
            low=float(row["low"]),
            high=float(row["high"] or "inf"),
            kind=cast(_Kind, row["kind"]),
            scope=scope_of[named],
            keys=tables.parts(row["source"]),
            note=row["note"],
        )
        for row in (*tables.rows("crop_rows"), *tables.rows("water"))
        if row["what"] == what
        for named in tables.parts(row["crops"])
        if named in scope_of
    ]
    return tuple(sorted(found, key=lambda row: _SCOPES.index(row.scope)))


def critical_ends(crop: str, what: What) -> tuple[float | None, float | None]:
    """Beyond which it is urgent; ``None`` where no source says."""
    row = _narrowest(published(crop, what), "critical")
    return (row.low, row.high if isfinite(row.high) else None) if row else (None, None)


def given_room(low: float, high: float, what: What) -> tuple[float, float]:
    """The range itself, or, where it is too narrow to hold, a set point with its room round the middle."""
    room = HOLDABLE[what]
    if high - low >= room - _ROUNDING:
        return low, high
    middle = (low + high) / 2
    return round(middle - room, DECIMALS), round(middle + room, DECIMALS)


@lru_cache(maxsize=4096)
def _from_tables(crop: str, what: What, stage: Stage | None, group: CropGroup | None) -> Want:
    rows = published(crop, what, group)
    limit = _narrowest(rows, "limit")
    ideal_rows = _ideal_rows(rows, what, limit)
    who = crop if group is not None else "shared tank"
    ideal = _hull(ideal_rows, who)
    row = stage_row(group, stage) if stage and group is not None and what == "ec_ms_cm" else None
    also = [
        _clipped(each, each.low, each.high, limit)
        for each in rows
        if each.kind == "range" or (each.scope == "crop" and each.kind in ("research", "table", "practice"))
    ]
    tolerable = _hull([*_with_margin(ideal_rows, what, limit), *(each for each in also if each)], who)
    if row is None:
        return Want(crop, what, ideal, tolerable)
    return Want(crop, what, _at_stage(ideal, row, crop), _stretched(_at_stage(tolerable, row, crop), row))


def _ideal_rows(rows: Iterable[Published], what: What, limit: Published | None) -> list[Published]:
    """What is left, after clipping, of the rows that set the ideal range."""
    for kind, scope in _RANKS:
        chosen = [
            clipped
            for row in rows
            if row.kind == kind and row.scope == scope
            if (clipped := _clipped(row, *given_room(row.low, row.high, what), limit))
            and clipped.high - clipped.low >= HOLDABLE[what] - _ROUNDING
        ]
        if chosen:
            return chosen
    raise LookupError(f"no row for any tank gives an ideal range of {what}")


def _with_margin(rows: Iterable[Published], what: What, limit: Published | None) -> list[Published]:
    margin = STRENGTH_MARGIN if what == "ec_ms_cm" else 0.0
    stretched = (
        _clipped(
            row, round(row.low * (1 - margin), DECIMALS), round(row.high * (1 + margin), DECIMALS), limit
        )
        for row in rows
    )
    return [row for row in stretched if row]


def _clipped(row: Published, low: float, high: float, limit: Published | None) -> Published | None:
    """The row with these ends, cut to the limit; ``None`` where nothing is left."""
    if limit is not None:
        low, high = max(low, limit.low), min(high, limit.high)
    if low > high:
        return None
    return Published(low, high, row.kind, row.scope, row.keys, row.note)


def _narrowest(rows: Iterable[Published], kind: _Kind) -> Published | None:
    return next((row for row in rows if row.kind == kind), None)


def _hull(rows: Sequence[Published], who: str) -> tuple[Edge, Edge]:
    lowest = min(rows, key=lambda row: row.low)
    highest = max(rows, key=lambda row: row.high)
    return Edge(lowest.low, who, lowest.sources), Edge(highest.high, who, highest.sources)


def _at_stage(ends: tuple[Edge, Edge], row: StageRow, crop: str) -> tuple[Edge, Edge]:
    """The share of a grown crop's strength that this stage wants."""
    low, high = (
        Edge(
            round(edge.value * factor, DECIMALS), _named(crop, row.stage), _joined(edge.sources, row, factor)
        )
        for edge, factor in zip(ends, row.ec_factor, strict=True)
    )
    return low, high


def _joined(lines: tuple[SourceLine, ...], row: StageRow, factor: float) -> tuple[SourceLine, ...]:
    if factor == 1:
        return lines
    return (*lines, *(line for key in row.sources["ec"] if (line := source_line(key)) not in lines))


def _stretched(ends: tuple[Edge, Edge], row: StageRow) -> tuple[Edge, Edge]:
    """``ends`` joined with the strengths that growers use at this stage whatever the crop."""
    low, high = ends
    lines = tuple(source_line(key) for key in row.sources["ec"]) or (source_line(COMMON_PRACTICE),)
    if row.ec_ms_cm.low is not None and row.ec_ms_cm.low < low.value:
        low = Edge(row.ec_ms_cm.low, low.who, lines)
    if row.ec_ms_cm.high is not None and row.ec_ms_cm.high > high.value:
        high = Edge(row.ec_ms_cm.high, high.who, lines)
    return low, high


def _named(crop: str, stage: Stage) -> str:
    return f"{crop} seedlings" if stage == "seedling" else crop


def _with_ends(
    ends: tuple[Edge, Edge], low: float | None, high: float | None, who: str | None
) -> tuple[Edge, Edge]:
    """``ends`` with one or both set by the household; an end that would cross gives way.

    who : the household's own crop that wants it; ``None``: who wanted it before.
    """
    first, last = ends
    if low is not None:
        first = Edge(low, who or first.who, (YOURS,))
    if high is not None:
        last = Edge(high, who or last.who, (YOURS,))
    if first.value > last.value:
        last = Edge(first.value, last.who, last.sources) if high is None else last
        first = Edge(last.value, first.who, first.sources) if low is None else first
    return first, last
