"""Time phrases in a text: ``last night``, ``yesterday 7pm``, ``24/10``, before anything is resolved.

Which moment a phrase means depends on what it goes with (a record looks back, a reminder forward), so that
is decided in ``moments``. Dates in words that this grammar does not know are read in ``long_dates``.
"""

from __future__ import annotations

from dataclasses import replace

from bot.reader.clocks import amount_of_time, clock_at, elapsed_at
from bot.reader.dates import date_at, day_of_month, dotted_day, iso_date, month_first, weekday_at
from bot.reader.fillers import words
from bot.reader.foreign_times import FOREIGN_STARTS, FOREIGN_UNITS, foreign_at
from bot.reader.numbers import WORDS
from bot.reader.scan import Token, word_at
from bot.reader.timewords import (
    DAYS,
    ELAPSED,
    FOREIGN_MONTHS,
    MONTHS,
    OFFSETS,
    ORDINALS,
    PARTS,
    WEEKDAYS,
    Clock,
    Day,
    TimePhrase,
)

__all__ = ["may_start_time", "time_at", "with_what_follows"]

_NUMBER_WORDS = frozenset(WORDS) | words("half couple few")
_AFTER_NUMBER_WORDS = words("a an and of point")
"""What else stands after a number word that starts a time phrase: ``half an hour``, ``two and a half``."""
_STARTERS = (
    frozenset(OFFSETS)
    | frozenset(WEEKDAYS)
    | frozenset(MONTHS)
    | frozenset(PARTS)
    | FOREIGN_STARTS
    | words("um as las on at in this last next the a an midnight early late @ around about day by")
)
_AT_ABROAD = {"um": ("uhr", ":"), "as": ("h", ":", "horas"), "las": ("", "h", ":", "horas", ",", ".")}
"""``um 7 Uhr``, ``as 19h``, ``a las 7``: words for ``at``, with what must follow the hour."""
_AFTER_NUMBERS = (
    frozenset(FOREIGN_MONTHS)
    | frozenset(ELAPSED)
    | frozenset(DAYS)
    | FOREIGN_UNITS
    | words("st nd rd th of de di / - : . am pm a p in this o'clock oclock 1")
)
"""What stands after a number that starts a time phrase."""


def may_start_time(tokens: list[Token], i: int) -> bool:
    """Whether a time phrase can start at token ``i``: a first look that costs little."""
    token = tokens[i]
    if token.kind == "n":
        return word_at(tokens, i + 1) in _AFTER_NUMBERS or token.text.count(".") > 1
    if token.text in _NUMBER_WORDS:
        following = word_at(tokens, i + 1)
        return following in _AFTER_NUMBERS or following in _AFTER_NUMBER_WORDS
    return token.text in _STARTERS


def time_at(tokens: list[Token], i: int, *, day_first: bool, after: str = "") -> TimePhrase | None:
    """The time phrase that starts at token ``i``, if one does.

    day_first : how ``5/6`` is meant.
    after : what stands before: ``name`` where a value is expected, so that no bare number is an hour.
    """
    if not may_start_time(tokens, i):
        return None
    found = _piece(tokens, i, day_first, after)
    return with_what_follows(tokens, found, day_first) if found is not None else None


def with_what_follows(tokens: list[Token], found: TimePhrase, day_first: bool) -> TimePhrase:
    """``found`` with the pieces right after it that fill what it leaves open: ``3 may`` and ``7pm``."""
    while True:
        more = _next_piece(tokens, found, day_first)
        if more is None:
            return found
        found = more


def _next_piece(tokens: list[Token], found: TimePhrase, day_first: bool) -> TimePhrase | None:
    """``found`` joined with the piece right after it, where that fills what ``found`` leaves open."""
    if found.elapsed is not None:
        return None
    i = found.end
    if word_at(tokens, i) == "," and found.end < len(tokens):
        i += 1
    if i >= len(tokens) or (
        tokens[i].kind != "n" and tokens[i].text not in _STARTERS and tokens[i].text != "t"
    ):
        return None
    if tokens[i].text == "t" and found.day is not None and not tokens[i].gap:
        i += 1
        if i >= len(tokens):
            return None
    piece = _piece(tokens, i, day_first, "day" if found.day is not None and i == found.end else "")
    if piece is None or piece.elapsed is not None:
        return None
    if found.day and piece.day and found.day.kind == "weekday" and piece.day.kind == "date":
        return replace(found, end=piece.end, day=piece.day)  # ``Saturday 2 May``
    if (piece.day and found.day) or (piece.clock and found.clock) or (piece.part and found.part):
        return None
    return replace(
        found,
        end=piece.end,
        day=found.day or piece.day,
        clock=found.clock or piece.clock,
        part=found.part or piece.part,
    )


