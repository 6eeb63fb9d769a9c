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
"""rapidfuzz ratio from which a misspelt city counts as meant: one wrong letter in six passes."""
_SPOKEN = {
    "eastern": "America/New_York",
    "est": "America/New_York",
    "edt": "America/New_York",
    "central": "America/Chicago",
    "cst": "America/Chicago",
    "mountain": "America/Denver",
    "mst": "America/Denver",
    "pacific": "America/Los_Angeles",
    "pst": "America/Los_Angeles",
    "pdt": "America/Los_Angeles",
    "gmt": "UTC",
    "bst": "Europe/London",
    "uk": "Europe/London",
    "england": "Europe/London",
    "cet": "Europe/Paris",
}
"""What people say for the clock on their wall: zones that change with summer time, unlike their namesakes."""


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
    places: dict[str, tuple[str, ...]] = {_plain(zone): (zone,) for zone in available_timezones()}
    by_city: dict[str, list[str]] = defaultdict(list)
    for country, zones in _countries().items():
        if len(zones) <= MOST:
            places[country] = tuple(zones)
        for zone in zones:
            by_city[_plain(zone.rsplit("/", 1)[-1])].append(zone)
    cities = {city: tuple(dict.fromkeys(zones)) for city, zones in by_city.items()}
    spoken = {name: (zone,) for name, zone in _SPOKEN.items()}
    return {**places, **cities, **spoken}


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
