"""Which tank of several a part of a message is about."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from bot.reader.bare import bare_numbers
from bot.reader.continuing import BREAKS
from bot.reader.fillers import words
from bot.reader.items import Item, Line
from bot.reader.result import ReaderSettings
from bot.reader.scan import Token, tokens_of
from domain.facts import Reading

__all__ = ["bare_tanks", "is_of_next_tank", "tank_for", "tanks_in_turn"]

_INTO = words("in into to for on at inside from of")
_ARTICLES = words("the our my a")
_MOST_BARE = 200
"""Longer messages are no list of tanks and their numbers. [characters]"""


def tank_for(
    items: list[Item], tanks: list[tuple[int, Item]], first: int, last: int, *, follows: bool
) -> str | None:
    """The tank that goes for items ``first`` to ``last``.

    tanks : the tanks of the message, each with its place among ``items``.
    follows : whether tanks are named behind what is said of them: ``ph 5.9 kitchen, ph 6.2 balcony``.
    """
    if not tanks:
        return None
    before: Item | None = None
    for at, tank in tanks:
        if at < first:
            before = tank
            continue
        if at <= last or before is None or follows or _leads_to(items, last, at):
            return str(tank.value)
        break
    return str(before.value) if before is not None else None


def _leads_to(items: list[Item], last: int, at: int) -> bool:
    """``3 ml up to the balcony``: nothing but the way there stands before the tank at ``at``."""
    between = [item.key for item in items[last + 1 : at] if item.key not in _ARTICLES]
    return bool(between) and between[-1] in _INTO and BREAKS.isdisjoint(between)


def tanks_in_turn(
    items: list[Item], tanks: list[tuple[int, Item]], first: int, last: int, count: int
) -> list[str]:
    """The tanks of ``count`` facts of one phrase, one each: ``mint in the kitchen and dill in the balcony``.

    Empty where items ``first`` to ``last`` do not name so many.
    """
    named = [
        str(tank.value)
        for at, tank in tanks
        if first <= at <= last or (at > last and _leads_to(items, last, at))
    ]
    return named if len(named) == count > 1 else []


def is_of_next_tank(keys: list[str], i: int) -> bool:
    """``ph 5.9 in the kitchen, 6.2 in the balcony``: number ``i`` is the same of another tank."""
    if (
        keys[i - 1] not in (",", "and", ";", "nl")
        or keys[i] != "#num"
        or "#tank" not in keys[max(0, i - 3) : i]
    ):
        return False
    at = i + 1
    while keys[at] in _INTO or keys[at] in _ARTICLES:
        at += 1
    return keys[at] == "#tank"


def bare_tanks(line: Line, settings: ReaderSettings) -> list[tuple[Reading, tuple[int, int]]]:
    """Readings of bare numbers beside the names of tanks (rule 7), each with its place in the text.

    Empty where one of the tanks has numbers that cannot be read so, or where a time stands beside them.
    """
    tanks = [item for item in line.items if item.key == "#tank"]
    text = line.cleaned.text
    if not tanks or line.times or len(text) > _MOST_BARE:
        return []
    tokens = tokens_of(text)
    edges = [0, *(edge for tank in tanks for edge in (tank.start, tank.end)), len(text)]
    parts = [
        _trimmed([token for token in tokens if low <= token.start and token.end <= high])
        for low, high in list(pairwise(edges))[::2]
    ]
    if not parts[0]:
        parts = parts[1:]
    elif not parts[-1]:
        parts = parts[:-1]
    if len(parts) != len(tanks):
        return []
    readings: list[tuple[Reading, tuple[int, int]]] = []
    for tank, part in zip(tanks, parts, strict=True):
        bare = bare_numbers(line.cleaned, part, settings) if part else None
        if bare is None or bare.reading is None:
            return []
        readings.append((replace(bare.reading, tank=str(tank.value)), (part[0].start, part[-1].end)))
    return readings


def _trimmed(tokens: list[Token]) -> list[Token]:
    """The tokens without the signs and small words that set them off from the names beside them."""
    while tokens and tokens[-1].text in _EDGES:
        tokens = tokens[:-1]
    while len(tokens) > 1 and (tokens[0].text in _EDGES or (tokens[0].text == "-" and tokens[1].gap)):
        tokens = tokens[1:]
    return tokens if [token.text for token in tokens] != ["-"] else []


_EDGES = words(": , ; . = ( ) and tank in the") | {"\n"}
