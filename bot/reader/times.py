"""Time phrases: ``last night``, ``yesterday 7pm``, ``2h ago``, ``24/10`` as data, before anything is resolved.

Which moment a phrase means depends on what it goes with (a record looks back, a reminder forward), so that
is decided in ``moments``. Long or foreign dates that this grammar does not know are not guessed here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Literal

from bot.reader.lexicon import words
from bot.reader.numbers import WORDS, number_at
from bot.reader.scan import Token
from domain.units import UNITS

__all__ = ["MONTHS", "WEEKDAYS", "Clock", "Day", "TimePhrase", "time_at", "weekday_named"]


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
_EVERYDAY_WORDS = frozenset(("mon", "wed", "sat", "sun", "fri"))

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

_OFFSETS = {
    "today": 0, "yesterday": -1, "yday": -1, "yest": -1, "ystrday": -1, "yesterdays": -1, "yesterday's": -1,
    "today's": 0, "tomorrow": 1, "tmrw": 1, "tmr": 1, "tomoz": 1, "tmw": 1, "tomorow": 1, "tommorow": 1,
    "tommorrow": 1, "2day": 0, "2moro": 1,
}  # fmt: skip

_ELAPSED = {
    "minute": timedelta(minutes=1), "minutes": timedelta(minutes=1), "min": timedelta(minutes=1),
    "mins": timedelta(minutes=1), "hour": timedelta(hours=1), "hours": timedelta(hours=1),
    "hr": timedelta(hours=1), "hrs": timedelta(hours=1), "h": timedelta(hours=1),
}  # fmt: skip
_DAYS = {
    "day": 1, "days": 1, "d": 1, "week": 7, "weeks": 7, "wk": 7, "wks": 7, "fortnight": 14,
    "fortnights": 14, "month": 30, "months": 30,
}  # fmt: skip
_STARTERS = (
    frozenset(_OFFSETS)
    | frozenset(WEEKDAYS)
    | frozenset(MONTHS)
    | frozenset(PARTS)
    | frozenset(WORDS)
    | words(
        "on at in this last next the a an half couple few midnight early late @ around about day since by"
    )
)
_AFTER_NUMBERS = (
    frozenset(MONTHS)
    | frozenset(_ELAPSED)
    | frozenset(_DAYS)
    | words("st nd rd th of / - : . am pm a p in this o'clock oclock 1")
)
"""What stands after a number that starts a time phrase."""

_ORDINALS = frozenset(("st", "nd", "rd", "th"))


def weekday_named(word: str) -> int | None:
    """0 to 6 for a weekday's name, also in the plural (``sundays``)."""
    found = WEEKDAYS.get(word)
    if found is None and word.endswith("s"):
        found = WEEKDAYS.get(word[:-1])
    return found


def time_at(tokens: list[Token], i: int, *, day_first: bool, after: str = "") -> TimePhrase | None:
    """The time phrase that starts at token ``i``, if one does.

    day_first : how ``5/6`` is meant.
    after : what stands before: ``name`` where a value is expected, so that no bare number is an hour.
    """
    token = tokens[i]
    if token.kind == "n":
        if "." not in token.text and (i + 1 >= len(tokens) or tokens[i + 1].text not in _AFTER_NUMBERS):
            return None
    elif token.text not in _STARTERS:
        return None
    found = _piece(tokens, i, day_first, after)
    while found is not None:
        more = _next_piece(tokens, found, day_first)
        if more is None:
            break
        found = more
    return found


def _next_piece(tokens: list[Token], found: TimePhrase, day_first: bool) -> TimePhrase | None:
    """``found`` joined with the piece right after it, where that fills what ``found`` leaves open."""
    if found.elapsed is not None:
        return None
    i = found.end
    if _word(tokens, i) == "," and found.end < len(tokens):
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
            _iso_date(tokens, i)
            or _date(tokens, i, day_first, after)
            or _clock(tokens, i, after)
            or _elapsed(tokens, i)
        )
    word = token.text
    if word in ("on", "by"):
        return _on(tokens, i + 1, day_first)
    if word in ("at", "@", "around", "about"):
        return _at(tokens, i + 1, "" if after == "name" or word in ("around", "about") else "at")
    if word == "in":
        return _in(tokens, i + 1)
    return _named(tokens, i, day_first, after)


