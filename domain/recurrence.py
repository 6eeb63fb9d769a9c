"""When something recurs: rules over local dates, and the instants they mean in a zone.

A rule is about wall clocks: "18:00 every second Sunday" stays at 18:00 through every clock change. Only hours
are counted as they pass: "every 6 hours" is 6 real hours. All comparing and counting is done on plain dates
and on UTC; local times are made from a date and a wall time alone and turned into UTC at once, because adding
to an aware local time forgets which of two equal wall times it was.
"""

from __future__ import annotations

import calendar
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from itertools import islice
from types import MappingProxyType
from typing import Literal, cast
from zoneinfo import ZoneInfo

__all__ = ["MOST_INTERVAL", "Frequency", "OnDay", "Rule", "instant_of", "next_due"]

Frequency = Literal["HOURLY", "DAILY", "WEEKLY", "MONTHLY"]

MOST_INTERVAL: Mapping[Frequency, int] = MappingProxyType(
    {"HOURLY": 1000, "DAILY": 1000, "WEEKLY": 150, "MONTHLY": 120}
)
"""The longest interval of each frequency: some years, longer than any chore round a tank."""

_MONTHS_A_YEAR = 12

_DAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
_DAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_UNITS = MappingProxyType({"HOURLY": "hour", "DAILY": "day", "WEEKLY": "week", "MONTHLY": "month"})
_PLACES = ("first", "second", "third", "fourth", "fifth")
_ON_DAY = re.compile(r"([+-]?[1-5])?(MO|TU|WE|TH|FR|SA|SU)")

_MOST_EMPTY_PERIODS = 60
"""After so many periods without a date a rule has none. The rarest that has one is a fifth Friday in
February, yearly: once in 28 years, in 40 across a century that skips its leap year."""

_LOOK_BACK = timedelta(days=2)
"""A wall time that a zone skipped may lie up to a day ahead of its date; two days see past any such skip."""

_ENOUGH_DATES = 8
"""More than the dates that can lie between the look back and the next time; bounds the search."""


