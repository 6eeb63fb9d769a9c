"""The dates of a column: numbers in one order throughout, months in words through dateparser."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime, time
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from bot.archive.bad_file import BadFile
from bot.archive.tables import Cell

__all__ = ["NOON", "DateColumn"]

NOON = time(12)
"""The time of what names none: the middle of the day is never wrong by more than half of it."""

_NUMBERS = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4}|\d{2})(?:[ T,]+(.*))?")
_CLOCK = re.compile(r"(\d{1,2})(?:[:.h](\d{2}))?(?::(\d{2})(?:\.\d+)?)?\s*([ap])?\.?m?\.?", re.IGNORECASE)
_CLOCK_AT_END = re.compile(
    r"(.*?)[\s,]+(?:at\s+)?(\d{1,2}[:.h]\d{2}(?:\s*[ap]\.?m\.?)?|\d{1,2}\s*[ap]\.?m\.?)", re.IGNORECASE
)
_LANGUAGES = "en es pt fr de it nl pl sv da nb fi cs sk tr ru uk ro hu el hr"
_LONGEST = 60


class DateColumn:
    """Reads the cells of one date column.

    order : ``DMY`` or ``MDY``, for dates in numbers. was_told : the column itself shows which it is.
    """

    def __init__(self, order: str, was_told: bool, zone: ZoneInfo, now: datetime) -> None:
        self.order = order
        self.was_told = was_told
        self._zone = zone
        self._now = now.astimezone(zone).replace(tzinfo=None)

    @classmethod
    def of(cls, cells: Iterable[Cell], *, day_first: bool, zone: ZoneInfo, now: datetime) -> DateColumn:
        """The reader for these cells. day_first : what ``5/6/2026`` means where no cell tells.

        Raises BadFile where some cells can only be day first and others only month first.
        """
        pairs = [_NUMBERS.fullmatch(cell.strip()) for cell in cells if isinstance(cell, str)]
        firsts = any(int(found[1]) > 12 for found in pairs if found)
        seconds = any(int(found[2]) > 12 for found in pairs if found)
        if firsts and seconds:
            raise BadFile("Some dates are day first, others month first; write them all one way.")
        order = "DMY" if firsts or (day_first and not seconds) else "MDY"
        return cls(order, firsts or seconds or not any(pairs), zone, now)

    def read(self, cell: Cell, clock: Cell = None) -> datetime:
        """When it was, aware. clock : the cell of a column of its own.

        Raises ValueError with what is wrong.
        """
        day, at = self._day(cell)
        if clock not in (None, ""):
            at = _clock(clock)
        local = datetime.combine(day, at or NOON).replace(tzinfo=self._zone)
        # A wall time that the zone skips moves forward; of two, the first counts.
        return datetime.fromtimestamp(local.timestamp(), self._zone)

    def _day(self, cell: Cell) -> tuple[date, time | None]:
        if isinstance(cell, datetime):
            at = cell.time().replace(tzinfo=None)
            return cell.date(), None if at == time() else at  # a spreadsheet's date is its midnight
        if isinstance(cell, date):
            return cell, None
        if not isinstance(cell, str) or not cell.strip() or len(cell) > _LONGEST:
            raise ValueError("no date" if cell in (None, "") else f"“{str(cell)[:20]}” is no date")
        return self._of_text(cell.strip())

    def _of_text(self, text: str) -> tuple[date, time | None]:
        numbers = _NUMBERS.fullmatch(text)
        try:
            if numbers is not None:
                first, second, year = int(numbers[1]), int(numbers[2]), int(numbers[3])
                day, month = (first, second) if self.order == "DMY" else (second, first)
                year += 2000 if year < 100 else 0
                return date(year, month, day), _clock(numbers[4]) if numbers[4] else None
            if text[:4].isdigit():
                return _of_iso(text)
        except ValueError:
            raise ValueError(f"“{text[:30]}” is no date") from None
        return self._in_words(text)

    def _in_words(self, text: str) -> tuple[date, time | None]:
        said = _CLOCK_AT_END.fullmatch(text)
        words, clock = (said[1], said[2]) if said else (text, None)
        day = _day_in_words(words.rstrip(" ,"), self.order, self._now.date())
        if day is None:
            raise ValueError(f"“{text[:30]}” is no date")
        return day, _clock(clock) if clock else None


def _of_iso(text: str) -> tuple[date, time | None]:
    if len(text) == len("2026-05-04"):
        return date.fromisoformat(text.replace("/", "-").replace(".", "-")), None
    at = datetime.fromisoformat(text.replace("/", "-"))
    if at.tzinfo is not None:
        raise ValueError("the household's own clock counts")
    return at.date(), at.time()


def _clock(cell: Cell) -> time:
    """The time of day. Raises ValueError with what is wrong."""
    if isinstance(cell, datetime):
        return cell.time().replace(tzinfo=None)
    if isinstance(cell, time):
        return cell.replace(tzinfo=None)
    said = _CLOCK.fullmatch(str(cell).strip()) if isinstance(cell, str) else None
    try:
        if said is None:
            raise ValueError
        hour = int(said[1])
        if said[4]:
            if not 1 <= hour <= 12:
                raise ValueError
            hour = hour % 12 + (12 if said[4].lower() == "p" else 0)
        return time(hour, int(said[2] or 0), int(said[3] or 0))
    except ValueError:
        raise ValueError(f"“{str(cell)[:20]}” is no time") from None


@lru_cache(maxsize=4096)  # a day of notes has several rows, and dateparser takes milliseconds for each
def _day_in_words(words: str, order: str, today: date) -> date | None:
    found = _parser(order, today).get_date_data(words).date_obj
    return found.date() if found is not None else None


@lru_cache(maxsize=4)
def _parser(order: str, today: date) -> Any:
    """dateparser for dates that name their day and month; without a year, the last such day."""
    from dateparser.date import DateDataParser

    wanted = {
        "PARSERS": ["absolute-time"],
        "REQUIRE_PARTS": ["day", "month"],
        "DATE_ORDER": order,
        "PREFER_DATES_FROM": "past",
        "RELATIVE_BASE": datetime.combine(today, time(23, 59)),
    }
    return DateDataParser(languages=_LANGUAGES.split(), settings=wanted)
