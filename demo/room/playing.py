"""Plays a season of an invented household through the real bot, faster than life.

The messages carry the times of the past weeks, so the bot's journal comes out as if it had been there; each
waits until the bot has answered the one before.
"""

from __future__ import annotations

import asyncio
import contextlib
from datetime import UTC, datetime, time, timedelta
from functools import partial

from aiohttp import web

from bot.assistant.buttons import pushed
from demo.room.platform import Platform
from demo.room.state import Chat, Sent
from demo.room.wire import Refusal, success
from demo.season.household import DAYS, Said, season

__all__ = ["PLAYER", "Playing"]

PLAYER = (5199, "Perrin")
"""Who writes the season, on a page of one's own: other households are not disturbed."""

_EVENING = time(18, 0)
_LONGEST_WAIT_S = 10.0
"""A message that the bot leaves without answer or mark does not hold up the rest for longer. [s]"""


class Playing:
    """Answers ``POST /room/api/season``: begins to play and tells the pages how far it is."""

    def __init__(self, platform: Platform, *, days: int = DAYS) -> None:
        self._platform = platform
        self._days = days
        self._playing: asyncio.Task[None] | None = None

    def add_route(self, app: web.Application) -> None:
        """Put the path into a web application; what still plays ends with it."""
        app.router.add_post("/room/api/season", self._begin)
        app.on_cleanup.append(self._end)

    async def _begin(self, _: web.Request) -> web.Response:
        player = self._platform.person(*PLAYER, "en")
        chat = self._platform.private_chat(player)
        if chat.lines:
            raise Refusal(409, f"Conflict: {PLAYER[1]}'s page holds a season already")
        today = datetime.now(UTC)
        first = datetime.combine(today.date() - timedelta(days=self._days), _EVENING, UTC)
        story = [said for said in season(first, days=self._days) if said.at < today]
        self._playing = asyncio.create_task(self._play(chat, story))
        return success({"chat": chat.id, "total": len(story)})

    async def _play(self, chat: Chat, story: list[Said]) -> None:
        player = self._platform.room.people[PLAYER[0]]
        for done, said in enumerate(story, start=1):
            chat.behind_s = int((datetime.now(UTC) - said.at).total_seconds())
            before = self._answers(chat)
            self._platform.say(chat, player, said.text, date=said.at)
            with contextlib.suppress(AssertionError):  # it may have nothing to say
                await self._platform.until(partial(self._is_answered, chat, before), timeout=_LONGEST_WAIT_S)
            self._tell(chat, done, len(story))
        chat.behind_s = 0

    def _is_answered(self, chat: Chat, before: int) -> bool:
        return self._answers(chat) > before

    def _answers(self, chat: Chat) -> int:
        """How often the bot replied or marked something; a reminder is no answer."""
        sent = sum(not _is_reminder(each) for each in self._platform.sent_to(chat))
        return sent + sum(number == chat.id for number, _, _ in self._platform.room.reactions)

    def _tell(self, chat: Chat, done: int, total: int) -> None:
        self._platform.control.watching.tell("season", {"chat": chat.id, "done": done, "total": total})

    async def _end(self, _: web.Application) -> None:
        if self._playing is not None:
            self._playing.cancel()
            await asyncio.gather(self._playing, return_exceptions=True)


def _is_reminder(sent: Sent) -> bool:
    found = (pushed(key.data) for row in sent.buttons for key in row)
    return any(each is not None and each.verb == "done" for each in found)
