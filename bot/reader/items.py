"""What a message is made of: items, and the line that they stand in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from bot.reader.scan import Cleaned, Token
from bot.reader.sites import Sites

__all__ = ["Item", "Line", "framed", "sites_of"]


@dataclass(slots=True)
class Item:
    """One piece of a message. ``start`` and ``end`` are places in the cleaned text.

    key : how the phrase tables see it: a key of the lexicon, ``#num``, ``#vol`` ..., or the word itself.
    value : a Number, Quantity, Sites or TimePhrase; the canonical name of a crop; the role of a product.
    own : a product's name where the household gave it.
    negative : a number with a minus before it, which no amount has.
    """

    key: str
    start: int
    end: int
    value: Any = None
    own: str = ""
    negative: bool = False


@dataclass(slots=True)
class Line:
    """A message as items, with their keys in one line.

    keys : the key of each item, each followed by a space.
    around : the key of each item, and empty ones before the first and after the last (see ``framed``).
    places : where each item's key starts in ``keys``.
    times : time phrases, which stand outside of the line of keys, with the number of the item they precede.
    """

    cleaned: Cleaned
    items: list[Item]
    keys: str
    around: list[str]
    places: list[int]
    times: list[tuple[int, Item]]
    tokens: list[Token]

    def typed(self, first: int, last: int) -> str:
        """Items ``first`` to ``last`` as typed."""
        return self.cleaned.raw(self.items[first].start, self.items[last].end)


FRAME = 32
"""Items that anybody looks ahead of the last one, or behind the first, at most."""


def framed(keys: list[str]) -> list[str]:
    """``keys`` with empty ones behind them: what lies before the first (index -1, -2 ...) is empty too."""
    return keys + [""] * FRAME


def sites_of(item: Item) -> tuple[str, ...]:
    """The labels that a ``#site`` item stands for."""
    return item.value.labels if isinstance(item.value, Sites) else (str(item.value),)
