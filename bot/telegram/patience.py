"""Doing something with the platform until it works, however long that takes."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Coroutine
from typing import Any

from telegram.error import BadRequest, InvalidToken, RetryAfter, TelegramError

from bot.telegram.waiting import first_of, seconds_of

__all__ = ["FIRST_PAUSE_S", "LONGEST_PAUSE_S", "Refused", "until_done"]

FIRST_PAUSE_S = 1.0
LONGEST_PAUSE_S = 30.0

logger = logging.getLogger(__name__)


class Refused(RuntimeError):
    """The platform does not know the token. Its text is one line that says what to do."""

    def __init__(self) -> None:
        super().__init__(
            "Telegram does not accept the token: check RILLKEEPER_TOKEN, or ask @BotFather for a new one"
        )


async def until_done(
    work: Callable[[], Coroutine[Any, Any, object]],
    stop: asyncio.Event,
    *,
    what: str,
    pause_s: float = FIRST_PAUSE_S,
) -> bool:
    """Does ``work`` again and again until it succeeds; ``False`` where ``stop`` was set before.

    what : for the log: what is not done yet.
    pause_s : after the first failure; doubled with each, to at most LONGEST_PAUSE_S. [s]
    Raises Refused when the platform does not accept the token.
    """
    while not stop.is_set():
        try:
            await first_of(work(), stop)
            return not stop.is_set()
        except InvalidToken:
            raise Refused from None
        except TelegramError as error:
            wait_s = seconds_of(error) if isinstance(error, RetryAfter) else pause_s
            # A refusal is told in the platform's words, which quote nothing; other trouble by its kind.
            why = error.message if isinstance(error, BadRequest) else type(error).__name__
            logger.warning("%s (%s); next try in %.0f s", what, why, wait_s)
            await first_of(asyncio.sleep(wait_s), stop)
            pause_s = min(pause_s * 2, LONGEST_PAUSE_S)
    return False
