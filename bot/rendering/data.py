"""Letters about the household's own data."""

from __future__ import annotations

from bot.assistant.buttons import button
from bot.assistant.data_replies import DataReply, FileOffered, OfferedInPrivate
from bot.assistant.exchange import Button
from bot.rendering.markup import Line, line
from bot.rendering.voice import Voice

__all__ = ["data_buttons", "data_lines"]


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
        case OfferedInPrivate():
            return [line("That goes to one person, in private, not into a group.")]


def data_buttons(reply: DataReply) -> tuple[tuple[Button, ...], ...]:
    """The buttons under it."""
    match reply:
        case OfferedInPrivate():
            return ((button("Send it to me", "hand", reply.kind),),)
        case _:
            return ()