def _named(tokens: list[Token], i: int, day_first: bool, after: str) -> TimePhrase | None:
    """Phrases that start with a word of their own."""
    word, following = tokens[i].text, _word(tokens, i + 1)
    if word in _OFFSETS:
        return TimePhrase(i + 1, day=Day("offset", _OFFSETS[word]))
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
        days = _DAYS[following] if word == "next" else -_DAYS[following]
        return TimePhrase(i + 2, day=Day("offset", days))
    if word in WEEKDAYS:
        return _weekday(tokens, i)
    if word in MONTHS:
        return _month_first(tokens, i)
    if word in PARTS:
        return TimePhrase(i + 1, part=word) if _stands_alone(tokens, i) or after == "day" else None
    if word in ("the", "day"):
        return _the(tokens, i if word == "day" else i + 1, day_first)
    return _elapsed(tokens, i) or _clock(tokens, i, after)


def _the(tokens: list[Token], i: int, day_first: bool) -> TimePhrase | None:
    words = tuple(_word(tokens, i + k) for k in range(3))
    if words == ("day", "before", "yesterday"):
        return TimePhrase(i + 3, day=Day("offset", -2))
    if words == ("day", "after", "tomorrow"):
        return TimePhrase(i + 3, day=Day("offset", 2))
    if words[0] == "other" or not words[0] or tokens[i].kind != "n":
        return None
    if words[1] in _ORDINALS:
        return _date(tokens, i, day_first, "") or _day_of_month(tokens, i)
    return None


def _day_of_month(tokens: list[Token], i: int) -> TimePhrase | None:
    day = _int(tokens, i)
    if day is None or not 1 <= day <= 31:
        return None
    return TimePhrase(i + 2, day=Day("date", day))


def _on(tokens: list[Token], i: int, day_first: bool) -> TimePhrase | None:
    word = _word(tokens, i)
    if word == "the":
        return _the(tokens, i + 1, day_first)
    if word in WEEKDAYS:
        return TimePhrase(i + 1, day=Day("weekday", WEEKDAYS[word]))
    if word in ("last", "next"):
        return _named(tokens, i, day_first, "")
    if i < len(tokens) and tokens[i].kind == "n":
        return _iso_date(tokens, i) or _date(tokens, i, day_first, "") or _dotted_day(tokens, i)
    return _month_first(tokens, i) if word in MONTHS else None


def _at(tokens: list[Token], i: int, after: str) -> TimePhrase | None:
    word = _word(tokens, i)
    if word in ("about", "around"):
        return _at(tokens, i + 1, after)
    if word in ("noon", "midday", "lunch", "lunchtime"):
        return TimePhrase(i + 1, part="noon")
    if word == "midnight":
        return TimePhrase(i + 1, clock=Clock(0))
    if word in ("night", "evening", "morning", "afternoon"):
        return TimePhrase(i + 1, part=word)
    return _clock(tokens, i, after) if i < len(tokens) else None


def _in(tokens: list[Token], i: int) -> TimePhrase | None:
    word = _word(tokens, i)
    if word == "the":
        part = _word(tokens, i + 1)
        return TimePhrase(i + 2, part=part) if part in PARTS else None
    if word in ("morning", "evening", "afternoon"):
        return TimePhrase(i + 1, part=word)
    amount = _amount_of_time(tokens, i)
    if amount is None:
        return None
    elapsed, days, end = amount
    if _word(tokens, end) == "time":
        end += 1
    return TimePhrase(end, elapsed=elapsed) if elapsed else TimePhrase(end, day=Day("offset", days))


def _elapsed(tokens: list[Token], i: int) -> TimePhrase | None:
    """``2h ago``, ``half an hour ago``, ``3 days ago``, ``a week later`` is not one."""
    amount = _amount_of_time(tokens, i)
    if amount is None:
        return None
    elapsed, days, end = amount
    if _word(tokens, end) in ("ago", "back", "before"):
        if (
            _word(tokens, end) == "before"
            and end + 1 < len(tokens)
            and _word(tokens, end + 1) not in (",", ".")
        ):
            return None
        return (
            TimePhrase(end + 1, elapsed=-elapsed)
            if elapsed
            else TimePhrase(end + 1, day=Day("offset", -days))
        )
    if _word(tokens, end) == "from" and _word(tokens, end + 1) == "now":
        return (
            TimePhrase(end + 2, elapsed=elapsed) if elapsed else TimePhrase(end + 2, day=Day("offset", days))
        )
    return None


def _amount_of_time(tokens: list[Token], i: int) -> tuple[timedelta, int, int] | None:
    """(hours and minutes, days, index after it) of ``2h``, ``an hour``, ``1 h 30 min``, ``3 days``."""
    word = _word(tokens, i)
    if word in ("a", "an") and _word(tokens, i + 1) != "couple":
        value, end = 1.0, i + 1
        if _word(tokens, end) == "few":
            return None
    else:
        number = number_at(tokens, i, grouped=False) if i < len(tokens) else None
        if number is None or not number.finite or not 0 < number.value <= 1000:
            return None
        value, end = number.value, number.end
    unit = _word(tokens, end)
    if unit in _ELAPSED:
        elapsed, end = value * _ELAPSED[unit], end + 1
        if _word(tokens, end) == "and" and _word(tokens, end + 1) == "a" and _word(tokens, end + 2) == "half":
            elapsed, end = elapsed + _ELAPSED[unit] / 2, end + 3
        return elapsed, 0, end
    if unit in _DAYS and float(value).is_integer():
        return timedelta(), int(value) * _DAYS[unit], end + 1
    return None


