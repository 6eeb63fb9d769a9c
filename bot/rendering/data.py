"""Letters about the household's own data."""

from __future__ import annotations

from bot.assistant.buttons import button
from bot.assistant.data_replies import (
    DataReply,
    FileOffered,
    ForgetAsked,
    ForgetCalledOff,
    ForgetPlanned,
    ForgetSure,
    OfferedInPrivate,
    Whom,
)
from bot.assistant.exchange import Button
from bot.rendering.markup import Line, Strong, line
from bot.rendering.voice import Voice

__all__ = ["data_buttons", "data_lines"]

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
        case OfferedInPrivate():
            return [line("That goes to one person, in private, not into a group.")]


def data_buttons(reply: DataReply) -> tuple[tuple[Button, ...], ...]:
    """The buttons under it."""
    match reply:
        case OfferedInPrivate():
            return ((button("Send it to me", "hand", reply.kind),),)
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
