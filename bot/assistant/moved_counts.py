"""How many plants a move names, beside how many it moves: the number is no part of the message contract."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from bot.assistant.replies import Logged
from bot.assistant.scene import Scene
from bot.reader import Found
from domain.facts import Moved
from domain.plots import labels

__all__ = ["told"]

_TWO_ON = ("two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_WORDS = {word: number for number, word in enumerate(_TWO_ON, 2)}
_COUNT = re.compile(
    r"\b(?P<before>[a-z]+)\s+(?:the\s+|all\s+|my\s+|our\s+|both\s+)*"
    rf"(?P<count>\d{{1,4}}|{'|'.join(_WORDS)})\s+(?=[a-z])",
    re.IGNORECASE,
)
_OF_A_PLACE = frozenset(
    ("row", "rows", "site", "sites", "tray", "trays", "plug", "pot", "tank", "lot", "from", "to", "in", "at")
)
"""After these words a number names a place."""


def told(scene: Scene, reply: Logged, kept: Sequence[Found], text: str) -> Logged:
    """The reply to a move, with the number that it gives where another number of plants was moved.

    scene : with the message in it. text : the message, in which each fact has its span.
    """
    if reply.plants is None or reply.plants.conflicts:
        return reply
    for found in kept:
        fact = found.fact
        said = _count(text[slice(*found.span)]) if isinstance(fact, Moved) else None
        if said is None or not isinstance(fact, Moved):
            continue
        moved = _moved(scene, fact)
        if moved and moved != said:
            return replace(reply, plants=replace(reply.plants, not_taken=(said, moved)))
    return reply


def _count(words: str) -> int | None:
    """The number right after the verb; none where a place is named by it."""
    hit = next((h for h in _COUNT.finditer(words) if h["before"].lower() not in _OF_A_PLACE), None)
    if hit is None:
        return None
    count = hit["count"].lower()
    return _WORDS.get(count) or int(count)


def _moved(scene: Scene, fact: Moved) -> int:
    """How many stand now where they were moved to."""
    return sum(
        planting.count_at(site)
        for planting in scene.plantings
        if fact.crop in (None, planting.crop)
        for site in labels(fact.to_sites)
        if site in planting.sites
    )
