"""Days as people write them: ``24/10``, ``oct 24``, ``2026-04-30``, ``the 3rd``."""

from __future__ import annotations

from dataclasses import replace

from bot.reader.fillers import words
from bot.reader.scan import Token, word_at
from bot.reader.timewords import (
    EVERYDAY_WORDS,
    FOREIGN_MONTHS,
    MONTHS,
    ORDINALS,
    WEEKDAYS,
    Day,
    TimePhrase,
    whole_at,
)
from domain.units import UNITS

__all__ = ["date_at", "day_of_month", "dotted_day", "iso_date", "month_first", "weekday_at"]


def weekday_at(tokens: list[Token], i: int) -> TimePhrase | None:
    word = tokens[i].text
    if (
        word in EVERYDAY_WORDS
        and i > 0
        and tokens[i - 1].text in ("the", "full", "direct", "in", "no", "more", "of")
    ):
        return None
    return TimePhrase(i + 1, day=Day("weekday", WEEKDAYS[word]))


def day_of_month(tokens: list[Token], i: int) -> TimePhrase | None:
    day = whole_at(tokens, i)
    if day is None or not 1 <= day <= 31:
        return None
    return TimePhrase(i + 2, day=Day("date", day))


def month_first(tokens: list[Token], i: int) -> TimePhrase | None:
    """``oct 24``, ``October 24th, 2026``, ``may the 3rd``."""
    month = MONTHS[tokens[i].text]
    if word_at(tokens, i + 1) == "the" and word_at(tokens, i + 3) in ORDINALS:
        i += 1
    day = whole_at(tokens, i + 1)
    if day is None or not 1 <= day <= 31 or word_at(tokens, i + 2) in UNITS:
        return None
    end = i + 3 if word_at(tokens, i + 2) in ORDINALS else i + 2
    year, end = year_at(tokens, end)
    return TimePhrase(end, day=Day("date", day, month, year))


def year_at(tokens: list[Token], i: int) -> tuple[int, int]:
    skip = 1 if word_at(tokens, i) in (",", ".", "de", "del") else 0
    year = whole_at(tokens, i + skip)
    if year is not None and 1900 <= year <= 2100 and word_at(tokens, i + skip + 1) not in UNITS:
        return year, i + skip + 1
    return 0, i


def date_at(tokens: list[Token], i: int, day_first: bool, after: str) -> TimePhrase | None:
    """``24 oct``, ``24th of October 2026``, ``24/10``, ``24/10/26``, ``24.10.2026``, ``24-10-2026``."""
    text = tokens[i].text
    if text.count(".") == 2 and ".." not in text and after != "name":
        first, second, third = (int(part) for part in text.split("."))
        return _numeric(first, second, third, True, i + 1)
    if after == "name":
        return None  # ``temp 20 oct 24``: the number is the name's
    first_number = whole_at(tokens, i)
    if first_number is None:
        return None
    end = i + 2 if word_at(tokens, i + 1) in ORDINALS else i + 1
    if word_at(tokens, end) in ("of", "de", "di", "."):
        end += 1
    if word_at(tokens, end) in FOREIGN_MONTHS and 1 <= first_number <= 31:
        year, after_year = year_at(tokens, end + 1)
        return TimePhrase(after_year, day=Day("date", first_number, FOREIGN_MONTHS[tokens[end].text], year))
    sign = word_at(tokens, i + 1)
    second_number = whole_at(tokens, i + 2)
    if sign not in ("/", "-") or second_number is None or tokens[i + 1].gap or tokens[i + 2].gap:
        return None
    third_number = whole_at(tokens, i + 4)
    if word_at(tokens, i + 3) == sign and third_number is not None and not tokens[i + 3].gap:
        return _numeric(first_number, second_number, third_number, day_first, i + 5)
    if (
        sign == "-"
        or word_at(tokens, i + 3) in UNITS
        or word_at(tokens, i + 3) == "/"
        or _is_share(tokens, i)
        or any(
            token.text.startswith(("calibrat", "recalibrat", "buffer")) for token in tokens[max(0, i - 4) : i]
        )
    ):
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
    return word_at(tokens, i + 3) in _AFTER_SHARE or (i > 0 and tokens[i - 1].text in _BEFORE_SHARE)


def _numeric(first: int, second: int, year: int, day_first: bool, end: int) -> TimePhrase | None:
    day, month = (first, second) if day_first else (second, first)
    if month > 12 >= day:
        day, month = month, day
    if not (1 <= day <= 31 and 1 <= month <= 12):
        return None
    return TimePhrase(end, day=Day("date", day, month, year + 2000 if 0 < year < 100 else year))


def dotted_day(tokens: list[Token], i: int) -> TimePhrase | None:
    """``on 24.10.`` or ``on 24.10``."""
    day, dot, month = tokens[i].text.partition(".")
    if not dot or not day.isdigit() or not month.isdigit() or len(month) > 2:
        return None
    found = _numeric(int(day), int(month), 0, True, i + 1)
    if found is not None and word_at(tokens, i + 1) == "." and i + 2 < len(tokens):
        return replace(found, end=i + 2)
    return found


def iso_date(tokens: list[Token], i: int) -> TimePhrase | None:
    year, month, day = (whole_at(tokens, i + k) for k in (0, 2, 4))
    if year is None or month is None or day is None or not 1900 <= year <= 2200:
        return None
    if not (word_at(tokens, i + 1) == word_at(tokens, i + 3) and word_at(tokens, i + 1) in ("-", "/")):
        return None
    if not (1 <= month <= 12 and 1 <= day <= 31):
        return None
    return TimePhrase(i + 5, day=Day("date", day, month, year))
