"""Repeats: ``every 2 weeks``, ``daily``, ``every other sunday`` as RFC 5545 rules (rule 16)."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from bot.reader.fillers import words
from bot.reader.moments import Moments, NoSuchMoment
from bot.reader.numbers import WORDS
from bot.reader.scan import Token, word_at
from bot.reader.timewords import PARTS, Day, TimePhrase, weekday_named

__all__ = ["Repeat", "first_time", "repeat_at"]

_CODES = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
_UNITS = {
    "minute": "MINUTELY",
    "minutes": "MINUTELY",
    "hour": "HOURLY",
    "hours": "HOURLY",
    "hrs": "HOURLY",
    "h": "HOURLY",
    "day": "DAILY",
    "days": "DAILY",
    "week": "WEEKLY",
    "weeks": "WEEKLY",
    "wk": "WEEKLY",
    "wks": "WEEKLY",
    "month": "MONTHLY",
    "months": "MONTHLY",
    "year": "YEARLY",
    "years": "YEARLY",
    "d": "DAILY",
    "w": "WEEKLY",
    "weekly": "WEEKLY",
    "dayly": "DAILY",
}
_SINGLE = {
    "daily": ("DAILY", 1),
    "weekly": ("WEEKLY", 1),
    "monthly": ("MONTHLY", 1),
    "yearly": ("YEARLY", 1),
    "annually": ("YEARLY", 1),
    "fortnightly": ("WEEKLY", 2),
    "biweekly": ("WEEKLY", 2),
    "hourly": ("HOURLY", 1),
    "everyday": ("DAILY", 1),
    "bimonthly": ("MONTHLY", 2),
    "nightly": ("DAILY", 1),
}
_ORDINAL_WORDS = {"second": 2, "other": 2, "2nd": 2, "third": 3, "fourth": 4, "fifth": 5, "alternate": 2}
_ORDINAL_ENDS = frozenset(("st", "nd", "rd", "th"))
_MAX_INTERVAL = 1000


@dataclass(frozen=True, slots=True)
class Repeat:
    """A repeat as said.

    days : weekdays that the text names, 0 Monday.
    month_day : a day of the month that it names.
    part : ``every morning``.
    end : index of the token after it.
    """

    freq: str
    interval: int
    end: int
    days: tuple[int, ...] = ()
    month_day: int | None = None
    part: str | None = None

    def rule(self) -> str:
        """The RFC 5545 rule, in the form of the message contract."""
        rule = f"FREQ={self.freq}"
        if self.interval != 1:
            rule += f";INTERVAL={self.interval}"
        if self.days:
            rule += ";BYDAY=" + ",".join(_CODES[day] for day in sorted(self.days))
        elif self.month_day:
            rule += f";BYMONTHDAY={self.month_day}"
        return rule


_FIRST_WORDS = frozenset(_SINGLE) | words("first weekdays weekends on once twice every each evry ever")
"""Words with which a repeat starts."""


def repeat_at(tokens: list[Token], i: int) -> Repeat | None:
    """The repeat that starts at token ``i``, if one does."""
    word = tokens[i].text
    if tokens[i].kind == "w" and word not in _FIRST_WORDS:
        return None
    if word == "first" or (tokens[i].kind == "n" and word_at(tokens, i + 1) in _ORDINAL_ENDS):
        return _day_of_every_month(tokens, i)
    if word in ("weekdays", "weekends"):
        return Repeat("WEEKLY", 1, i + 1, (0, 1, 2, 3, 4) if word == "weekdays" else (5, 6))
    if word in _SINGLE:
        freq, interval = _SINGLE[word]
        return _with_days(tokens, Repeat(freq, interval, i + 1))
    if (
        word == "on"
        and word_at(tokens, i + 1).endswith("s")
        and weekday_named(word_at(tokens, i + 1)[:-1]) is not None
    ):
        return _weekdays(tokens, i + 1, 1)
    if (
        word in ("once", "twice")
        and word_at(tokens, i + 1) in ("a", "per", "every")
        and word_at(tokens, i + 2) in _UNITS
    ):
        return Repeat(_UNITS[word_at(tokens, i + 2)], 1, i + 3) if word == "once" else None
    if word not in ("every", "each", "evry", "ever"):
        return None
    if word == "ever" and word_at(tokens, i + 1) != "y":
        return None
    return _every(tokens, i + 1)


def _day_of_every_month(tokens: list[Token], i: int) -> Repeat | None:
    """``the first of every month``, ``15th of each month``."""
    end = i + 1 if tokens[i].text == "first" else i + 2
    words = [word_at(tokens, end + k) for k in range(3)]
    day = 1 if tokens[i].text == "first" else int(tokens[i].text[:2]) if tokens[i].text.isdigit() else 0
    if (
        words[0] != "of"
        or words[1] not in ("every", "each", "the")
        or words[2] != "month"
        or not 1 <= day <= 31
    ):
        return None
    return Repeat("MONTHLY", 1, end + 3, month_day=day)


def _every(tokens: list[Token], i: int) -> Repeat | None:
    word, following = word_at(tokens, i), word_at(tokens, i + 1)
    interval, end = 1, i
    if word in _ORDINAL_WORDS:
        interval, end = _ORDINAL_WORDS[word], i + 1
    elif word.isdigit() or word in WORDS or word in ("couple",):
        interval = int(word) if word.isdigit() and len(word) <= 4 else int(WORDS.get(word, 0))
        end = i + 2 if following in _ORDINAL_ENDS else i + 1
    elif word == "a" and following == "couple":
        interval, end = 2, i + (3 if word_at(tokens, i + 2) == "of" else 2)
    if not 1 <= interval <= _MAX_INTERVAL:
        return None
    unit = word_at(tokens, end)
    if unit in ("fortnight", "fortnights"):
        return _with_days(tokens, Repeat("WEEKLY", 2 * interval, end + 1))
    if unit in _UNITS:
        return _with_days(tokens, Repeat(_UNITS[unit], interval, end + 1))
    if unit in ("weekday", "weekdays"):
        return Repeat("WEEKLY", interval, end + 1, (0, 1, 2, 3, 4))
    if unit in ("weekend", "weekends"):
        return Repeat("WEEKLY", interval, end + 1, (5, 6))
    if unit in PARTS:
        return Repeat("DAILY", interval, end + 1, part=unit)
    return _weekdays(tokens, end, interval)


def _weekdays(tokens: list[Token], i: int, interval: int) -> Repeat | None:
    days: list[int] = []
    end = i
    while (day := weekday_named(word_at(tokens, end))) is not None:
        days.append(day)
        end += 1
        step = end
        while word_at(tokens, step) in (",", "and", "&", "/", "+") and step - end < 2:
            step += 1
        if step > end and weekday_named(word_at(tokens, step)) is not None:
            end = step
    return Repeat("WEEKLY", interval, end, tuple(dict.fromkeys(days))) if days else None


def _with_days(tokens: list[Token], repeat: Repeat) -> Repeat:
    """The repeat with the days that follow it: ``every 2 weeks on sunday``, ``monthly on the 1st``."""
    i = repeat.end
    skip = i + 1 if word_at(tokens, i) in ("on", ",") else i
    if repeat.freq == "WEEKLY" and weekday_named(word_at(tokens, skip)) is not None:
        days = _weekdays(tokens, skip, repeat.interval)
        return days if days is not None else repeat
    if repeat.freq == "MONTHLY" and word_at(tokens, i) == "on":
        at = i + 2 if word_at(tokens, i + 1) == "the" else i + 1
        day = word_at(tokens, at)
        if day.isdigit() and 1 <= int(day[:4]) <= 31:
            end = at + 2 if word_at(tokens, at + 1) in _ORDINAL_ENDS else at + 1
            return replace(repeat, end=end, month_day=int(day))
    return repeat


def first_time(repeat: Repeat, phrase: TimePhrase | None, moments: Moments) -> datetime:
    """The first time of a repeat (rule 10).

    phrase : the clock time, and the day where one is named as its start.
    Raises NoSuchMoment where a full date is past.
    """
    if phrase is not None and (phrase.elapsed is not None or phrase.day is not None):
        return moments.of_reminder(phrase)
    at = phrase or TimePhrase(0)
    if repeat.part and at.part is None:
        at = replace(at, part=repeat.part)
    if repeat.freq in ("HOURLY", "MINUTELY") and phrase is None:
        span = timedelta(hours=1) if repeat.freq == "HOURLY" else timedelta(minutes=1)
        return moments.elapsed(repeat.interval * span)
    if repeat.days:
        return min(moments.of_reminder(replace(at, day=Day("weekday", day))) for day in repeat.days)
    if repeat.month_day:
        return moments.of_reminder(replace(at, day=Day("date", repeat.month_day)))
    if repeat.freq == "DAILY" and repeat.interval == 1:
        return moments.of_reminder(at)
    return moments.of_reminder(replace(at, day=Day("offset", _days_ahead(repeat, moments.now.date()))))


def _days_ahead(repeat: Repeat, today: date) -> int:
    """Days from today to one interval later."""
    if repeat.freq == "DAILY":
        return repeat.interval
    if repeat.freq == "WEEKLY":
        return 7 * repeat.interval
    months = repeat.interval * (12 if repeat.freq == "YEARLY" else 1)
    count = today.year * 12 + today.month - 1 + months
    for day in range(today.day, today.day - 4, -1):
        try:
            return (date(count // 12, count % 12 + 1, day) - today).days
        except ValueError:
            continue
    raise NoSuchMoment("beyond the calendar")
