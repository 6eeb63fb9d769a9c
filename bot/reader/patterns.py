"""The small language of the phrase tables.

A pattern is written as it would be said::

    ADDED <amount> of? <product>
    MOVED <crop>? from <sites:from> to <sites:to>

Words stand for themselves, words in capitals for all their spellings in the lexicon, ``a|b`` for either,
``?`` after a piece makes it optional, ``<...>`` is something with a value: a kind of ``PIECES``, and after a
colon the name under which it is found, where that is not the kind itself.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Generic, TypeVar

from bot.reader.items import Item, Line

__all__ = ["Hit", "Table"]

_ITEM = r"(?:(?![,;.!?/:=])(?!nl )[^ ]+ )"

_HARD_ENDS = ", ; . ! ? ) nl and & then but because so"
_ENDS = {
    "$": f"{_HARD_ENDS} / + to in into for with from".split(),
    "$$": f"{_HARD_ENDS} just now again".split(),
}
"""``$$``: the end of a clause; ``$``: that, or a word with which something else begins."""

PIECES: dict[str, str] = {
    "amount": "(?:#vol|#mass|#cnt|#oz)",
    "volume": "(?:#vol|#oz)",
    "litres": "(?:#vol|#oz|#num)",
    "mass": "(?:#mass|#oz)",
    "number": "#num",
    "sites": "#site",
    "crop": "#crop",
    "tank": "#tank",
    "percent": "#pct",
    "length": "#len",
    "part": "#part",
    "line": "(?:line|mark|top|brim|max|rim)",
    "share": "(?:#pct|#num|all|everything)",
    "after": "after",
    "the": "the",
    "verb": "(?:ADDED|MOVED)",
    "temp": "(?:#temp|#num)",
    "every": "#every",
    "value": "(?:#num|#mgl|#ppm)",
    "strength": "(?:#num|#ec|#ppm|#temp)",
    "what": "(?:PH|EC|PPM|TEMP|WTEMP|STRENGTH)",
    "alkunit": "(?:dh|dkh|kh|fh|clark|gpg|meq)",
    "topic": (
        "(?:PH|EC|PPM|TEMP|WTEMP|LEVEL|WATER|TANK|STRENGTH|RH|#crop|#site|#tank|#prod|FOOD|ADJUSTER|"
        "leaves|leaf|roots|plants|plant|"
        "seedlings|seedling|tips|algae|seeds|PUMP|LIGHTS|FILTER|sprouts|slime|nutrients|fruit|flowers|"
        "FLOWERING|FRUITING|BOLTING)"
    ),
    "value_name": "(?:PH|EC|PPM|TEMP|WTEMP|LEVEL|STRENGTH|RH|AIR|CF)",
    "strength_name": "(?:EC|PPM|STRENGTH|CF)",
    "plant": "(?:#crop|#site)",
    "supply": (
        "(?:plug|plugs|pods|pod|nets|sponges|sponge|seeds|seed|packets|filters|FILTER|rockwool|cubes|"
        "strips|sachets|baskets|"
        "collars|domes|pots|stones|buffer|buffers|#prod|FOOD|tablets|cups)"
    ),
    "product": "(?:#prod|DOWN|UP|BASE|FOOD)",
    "ph_up_or_down": "(?:#prod|DOWN|UP|BASE)",
}
"""What ``<...>`` may be, as a regular expression over keys."""


@dataclass(frozen=True, slots=True)
class Hit:
    """Where a pattern matched: items ``first`` to ``last`` of ``line``."""

    line: Line
    match: re.Match[str]
    first: int
    last: int

    def number_of(self, name: str) -> int | None:
        """The number of the (first) item that was found under ``name``; ``None`` where it was not said."""
        place = self.match.start(name) if name in self.match.re.groupindex else -1
        return None if place < 0 else bisect_left(self.line.places, place)

    def item(self, name: str) -> Item | None:
        """The item that was found under ``name``."""
        number = self.number_of(name)
        return None if number is None else self.line.items[number]

    def items(self, name: str) -> list[Item]:
        """All items under ``name``, where it spans several."""
        first = self.number_of(name)
        if first is None:
            return []
        last = bisect_left(self.line.places, self.match.end(name))
        return self.line.items[first:last]

    def typed(self, name: str) -> str | None:
        """What was found under ``name``, as typed."""
        found = self.items(name)
        return self.line.cleaned.raw(found[0].start, found[-1].end) if found else None

    def said(self, name: str) -> bool:
        """Whether the optional piece ``name`` is there."""
        return name in self.match.re.groupindex and self.match.start(name) >= 0


_B = TypeVar("_B")


class _Row:
    """One pattern, compiled when it is first needed: most messages need few."""

    def __init__(self, pattern: str) -> None:
        self._pattern = pattern

    @cached_property
    def regex(self) -> re.Pattern[str]:
        return re.compile(_regex(self._pattern))


class Table(Generic[_B]):
    """Patterns, each with what it gives, looked up by the keys of their first two items."""

    def __init__(self, rows: Iterable[tuple[str, _B]]) -> None:
        self._by_key: dict[str, list[tuple[_Row, frozenset[str] | None, _B]]] = {}
        for pattern, gives in rows:
            row = _Row(pattern)
            for key, following in _starts(pattern).items():
                self._by_key.setdefault(key, []).append((row, following, gives))

    def at(self, line: Line, number: int) -> Iterator[tuple[_B, Hit]]:
        """Every row that matches at item ``number``, in the order of the table."""
        second = line.around[number + 1]
        for row, following, gives in self._by_key.get(line.around[number], ()):
            if following is not None and second not in following:
                continue
            match = row.regex.match(line.keys, line.places[number])
            if match is not None and match.end() > match.start():
                last = bisect_left(line.places, match.end()) - 1
                yield gives, Hit(line, match, number, last)


def _pieces(pattern: str) -> list[str]:
    return re.findall(r"\(|\)\??|[^\s()]+", pattern)


def _regex(pattern: str) -> str:
    return "".join(_piece_regex(piece) for piece in _pieces(pattern))


def _piece_regex(piece: str) -> str:
    if piece == "(":
        return "(?:"
    if piece in (")", ")?"):
        return piece
    if piece in _ENDS:
        return f"(?=$|(?:{'|'.join(re.escape(key) for key in _ENDS[piece])}) )"
    bare, optional = _optional(piece)
    mark = "?" if optional else ""
    if not bare.startswith("<"):
        words = "|".join(re.escape(word) for word in _words(bare))
        return f"(?:(?:{words}) ){mark}"
    kind, _, name = bare[1:-1].partition(":")
    name = name or kind
    if kind == "rest":  # to the end of the clause
        return f"(?P<{name}>{_ITEM}{{1,40}}){mark}"
    if kind == "shown":  # to what comes after it
        return f"(?P<rest>(?:(?!then |now |after |PH |EC |so |but |TEMP |WTEMP ){_ITEM}){{1,40}}){mark}"
    if kind == "gap":  # anything short that does not matter
        return f"{_ITEM}{{0,6}}?"
    if kind == "some":  # as few items as will do
        return f"(?P<{name}>{_ITEM}{{1,4}}?){mark}"
    return f"(?:(?P<{name}>{PIECES[kind]}) ){mark}"


def _optional(piece: str) -> tuple[str, bool]:
    return (piece[:-1], True) if len(piece) > 1 and piece.endswith("?") else (piece, False)


def _starts(pattern: str) -> dict[str, frozenset[str] | None]:
    """The keys with which a match can start, each with those that can come second; ``None``: any key can.

    A match starts with the first piece that must be there, or with one before it.
    """
    starts: dict[str, frozenset[str] | None] = {}
    pieces = _pieces(pattern)
    for number, piece in enumerate(pieces, 1):
        bare, optional = _optional(piece)
        if bare.startswith("("):
            raise ValueError(f"a pattern must not start with a group: {pattern}")
        following, may_end = _next_keys(pieces[number:])
        for key in _keys_of(bare):
            known = starts.get(key, frozenset())
            starts[key] = None if may_end or known is None else known | following
        if not optional:
            return starts
    raise ValueError(f"a pattern must have a piece that must be there: {pattern}")


def _next_keys(pieces: list[str]) -> tuple[frozenset[str], bool]:
    """The keys with which ``pieces`` can go on, and whether any other key may come as well."""
    keys: frozenset[str] = frozenset()
    i = 0
    while i < len(pieces):
        piece = pieces[i]
        optional = False
        if piece == "(":
            close = _closing(pieces, i)
            inside, optional = _next_keys(pieces[i + 1 : close])
            keys |= inside
            optional = optional or pieces[close] == ")?"
            i = close
        elif piece in _ENDS:
            return keys | {"", *_ENDS[piece]}, False
        else:
            bare, optional = _optional(piece)
            if bare.startswith(("<rest", "<shown", "<gap", "<some")):
                return frozenset(), True
            keys |= set(_keys_of(bare))
        if not optional:
            return keys, False
        i += 1
    return keys, True


def _closing(pieces: list[str], opening: int) -> int:
    """Where the group that opens at ``opening`` ends."""
    depth = 0
    for i in range(opening, len(pieces)):
        depth += (pieces[i] == "(") - (pieces[i] in (")", ")?"))
        if not depth:
            return i
    raise ValueError(f"a group has no end: {' '.join(pieces)}")


def _words(piece: str) -> list[str]:
    """The keys that a piece of words stands for; a tank may also be called by its own name."""
    keys = piece.split("|")
    return [*keys, "#tank"] if "TANK" in keys else keys


def _keys_of(piece: str) -> list[str]:
    if not piece.startswith("<"):
        return _words(piece)
    kind = piece[1:-1].partition(":")[0]
    return PIECES[kind].strip("(?:)").split("|")
