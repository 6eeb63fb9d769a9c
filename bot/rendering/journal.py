"""A page of the journal: days as headings, a line for each message, buttons to turn the page."""

from __future__ import annotations

from datetime import datetime, timedelta

from bot.assistant.buttons import button
from bot.assistant.exchange import Button
from bot.assistant.journal_replies import JournalLine, JournalShown
from bot.assistant.looking_back import PAGE_LINES
from bot.rendering.describe import described
from bot.rendering.markup import Code, Line, Strong, joined, line, name
from bot.rendering.voice import Voice
from bot.rendering.words import MARKS, words_for

__all__ = ["journal_buttons", "journal_lines"]

PHOTOS_A_ROW = 4


def journal_lines(reply: JournalShown, voice: Voice) -> list[Line]:
    """The page, the newest at the bottom: what was asked for, then day by day who said what and when."""
    if not reply.lines and not reply.asked:
        return [line("The journal is empty. Send a reading:"), line(Code(voice.reading_example))]
    asked = name(reply.asked)
    span = _span(reply, voice)
    if not reply.lines:
        return [line(f"Nothing in the journal: {asked}{span}.")]
    lines = [line(f"{asked[:1].upper()}{asked[1:]}{span}")] if asked else []
    day = None
    for said in reply.lines:
        date = said.at.astimezone(voice.zone).date()
        if date != day:
            lines.append(line(Strong(_heading(said.at, reply.now, voice))))
            day = date
        photo = f" [photo {_place(reply, said)}]" if said.photo is not None else ""
        lines.append((*_said(said, voice), photo) if photo else _said(said, voice))
    if reply.question is not None:
        first = reply.end - len(reply.lines) + 1
        lines.append(line(f"{first}–{reply.end} of {reply.total}"))
    return lines


def journal_buttons(reply: JournalShown) -> tuple[tuple[Button, ...], ...]:
    """The photos of the page by number; older and newer, where there are such."""
    pictured = [said.photo for said in reply.lines if said.photo is not None]
    photos = [button(f"Photo {nth}", "photo", entry) for nth, entry in enumerate(pictured, start=1)]
    rows = tuple(tuple(photos[at : at + PHOTOS_A_ROW]) for at in range(0, len(photos), PHOTOS_A_ROW))
    return (*rows, *_page_buttons(reply))


def _page_buttons(reply: JournalShown) -> tuple[tuple[Button, ...], ...]:
    if reply.question is None:
        return ()
    keys = []
    if reply.end > len(reply.lines):
        keys.append(button("Older", "turn", reply.question, reply.end - len(reply.lines)))
    if reply.end < reply.total:
        keys.append(button("Newer", "turn", reply.question, min(reply.end + PAGE_LINES, reply.total)))
    return (tuple(keys),) if keys else ()


def _said(said: JournalLine, voice: Voice) -> Line:
    mark = f" ({words_for(MARKS, said.mark)})" if said.mark else ""
    what = joined([described(fact, voice) for fact in said.facts], last="and")
    return line(f"{voice.clock(said.at)} {name(said.author)}: {what}{mark}")


def _place(reply: JournalShown, said: JournalLine) -> int:
    """Which photo of the page it is, as its button says."""
    return [line for line in reply.lines if line.photo is not None].index(said) + 1


def _heading(at: datetime, now: datetime, voice: Voice) -> str:
    year = at.astimezone(voice.zone).year
    day = voice.day(at, now)
    day = f"{day[:1].upper()}{day[1:]}"
    return day if year == now.astimezone(voice.zone).year else f"{day} {year}"


def _span(reply: JournalShown, voice: Voice) -> str:
    """The days that were asked for: ``last week`` means other ones tomorrow."""
    if reply.since is None:
        return ""
    last = reply.until - timedelta(seconds=1) if reply.until is not None else reply.now
    first_day, last_day = voice.date(reply.since), voice.date(last)
    return f", {first_day}" if first_day == last_day else f", {first_day} to {last_day}"
