"""What each error says about a letter.

Which exception each fault gives was measured with python-telegram-bot 22.8 over a loopback server; that the
library still gives it is held by tests/end_to_end.
"""

from __future__ import annotations

import aiohttp
import pytest
from aiohttp.client_reqrep import ConnectionKey
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
from bot.telegram.outcomes import Failed, Moved, NotSent, Uncertain, outcome_of, wording

ADDRESS = ConnectionKey("127.0.0.1", 9, False, True, None, None, None)


def of_the_line(error: NetworkError, cause: Exception) -> NetworkError:
    """The library keeps the fault of the line as the cause of its own exception."""
    error.__cause__ = cause
    return error


@pytest.mark.parametrize(
    "error",
    [
        of_the_line(NetworkError(""), aiohttp.ClientConnectorError(ADDRESS, OSError("refused"))),
        of_the_line(TimedOut(), aiohttp.ConnectionTimeoutError()),
        of_the_line(TimedOut(), NoFreeConnection()),
        NetworkError("Bad Gateway (502)"),
        NetworkError("Internal Server Error"),
    ],
    ids=["refused", "no connection in time", "no free connection", "502", "500"],
)
def test_surely_not_sent(error: TelegramError) -> None:
    assert isinstance(outcome_of(error, attempts=1), NotSent)


@pytest.mark.parametrize(
    "error",
    [
        of_the_line(TimedOut(), aiohttp.SocketTimeoutError()),
        of_the_line(TimedOut(), TimeoutError()),
        of_the_line(NetworkError(""), aiohttp.ServerDisconnectedError()),
        of_the_line(NetworkError(""), aiohttp.ClientOSError(104, "reset")),
        of_the_line(NetworkError(""), aiohttp.ClientConnectionResetError()),
        of_the_line(NetworkError(""), aiohttp.ClientPayloadError()),
        TelegramError("Invalid server response"),
    ],
    ids=[
        "no answer",
        "too long in all",
        "closed",
        "reset",
        "closing",
        "half an answer",
        "answer that is no JSON",
    ],
)
def test_perhaps_sent(error: TelegramError) -> None:
    assert isinstance(outcome_of(error, attempts=1), Uncertain)


def test_flood_waits_as_long_as_the_platform_says() -> None:
    assert outcome_of(RetryAfter(3), attempts=5) == NotSent(3.0, "flood")


def test_pause_grows_with_each_attempt_up_to_a_bound() -> None:
    pauses = []
    for attempts in (1, 2, 3, 9, 10, 1000):
        outcome = outcome_of(NetworkError("Bad Gateway (502)"), attempts)
        assert isinstance(outcome, NotSent)
        pauses.append(outcome.after_s)
    assert pauses == [1, 2, 4, 256, 300, 300]  # 2**0, 2**1, 2**2, 2**8, then the bound


def test_forbidden_shuts_the_chat() -> None:
    assert outcome_of(Forbidden("bot was blocked by the user"), 1) == Failed("forbidden", shut_out=True)


def test_moved_group_gives_its_new_number() -> None:
    assert outcome_of(ChatMigrated(-1001), 1) == Moved("-1001")


def test_refusal_is_not_tried_again_though_the_library_calls_it_a_network_error() -> None:
    assert isinstance(BadRequest("chat not found"), NetworkError)
    assert outcome_of(BadRequest("chat not found"), 1) == Failed("bad_request_other")


@pytest.mark.parametrize("error", [InvalidToken(), Conflict("terminated by other getUpdates request")])
def test_trouble_with_the_token_is_not_the_letters_fault(error: TelegramError) -> None:
    assert isinstance(outcome_of(error, 1), NotSent)


@pytest.mark.parametrize(
    ("said", "word"),
    [
        ("Can't parse entities: unsupported start tag", "cannot_parse"),
        (
            "Message is not modified: specified new message content and reply markup are exactly the same",
            "not_modified",
        ),
        ("Message to edit not found", "nothing_to_edit"),
        ("Message can't be edited", "nothing_to_edit"),
        ("Message thread not found", "no_thread"),
        ("Message is too long", "too_long"),
        ("Message caption is too long", "too_long"),
        ("There is no text in the message to edit", "no_text"),
        ("Not enough rights to send photos to the chat", "other"),
        ("Query is too old and response timeout expired or query ID is invalid", "too_late"),
        ("Chat not found", "other"),
    ],
)
def test_wording(said: str, word: str) -> None:
    """The platform's own words, from tdlib/telegram-bot-api 10.0, Client.cpp."""
    assert wording(BadRequest(said)) == word
