"""What a household wants to be told, and when."""

from __future__ import annotations

import re
from dataclasses import replace

from bot.reader.fillers import words
from bot.reader.findings import Finding, Phrase, Scene, found
from bot.reader.items import Item, Line
from bot.reader.moments import NoSuchMoment
from bot.reader.mood import calls_off
from bot.reader.patterns import Hit
from bot.reader.recurrence import Repeat, first_time
from bot.reader.result import Reason
from bot.reader.timewords import TimePhrase
from domain.facts import Reminder

__all__ = ["REMINDER_PHRASES"]

_ENDS = frozenset((".", "nl", ";", "!", "?"))
_HEADS = words("to about of that for me us : - , and starting from on at i the then also")
_TAILS = words("of on at for , - starting from and please pls around plz by beginning")
_EMPTY = words("later soon again sometime pls please")
_TASKS = words("WATERCHANGE TOPUP FILTER CHANGE")
_AGAINST = words("don't dont not no stop cancel delete remove never without")


def _reminder(scene: Scene, hit: Hit) -> Finding | None:
    """One reminder, or several where each has its own repeat: ``... every sunday, and ... every month``."""
    line = scene.line
    before = line.items[hit.first - 1].key if hit.first else ""
    if before in _AGAINST or calls_off(line.items, hit.first):
        return None
    first, last = _sentence(line, hit.first)
    if _is_likeness(line, hit):
        return None
    told = _told_before(scene, hit, last)
    if told is not None:
        return found(told, own_times=True, ends=last)
    if before in _TASKS and not _is_timed(line, first, last):
        return None  # ``water change reminder off``
    if line.typed(hit.first, hit.first).lower().startswith("remember ") and not _is_timed(line, first, last):
        return None  # ``do you remember me``
    reminders = []
    for low, high in _parts(line, hit.last + 1, last):
        opens = _start_of(line, first) if low == hit.last + 1 else line.items[low - 1].end
        said = _one(scene, opens, (line.items[low - 1].end, high), first if low == hit.last + 1 else low)
        if isinstance(said, str):
            return Finding(reason=said, own_times=True, ends=last)
        reminders.append(said)
    return found(*reminders, own_times=True, ends=last)


def _told_before(scene: Scene, hit: Hit, last: int) -> Reminder | None:
    """``will change the water tomorrow, remind me``: what to be told is the plan before the order."""
    line = scene.line
    if any(item.key not in _CLOSING for item in line.items[hit.last + 1 : last + 1]):
        return None
    end = hit.first
    while end and (
        line.items[end - 1].key in _ORDERING
        or (line.items[end - 1].key in ("you", "u") and line.around[end - 2] in ("can", "could", "would"))
    ):
        end -= 1
    first = end
    while first and line.items[first - 1].key not in _ENDS and line.items[first - 1].key != ",":
        first -= 1
    if first == end:
        return None
    opens = line.items[first - 1].end if first else 0
    plan = _PLANNED.match(line.cleaned.text[opens : line.items[end - 1].end])
    if plan is None:
        return None
    order = replace(line.items[end], start=line.items[end - 1].end, end=line.items[last].end)
    said = _one(scene, opens, (opens + plan.end(), last), end, cut=order)
    return said if isinstance(said, Reminder) else None


_PLANNED = re.compile(
    r"[\s,]*(?:and )?(?:(?:i|we)(?:'ll| will| must| should| need to| have to| want to| gotta)|will|must|"
    r"should|need to|needs to|have to|gotta|(?:(?:i'm|we're) )?(?:going to|gonna))\s+(?!be\b)(?=\S)"
)
_CLOSING = words("! please pls plz thanks thx at on")
_ORDERING = words(", and so can could would please pls plz - ; then also")


def _is_likeness(line: Line, hit: Hit) -> bool:
    """``you remind me of my aunt``, ``remind yourself``: nobody asks for anything."""
    before, earlier = line.around[hit.first - 1], line.around[hit.first - 2]
    asked = before in _ASKS or (before in ("you", "u") and earlier in _ASKS)
    likens = line.typed(hit.first, hit.last).lower().endswith(" of") and before[:1].isalpha() and not asked
    return likens or line.around[hit.last + 1] in _SELVES


_ASKS = words("please pls plz can could will would and then also")
_SELVES = words("yourself yourselves myself himself herself themselves ourselves")


