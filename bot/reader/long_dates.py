"""Dates in words that our own tables do not know: ``3 мая 2026``, ``2. huhtikuuta 2026``, ``le 3 juil``.

The common ways (``24/10``, ``oct 24``, ``May 4th, 2026``, ``4 de mayo``, ``24. Oktober``) are read by the
tables in ``dates`` and ``timewords`` in microseconds. What is left is singled out here by its form alone: a
day of the month and a word that nobody knows, tied by a year, a particle or an article. Exactly that span
goes to dateparser, which is never shown anything else: by itself it reads ``5.9`` and ``may`` as dates. It
is imported with the first such date (about a second, once), and asked at most twice in one message.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from bot.reader.fillers import words
from bot.reader.scan import Cleaned, Token, word_at
from bot.reader.timewords import DAYS, ELAPSED, Day, TimePhrase, whole_at
from domain.units import UNITS

__all__ = ["MOST_ASKED", "long_date_end", "long_date_of"]

MOST_ASKED = 2
"""Dates of one message that dateparser is asked for; nobody writes more of them in one go."""

_LANGUAGES = "es pt fr de it nl pl sv da nb fi cs sk tr ru uk ro hu el hr"
_ARTICLES = words("le el den il dia dne")
_PARTICLES = words("de di du er")
_SHORTEST_MONTH = 3
_NO_MONTHS = frozenset((*UNITS, *ELAPSED, *DAYS))


def long_date_end(tokens: list[Token], i: int) -> int | None:
    """The index after the date that token ``i`` may start, judged by its form; ``None`` for no such form."""
    day = whole_at(tokens, i)
    if day is None or not 1 <= day <= 31:
        return None
    is_tied = i > 0 and tokens[i - 1].text in _ARTICLES
    at = i + 1
    while word_at(tokens, at) == "." or word_at(tokens, at) in _PARTICLES:
        is_tied = is_tied or tokens[at].text != "."
        at += 1
    if at >= len(tokens) or at - i > 3:
        return None
    month = tokens[at]
    if month.kind != "w" or len(month.text) < _SHORTEST_MONTH or month.text in _NO_MONTHS:
        return None
    year_at = at + 1
    while word_at(tokens, year_at) in (".", ",", "de", "del") and year_at - at < 3:
        year_at += 1
    year = whole_at(tokens, year_at)
    if year is not None and 1900 <= year <= 2100:
        return year_at + 1
    return at + 1 if is_tied else None


def long_date_of(cleaned: Cleaned, tokens: list[Token], i: int, end: int) -> TimePhrase | None:
    """The date in tokens ``i`` to before ``end``, as typed; ``None`` where dateparser finds none in it."""
    typed = cleaned.raw(tokens[i].start, tokens[end - 1].end)
    found = _parser().get_date_data(typed).date_obj
    if found is None or found.day != whole_at(tokens, i):
        return None
    year = whole_at(tokens, end - 1)
    return TimePhrase(end, day=Day("date", found.day, found.month, found.year if year == found.year else 0))


@lru_cache(maxsize=1)
def _parser() -> Any:
    """dateparser for absolute dates that name their day and month."""
    from dateparser.date import DateDataParser

    wanted = {"PARSERS": ["absolute-time"], "REQUIRE_PARTS": ["day", "month"], "DATE_ORDER": "DMY"}
    return DateDataParser(languages=_LANGUAGES.split(), settings=wanted)
