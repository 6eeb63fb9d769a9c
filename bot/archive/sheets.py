"""One table for each kind of fact, as CSV that a spreadsheet opens without harm."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields
from datetime import UTC, datetime
from itertools import dropwhile
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

from domain.facts import KINDS, Fact
from domain.journal import Entry

__all__ = ["UNITS", "heading", "safe", "sheets"]

UNITS: Mapping[str, str] = MappingProxyType(
    {
        "air_temp_c": "°C",
        "dissolved_oxygen_mg_l": "mg/L",
        "dose_per_litre": "ml or g per L",
        "ec_ms_cm": "mS/cm",
        "fraction": "of 1",
        "grams": "g",
        "humidity_pct": "%",
        "k2o_pct": "%",
        "level_l": "L",
        "litres": "L",
        "ml_per_l": "ml/L",
        "molar_mol_l": "mol/L",
        "n_pct": "%",
        "normal_eq_l": "eq/L",
        "p2o5_pct": "%",
        "percent_w_v": "% w/v",
        "percent_w_w": "% w/w",
        "ph": "pH",
        "ph_from": "pH",
        "ph_span": "pH",
        "ph_to": "pH",
        "ppm": "ppm",
        "ppm_scale": "ppm per mS/cm",
        "water_temp_c": "°C",
    }
)
"""The unit of each column that holds a measured number."""

_ENDS = ("_mg_l", "_ms_cm", "_mol_l", "_eq_l", "_pct", "_c", "_l")
_FORMULA = tuple("=+-@\t\r\n|%＝＋－＠")
"""What a cell begins with that a spreadsheet may run: OWASP's list for CSV injection, and its full-width
twins, which some programs read alike."""

_BLANKS = "\ufeff\u200b"
"""What shows as nothing and counts as no blank."""


def sheets(entries: Sequence[Entry], zone: ZoneInfo) -> dict[str, bytes]:
    """The tables by file name, in the order of ``KINDS``; a kind of which there is nothing has none.

    entries : what stands, in the order in which it happened. zone : the household's.
    """
    by_kind: dict[str, list[Entry]] = {}
    for entry in entries:
        by_kind.setdefault(entry.fact.kind, []).append(entry)
    return {f"{kind}.csv": _sheet(by_kind[kind], zone) for kind in KINDS if kind in by_kind}


def heading(name: str) -> str:
    """A column's heading: the field in words, its unit in brackets."""
    unit = UNITS.get(name)
    end = next((end for end in _ENDS if unit and name.endswith(end)), "")
    spoken = {"ph": "pH", "ec": "EC"}.get(name.removesuffix(end), name.removesuffix(end))
    words = spoken.replace("_", " ").replace("ph ", "pH ")
    return words if unit is None or unit == words else f"{words} ({unit})"


def safe(text: str) -> str:
    """Text that no spreadsheet takes for a formula: where it might, an apostrophe stands before it."""
    bare = "".join(dropwhile(lambda char: char.isspace() or char in _BLANKS, text))
    return f"'{text}" if bare.startswith(_FORMULA) or text[:1] in ("\t", "\r") else text


def _sheet(entries: Sequence[Entry], zone: ZoneInfo) -> bytes:
    kind = type(entries[0].fact)
    columns = [f.name for f in fields(kind) if f.name not in ("when", "tank")]
    if any(entry.fact.tank for entry in entries):
        columns.append("tank")
    out = io.StringIO()
    writer = csv.writer(out)  # RFC 4180: commas, quotes where needed, CRLF
    when = (f"when ({zone.key})", "when (UTC)", "said by", "in doubt")
    writer.writerow([safe(name) for name in (*when, *map(heading, columns))])
    for entry in entries:
        writer.writerow([*_circumstances(entry, zone), *_cells(entry.fact, columns, zone)])
    # The mark at the start tells a spreadsheet that the file is UTF-8.
    return out.getvalue().encode("utf-8-sig", "replace")


def _circumstances(entry: Entry, zone: ZoneInfo) -> tuple[str, str, str, str]:
    at = entry.happened_at
    return _shown_at(at, zone), _shown_at(at, UTC), safe(entry.author), "yes" if entry.doubted else ""


def _cells(fact: Fact, columns: Iterable[str], zone: ZoneInfo) -> list[str]:
    return [_cell(getattr(fact, name), zone) for name in columns]


def _cell(value: Any, zone: ZoneInfo) -> str:
    """A number stays a number; everything that people typed is text, and made safe."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, datetime):
        return _shown_at(value, zone)
    if isinstance(value, tuple):
        return safe(", ".join(map(str, value)))
    return safe(str(value))


def _shown_at(at: datetime, zone: Any) -> str:
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M:%S}"