@dataclass(frozen=True, slots=True)
class OnDay:
    """A day of the week: 0 is Monday. ``nth`` of its month, from the end if negative; ``None``: every one."""

    weekday: int
    nth: int | None = None

    def in_words(self) -> str:
        """``Sunday``, ``the first Sunday``, ``the last Friday``."""
        name = _DAY_NAMES[self.weekday]
        return name if self.nth is None else f"the {_place(self.nth)} {name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A repeating wall-clock time.

    frequency, interval : every ``interval`` hours, days, weeks (from Monday) or months, counted from the
        anchor; hours from its wall time.
    by_day : on these days of the week only; empty: the anchor's.
    by_month_day : on these days of the month only, from the end if negative; empty: the anchor's.
    at : wall time. anchor : the first date that may count.

    Raises ValueError, with a line fit to show, for an interval out of bounds, days that do not go with the
    frequency, or a rule that never comes (30 February).
    """

    frequency: Frequency
    at: time
    anchor: date
    interval: int = 1
    by_day: tuple[OnDay, ...] = ()
    by_month_day: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if not 1 <= self.interval <= MOST_INTERVAL[self.frequency]:
            raise ValueError(f"repeat every 1 to {MOST_INTERVAL[self.frequency]}, not every {self.interval}")
        if self.at.tzinfo is not None:
            raise ValueError("the time of a rule is a wall time, without a zone")
        if self.by_month_day and (self.frequency != "MONTHLY" or self.by_day):
            raise ValueError("days of the month go with months alone")
        if any(not 1 <= abs(day) <= 31 for day in self.by_month_day):
            raise ValueError("a month has days 1 to 31")
        if self.frequency != "MONTHLY" and any(on.nth is not None for on in self.by_day):
            raise ValueError("a counted day, such as the first Sunday, goes with months alone")
        if self.frequency == "HOURLY" and self.by_day:
            raise ValueError("days of the week do not go with hours")
        if self.frequency != "HOURLY" and next(self.dates_from(self.anchor), None) is None:
            raise ValueError("that date never comes")

    @staticmethod
    def from_rrule(text: str, *, at: datetime) -> Rule:
        """The rule that an RFC 5545 text means.

        text : FREQ, and where given INTERVAL, BYDAY, BYMONTHDAY; other parts are refused. A plain YEARLY is
            taken as every 12 months.
        at : the first time, by the wall clock that counts: its date anchors the rule, its zone is not used.
        Raises ValueError, with a line fit to show, for anything else.
        """
        return _rule_of(text, at.time().replace(tzinfo=None, fold=0), at.date())

    def as_rrule(self) -> str:
        """The RFC 5545 text, in the one form that the whole program writes."""
        parts = [f"FREQ={self.frequency}"]
        if self.interval > 1:
            parts.append(f"INTERVAL={self.interval}")
        if self.by_day:
            parts.append("BYDAY=" + ",".join(f"{on.nth or ''}{_DAYS[on.weekday]}" for on in self.by_day))
        if self.by_month_day:
            parts.append("BYMONTHDAY=" + ",".join(map(str, self.by_month_day)))
        return ";".join(parts)

    def in_words(self) -> str:
        """How often, as it is said: ``every 6 hours``, ``every Monday and Thursday``,
        ``every 2 weeks on Sunday``, ``every month on the last Friday``; without the wall time."""
        interval, unit = self.interval, _UNITS[self.frequency]
        if self.frequency == "MONTHLY" and interval % _MONTHS_A_YEAR == 0:
            interval, unit = interval // _MONTHS_A_YEAR, "year"
        every = f"every {unit}" if interval == 1 else f"every {interval} {unit}s"
        if self.by_month_day:
            return f"{every} on the {_listed([_month_day_name(day) for day in self.by_month_day])}"
        if not self.by_day:
            return every
        days = _listed([on.in_words() for on in self.by_day])
        is_plain = interval == 1 and self.frequency != "MONTHLY"
        return f"every {days}" if is_plain else f"{every} on {days}"

    def dates_from(self, start: date) -> Iterator[date]:
        """The rule's dates from ``start`` on, in order; ends where no further one is in sight.

        Hours have no dates.
        """
        start = max(start, self.anchor)
        empty = 0
        for dates in self._periods(start):
            found = False
            for day in dates:
                if day >= start:
                    found = True
                    yield day
            empty = 0 if found else empty + 1
            if empty > _MOST_EMPTY_PERIODS:
                return

    def _periods(self, start: date) -> Iterator[list[date]]:
        """The dates of each period, from the one that holds ``start`` on."""
        try:
            match self.frequency:
                case "HOURLY":
                    return
                case "DAILY":
                    yield from self._days(start)
                case "WEEKLY":
                    yield from self._weeks(start)
                case "MONTHLY":
                    yield from self._months(start)
        except (OverflowError, ValueError):  # past the calendar's last year
            return

    def _days(self, start: date) -> Iterator[list[date]]:
        wanted = {on.weekday for on in self.by_day} or set(range(7))
        passed = -(-(start - self.anchor).days // self.interval)
        while True:
            day = self.anchor + timedelta(days=passed * self.interval)
            yield [day] if day.weekday() in wanted else []
            passed += 1

    def _weeks(self, start: date) -> Iterator[list[date]]:
        wanted = sorted({on.weekday for on in self.by_day} or {self.anchor.weekday()})
        monday = self.anchor - timedelta(days=self.anchor.weekday())
        passed = (start - monday).days // 7 // self.interval
        while True:
            first = monday + timedelta(weeks=passed * self.interval)
            yield [first + timedelta(days=weekday) for weekday in wanted]
            passed += 1

    def _months(self, start: date) -> Iterator[list[date]]:
        months = (start.year - self.anchor.year) * 12 + start.month - self.anchor.month
        passed = months // self.interval
        while True:
            years, month = divmod(self.anchor.month - 1 + passed * self.interval, 12)
            yield self._of_month(self.anchor.year + years, month + 1)
            passed += 1

    def _of_month(self, year: int, month: int) -> list[date]:
        length = calendar.monthrange(year, month)[1]
        if self.by_day:
            days = [day for on in self.by_day for day in _weekdays_of_month(year, month, length, on)]
        else:
            wanted = self.by_month_day or (self.anchor.day,)
            days = [day if day > 0 else length + 1 + day for day in wanted]
        return [date(year, month, day) for day in sorted(set(days)) if 1 <= day <= length]


def next_due(rule: Rule, after: datetime, zone: ZoneInfo) -> datetime:
    """The first time of a rule that is strictly later than ``after``.

    after : aware. zone : whose wall clock counts.
    Returns an aware UTC time. Each of the rule's dates counts once: a wall time that the zone skips on that
    date moves forward by the length of the gap; of one that comes twice, the first counts. Hours are counted
    as they pass.
    Raises ValueError for a naive ``after``, or where the rule has come to its end (the year 9999).
    """
    if after.tzinfo is None:
        raise ValueError("after must be aware")
    if rule.frequency == "HOURLY":
        return _next_hour(rule, after, zone)
    start = after.astimezone(zone).date() - _LOOK_BACK
    for day in islice(rule.dates_from(start), _ENOUGH_DATES):
        due = instant_of(day, rule.at, zone)
        if due > after:
            return due
    raise ValueError("the rule has come to its end")


def instant_of(day: date, wall: time, zone: ZoneInfo) -> datetime:
    """The UTC instant of a wall time: moved forward by the gap if skipped, the first of two if doubled."""
    return datetime.combine(day, wall.replace(fold=0), tzinfo=zone).astimezone(UTC)


def _next_hour(rule: Rule, after: datetime, zone: ZoneInfo) -> datetime:
    first, step = instant_of(rule.anchor, rule.at, zone), timedelta(hours=rule.interval)
    passed = max(0, (after - first) // step + 1)
    try:
        return first + passed * step
    except OverflowError:
        raise ValueError("the rule has come to its end") from None


@lru_cache(maxsize=1024)  # the routine's few rules are asked for at every message
def _rule_of(text: str, at: time, anchor: date) -> Rule:
    said = _parts_of(text)
    frequency = said.pop("FREQ", "")
    interval = _whole(said.pop("INTERVAL", "1"))
    if frequency == "YEARLY" and not said:
        frequency, interval = "MONTHLY", interval * _MONTHS_A_YEAR
    if frequency not in MOST_INTERVAL:
        raise ValueError(f"repeat by hours, days, weeks or months, not {frequency[:20] or 'nothing'}")
    by_day = tuple(_on_day(day) for day in said.pop("BYDAY", "").split(",") if day)
    by_month_day = tuple(_whole(day) for day in said.pop("BYMONTHDAY", "").split(",") if day)
    if said:
        raise ValueError(f"cannot repeat by {', '.join(sorted(said))[:60]}")
    return Rule(
        frequency=cast(Frequency, frequency),
        interval=interval,
        by_day=by_day,
        by_month_day=by_month_day,
        at=at,
        anchor=anchor,
    )


def _parts_of(text: str) -> dict[str, str]:
    said: dict[str, str] = {}
    for part in text.strip().upper().removeprefix("RRULE:").split(";"):
        name, equals, value = part.partition("=")
        if not equals or not value or name in said:
            raise ValueError(f"not a rule: {text[:60]!r}")
        said[name] = value
    return said


def _whole(text: str) -> int:
    if not re.fullmatch(r"[+-]?[0-9]{1,4}", text, re.ASCII):
        raise ValueError(f"not a whole number: {text[:20]!r}")
    return int(text)


def _on_day(text: str) -> OnDay:
    match = _ON_DAY.fullmatch(text)
    if match is None:
        raise ValueError(f"not a day of the week: {text[:20]!r}")
    nth, day = match.groups()
    return OnDay(_DAYS.index(day), int(nth) if nth else None)


def _place(nth: int) -> str:
    place = _PLACES[abs(nth) - 1]
    return place if nth > 0 else ("last" if nth == -1 else f"{place} last")


def _month_day_name(day: int) -> str:
    if day == -1:
        return "last day"
    ending = {1: "st", 2: "nd", 3: "rd"}.get(abs(day) % 10, "th") if abs(day) not in (11, 12, 13) else "th"
    return f"{abs(day)}{ending}" + ("" if day > 0 else " last day")


def _listed(words: Sequence[str]) -> str:
    return " and ".join((", ".join(words[:-1]), words[-1])) if len(words) > 1 else words[0]


def _weekdays_of_month(year: int, month: int, length: int, on: OnDay) -> list[int]:
    first = 1 + (on.weekday - date(year, month, 1).weekday()) % 7
    days = list(range(first, length + 1, 7))
    if on.nth is None:
        return days
    place = on.nth - 1 if on.nth > 0 else len(days) + on.nth
    return [days[place]] if 0 <= place < len(days) else []
