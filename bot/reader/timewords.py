"""Time phrases as data, and the words that they are made of."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Literal

from bot.reader.scan import Token

__all__ = [
    "DAYS",
    "ELAPSED",
    "EVERYDAY_WORDS",
    "FOREIGN_MONTHS",
    "MONTHS",
    "OFFSETS",
    "ORDINALS",
    "PARTS",
    "WEEKDAYS",
    "Clock",
    "Day",
    "TimePhrase",
    "on_same_day",
    "weekday_named",
    "whole_at",
]


@dataclass(frozen=True, slots=True)
class Clock:
    """A time of day. ``bare``: only an hour, with no am, pm or minutes: it may be either half of the day."""

    hour: int
    minute: int = 0
    bare: bool = False
    loose: bool = False
    """Hour and minutes below twelve with neither am nor pm nor a leading zero."""


@dataclass(frozen=True, slots=True)
class Day:
    """A day: ``offset`` days from today, a ``weekday`` (0 Monday), or a ``date`` (a year is optional)."""

    kind: Literal["offset", "weekday", "date"]
    number: int
    month: int = 0
    year: int = 0
    turn: str = ""
    """``last`` or ``next`` before a weekday."""


@dataclass(frozen=True, slots=True)
class TimePhrase:
    """One time phrase. ``elapsed`` counts from now, past negative; ``part`` is a part of the day.

    end : index of the token after it.
    """

    end: int
    elapsed: timedelta | None = None
    day: Day | None = None
    clock: Clock | None = None
    part: str | None = None

    @property
    def is_future(self) -> bool:
        """Whether the words themselves look forward (``tomorrow``, ``in 3 days``, ``next Monday``)."""
        if self.elapsed is not None:
            return self.elapsed > timedelta()
        day = self.day
        return day is not None and ((day.kind == "offset" and day.number > 0) or day.turn == "next")


PARTS = {
    "morning": 8,
    "noon": 12,
    "midday": 12,
    "afternoon": 15,
    "arvo": 15,
    "evening": 19,
    "night": 21,
    "tonight": 21,
}
"""The clock times that parts of the day stand for (message contract, rule 10)."""

_WEEKDAY_NAMES = (
    ("monday", "mon"),
    ("tuesday", "tues", "tue"),
    ("wednesday", "weds", "wed"),
    ("thursday", "thurs", "thur", "thu"),
    ("friday", "fri"),
    ("saturday", "sat"),
    ("sunday", "sun"),
)
WEEKDAYS = {name: number for number, names in enumerate(_WEEKDAY_NAMES) for name in names}
EVERYDAY_WORDS = frozenset(("mon", "wed", "sat", "sun", "fri"))

_MONTH_NAMES = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
]
MONTHS = {name: number for number, name in enumerate(_MONTH_NAMES, 1)} | {
    name[:3]: number for number, name in enumerate(_MONTH_NAMES, 1)
}
MONTHS["sept"] = 9

_FOREIGN_MONTHS = (
    "enero janeiro janvier januar gennaio januari",
    "febrero fevereiro fevrier februar febbraio februari fev",
    "marzo marco mars marz maart",
    "abril avril aprile avr abr",
    "mayo maio mai maggio mei",
    "junio junho juin juni giugno",
    "julio julho juillet juli luglio",
    "agosto aout augustus",
    "septiembre setembro septembre settembre",
    "octubre outubro octobre oktober ottobre okt",
    "noviembre novembro novembre",
    "diciembre dezembro decembre dezember dicembre dez dic",
)
FOREIGN_MONTHS = MONTHS | {
    name: number for number, names in enumerate(_FOREIGN_MONTHS, 1) for name in names.split()
}
"""Months as Spanish, Portuguese, French, German, Italian and Dutch households write them, without accents.

They count only after a day (``24. Oktober``, ``3 de agosto``): by themselves some are everyday words.
"""

OFFSETS = {
    "today": 0,
    "yesterday": -1,
    "yday": -1,
    "yest": -1,
    "ystrday": -1,
    "yesterdays": -1,
    "yesterday's": -1,
    "today's": 0,
    "tomorrow": 1,
    "tmrw": 1,
    "tmr": 1,
    "tomoz": 1,
    "tmw": 1,
    "tomorow": 1,
    "tommorow": 1,
    "tommorrow": 1,
    "2day": 0,
    "2moro": 1,
    "2morrow": 1,
    "2nite": 0,
}

ELAPSED = {
    "minute": timedelta(minutes=1),
    "minutes": timedelta(minutes=1),
    "min": timedelta(minutes=1),
    "mins": timedelta(minutes=1),
    "hour": timedelta(hours=1),
    "hours": timedelta(hours=1),
    "hr": timedelta(hours=1),
    "hrs": timedelta(hours=1),
    "h": timedelta(hours=1),
}
DAYS = {
    "day": 1,
    "days": 1,
    "d": 1,
    "week": 7,
    "weeks": 7,
    "wk": 7,
    "wks": 7,
    "fortnight": 14,
    "fortnights": 14,
    "month": 30,
    "months": 30,
}
ORDINALS = frozenset(("st", "nd", "rd", "th"))


def on_same_day(before: TimePhrase, phrase: TimePhrase) -> TimePhrase:
    """``yesterday morning ..., evening ...``: a later time of the same past day, if no day is said again."""
    day = before.day
    if day is None or day.kind != "offset" or day.number >= 0 or phrase.day is not None:
        return phrase
    first, second = _hour_of(before), _hour_of(phrase)
    return replace(phrase, day=day) if first is not None and second is not None and first < second else phrase


def _hour_of(phrase: TimePhrase) -> int | None:
    if phrase.clock is not None:
        return phrase.clock.hour
    return PARTS.get(phrase.part) if phrase.part is not None else None


def weekday_named(word: str) -> int | None:
    """0 to 6 for a weekday's name, also in the plural (``sundays``)."""
    found = WEEKDAYS.get(word)
    if found is None and word.endswith("s"):
        found = WEEKDAYS.get(word[:-1])
    return found


def whole_at(tokens: list[Token], i: int) -> int | None:
    """Token ``i`` as a whole number of up to four digits; ``None`` for anything else."""
    if i < len(tokens) and tokens[i].kind == "n" and tokens[i].text.isdigit() and len(tokens[i].text) <= 4:
        return int(tokens[i].text)
    return None
