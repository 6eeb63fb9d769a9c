"""Letters about the household's own data."""

from __future__ import annotations

from datetime import datetime

from bot.assistant.buttons import button
from bot.assistant.data_replies import (
    ArchiveLooked,
    BroughtIn,
    DataReply,
    FileOffered,
    FileRefused,
    ForgetAsked,
    ForgetCalledOff,
    ForgetPlanned,
    ForgetSure,
    NotesLooked,
    OfferedInPrivate,
    PhotoShown,
    Whom,
)
from bot.assistant.exchange import Button
from bot.rendering.describe import described
from bot.rendering.markup import Line, Strong, joined, line, name
from bot.rendering.voice import Voice
from bot.rendering.words import COLUMNS

__all__ = ["data_buttons", "data_lines"]

_KEEP_OR_LEAVE = (("Keep it", "keep"), ("Leave it", "leave"))
_ERRORS_SHOWN = 5
_SIGNS = {"C": "°C", "F": "°F"}
_ORDERS = {"DMY": "day/month", "MDY": "month/day"}
FORGET_WHOM: dict[Whom, str] = {"person": "Forget me", "household": "Forget all of it"}


def data_lines(reply: DataReply, voice: Voice) -> list[Line]:
    """What a letter about the household's data says."""
    match reply:
        case FileOffered() if reply.document.kind == "calendar":
            return [line("What is due, for your calendar. Dates move as you log: take a new one at times.")]
        case FileOffered():
            since = f" since {voice.date(reply.since)} {reply.since.year}" if reply.since else ""
            return [
                line(f"All your data: {reply.entries} entries{since}."),
                line("Keep the file: sent back to me, it restores the journal."),
            ]
        case ForgetAsked() | ForgetSure() | ForgetPlanned() | ForgetCalledOff():
            return _forget_lines(reply, voice)
        case PhotoShown():
            of = f" ({reply.place} of {reply.total})" if reply.total > 1 else ""
            at = f"{voice.date(reply.at)} {voice.clock(reply.at)}"
            what = joined([described(fact, voice) for fact in reply.facts])
            return [line(f"{at} {name(reply.author)}{of}: {what}")]
        case FileRefused():
            return [line(Strong("Nothing was kept.")), line(reply.why)]
        case NotesLooked():
            return _notes_lines(reply, voice)
        case ArchiveLooked():
            return _archive_lines(reply, voice)
        case BroughtIn():
            return [line(Strong("Kept"), f": {reply.entries:,} entries from your file.")]
        case OfferedInPrivate():
            return [line("That goes to one person, in private, not into a group.")]


def data_buttons(reply: DataReply) -> tuple[tuple[Button, ...], ...]:
    """The buttons under it."""
    match reply:
        case OfferedInPrivate():
            return ((button("Send it to me", "hand", reply.kind),),)
        case NotesLooked() | ArchiveLooked() if reply.question is not None:
            keep, leave = (button(label, "bring", verb, reply.question) for label, verb in _KEEP_OR_LEAVE)
            return ((keep, leave),)
        case BroughtIn() if reply.revision is not None:
            return ((button("Undo", "undo", reply.revision),),)
        case ForgetAsked():
            keys = tuple(
                (button(FORGET_WHOM[whom], "forget", "ask", *_of(reply, whom)),) for whom in reply.whoms
            )
            return (*keys, (button("Keep everything", "forget", "keep"),))
        case ForgetSure():
            sure = (reply.whom, reply.number, int(reply.asked_at.timestamp()))
            return ((button("Yes, delete", "forget", "yes", *sure), button("No, keep", "forget", "keep")),)
        case ForgetPlanned():
            return ((button("Keep it after all", "forget", "keep"),),)
        case _:
            return ()


def _of(reply: ForgetAsked, whom: Whom) -> tuple[Whom, int, int]:
    number = reply.household if whom == "household" else reply.person
    return whom, number, int(reply.asked_at.timestamp())


def _forget_lines(
    reply: ForgetAsked | ForgetSure | ForgetPlanned | ForgetCalledOff, voice: Voice
) -> list[Line]:
    match reply:
        case ForgetAsked():
            lines = [line(Strong("What shall I forget?"))]
            if "person" in reply.whoms:
                lines.append(line("Me: your words and your name. The shared entries stay, without them."))
            if "household" in reply.whoms:
                lines.append(line(f"All: the journal ({reply.entries} entries), settings, chats, reminders."))
            return [*lines, line("/export first keeps a copy.")]
        case ForgetSure():
            what = "the whole journal" if reply.whom == "household" else "your words and your name"
            return [
                line(Strong(f"Really delete {what}?")),
                line(f"It happens {voice.moment(reply.at, reply.asked_at)} and cannot be undone then."),
            ]
        case ForgetPlanned():
            at = f"{voice.date(reply.at)} {voice.clock(reply.at)}"
            what = "All of this household" if reply.whom == "household" else "Your words and your name"
            return [
                line(f"{what} will be deleted on {at}."),
                line("Until then: press below or say keep, and nothing is. I will not write about it again."),
            ]
        case ForgetCalledOff():
            return [line("Called off. Everything is kept.")]


def _notes_lines(reply: NotesLooked, voice: Voice) -> list[Line]:
    """What was understood of a table, before anything of it is kept."""
    columns = [_column(*column) for column in reply.columns]
    lines = [line(Strong(f"{reply.rows:,} rows. I read these columns: "), ", ".join(columns) + ".")]
    if reply.unused:
        lines.append(line(f"Not used: {', '.join(name(each) for each in reply.unused[:8])}."))
    if reply.errors:
        lines.append(line(Strong(f"Nothing was kept: {reply.wrong:,} rows are wrong.")))
        lines += [line(f"Line {at}: {name(what)}.") for at, what in reply.errors[:_ERRORS_SHOWN]]
        return [*lines, line("Put them right and send the file again.")]
    if reply.since is not None and reply.until is not None:
        lines.append(
            line(f"{_day(reply.since, voice)} to {_day(reply.until, voice)}: {_counts(reply.kinds)}.")
        )
    if reply.date_order is not None:
        lines.append(line(f"Dates such as 5/6 are taken as {_ORDERS[reply.date_order]}."))
    return [*lines, line("Nothing is kept yet.")]


def _column(heading: str, role: str, unit: str) -> str:
    """``pH``, or ``TDS as ppm`` where the heading says it otherwise than we do."""
    ours = COLUMNS[role] + (f" ({_SIGNS.get(unit, unit)})" if unit else "")
    return ours if heading.lower() == ours.lower() else f"{name(heading)} as {ours}"


def _archive_lines(reply: ArchiveLooked, voice: Voice) -> list[Line]:
    people = f", from {joined([name(each) for each in reply.people[:6]])}" if reply.people else ""
    lines = [
        line(Strong("An archive: "), f"{reply.entries:,} entries in {reply.messages:,} messages{people}.")
    ]
    if reply.since is not None and reply.until is not None:
        lines.append(line(f"{_day(reply.since, voice)} to {_day(reply.until, voice)}."))
    return [*lines, line("Nothing is kept yet.")]


def _counts(kinds: tuple[tuple[str, int], ...]) -> str:
    return ", ".join(f"{count:,} × {kind.replace('_', ' ')}" for kind, count in kinds[:6])


def _day(at: datetime, voice: Voice) -> str:
    return f"{voice.date(at)} {at.astimezone(voice.zone).year}"