def _weekday(tokens: list[Token], i: int) -> TimePhrase | None:
    word = tokens[i].text
    if (
        word in _EVERYDAY_WORDS
        and i > 0
        and tokens[i - 1].text in ("the", "full", "direct", "in", "no", "more", "of")
    ):
        return None
    return TimePhrase(i + 1, day=Day("weekday", WEEKDAYS[word]))


def _month_first(tokens: list[Token], i: int) -> TimePhrase | None:
    """``oct 24``, ``October 24th, 2026``."""
    day = _int(tokens, i + 1)
    if day is None or not 1 <= day <= 31 or _word(tokens, i + 2) in UNITS:
        return None
    end = i + 3 if _word(tokens, i + 2) in _ORDINALS else i + 2
    year, end = _year(tokens, end)
    return TimePhrase(end, day=Day("date", day, MONTHS[tokens[i].text], year))


def _year(tokens: list[Token], i: int) -> tuple[int, int]:
    skip = 1 if _word(tokens, i) == "," else 0
    year = _int(tokens, i + skip)
    if year is not None and 1900 <= year <= 2100 and _word(tokens, i + skip + 1) not in UNITS:
        return year, i + skip + 1
    return 0, i


def _date(tokens: list[Token], i: int, day_first: bool, after: str) -> TimePhrase | None:
    """``24 oct``, ``24th of October 2026``, ``24/10``, ``24/10/26``, ``24.10.2026``, ``24-10-2026``."""
    text = tokens[i].text
    if text.count(".") == 2 and ".." not in text and after != "name":
        first, second, third = (int(part) for part in text.split("."))
        return _numeric(first, second, third, True, i + 1)
    first_number = _int(tokens, i)
    if first_number is None:
        return None
    end = i + 2 if _word(tokens, i + 1) in _ORDINALS else i + 1
    if _word(tokens, end) == "of":
        end += 1
    if _word(tokens, end) in MONTHS and 1 <= first_number <= 31:
        year, after_year = _year(tokens, end + 1)
        return TimePhrase(after_year, day=Day("date", first_number, MONTHS[tokens[end].text], year))
    if after == "name":
        return None
    sign = _word(tokens, i + 1)
    second_number = _int(tokens, i + 2)
    if sign not in ("/", "-") or second_number is None or tokens[i + 1].gap or tokens[i + 2].gap:
        return None
    third_number = _int(tokens, i + 4)
    if _word(tokens, i + 3) == sign and third_number is not None and not tokens[i + 3].gap:
        return _numeric(first_number, second_number, third_number, day_first, i + 5)
    if sign == "-" or _word(tokens, i + 3) in UNITS or _word(tokens, i + 3) == "/" or _is_share(tokens, i):
        return None
    return _numeric(first_number, second_number, 0, day_first, i + 3)


_SHARES = frozenset((("1", "2"), ("1", "3"), ("2", "3"), ("1", "4"), ("3", "4")))
_AFTER_SHARE = words("of strength full way water tank a an the res reservoir nutrient feed empty WATER")
_BEFORE_SHARE = words(
    "changed swapped replaced level about around at exchanged did the change refilled renewed"
)


def _is_share(tokens: list[Token], i: int) -> bool:
    """``1/3 of the water`` is no date."""
    if (tokens[i].text, tokens[i + 2].text) not in _SHARES:
        return False
    return _word(tokens, i + 3) in _AFTER_SHARE or (i > 0 and tokens[i - 1].text in _BEFORE_SHARE)


def _numeric(first: int, second: int, year: int, day_first: bool, end: int) -> TimePhrase | None:
    day, month = (first, second) if day_first else (second, first)
    if month > 12 >= day:
        day, month = month, day
    if not (1 <= day <= 31 and 1 <= month <= 12):
        return None
    return TimePhrase(end, day=Day("date", day, month, year + 2000 if 0 < year < 100 else year))


def _dotted_day(tokens: list[Token], i: int) -> TimePhrase | None:
    """``on 24.10.`` or ``on 24.10``."""
    day, dot, month = tokens[i].text.partition(".")
    if not dot or not day.isdigit() or not month.isdigit() or len(month) > 2:
        return None
    found = _numeric(int(day), int(month), 0, True, i + 1)
    if found is not None and _word(tokens, i + 1) == "." and i + 2 < len(tokens):
        return replace(found, end=i + 2)
    return found


