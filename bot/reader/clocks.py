"""Clock times and spans of time: ``7pm``, ``19h30``, ``2h ago``, ``in 3 days``."""

from __future__ import annotations

from datetime import timedelta

from bot.reader.numbers import Number, number_at
from bot.reader.scan import Token, word_at
from bot.reader.timewords import (
    DAYS,
    ELAPSED,
    PARTS,
    Clock,
    Day,
    TimePhrase,
)
from domain.units import UNITS

__all__ = ["amount_of_time", "clock_at", "elapsed_at"]


def elapsed_at(tokens: list[Token], i: int) -> TimePhrase | None:
    """``2h ago``, ``half an hour ago``, ``3 days ago``, ``a week later`` is not one."""
    amount = amount_of_time(tokens, i)
    if amount is None:
        return None
    elapsed, days, end = amount
    if word_at(tokens, end) in ("ago", "back", "before"):
        if (
            word_at(tokens, end) == "before"
            and end + 1 < len(tokens)
            and word_at(tokens, end + 1) not in (",", ".")
        ):
            return None
        return (
            TimePhrase(end + 1, elapsed=-elapsed)
            if elapsed
            else TimePhrase(end + 1, day=Day("offset", -days))
        )
    if word_at(tokens, end) == "from" and word_at(tokens, end + 1) == "now":
        return (
            TimePhrase(end + 2, elapsed=elapsed) if elapsed else TimePhrase(end + 2, day=Day("offset", days))
        )
    return None


def amount_of_time(tokens: list[Token], i: int) -> tuple[timedelta, int, int] | None:
    """(hours and minutes, days, index after it) of ``2h``, ``an hour``, ``1 h 30 min``, ``3 days``."""
    word = word_at(tokens, i)
    if word in ("a", "an") and word_at(tokens, i + 1) != "couple":
        value, end = 1.0, i + 1
        if word_at(tokens, end) == "few":
            return None
    else:
        number = number_at(tokens, i, grouped=False) if i < len(tokens) else None
        if number is None or not number.finite or not 0 < number.value <= 1000:
            return None
        value, end = number.value, number.end
    unit = word_at(tokens, end)
    if unit in ELAPSED:
        elapsed, end = value * ELAPSED[unit], end + 1
        if (
            word_at(tokens, end) == "and"
            and word_at(tokens, end + 1) == "a"
            and word_at(tokens, end + 2) == "half"
        ):
            elapsed, end = elapsed + ELAPSED[unit] / 2, end + 3
        return elapsed, 0, end
    if unit in DAYS and float(value).is_integer():
        return timedelta(), int(value) * DAYS[unit], end + 1
    return None


def clock_at(tokens: list[Token], i: int, after: str) -> TimePhrase | None:
    """``7pm``, ``7:30``, ``19h30``, ``7 o'clock``; after ``at`` or a day also a bare hour."""
    number = number_at(tokens, i, grouped=False)
    if number is None or not number.finite or number.style not in ("whole", "word", "point"):
        return None
    face = _face(tokens, i, number)
    if face is None:
        return None
    hour, minute, end = face
    has_minutes = minute is not None
    half, end = _half_of_day(tokens, end)
    if half:
        if not 1 <= hour <= 12 or (after == "name" and not has_minutes and tokens[i + 1].gap):
            return None
        return TimePhrase(end, clock=Clock(hour % 12 + (12 if half == "pm" else 0), minute or 0))
    if hour > 23:
        return None
    padded = tokens[i].text.startswith("0")
    if word_at(tokens, end) in ("o'clock", "oclock", "o'clk", "uhr"):
        said_of_24 = word_at(tokens, end) == "uhr"
        return TimePhrase(end + 1, clock=Clock(hour, bare=1 <= hour <= 12 and not said_of_24))
    if minute is not None:
        if number.style != "whole" and after != "at":
            return None
        return TimePhrase(end, clock=Clock(hour, minute, loose=1 <= hour <= 12 and not padded))
    is_hours = word_at(tokens, end) == "h" and not tokens[end].gap and word_at(tokens, end + 1) != "ago"
    if is_hours and after in ("at", "day"):
        return TimePhrase(end + 1, clock=Clock(hour))
    if after == "name" or not _bare_hour(tokens, i, end, after):
        return None
    return TimePhrase(end, clock=Clock(hour, bare=1 <= hour <= 12 and not padded))


def _face(tokens: list[Token], i: int, number: Number) -> tuple[int, int | None, int] | None:
    """(hour, minutes where said, index after them) of ``7``, ``7.30``, ``7:30``, ``19h30``, ``7:30:00``.

    ``None`` where the digits can be no time.
    """
    end = number.end
    if number.style == "point":
        whole, _, decimals = tokens[i].text.partition(".")
        if len(decimals) != 2 or int(decimals) > 59 or not whole:
            return None
        return int(whole), int(decimals), end
    if word_at(tokens, end) not in (":", "h") or not _are_minutes(tokens, end + 1) or tokens[end + 1].gap:
        return int(number.value), None, end
    minute = int(tokens[end + 1].text)
    if minute > 59 or number.style != "whole":
        return None
    end += 2
    if word_at(tokens, end) == ":" and _are_minutes(tokens, end + 1):
        end += 2  # seconds
    return int(number.value), minute, end


def _are_minutes(tokens: list[Token], i: int) -> bool:
    return len(word_at(tokens, i)) == 2 and word_at(tokens, i).isdigit()


def _bare_hour(tokens: list[Token], i: int, end: int, after: str) -> bool:
    following = word_at(tokens, end)
    if following in UNITS or following in ("°", "/", "%", "-", "deg", "degrees", "."):
        return following == "." and (end + 1 >= len(tokens) or tokens[end + 1].gap) and after == "at"
    if after == "at":
        return True
    part = word_at(tokens, end + 2) if following == "in" else word_at(tokens, end + 1)
    return following in ("in", "this") and part in PARTS


def _half_of_day(tokens: list[Token], i: int) -> tuple[str, int]:
    word = word_at(tokens, i)
    if word in ("am", "pm"):
        return word, i + 1
    if word in ("a", "p") and word_at(tokens, i + 1) == "." and word_at(tokens, i + 2) == "m":
        return word + "m", i + 4 if word_at(tokens, i + 3) == "." else i + 3
    return "", i
