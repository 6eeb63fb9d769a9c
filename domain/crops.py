"""What each crop is, and by which names households know it.

What a crop wants of the tank is decided in ``domain.bands``, how it grows up in ``domain.stages``.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal, cast

from domain import tables

__all__ = ["Crop", "CropGroup", "Span", "crop", "crop_names", "crops"]

CropGroup = Literal["leafy", "herb", "fruiting", "root", "flower"]


@dataclass(frozen=True, slots=True)
class Span:
    """A published range; an end that the source does not give is ``None``."""

    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Crop:
    """One row of the crop table.

    name : its canonical name, lower case.
    botanical_name, other_names : as in the table; ``other_names`` are plain names without remarks.
    group : what it is grown for; stages and lights go by it.
    ph, ec_ms_cm : the range that the table's main source gives, before ``domain.bands`` weighs it.
    days_to_emergence : from sowing, near its best temperature. [days]
    germination_temp_c : coldest to warmest at which seed comes up. [degC]
    germination_temp_best_c : where it comes up best. [degC]
    needs_light_to_germinate : ``None`` where sources say nothing or disagree.
    dli : light a day. [mol/m2/d]
    air_temp_day_c : [degC]
    days_to_first_harvest : from sowing. [days]
    sources : the key of ``data/sources.csv`` behind each group of fields.
    notes : what a grower should know besides, sources in brackets; may be empty.
    """

    name: str
    botanical_name: str
    other_names: tuple[str, ...]
    group: CropGroup
    ph: Span
    ec_ms_cm: Span
    days_to_emergence: Span
    germination_temp_c: Span
    germination_temp_best_c: float | None
    needs_light_to_germinate: bool | None
    dli: Span
    air_temp_day_c: Span
    days_to_first_harvest: Span
    sources: Mapping[str, tuple[str, ...]]
    notes: str


_SOURCE_COLUMNS = {
    "ec_ph": "ec_ph_source",
    "germination": "germination_source",
    "dli": "dli_source",
    "maturity": "maturity_source",
    "air_temp": "air_temp_source",
}

_LIGHT = {"yes": True, "no": False, "unknown": None}


@cache
def crops() -> Mapping[str, Crop]:
    """Every crop by its canonical name, in the order of the table."""
    return MappingProxyType({row["crop"]: _crop_of(row) for row in tables.rows("crops")})


def crop(name: str) -> Crop:
    """The crop that ``name`` means: canonical or any other name, in any case.

    Raises KeyError for a name that no crop has.
    """
    return crops()[crop_names()[" ".join(name.lower().split())]]


@cache
def crop_names() -> dict[str, str]:
    """Every name of a crop, in lower case, with the canonical name it stands for.

    Holds canonical and other names, their plurals, hyphenated names also with spaces, names with an
    apostrophe also without, and botanical names that only one crop has. Do not change what is returned.
    """
    known: dict[str, str] = {}
    for each in crops().values():
        for name in (each.name, *each.other_names):
            for spelling in _spellings(name):
                known.setdefault(spelling, each.name)
    for each in crops().values():
        known[each.name] = each.name
    owners = Counter(name for each in crops().values() for name in _botanical_names(each))
    for each in crops().values():
        for name in _botanical_names(each):
            if owners[name] == 1:
                known.setdefault(name, each.name)
    return known


def _crop_of(row: Mapping[str, str]) -> Crop:
    def span(field: str, unit: str = "") -> Span:
        return Span(
            tables.number(row[f"{field}_low{unit}"]),
            tables.number(row[f"{field}_high{unit}"]),
        )

    return Crop(
        name=row["crop"],
        botanical_name=row["botanical_name"],
        other_names=tables.parts(row["other_names"]),
        group=cast(CropGroup, row["group"]),
        ph=span("ph"),
        ec_ms_cm=span("ec", "_ms_cm"),
        days_to_emergence=span("days_to_emergence"),
        germination_temp_c=span("germination_temp_c"),
        germination_temp_best_c=tables.number(row["germination_temp_c_opt"]),
        needs_light_to_germinate=_LIGHT[row["needs_light_to_germinate"]],
        dli=span("dli"),
        air_temp_day_c=span("air_temp_day_c"),
        days_to_first_harvest=span("days_seed_to_first_harvest"),
        sources=MappingProxyType(
            {what: tables.parts(row[column]) for what, column in _SOURCE_COLUMNS.items()}
        ),
        notes=row["notes"],
    )


def _spellings(name: str) -> list[str]:
    """How one name is written: as it stands, without hyphens or apostrophes, one and many."""
    plain = name.lower()
    written = dict.fromkeys((plain, plain.replace("-", " "), plain.replace("'", "")))
    return [form for each in written for form in (each, _plural(each))]


def _plural(name: str) -> str:
    """The simple English plural of a name; unchanged where it already ends like one."""
    if name.endswith(("s", "greens")):
        return name
    if name.endswith(("tomato", "ch", "sh", "x")):
        return f"{name}es"
    if re.search(r"[^aeiou]y$", name):
        return f"{name[:-1]}ies"
    return f"{name}s"


def _botanical_names(each: Crop) -> tuple[str, ...]:
    """Whole binomials in lower case: no remark in brackets, no genus cut to a letter."""
    bare = re.sub(r"\([^)]*\)", " ", each.botanical_name).lower()
    return tuple(" ".join(name.split()) for name in bare.split(";") if not re.match(r"\s*\w\. ", name))
