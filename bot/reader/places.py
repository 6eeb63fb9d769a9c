"""A city, a country or a zone's name to time zones, from the IANA database alone."""

from __future__ import annotations

import unicodedata
from collections import defaultdict
from functools import lru_cache
from importlib.resources import files
from zoneinfo import available_timezones

from rapidfuzz import fuzz, process

__all__ = ["zones_named"]

MOST = 6
"""More candidates than this are no help: the household is asked for the nearest big city instead."""
_CLOSE_ENOUGH = 86
"""rapidfuzz ratio from which a misspelt city counts as meant; chosen so that one wrong letter in six passes."""


def zones_named(text: str) -> tuple[str, ...]:
    """The time zones that a text may mean, the likeliest first; empty where none fits.

    text : ``Europe/Lisbon``, ``lisbon``, ``Portugal``, ``new york``, ``UTC``, any case.
    """
    wanted = _plain(text)
    if not wanted:
        return ()
    named = _names()
    if wanted in named:
        return named[wanted]
    close = process.extractOne(wanted, named.keys(), scorer=fuzz.ratio, score_cutoff=_CLOSE_ENOUGH)
    return named[close[0]] if close else ()


@lru_cache(maxsize=1)
def _names() -> dict[str, tuple[str, ...]]:
    """Every plain name of a zone, its city or its country, with the zones it stands for."""
    places: dict[str, list[str]] = defaultdict(list)
    for zone in sorted(available_timezones()):
        if zone.startswith(("Etc/", "SystemV/", "posix", "right/")):
            continue
        places[_plain(zone)].append(zone)
        if "/" in zone:
            places[_plain(zone.rsplit("/", 1)[1])].append(zone)
    for country, zones in _countries().items():
        if len(zones) <= MOST:
            places[country].extend(zone for zone in zones if zone not in places[country])
    return {name: tuple(dict.fromkeys(zones))[:MOST] for name, zones in places.items()}


def _countries() -> dict[str, list[str]]:
    data = files("tzdata") / "zoneinfo"
    names = dict(_rows((data / "iso3166.tab").read_text(encoding="utf-8"), 2))
    zones: dict[str, list[str]] = defaultdict(list)
    for row in _rows((data / "zone.tab").read_text(encoding="utf-8"), 3):
        zones[_plain(names[row[0]])].append(row[2])
    return zones


def _rows(table: str, columns: int) -> list[list[str]]:
    lines = (line for line in table.splitlines() if line and not line.startswith("#"))
    return [line.split("\t")[:columns] for line in lines]


def _plain(text: str) -> str:
    """Lower case, no accents, words apart by one space."""
    letters = unicodedata.normalize("NFKD", text.casefold())
    kept = "".join(" " if c in "_-/,." else c for c in letters if not unicodedata.combining(c))
    return " ".join(kept.split())
