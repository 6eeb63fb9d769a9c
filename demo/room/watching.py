"""What the page is told while it looks on: each line that comes or changes, each answer to a button."""

from __future__ import annotations

import asyncio
import json
from collections import deque
from collections.abc import AsyncIterator
from typing import Any

from aiohttp import web

from demo.room.bell import Bell
from demo.room.state import Answered, Chat, Line, Room

__all__ = ["Watching", "line_view"]

_KEPT = 500
_HEARTBEAT_S = 15.0


def line_view(room: Room, chat: Chat, line: Line) -> dict[str, Any]:
    """A message as the page needs it. ``html`` is already safe to show."""
    message = line.message
    sender = message.get("from", {})
    view: dict[str, Any] = {
        "chat": chat.id,
        "id": message["message_id"],
        "from": None if sender.get("id") == room.bot["id"] else sender.get("id"),
        "name": sender.get("first_name", ""),
        "at": message["date"],
        "edited": "edit_date" in message,
        "html": line.html,
        "keys": _keys(message),
        "reaction": line.reaction,
        "gone": line.gone,
    }
    answered = message.get("reply_to_message")
    if answered:
        words = answered.get("text") or answered.get("caption") or "a picture"
        view["answers"] = {
            "id": answered["message_id"],
            "name": answered["from"]["first_name"],
            "text": words[:120],
        }
    if message.get("photo"):
        largest = message["photo"][-1]
        view["photo"] = {"file": largest["file_id"], "width": largest["width"], "height": largest["height"]}
    if message.get("document"):
        document = message["document"]
        view["document"] = {
            "file": document["file_id"],
            "name": document.get("file_name", ""),
            "bytes": document["file_size"],
        }
    return view


def _keys(message: dict[str, Any]) -> list[list[dict[str, str]]]:
    rows = message.get("reply_markup", {}).get("inline_keyboard", [])
    return [
        [{"label": k["text"], "data": k.get("callback_data", ""), "url": k.get("url", "")} for k in r]
        for r in rows
    ]


class Watching:
    """Numbered events for any number of pages, over Server-Sent Events (HTML standard, section 9.2)."""

    def __init__(self, room: Room) -> None:
        self._room = room
        self._bell = Bell()
        self._events: deque[tuple[int, str, dict[str, Any]]] = deque(maxlen=_KEPT)
        self._last = 0
        self._closing = False
        room.on_change.append(lambda chat, line: self.tell("line", line_view(room, chat, line)))
        room.on_answer.append(self._answered)

    @property
    def last(self) -> int:
        """The number of the latest event."""
        return self._last

    def tell(self, kind: str, content: dict[str, Any]) -> None:
        """Tell every page something."""
        self._last += 1
        self._events.append((self._last, kind, content))
        self._bell.ring()

    def _answered(self, answered: Answered) -> None:
        person, _ = self._room.presses.get(answered.query, (0, None))
        said = {"query": answered.query, "text": answered.text, "alert": answered.alert, "person": person}
        self.tell("answer", said)

    def open(self) -> None:
        """Take watchers, also after ``close``."""
        self._closing = False

    def close(self) -> None:
        """Let every watcher go."""
        self._closing = True
        self._bell.ring()

    async def stream(self, request: web.Request) -> web.StreamResponse:
        """``GET /room/api/events``: from the event after ``Last-Event-ID`` (or ``?after=``) on."""
        response = web.StreamResponse(
            headers={
                "Content-Type": "text/event-stream",
                "Cache-Control": "no-store",
                "X-Accel-Buffering": "no",
            }
        )
        await response.prepare(request)
        given = request.headers.get("Last-Event-ID") or request.query.get("after") or str(self._last)
        seen = int(given) if given.isdigit() else self._last
        try:
            await response.write(b"retry: 1000\n\n")
            async for packet in self._packets(seen):
                await response.write(packet)
        except (ConnectionResetError, asyncio.CancelledError):
            pass  # the page was closed
        return response

    async def _packets(self, seen: int) -> AsyncIterator[bytes]:
        if seen > self._last or (self._events and seen < self._events[0][0] - 1):
            # The page knows another run of the room, or slept too long: it has to read everything again.
            yield _packet(self._last, "reload", {})
            seen = self._last
        while not self._closing:
            for number, kind, content in list(self._events):
                if number > seen:
                    seen = number
                    yield _packet(number, kind, content)
            if seen < self._last:
                continue
            await self._bell.wait(_HEARTBEAT_S)
            if seen == self._last:
                yield b": still here\n\n"


def _packet(number: int, kind: str, content: dict[str, Any]) -> bytes:
    return f"id: {number}\nevent: {kind}\ndata: {json.dumps(content)}\n\n".encode()
