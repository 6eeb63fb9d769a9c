"""Who is away from when to when, and who looks after the tank meanwhile."""

from __future__ import annotations

from bisect import bisect_left
from datetime import date, timedelta

from bot.reader.fillers import words
from bot.reader.findings import Finding, Phrase, Scene, found, no
from bot.reader.items import Line
from bot.reader.moments import NoSuchMoment
from bot.reader.patterns import Hit
from bot.reader.scan import Token, word_at
from bot.reader.times import time_at
from bot.reader.timewords import MONTHS, Day, TimePhrase
from domain.facts import Away

__all__ = ["AWAY_PHRASES"]

_TO = frozenset(("-", "to", "till", "until", "til", "through", "thru", "and"))
_ON_DUTY = (
    "takes over|take over|is in charge|will look|looks after|is looking|will take|is taking|"
    "will water|waters|covers|is covering|will cover|minds|will do|does|is minding|cares|takes care|"
    "has the|keeps|handles|is keeper|will mind|will handle|will keep|looking after|is the keeper|"
    "can look|will be in|taking over|on duty|is on duty|feeds|tends|watches|babysits"
)
_KEEPER_AFTER = tuple(tuple(phrase.split()) for phrase in _ON_DUTY.split("|"))
"""What is said after the name of whoever looks after the tank."""
_DUTY_STARTS = frozenset(words[0] for words in _KEEPER_AFTER)
_NO_NAMES = words(
    "is will are was can could has am be i we they he she it who and so while then but someone nobody you"
)


def _away(scene: Scene, hit: Hit) -> Finding | None:
    line = scene.line
    if _is_tried(line, hit.first):
        return None
    first, last = _sentence(line, hit.first)
    tokens = _tokens_between(line.tokens, line.items[first].start, _limit(line, last))
    keeper = _keeper(line, tokens)
    try:
        span = _dates(scene, tokens)
    except NoSuchMoment:
        return no("implausible")
    if span is None:
        return (
            no("missing_value")
            if keeper and "AWAY" in line.keys and " over" not in line.typed(hit.first, hit.last).lower()
            else None
        )
    start, end = span
    if end is not None and end < start:
        return no("implausible")
    return found(Away(start=start, end=end, keeper=keeper), own_times=True, ends=last)


def _is_tried(line: Line, at: int) -> bool:
    """Whether another word of being away stands before item ``at``: its whole sentence was looked at then."""
    for i in range(at - 1, -1, -1):
        if line.around[i] in _SENTENCE_STARTS:
            return False
        if line.around[i] == "AWAY":
            return True
    return False


MOST_ITEMS = 30
"""Nobody says more about a journey in one go."""
_SENTENCE_STARTS = frozenset((".", "nl", ";", "!"))


def _sentence(line: Line, at: int) -> tuple[int, int]:
    first = last = at
    while first > 0 and line.items[first - 1].key not in _SENTENCE_STARTS:
        first -= 1
    while (
        last + 1 < len(line.items)
        and line.items[last + 1].key not in ("nl", ";", "!")
        and last - at < MOST_ITEMS
    ):
        last += 1
    return first, last


def _tokens_between(tokens: list[Token], start: int, end: int) -> list[Token]:
    low, high = (bisect_left(tokens, place, key=lambda token: token.start) for place in (start, end))
    return tokens[low:high]


def _limit(line: Line, last: int) -> int:
    return line.items[last + 1].start if last + 1 < len(line.items) else len(line.cleaned.text)


def _keeper(line: Line, tokens: list[Token]) -> str | None:
    """The name before ``takes over``, or after ``keeper``."""
    for i, token in enumerate(tokens):
        if token.kind == "w" and token.text not in _NO_NAMES and word_at(tokens, i + 1) in _DUTY_STARTS:
            following = tuple(other.text for other in tokens[i + 1 : i + 5])
            if any(following[: len(words)] == words for words in _KEEPER_AFTER):
                return line.cleaned.raw(token.start, token.end)
        if token.text in ("keeper", "sitter") and i + 1 < len(tokens):
            j = i + 2 if tokens[i + 1].text in (":", "is", "=", "will") else i + 1
            if j < len(tokens) and tokens[j].kind == "w":
                return line.cleaned.raw(tokens[j].start, tokens[j].end)
    return None


def _dates(scene: Scene, tokens: list[Token]) -> tuple[date, date | None] | None:
    """First and last day of the first span of days in the sentence."""
    today = scene.moments.now.date()
    i = 0
    while i < len(tokens):
        month_first = _month_then_days(tokens, i) or _days_then_month(tokens, i)
        if month_first is not None:
            month, low, high, year = month_first
            start = _coming(scene, Day("date", low, month, year))
            return start, _after(scene, Day("date", high, month, year), start)
        phrase = time_at(tokens, i, day_first=scene.settings.day_first)
        if phrase is not None and phrase.day is not None:
            return _from_phrase(scene, tokens, i, phrase, today)
        if tokens[i].text == "for":
            days = time_at([_IN, *tokens[i + 1 :]], 0, day_first=True)
            if days is not None and days.day is not None and days.day.kind == "offset":
                return today, today + timedelta(days=days.day.number)
        if tokens[i].text in ("until", "till", "til"):
            end = time_at(tokens, i + 1, day_first=scene.settings.day_first) if i + 1 < len(tokens) else None
            if end is not None and end.day is not None:
                return today, _after(scene, end.day, today)
        i += 1
    return None


