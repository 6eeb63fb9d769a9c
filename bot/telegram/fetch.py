"""Long polling: asks for news, has it kept, and only then asks for what comes after it."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable, Sequence

from telegram.error import Conflict, InvalidToken, RetryAfter, TelegramError

from bot.telegram.client import Client
from bot.telegram.patience import FIRST_PAUSE_S, LONGEST_PAUSE_S, Refused
from bot.telegram.waiting import first_of, seconds_of

__all__ = ["poll"]

logger = logging.getLogger(__name__)


async def poll(
    client: Client,
    keep: Callable[[Sequence[object]], Awaitable[int | None]],
    stop: asyncio.Event,
    *,
    hold_s: int,
    first_pause_s: float = FIRST_PAUSE_S,
) -> None:
    """Fetches until ``stop`` is set, then confirms once more what was kept.

    An update is confirmed by the request that follows its commit. Whatever fails, the line or the database,
    is logged and tried again after a growing pause, with the same offset: nothing is confirmed that was not
    kept.

    keep : commits a batch and returns the last number in it.
    hold_s : how long one request may wait for news. [s]
    first_pause_s : the pause after the first failure; doubled to at most LONGEST_PAUSE_S. [s]
    Raises Refused when the platform does not accept the token.
    """
    offset = 0
    pause_s = first_pause_s
    while not stop.is_set():
        try:
            fetching = await first_of(client.fetch(offset, hold_s), stop)
            if fetching is None:
                break
            last = await keep(fetching) if fetching else None
        except InvalidToken:
            raise Refused from None
        except Exception as error:
            wait_s = _pause_after(error, pause_s)
            await first_of(asyncio.sleep(wait_s), stop)
            pause_s = min(pause_s * 2, LONGEST_PAUSE_S)
            continue
        if fetching and last is None:
            await first_of(asyncio.sleep(pause_s), stop)  # nothing to confirm it by; do not spin
        # An empty answer means that all before the offset is forgotten. From then on none is sent: after a
        # quiet week the platform starts again at any number, which may lie below it (Bot API, Update).
        offset = last + 1 if last is not None else 0
        pause_s = first_pause_s
    if offset:
        await _confirm(client, offset)


async def _confirm(client: Client, offset: int) -> None:
    try:
        await client.fetch(offset, 0)
    except TelegramError as error:
        # Harmless: what is not confirmed comes again, and is known by its number.
        logger.warning("the last updates are not confirmed (%s)", type(error).__name__)


def _pause_after(error: Exception, pause_s: float) -> float:
    if isinstance(error, RetryAfter):
        return seconds_of(error)
    if isinstance(error, Conflict):
        logger.error("another program asks for this bot's updates; only one may run with this token")
    elif isinstance(error, TelegramError):
        logger.warning("no news to be had (%s); next try in %.0f s", type(error).__name__, pause_s)
    else:
        logger.error("updates could not be kept; next try in %.0f s", pause_s, exc_info=error)
    return pause_s
