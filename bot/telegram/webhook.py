"""The other way in: the platform calls us.

Our own small server, because the library's answers a body that is no JSON with 500 (so the platform sends
it again for a day), refuses ``application/json; charset=utf-8``, and never gets past an update it cannot
parse. Here an update is answered with 200 once it is committed, and with 503 while it cannot be.
"""

from __future__ import annotations

import asyncio
import hmac
import json
import logging
from collections.abc import Awaitable, Callable, Sequence
from functools import partial
from urllib.parse import urlsplit

from aiohttp import web

from bot.settings import SettingsError
from bot.telegram.client import Client
from bot.telegram.patience import FIRST_PAUSE_S, until_done
from bot.telegram.translate import ALLOWED_UPDATES

__all__ = ["listen", "webhook_app"]

SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"  # noqa: S105 - the header's name
LARGEST_BODY_BYTES = 1_000_000
"""An update is a few kilobytes; a message has at most 4,096 characters."""

Keep = Callable[[Sequence[object]], Awaitable[int | None]]

logger = logging.getLogger(__name__)


def webhook_app(keep: Keep, *, secret: str, path: str) -> web.Application:
    """The server's application: one address, POST, JSON, and the secret that only the platform knows."""

    async def receive(request: web.Request) -> web.Response:
        if not hmac.compare_digest(request.headers.get(SECRET_HEADER, "").encode(), secret.encode()):
            raise web.HTTPForbidden
        if request.content_type != "application/json":
            raise web.HTTPUnsupportedMediaType
        try:
            update = json.loads(await request.read())
        except (ValueError, RecursionError):
            raise web.HTTPBadRequest from None
        try:
            # Not to be broken off when the caller hangs up: a commit is finished or never begun.
            await asyncio.shield(asyncio.ensure_future(keep([update])))
        except Exception:
            logger.exception("an update could not be kept; the platform will send it again")
            raise web.HTTPServiceUnavailable from None
        return web.Response()

    app = web.Application(client_max_size=LARGEST_BODY_BYTES)
    app.router.add_post(path, receive)
    return app


async def listen(
    client: Client,
    keep: Keep,
    stop: asyncio.Event,
    *,
    url: str,
    at: str,
    secret: str,
    first_pause_s: float = FIRST_PAUSE_S,
) -> None:
    """Listens until ``stop`` is set, after telling the platform where.

    url : the public address; its path is the one that is served here.
    at : where to listen. [host:port]
    secret : what the platform shall send along.
    Raises Refused when the platform does not accept the token, SettingsError when ``at`` cannot be taken.
    """
    host, _, port = at.rpartition(":")
    runner = web.AppRunner(webhook_app(keep, secret=secret, path=urlsplit(url).path or "/"), access_log=None)
    await runner.setup()
    try:
        await _take(runner, host.strip("[]"), int(port))
        register = partial(
            client.set_webhook,
            url,
            secret_token=secret,
            allowed_updates=list(ALLOWED_UPDATES),
            drop_pending_updates=False,
        )
        await until_done(register, stop, what="the webhook is not set", pause_s=first_pause_s)
        await stop.wait()
    finally:
        await runner.cleanup()


async def _take(runner: web.AppRunner, host: str, port: int) -> None:
    try:
        await web.TCPSite(runner, host, port).start()
    except OSError as error:
        raise SettingsError(f"RILLKEEPER_WEBHOOK_LISTEN cannot be taken: {error.strerror}") from None
