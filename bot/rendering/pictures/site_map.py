"""The site map as data: what a letter keeps of it, and which site is drawn where. No drawing here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from bot.assistant.exchange import Picture
from domain.sites import Spot, label_parts

__all__ = ["MOST_SPOTS", "SITE_MAP", "Block", "Place", "SiteMap", "arranged", "site_map_picture"]

SITE_MAP = "site_map"
"""The kind of this picture in a letter."""

MOST_SPOTS = 60
"""More boxes than this cannot be told apart on a phone; the rest is counted."""

MOST_COLUMNS = 5
"""In a row of a phone's width, so that ``germinating`` fits into a box in letters that can be read."""

NAMED_COLUMNS = 3
"""Of sites with names of their own, which are longer than ``A3``."""

LONGEST_WORD = 60
"""As much as a letter keeps of a label or a crop; no box has room for more. [characters]"""


@dataclass(frozen=True, slots=True)
class SiteMap:
    """What a site map shows.

    day : the day it was true, as the household writes it.
    spots : at most ``MOST_SPOTS``. left_out : how many more there are.
    """

    day: str
    spots: tuple[Spot, ...]
    left_out: int = 0

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> SiteMap:
        """The map that ``site_map_picture`` wrote. Raises ValueError where the data is none."""
        try:
            spots = tuple(
                Spot(label=label, state=state, crop=crop, days=days, others=others, task=(*task, None)[0])
                for label, state, crop, days, others, *task in data["spots"]
            )
            return cls(day=data["day"], spots=spots, left_out=data["left_out"])
        except (KeyError, TypeError, ValueError) as error:
            raise ValueError("no site map") from error


@dataclass(frozen=True, slots=True)
class Place:
    """A site and the row and column of its block, from 0."""

    spot: Spot
    row: int
    column: int


@dataclass(frozen=True, slots=True)
class Block:
    """Sites that are drawn together in boxes of one size."""

    places: tuple[Place, ...]
    columns: int

    @property
    def rows(self) -> int:
        return 1 + max(place.row for place in self.places)


def site_map_picture(spots: Sequence[Spot], day: str) -> Picture:
    """The specification of a site map, small enough for a letter.

    spots : in order; at least one. day : the day it is true, as the household writes it.
    """
    drawn = [
        [
            each.label[:LONGEST_WORD],
            each.state,
            (each.crop or "")[:LONGEST_WORD] or None,
            each.days,
            each.others,
            each.task,
        ]
        for each in spots[:MOST_SPOTS]
    ]
    return Picture(SITE_MAP, {"day": day, "spots": drawn, "left_out": max(0, len(spots) - MOST_SPOTS)})


def arranged(spots: Sequence[Spot]) -> tuple[Block, ...]:
    """Where the sites are drawn: those of a grid as they stand, then those with their own names in order."""
    in_grid = [(spot, parts) for spot in spots if (parts := label_parts(spot.label)) is not None]
    named = [spot for spot in spots if label_parts(spot.label) is None]
    blocks = []
    if in_grid:
        blocks.append(_grid(in_grid))
    if named:
        blocks.append(_in_order(named, NAMED_COLUMNS))
    return tuple(blocks)


def _grid(spots: Sequence[tuple[Spot, tuple[str, int]]]) -> Block:
    letters = sorted({letter for _, (letter, _) in spots})
    numbers = sorted({number for _, (_, number) in spots})
    if len(letters) * len(numbers) > 2 * len(spots):
        return _in_order([spot for spot, _ in spots], MOST_COLUMNS)
    if len(numbers) <= MOST_COLUMNS:
        places = [
            Place(spot, letters.index(letter), numbers.index(number)) for spot, (letter, number) in spots
        ]
        return Block(tuple(places), len(numbers))
    if 3 <= len(letters) <= MOST_COLUMNS:
        places = [
            Place(spot, numbers.index(number), letters.index(letter)) for spot, (letter, number) in spots
        ]
        return Block(tuple(sorted(places, key=lambda place: (place.row, place.column))), len(letters))
    return _broken_rows(spots, len(numbers))


def _broken_rows(spots: Sequence[tuple[Spot, tuple[str, int]]], longest: int) -> Block:
    """A letter's sites one after the other, each letter on a new row, in rows of about one length."""
    columns = _evenly(longest)
    places: list[Place] = []
    row = 0
    for _, group in groupby(sorted(spots, key=lambda each: each[1]), key=lambda each: each[1][0]):
        own = [spot for spot, _ in group]
        places += [Place(spot, row + at // columns, at % columns) for at, spot in enumerate(own)]
        row += -(-len(own) // columns)
    return Block(tuple(places), columns)


def _in_order(spots: Sequence[Spot], columns: int) -> Block:
    columns = min(columns, len(spots))
    return Block(tuple(Place(spot, *divmod(at, columns)) for at, spot in enumerate(spots)), columns)


def _evenly(count: int) -> int:
    """How many columns give rows of about one length, none longer than may be."""
    rows = -(-count // MOST_COLUMNS)
    return -(-count // rows)
