"""The parts of a running bot, started together and ended together."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable, Coroutine
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from typing import Any, Protocol

from bot import heartbeat
from bot.archive.documents import made
from bot.heartbeat import Heartbeat, tidy
from bot.settings import Settings
from bot.telegram import delivery, patience, turn, workers
from bot.telegram.carrier import Carrier
from bot.telegram.client import Client, Limits, make_client
from bot.telegram.delivery import Delivery
from bot.telegram.fetch import poll
from bot.telegram.inbox import Door
from bot.telegram.patience import until_done
from bot.telegram.profile import introduce
from bot.telegram.translate import PLATFORM
from bot.telegram.turn import Turn
from bot.telegram.waiting import first_of
from bot.telegram.workers import Hearer, Workers
from storage.engine import Store

__all__ = ["Pace", "Ticker", "serve"]

logger = logging.getLogger(__name__)


class Ticker(Hearer, Protocol):
    """What the bot asks of the assistant."""

    async def tick(self, now: datetime) -> int: ...


@dataclass(frozen=True, slots=True)
class Pace:
    """How long the parts wait. The defaults are for the real platform; tests shorten them. [s]"""

    limits: Limits = field(default_factory=Limits)
    beat_s: float = heartbeat.BEAT_S
    inbox_idle_s: float = workers.IDLE_S
    inbox_lease_s: float = workers.LEASE_S
    inbox_retry_s: float = workers.FIRST_RETRY_S
    outbox_idle_s: float = delivery.IDLE_S
    outbox_lease_s: float = delivery.LEASE_S
    line_retry_s: float = patience.FIRST_PAUSE_S
    turn_lease_s: float = turn.LEASE_S
    turn_renew_s: float = turn.RENEW_S


async def serve(
    settings: Settings,
    store: Store,
    assistant: Ticker,
    *,
    clock: Callable[[], datetime],
    stop: asyncio.Event,
    pace: Pace,
) -> None:
    """Runs the assistant on Telegram until ``stop`` is set; then ends what is under way.

    store : open and up to date; stays open.
    clock : the present time, aware.
    Raises Refused when the platform does not accept the token.
    """
    token = settings.token.get_secret_value() if settings.token else ""
    client = make_client(token, settings.api_url, pace.limits)
    try:
        reached = until_done(
            client.initialize, stop, what="Telegram cannot be reached", pause_s=pace.line_retry_s
        )
        if await reached:
            await _run_parts(settings, client, store, assistant, clock=clock, stop=stop, pace=pace)
    finally:
        await client.shutdown()


async def _run_parts(
    settings: Settings,
    client: Client,
    store: Store,
    assistant: Ticker,
    *,
    clock: Callable[[], datetime],
    stop: asyncio.Event,
    pace: Pace,
) -> None:
    sender = Delivery(
        store,
        Carrier(client, make=partial(made, store)).carry,
        clock=clock,
        idle_s=pace.outbox_idle_s,
        lease_s=pace.outbox_lease_s,
    )
    hands = Workers(
        store,
        assistant,
        client,
        clock=clock,
        on_letters=sender.wake,
        idle_s=pace.inbox_idle_s,
        lease_s=pace.inbox_lease_s,
        retry_s=pace.inbox_retry_s,
    )
    door = Door(store, clock=clock, on_kept=hands.wake, allowed_chats=settings.allowed_chats)
    beat = Heartbeat(
        assistant.tick, partial(tidy, store), clock=clock, on_letters=sender.wake, every_s=pace.beat_s
    )
    beat.start()
    logger.info("ready as @%s", client.username)
    try:
        await _until_stopped(
            stop,
            _news(settings, client, store, door.keep, clock, stop, pace),
            hands.run(stop),
            sender.run(stop),
            first_of(introduce(client), stop),
            wake=(hands.wake, sender.wake),
        )
    finally:
        await beat.stop()
    logger.info("stopped")


async def _news(
    settings: Settings,
    client: Client,
    store: Store,
    keep: Callable[..., Awaitable[int | None]],
    clock: Callable[[], datetime],
    stop: asyncio.Event,
    pace: Pace,
) -> None:
    if settings.webhook_url is None or settings.webhook_secret is None:
        # A webhook that an earlier start left behind would refuse us every poll.
        forget = partial(client.delete_webhook, drop_pending_updates=False)
        await until_done(forget, stop, what="the webhook is not taken back", pause_s=pace.line_retry_s)
        ask = partial(poll, client, keep, hold_s=pace.limits.poll_s, first_pause_s=pace.line_retry_s)
        mine = Turn(
            store,
            f"{PLATFORM}:{client.id}",
            clock=clock,
            lease_s=pace.turn_lease_s,
            renew_s=pace.turn_renew_s,
        )
        await mine.run(ask, stop)
        return
    # A bot that polls needs no server of its own, and starts faster without one.
    from bot.telegram.webhook import listen

    await listen(
        client,
        keep,
        stop,
        url=settings.webhook_url,
        at=settings.webhook_listen,
        secret=settings.webhook_secret.get_secret_value(),
        first_pause_s=pace.line_retry_s,
    )


async def _until_stopped(
    stop: asyncio.Event, *parts: Coroutine[Any, Any, None], wake: tuple[Callable[[], None], ...]
) -> None:
    """Runs the parts until each has ended. One that breaks stops the others, which end what they do."""

    async def guarded(part: Coroutine[Any, Any, None]) -> None:
        try:
            await part
        except BaseException:
            stop.set()
            raise

    async def rouse() -> None:
        await stop.wait()
        for call in wake:
            call()

    ended = await asyncio.gather(rouse(), *(guarded(part) for part in parts), return_exceptions=True)
    for error in ended:
        if isinstance(error, BaseException):
            raise error
