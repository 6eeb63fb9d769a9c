"""Brings updates to a webhook, as the platform does: a chat in its order, chats side by side, until taken."""

from __future__ import annotations

import asyncio
import logging
from functools import partial
from typing import Any

from aiohttp import ClientError, ClientSession, ClientTimeout

from demo.room.state import Room

__all__ = ["Courier"]

# telegram-bot-api 10.0, WebhookActor.cpp: again at once, then after 2, 4, 8 s ... up to a minute or two;
# a Retry-After of the receiver is obeyed up to an hour.
_LONGEST_PAUSE_S = 60.0
_LONGEST_RETRY_AFTER_S = 3600.0
_PATIENCE_S = 60.0

_log = logging.getLogger(__name__)


class Courier:
    """Delivers what waits while a webhook is set.

    first_pause_s : the pause before the second repetition; each further one doubles it. [s]
    """

    def __init__(self, room: Room, first_pause_s: float = 2.0) -> None:
        self._room = room
        self._first_pause_s = first_pause_s
        self._queues: dict[str, asyncio.Task[None]] = {}

    async def run(self) -> None:
        """Deliver until cancelled."""
        async with ClientSession(timeout=ClientTimeout(total=_PATIENCE_S)) as session:
            try:
                while True:
                    self._start_what_can(session)
                    await self._room.bell.wait()
            finally:
                tasks = list(self._queues.values())
                for task in tasks:
                    task.cancel()
                await asyncio.gather(*tasks, return_exceptions=True)

    def _start_what_can(self, session: ClientSession) -> None:
        """One update at a time in each queue; the platform keeps one a chat, and one a person for presses."""
        if not self._room.updates.webhook_url:
            return
        most = int(self._room.webhook.get("max_connections", 40))
        for update in self._room.updates.pending:
            queue = _queue_of(update)
            if queue not in self._queues and len(self._queues) < most:
                task = asyncio.create_task(self._deliver(session, update))
                self._queues[queue] = task
                task.add_done_callback(partial(self._finished, queue))

    def _finished(self, queue: str, task: asyncio.Task[None]) -> None:
        del self._queues[queue]
        if not task.cancelled() and task.exception() is not None:
            _log.error("the courier stumbled over an update", exc_info=task.exception())
            return
        self._room.bell.ring()

    async def _deliver(self, session: ClientSession, update: dict[str, Any]) -> None:
        tries = 0
        while (url := self._room.updates.webhook_url) and self._room.updates.waits(update):
            status, retry_after_s = await self._post(session, url, update)
            if 200 <= status < 300:
                self._room.updates.settle(update)
                return
            tries += 1
            self._room.webhook["last_error_date"] = self._room.unix_now()
            self._room.webhook["last_error_message"] = f"Wrong response from the webhook: {status}"
            pause_s = 0.0 if tries == 1 else min(self._first_pause_s * 2 ** (tries - 2), _LONGEST_PAUSE_S)
            await asyncio.sleep(max(pause_s, min(retry_after_s, _LONGEST_RETRY_AFTER_S)))

    async def _post(self, session: ClientSession, url: str, update: dict[str, Any]) -> tuple[int, float]:
        """The receiver's status and the pause it asks for; status 0 where it was not reached. [s]"""
        headers = {}
        if self._room.webhook.get("secret"):
            headers["X-Telegram-Bot-Api-Secret-Token"] = self._room.webhook["secret"]
        try:
            async with session.post(url, json=update, headers=headers, allow_redirects=False) as response:
                asked = response.headers.get("Retry-After", "")
                return response.status, float(asked) if asked.isdigit() else 0.0
        except (ClientError, TimeoutError):
            return 0, 0.0


def _queue_of(update: dict[str, Any]) -> str:
    if "callback_query" in update:
        return f"presses of {update['callback_query'].get('from', {}).get('id')}"
    for content in update.values():
        if isinstance(content, dict) and "chat" in content:
            return f"chat {content['chat'].get('id')}"
    return "others"