def _piece(tokens: list[Token], i: int, day_first: bool, after: str) -> TimePhrase | None:
    token = tokens[i]
    if token.kind == "n":
        return (
            iso_date(tokens, i)
            or date_at(tokens, i, day_first, after)
            or clock_at(tokens, i, after)
            or elapsed_at(tokens, i)
            or foreign_at(tokens, i)
        )
    word = token.text
    if word in ("on", "by"):
        return _on(tokens, i + 1, day_first)
    if word in ("at", "@", "around", "about"):
        return _at(tokens, i + 1, "" if after == "name" or word in ("around", "about") else "at")
    if word in _AT_ABROAD and word_at(tokens, i + 2) in _AT_ABROAD[word]:
        return _at(tokens, i + 1, "at")
    if word == "in":
        return _in(tokens, i + 1)
    return _named(tokens, i, day_first, after)


def _named(tokens: list[Token], i: int, day_first: bool, after: str) -> TimePhrase | None:
    """Phrases that start with a word of their own."""
    word, following = tokens[i].text, word_at(tokens, i + 1)
    if word in OFFSETS:
        return TimePhrase(i + 1, day=Day("offset", OFFSETS[word]))
    if word == "tonight":
        return TimePhrase(i + 1, day=Day("offset", 0), part="tonight")
    if word == "midnight":
        return TimePhrase(i + 1, clock=Clock(0))
    if word in ("this", "early", "late") and following in PARTS:
        return TimePhrase(i + 2, day=Day("offset", 0) if word == "this" else None, part=following)
    if word == "last" and following in ("night", "evening"):
        return TimePhrase(i + 2, day=Day("offset", -1), part="night" if following == "night" else following)
    if word in ("last", "next", "this") and following in WEEKDAYS:
        return TimePhrase(i + 2, day=Day("weekday", WEEKDAYS[following], turn=word.replace("this", "")))
    if word in ("last", "next") and following in ("week", "month"):
        days = DAYS[following] if word == "next" else -DAYS[following]
        return TimePhrase(i + 2, day=Day("offset", days))
    if word in WEEKDAYS:
        return weekday_at(tokens, i)
    if word in MONTHS:
        return month_first(tokens, i)
    if word in PARTS:
        return TimePhrase(i + 1, part=word) if _stands_alone(tokens, i) or after == "day" else None
    if word in ("the", "day"):
        return _the(tokens, i if word == "day" else i + 1, day_first)
    return elapsed_at(tokens, i) or foreign_at(tokens, i) or clock_at(tokens, i, after)


def _the(tokens: list[Token], i: int, day_first: bool) -> TimePhrase | None:
    words = tuple(word_at(tokens, i + k) for k in range(3))
    if words == ("day", "before", "yesterday"):
        return TimePhrase(i + 3, day=Day("offset", -2))
    if words == ("day", "after", "tomorrow"):
        return TimePhrase(i + 3, day=Day("offset", 2))
    if words[0] == "other" or not words[0] or tokens[i].kind != "n":
        return None
    if words[1] in ORDINALS:
        return date_at(tokens, i, day_first, "") or day_of_month(tokens, i)
    return None


def _on(tokens: list[Token], i: int, day_first: bool) -> TimePhrase | None:
    word = word_at(tokens, i)
    if word == "the":
        return _the(tokens, i + 1, day_first)
    if word in WEEKDAYS:
        return TimePhrase(i + 1, day=Day("weekday", WEEKDAYS[word]))
    if word in ("last", "next"):
        return _named(tokens, i, day_first, "")
    if i < len(tokens) and tokens[i].kind == "n":
        return iso_date(tokens, i) or date_at(tokens, i, day_first, "") or dotted_day(tokens, i)
    return month_first(tokens, i) if word in MONTHS else None


def _at(tokens: list[Token], i: int, after: str) -> TimePhrase | None:
    word = word_at(tokens, i)
    if word in ("about", "around"):
        return None if word_at(tokens, i + 1) in ("about", "around") else _at(tokens, i + 1, after)
    if word in ("noon", "midday", "lunch", "lunchtime"):
        return TimePhrase(i + 1, part="noon")
    if word == "midnight":
        return TimePhrase(i + 1, clock=Clock(0))
    if word in ("night", "evening", "morning", "afternoon"):
        return TimePhrase(i + 1, part=word)
    return clock_at(tokens, i, after) if i < len(tokens) else None


def _in(tokens: list[Token], i: int) -> TimePhrase | None:
    word = word_at(tokens, i)
    if word == "the":
        part = word_at(tokens, i + 1)
        return TimePhrase(i + 2, part=part) if part in PARTS else None
    if word in ("morning", "evening", "afternoon"):
        return TimePhrase(i + 1, part=word)
    amount = amount_of_time(tokens, i)
    if amount is None:
        return None
    elapsed, days, end = amount
    if word_at(tokens, end) == "time":
        end += 1
    return TimePhrase(end, elapsed=elapsed) if elapsed else TimePhrase(end, day=Day("offset", days))


def _stands_alone(tokens: list[Token], i: int) -> bool:
    """A part of the day that is a time and no greeting: ``morning ph 6``, but not ``good morning``."""
    before = tokens[i - 1].text if i else ""
    return before not in ("good", "gd", "every", "each", "all", "per") and not (
        tokens[i].text == "night"
        or (
            i == 0
            and word_at(tokens, i + 1) in ("", "all", "everyone", "everybody", "guys", "!", "folks", "team")
        )
    )
