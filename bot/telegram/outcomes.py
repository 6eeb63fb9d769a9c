"""What became of a letter, read from the error that sending it gave. Pure.

The platform takes no key that would make a repeat harmless, so everything hangs on one question: can it
have taken the message? How each error answers was measured against a loopback server with
python-telegram-bot 22.8: a request that never left is one thing, a connection lost afterwards another,
though the library calls both ``NetworkError``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import aiohttp
from telegram.error import (
    BadRequest,
    ChatMigrated,
    Conflict,
    Forbidden,
    InvalidToken,
    NetworkError,
    RetryAfter,
    TelegramError,
    TimedOut,
)

from bot.telegram.line import NoFreeConnection
from bot.telegram.waiting import seconds_of

__all__ = ["Failed", "Moved", "NotSent", "Outcome", "Sent", "Uncertain", "outcome_of", "wording"]

FIRST_PAUSE_S = 1.0
LONGEST_PAUSE_S = 300.0

NEVER_LEFT = (
    NoFreeConnection,
    aiohttp.ClientConnectorError,
    aiohttp.ConnectionTimeoutError,
    aiohttp.InvalidURL,
)
"""What the line raises before a byte of the request was written."""

Wording = Literal[
    "cannot_parse", "not_modified", "nothing_to_edit", "no_text", "no_thread", "too_long", "too_late", "other"
]


@dataclass(frozen=True, slots=True)
class Sent:
    """It arrived.

    message : the platform's id of it; ``None`` where there is none (a reaction).
    lost_topic : the topic it was for, where that is gone and it went to the general one.
    """

    message: str | None
    lost_topic: str | None = None


@dataclass(frozen=True, slots=True)
class NotSent:
    """Surely not taken; to be tried again.

    after_s : not before this much time has passed. [s]
    code : a short word for the log.
    """

    after_s: float
    code: str


@dataclass(frozen=True, slots=True)
class Uncertain:
    """It may have arrived."""

    code: str


@dataclass(frozen=True, slots=True)
class Failed:
    """It never will arrive. ``shut_out`` : nor will anything else, the chat does not want us."""

    code: str
    shut_out: bool = False


@dataclass(frozen=True, slots=True)
class Moved:
    """Not taken: the group became a supergroup. ``address`` : its new number, where the letter is to go."""

    address: str
    code: str = "moved"


Outcome = Sent | NotSent | Uncertain | Failed | Moved


def outcome_of(error: TelegramError, attempts: int) -> Outcome:
    """What ``error`` says about the letter.

    attempts : how often it was tried, this time included, from 1; the pause grows with it.
    """
    match error:
        case RetryAfter():
            return NotSent(seconds_of(error), "flood")
        case ChatMigrated():
            return Moved(str(error.new_chat_id))
        case Forbidden():
            return Failed("forbidden", shut_out=True)
        case BadRequest():  # a NetworkError by descent, yet an answer: asking again changes nothing
            return Failed(f"bad_request_{wording(error)}")
        case InvalidToken() | Conflict():
            return NotSent(LONGEST_PAUSE_S, type(error).__name__)
        case TimedOut() | NetworkError():
            return _of_the_line(error, attempts)
        case _:
            # What the library has no name for, such as an answer that is no JSON: it may have gone well.
            return Uncertain(type(error).__name__)


def wording(error: BadRequest) -> Wording:
    """The refusals that we can do something about. The platform gives them no number, only words."""
    said = error.message.lower()
    if "can't parse entities" in said:
        return "cannot_parse"
    if "not modified" in said:
        return "not_modified"
    if "message to edit not found" in said or "message can't be edited" in said:
        return "nothing_to_edit"
    if "there is no text in the message" in said:
        return "no_text"
    if "message thread not found" in said:
        return "no_thread"
    if "is too long" in said:
        return "too_long"
    if "query is too old" in said:
        return "too_late"
    return "other"


def _of_the_line(error: NetworkError, attempts: int) -> Outcome:
    cause = error.__cause__
    if isinstance(cause, NEVER_LEFT):
        return NotSent(_pause_s(attempts), type(cause).__name__)
    if isinstance(cause, (aiohttp.ClientError, TimeoutError)):
        return Uncertain(type(cause).__name__)
    # No fault of the line, so an answer was given: an error of the server's (5xx).
    return NotSent(_pause_s(attempts), "server")


def _pause_s(attempts: int) -> float:
    return float(min(FIRST_PAUSE_S * 2 ** min(attempts - 1, 20), LONGEST_PAUSE_S))