def _one(
    scene: Scene, opens: int, text_part: tuple[int, int], first: int, cut: Item | None = None
) -> Reminder | Reason:
    """The reminder whose text lies from a place to the end of an item.

    opens : where its times may start; before its text, where they stand before the order to remind.
    cut : what stands in its text and is not of it.
    """
    line = scene.line
    start, last = text_part
    limit = _limit(line, last)
    marks = [item for _, item in line.times if opens <= item.start and item.end <= limit]
    repeats = [item for item in line.items[first : last + 1] if item.key == "#every"]
    end = max([line.items[last].end, *(item.end for item in marks)])
    text = _text(line, start, end, [*marks, *repeats, *([cut] if cut is not None else [])])
    if not text or text.lower() in _EMPTY:
        return "missing_value"
    if _TIMES_A_WEEK.search(text.lower()):
        return "ambiguous"
    phrase = _joined([item.value for item in marks])
    repeat: Repeat | None = repeats[0].value if repeats else None
    if repeat is not None and repeat.freq == "MONTHLY" and phrase is not None and phrase.day is not None:
        day = phrase.day
        if day.kind == "date" and not day.month and not repeat.days:  # ``on the 1st of every month``
            repeat = replace(repeat, month_day=day.number)
    try:
        at = first_time(repeat, phrase, scene.moments) if repeat else scene.moments.of_reminder(phrase)
    except NoSuchMoment:
        return "implausible"
    return Reminder(text=text, at=at, rrule=repeat.rule() if repeat is not None else None)


_TIMES_A_WEEK = re.compile(r"\b(?:twice|times) (?:a|per|every|each) (?:day|week|month)")
"""A repeat whose days nobody named."""


def _is_timed(line: Line, first: int, last: int) -> bool:
    low, high = _start_of(line, first), _limit(line, last)
    return any(low <= item.start < high for _, item in line.times) or any(
        item.key == "#every" for item in line.items[first : last + 1]
    )


def _parts(line: Line, first: int, last: int) -> list[tuple[int, int]]:
    """Items ``first`` to ``last`` cut after each repeat that another reminder with its own follows."""
    parts = []
    low = first
    for i in range(first, last):
        if line.items[i].key in (",", "and") and _has_repeat(line, low, i) and _has_repeat(line, i, last + 1):
            parts.append((low, i - 1))
            low = i + 1
    return [*parts, (low, max(low - 1, last))] if low <= last else [(low, low - 1)]


def _has_repeat(line: Line, first: int, end: int) -> bool:
    return any(item.key == "#every" for item in line.items[first:end])


def _start_of(line: Line, first: int) -> int:
    """Where the text of item ``first`` begins, with the time phrases that stand before it."""
    return line.items[first - 1].end if first else 0


def _sentence(line: Line, at: int) -> tuple[int, int]:
    """First and last item of the sentence around item ``at``."""
    items = line.items
    first, last = at, at
    while first > 0 and items[first - 1].key not in _ENDS:
        first -= 1
    if not any(item.key == "#every" for item in items[first:at]) and not _starts_with_time(line, first, at):
        first = at
    while last + 1 < len(items) and items[last + 1].key not in _ENDS:
        last += 1
    return first, last


def _starts_with_time(line: Line, first: int, at: int) -> bool:
    """``tomorrow remind me to ...``: only a time stands before the order."""
    return all(
        item.key in (",", "pls", "please", "can", "you", "could", "u", "hey", "hi")
        for item in line.items[first:at]
    )


def _limit(line: Line, last: int) -> int:
    """Where the sentence ends in the text, with the time phrases that close it."""
    return line.items[last + 1].start if last + 1 < len(line.items) else len(line.cleaned.text)


def _joined(phrases: list[TimePhrase]) -> TimePhrase | None:
    """Time phrases that stand apart, as one: ``on sunday ... at 6pm``."""
    joined: TimePhrase | None = None
    for phrase in phrases:
        if joined is None or joined.elapsed is not None:
            joined = joined or phrase
        else:
            joined = TimePhrase(
                joined.end,
                day=joined.day or phrase.day,
                clock=joined.clock or phrase.clock,
                part=joined.part or phrase.part,
            )
    return joined


def _text(line: Line, start: int, end: int, marks: list[Item]) -> str:
    """What to be told, as typed, without its times."""
    pieces, at = [], start
    for mark in sorted(marks, key=lambda item: item.start):
        if mark.start > at:
            pieces.append(line.cleaned.raw(at, mark.start))
        at = max(at, mark.end)
    if end > at:
        pieces.append(line.cleaned.raw(at, end))
    words = " ".join(pieces).split()
    while words and words[0].lower().strip(",") in _HEADS | {""}:
        words = words[1:]
    while words and words[-1].lower().strip(",.") in _TAILS | {""}:
        words = words[:-1]
    return " ".join(words).strip(" ,:-")


REMINDER_PHRASES: tuple[tuple[str, Phrase], ...] = (("REMIND", Phrase(_reminder, stated=False)),)
