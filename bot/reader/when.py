"""Which time phrase of a message goes with what: its own clause's, else the message's (rule 10)."""

from __future__ import annotations

from bisect import bisect_right
from itertools import takewhile

from bot.reader.continuing import BREAKS
from bot.reader.items import Item, Line
from bot.reader.mood import STATED
from bot.reader.pieces import Piece

__all__ = ["Coverage", "clause_of_time", "is_own", "times_of_plans"]

Times = list[tuple[int, Item]]
"""Time phrases, each with the number of the item that it precedes."""


class Coverage:
    """The time phrases of one message, ready to be asked for what each item goes with."""

    def __init__(self, line: Line, clauses: list[int], times: Times) -> None:
        self._line = line
        self._clauses = clauses
        self._times = times
        self._places = [place for place, _ in times]
        self._first_of: dict[int, int] = {}
        for i, clause in enumerate(clauses):
            self._first_of.setdefault(clause, i)
        self._nows = {clauses[i] for i, item in enumerate(line.items) if item.key == "now"} if times else ()
        self._by_clause: dict[int, Times] = {}
        for place, item in times:
            self._by_clause.setdefault(clause_of_time(line, clauses, place), []).append((place, item))
        self._is_one_aside = len(times) == 1 and self._is_aside(times[0][0])

    def of(self, first: int) -> Item | None:
        """The time phrase that covers item ``first``; ``None`` where none does."""
        if not self._times:
            return None
        clause = self._clauses[first]
        own = self._by_clause.get(clause)
        if own is None and (clause in self._nows or self._is_one_aside):
            return None
        if len(self._times) == 1:
            return self._times[0][1]
        if own is None:
            at = bisect_right(self._places, first)
            return self._times[max(at - 1, 0)][1]
        at = bisect_right(own, first, key=lambda entry: entry[0])
        if len(own) > 1 and own[0][0] > self._first_of[clause]:
            return own[min(at, len(own) - 1)][1]
        return own[max(at - 1, 0)][1]

    def _is_aside(self, place: int) -> bool:
        """``ph 6.1, was 6.4 yesterday``: the time is that of the other value alone."""
        start = self._first_of[clause_of_time(self._line, self._clauses, place)]
        items = self._line.items
        if items[start].key in ("was", "#num"):
            return True
        if start == 0 or items[start - 1].key != "(":
            return False
        inside = takewhile(lambda item: item.key != ")", items[start:])
        # ``ph 6.2 (yesterday: 6.5)``, but not ``ph 6.2 (yesterday)``
        return any(item.key[0] == "#" and item.value is not None for item in inside)


def clause_of_time(line: Line, clauses: list[int], place: int) -> int:
    """A time phrase stands before item ``place``: in the clause before it, where that is not over."""
    items = line.items
    if place > 0 and (place >= len(items) or items[place - 1].key not in BREAKS):
        return clauses[place - 1]
    return clauses[min(place, len(items) - 1)]


def times_of_plans(line: Line, clauses: list[int], states: list[str]) -> set[int]:
    """The places of the time phrases whose clauses state nothing."""
    said, stated = set(), set()
    for clause, item, state in zip(clauses, line.items, states, strict=True):
        if item.key not in BREAKS:
            said.add(clause)
            if state == STATED:
                stated.add(clause)
    plans = said - stated
    return {
        place
        for place, _ in line.times
        if clause_of_time(line, clauses, place) in plans
        or (place and STATED not in states[place - 1 : place + 1])
    }


def is_own(line: Line, place: int, item: Item, piece: Piece) -> bool:
    """Whether a time phrase belongs to a reminder or the like alone."""
    behind = piece.last + 1
    ends = line.items[behind].start if behind < len(line.items) else len(line.cleaned.text)
    return place == piece.first or (line.items[piece.first].start <= item.start and item.end <= ends)