_IN = Token("w", "in", 0, 2, True)


def _from_phrase(
    scene: Scene, tokens: list[Token], i: int, phrase: TimePhrase, today: date
) -> tuple[date, date | None]:
    if phrase.day is None:
        raise NoSuchMoment("no day")
    if phrase.day.kind == "offset" and phrase.day.number == 7 and tokens[phrase.end - 1].text == "week":
        monday = today + timedelta(days=7 - today.weekday())
        return monday, monday + timedelta(days=6)
    start = _coming(scene, phrase.day)
    j = phrase.end
    if j < len(tokens) and tokens[j].text in ("for", ","):
        days = time_at([_IN, *tokens[j + 1 :]], 0, day_first=True) if tokens[j].text == "for" else None
        if days is not None and days.day is not None and days.day.kind == "offset":
            return start, start + timedelta(days=days.day.number)
    if j < len(tokens) and tokens[j].text in _TO and j + 1 < len(tokens):
        end = time_at(tokens, j + 1, day_first=scene.settings.day_first)
        if end is None and phrase.day.kind == "date" and tokens[j + 1].text.isdigit():
            return start, _after(
                scene, Day("date", int(tokens[j + 1].text[:2]), phrase.day.month, phrase.day.year), start
            )
        if end is not None and end.day is not None:
            return start, _after(scene, end.day, start)
    if i > 0 and tokens[i - 1].text in ("until", "till", "til", "back", "through"):
        return today, start
    return start, None


def _days_then_month(tokens: list[Token], i: int) -> tuple[int, int, int, int] | None:
    """``3-10 aug``, ``3rd to 10th of august 2026``: (month, first, last, year)."""
    j, numbers = i, []
    for step in range(2):
        if j >= len(tokens) or not tokens[j].text.isdigit() or not 1 <= int(tokens[j].text[:4]) <= 31:
            return None
        numbers.append(int(tokens[j].text))
        j += 1
        if j < len(tokens) and tokens[j].text in ("st", "nd", "rd", "th"):
            j += 1
        if step == 0:
            if j >= len(tokens) or tokens[j].text not in _TO:
                return None
            j += 1
    if j < len(tokens) and tokens[j].text == "of":
        j += 1
    if j >= len(tokens) or tokens[j].text not in MONTHS:
        return None
    return MONTHS[tokens[j].text], numbers[0], numbers[1], _year(tokens, j + 1)


def _month_then_days(tokens: list[Token], i: int) -> tuple[int, int, int, int] | None:
    """``aug 3-10``, ``August 3 to 10``."""
    if tokens[i].text not in MONTHS or i + 3 >= len(tokens):
        return None
    if not tokens[i + 1].text.isdigit() or tokens[i + 2].text not in _TO or not tokens[i + 3].text.isdigit():
        return None
    low, high = int(tokens[i + 1].text[:4]), int(tokens[i + 3].text[:4])
    if not (1 <= low <= 31 and 1 <= high <= 31) or (i + 4 < len(tokens) and tokens[i + 4].text in MONTHS):
        return None
    return MONTHS[tokens[i].text], low, high, _year(tokens, i + 4)


def _year(tokens: list[Token], i: int) -> int:
    if (
        i < len(tokens)
        and tokens[i].text.isdigit()
        and len(tokens[i].text) == 4
        and tokens[i].text.startswith("2")
    ):
        return int(tokens[i].text)
    return 0


def _coming(scene: Scene, day: Day) -> date:
    """The first such day from today on."""
    today = scene.moments.now.date()
    if day.kind == "offset":
        return today + timedelta(days=day.number)
    return _after(scene, day, today)


def _after(scene: Scene, day: Day, start: date) -> date:
    """The first such day on or after ``start``."""
    if day.kind == "offset":
        return scene.moments.now.date() + timedelta(days=day.number)
    if day.kind == "weekday":
        ahead = (day.number - start.weekday()) % 7
        return start + timedelta(days=ahead)
    for months in range(49):
        count = start.year * 12 + start.month - 1 + months
        year, month = count // 12, count % 12 + 1
        if (day.year and year != day.year) or (day.month and month != day.month):
            continue
        try:
            found_day = date(year, month, day.number)
        except ValueError:
            continue
        if found_day >= start:
            return found_day
    raise NoSuchMoment("no such day")


AWAY_PHRASES: tuple[tuple[str, Phrase], ...] = (("AWAY", Phrase(_away, stated=False)),)