def _iso_date(tokens: list[Token], i: int) -> TimePhrase | None:
    year, month, day = (_int(tokens, i + k) for k in (0, 2, 4))
    if year is None or month is None or day is None or not 1900 <= year <= 2200:
        return None
    if not (_word(tokens, i + 1) == _word(tokens, i + 3) and _word(tokens, i + 1) in ("-", "/")):
        return None
    if not (1 <= month <= 12 and 1 <= day <= 31):
        return None
    return TimePhrase(i + 5, day=Day("date", day, month, year))


def _clock(tokens: list[Token], i: int, after: str) -> TimePhrase | None:
    """``7pm``, ``7:30``, ``19h30``, ``7 o'clock``; after ``at`` or a day also a bare hour."""
    number = number_at(tokens, i, grouped=False)
    if number is None or not number.finite or number.style not in ("whole", "word", "point"):
        return None
    hour, minute, end = int(number.value), 0, number.end
    typed = tokens[i].text
    if number.style == "point":
        whole, _, decimals = typed.partition(".")
        if len(decimals) != 2 or int(decimals) > 59 or not whole:
            return None
        hour, minute = int(whole), int(decimals)
    minutes = _word(tokens, end + 1)
    has_minutes = number.style == "point"
    if (
        _word(tokens, end) in (":", "h")
        and len(minutes) == 2
        and minutes.isdigit()
        and not tokens[end + 1].gap
    ):
        if int(minutes) > 59 or number.style != "whole":
            return None
        minute, end, has_minutes = int(minutes), end + 2, True
        if (
            _word(tokens, end) == ":"
            and len(_word(tokens, end + 1)) == 2
            and _word(tokens, end + 1).isdigit()
        ):
            end += 2
    half, end = _half_of_day(tokens, end)
    if half:
        if not 1 <= hour <= 12:
            return None
        return TimePhrase(end, clock=Clock(hour % 12 + (12 if half == "pm" else 0), minute))
    if hour > 23:
        return None
    if _word(tokens, end) in ("o'clock", "oclock", "o'clk"):
        return TimePhrase(end + 1, clock=Clock(hour, bare=1 <= hour <= 12))
    if has_minutes and (number.style == "whole" or after == "at"):
        return TimePhrase(end, clock=Clock(hour, minute, loose=1 <= hour <= 12 and not typed.startswith("0")))
    if (
        _word(tokens, end) == "h"
        and not tokens[end].gap
        and _word(tokens, end + 1) != "ago"
        and after == "at"
    ):
        return TimePhrase(end + 1, clock=Clock(hour))
    if number.style == "point" or not _bare_hour(tokens, i, end, after):
        return None
    return TimePhrase(end, clock=Clock(hour, bare=1 <= hour <= 12 and not typed.startswith("0")))


def _bare_hour(tokens: list[Token], i: int, end: int, after: str) -> bool:
    following = _word(tokens, end)
    if following in UNITS or following in ("°", "/", "%", "-", "deg", "degrees", "."):
        return following == "." and (end + 1 >= len(tokens) or tokens[end + 1].gap) and after == "at"
    if after == "at":
        return True
    part = _word(tokens, end + 2) if following == "in" else _word(tokens, end + 1)
    return following in ("in", "this") and part in PARTS


def _half_of_day(tokens: list[Token], i: int) -> tuple[str, int]:
    word = _word(tokens, i)
    if word in ("am", "pm"):
        return word, i + 1
    if word in ("a", "p") and _word(tokens, i + 1) == "." and _word(tokens, i + 2) == "m":
        return word + "m", i + 4 if _word(tokens, i + 3) == "." else i + 3
    return "", i


def _stands_alone(tokens: list[Token], i: int) -> bool:
    """A part of the day that is a time and no greeting: ``morning ph 6``, but not ``good morning``."""
    before = tokens[i - 1].text if i else ""
    return before not in ("good", "gd", "every", "each", "all", "per") and not (
        tokens[i].text == "night"
        or (
            i == 0
            and _word(tokens, i + 1) in ("", "all", "everyone", "everybody", "guys", "!", "folks", "team")
        )
    )


def _word(tokens: list[Token], i: int) -> str:
    return tokens[i].text if i < len(tokens) else ""


def _int(tokens: list[Token], i: int) -> int | None:
    if i < len(tokens) and tokens[i].kind == "n" and tokens[i].text.isdigit() and len(tokens[i].text) <= 4:
        return int(tokens[i].text)
    return None
