"""What a household wants to be told, and when."""

from __future__ import annotations

from bot.reader.findings import Finding, Phrase, Scene, found
from bot.reader.items import Item, Line
from bot.reader.moments import NoSuchMoment
from bot.reader.patterns import Hit
from bot.reader.recurrence import Repeat, first_time
from bot.reader.timewords import TimePhrase
from domain.facts import Reminder

__all__ = ["REMINDER_PHRASES"]

_ENDS = frozenset((".", "nl", ";", "!", "?"))
_HEADS = frozenset(
    (
        "to",
        "about",
        "of",
        "that",
        "for",
        "me",
        "us",
        ":",
        "-",
        ",",
        "and",
        "starting",
        "from",
        "on",
        "at",
        "i",
        "the",
    )
)
_TAILS = frozenset(
    (
        "on",
        "at",
        "for",
        ",",
        "-",
        "starting",
        "from",
        "and",
        "please",
        "pls",
        "around",
        "plz",
        "by",
        "beginning",
    )
)


def _reminder(scene: Scene, hit: Hit) -> Finding | None:
    line = scene.line
    first, last = _sentence(line, hit.first)
    start = line.items[hit.last].end
    end = line.items[last].end
    whole_start = line.items[first].start
    marks = [item for _, item in line.times if whole_start <= item.start and item.end <= _limit(line, last)]
    end = max([end, *(item.end for item in marks)])
    repeats = [item for item in line.items[first : last + 1] if item.key == "#every"]
    text = _text(line, start, end, [*marks, *repeats])
    if not marks and not repeats and line.typed(hit.first, hit.first).lower().startswith("remember "):
        return None  # ``do you remember me``
    if not text:
        return Finding(reason="missing_value", own_times=True, ends=last)
    phrase = _joined([item.value for item in marks])
    repeat: Repeat | None = repeats[0].value if repeats else None
    try:
        at = (
            first_time(repeat, phrase, scene.moments)
            if repeat is not None
            else scene.moments.of_reminder(phrase)
        )
    except NoSuchMoment:
        return Finding(reason="implausible", own_times=True, ends=last)
    reminder = Reminder(text=text, at=at, rrule=repeat.rule() if repeat is not None else None)
    return found(reminder, ends=last, own_times=True)


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
