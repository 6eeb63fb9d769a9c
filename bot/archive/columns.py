"""What the columns of somebody's notes are, guessed from their headings."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from bot.archive.bad_file import BadFile

__all__ = ["Column", "Role", "guessed"]

Role = Literal[
    "date", "time", "ph", "ec", "ppm", "scale", "water", "air", "humidity", "level", "oxygen", "note"
]

_NAMES: Mapping[Role, tuple[str, ...]] = MappingProxyType(
    {
        "date": ("date", "day", "when", "datetime", "date time", "timestamp", "datum", "fecha", "data"),
        "time": ("time", "hour", "clock", "o clock", "uhrzeit", "hora", "heure", "ora"),
        "ph": ("ph", "ph value", "ph level", "ph reading", "acidity"),
        "ec": ("ec", "cond", "conductivity", "strength", "feed strength", "ec value"),
        "ppm": ("ppm", "tds", "nutrients ppm"),
        "scale": ("ppm scale", "scale"),
        "water": ("temp", "temperature", "water temp", "water temperature", "water", "wtemp", "tank temp"),
        "air": ("air", "air temp", "air temperature", "room", "room temp", "room temperature", "ambient"),
        "humidity": ("humidity", "rh", "air humidity"),
        "level": ("level", "volume", "water level", "tank level", "litres", "liters", "gallons"),
        "oxygen": ("do", "oxygen", "dissolved oxygen", "o2"),
        "note": ("note", "notes", "remark", "remarks", "comment", "comments", "what", "did", "done", "action",
                 "actions", "text", "observation", "observations", "what i did", "notizen", "notas"),
    }
)  # fmt: skip
_BY_NAME = {name: role for role, names in _NAMES.items() for name in names}
_UNITS: Mapping[Role, Mapping[str, str]] = MappingProxyType(
    {
        "ec": {"ms/cm": "mS/cm", "ms": "mS/cm", "ds/m": "mS/cm", "µs/cm": "µS/cm", "us/cm": "µS/cm",
               "µs": "µS/cm",
               "us": "µS/cm", "μs/cm": "µS/cm"},
        "water": {"°c": "C", "c": "C", "°f": "F", "f": "F"},
        "air": {"°c": "C", "c": "C", "°f": "F", "f": "F"},
        "level": {"l": "L", "litres": "L", "liters": "L", "gal": "gal", "gallons": "gal"},
    }
)  # fmt: skip
_VALUES = frozenset({"ph", "ec", "ppm", "water", "air", "humidity", "level", "oxygen", "note"})
_IN_BRACKETS = re.compile(r"[\[(]([^\])]*)[\])]")
MOST_SHOWN = 8


@dataclass(frozen=True, slots=True)
class Column:
    """What a column is. unit : as a text would say it; empty where the heading names none."""

    at: int
    heading: str
    role: Role
    unit: str = ""


def guessed(header: tuple[str, ...]) -> tuple[Column, ...]:
    """The columns that are understood, each role once: the first one that fits.

    Raises BadFile where there is no date, or nothing beside it.
    """
    found: dict[Role, Column] = {}
    for at, heading in enumerate(header):
        column = _column(at, heading)
        if column is not None:
            found.setdefault(column.role, column)
    names = ", ".join(heading[:20] for heading in header[:MOST_SHOWN] if heading) or "none"
    if "date" not in found:
        raise BadFile(f"I find no column for the date. Its first row must name one; here: {names}.")
    if not _VALUES & found.keys():
        raise BadFile(f"I find no column with values or notes, such as pH or ppm; here: {names}.")
    return tuple(sorted(found.values(), key=lambda column: column.at))


def _column(at: int, heading: str) -> Column | None:
    bracket = _IN_BRACKETS.search(heading)
    said = (bracket[1] if bracket else "").strip().lower()
    bare = _IN_BRACKETS.sub(" ", heading.lower())
    words = re.sub(r"[^\w°µμ/%]+|_", " ", bare).split()
    for count in range(len(words), 0, -1):
        role = _BY_NAME.get(" ".join(words[:count]))
        if role is None:
            continue
        rest = " ".join(words[count:])
        units = _UNITS.get(role, {})
        unit = units.get(said) or units.get(rest) or units.get(words[count - 1], "")
        if rest and not unit and rest not in ("%", "pct", "utc", "local", "ppm", "value"):
            continue
        return Column(at, heading, role, unit)
    return None
