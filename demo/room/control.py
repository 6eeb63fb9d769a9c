"""The room's own paths, beside the Bot API: people's doings, what stands in the chats, faults; all JSON.

Only this machine may use them. A page from elsewhere, open in the same browser, is turned away: every call
must name a loopback host and come from no other site, and whatever changes something must come as JSON.
"""

from __future__ import annotations

from base64 import b64decode
from collections.abc import Awaitable, Callable
from dataclasses import asdict, fields
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from aiohttp import web

from demo.room.faults import Fault
from demo.room.pictures import picture_size
from demo.room.state import Chat, Person
from demo.room.watching import Watching, line_view
from demo.room.wire import BadRequest, Refusal, failure, success

if TYPE_CHECKING:
    from demo.room.platform import Platform

__all__ = ["Control", "only_this_machine"]

_LOOPBACK = frozenset({"127.0.0.1", "localhost", "[::1]"})
_LONGEST_WAIT_S = 60.0
_LONGEST_TEXT = 4096
_LONGEST_CAPTION = 1024
_LONGEST_NAME = 120
_MOST_FILE_BYTES = 40 * 2**20
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


@web.middleware
async def only_this_machine(request: web.Request, handler: Handler) -> web.StreamResponse:
    """Turn away what does not come from a page or a program on this machine."""
    host = request.host.rsplit(":", 1)[0]
    origin = request.headers.get("Origin")
    foreign = origin is not None and urlsplit(origin).netloc != request.host
    if request.path != "/":  # a link to the page itself may stand anywhere
        foreign = foreign or request.headers.get("Sec-Fetch-Site") in {"cross-site", "same-site"}
    if host not in _LOOPBACK or foreign:
        return failure(Refusal(403, "Forbidden: the room is for this machine only"))
    if (
        request.path.startswith("/room/")
        and request.method == "POST"
        and request.content_type != "application/json"
    ):
        return failure(Refusal(415, "Unsupported Media Type: send JSON"))
    try:
        return await handler(request)
    except Refusal as refusal:
        if not request.path.startswith("/room/"):
            raise
        return failure(refusal)


class Control:
    """Answers ``/room/api/...`` for a platform.

    suggestions : what a newcomer may type first, in private and in a group; the page shows them as keys.
    awake : the bot's process is running, as far as its keeper knows.
    """

    def __init__(self, platform: Platform) -> None:
        self.suggestions: dict[str, list[str]] = {"private": [], "group": []}
        self.awake = True
        self.watching = Watching(platform.room)
        self._platform = platform
        self._room = platform.room

    def add_routes(self, app: web.Application) -> None:
        """Put the room's paths into a web application."""
        router = app.router
        router.add_get("/room/api/state", self._state)
        router.add_get("/room/api/chats/{chat}", self._chat_lines)
        router.add_get("/room/api/files/{file}", self._file)
        router.add_get("/room/api/sent", self._sent)
        router.add_get("/room/api/calls", self._calls)
        router.add_get("/room/api/events", self.watching.stream)
        for name in ("say", "enclose", "edit", "press", "deliver", "fail", "person", "group", "limits"):
            router.add_post(f"/room/api/{name}", getattr(self, f"_{name}"))

    def tell_awake(self, awake: bool) -> None:
        """The bot's process started or ended."""
        self.awake = awake
        self.watching.tell("bot", {"awake": awake})

    async def _state(self, request: web.Request) -> web.Response:
        room = self._room
        return success(
            {
                "bot": {"name": room.bot["first_name"], "username": room.bot["username"]},
                "people": [{"id": person.id, "name": person.name} for person in room.people.values()],
                "chats": [
                    {"id": chat.id, "private": chat.private, "title": chat.title, "members": chat.members}
                    for chat in room.chats.values()
                    if chat.migrated_to is None
                ],
                "commands": next(iter(room.commands.values()), []),
                "description": next((text for text in room.descriptions.values() if text), ""),
                "suggestions": self.suggestions,
                "awake": self.awake,
                "pending": len(room.updates.pending),
                "last_event": self.watching.last,
            }
        )

    async def _chat_lines(self, request: web.Request) -> web.Response:
        chat = self._find_chat({"chat": request.match_info["chat"]})
        views = [line_view(self._room, chat, line) for line in chat.lines.values() if not line.gone]
        return success(views)

    async def _file(self, request: web.Request) -> web.Response:
        file = self._room.files.get(request.match_info["file"])
        if file is None:
            raise Refusal(404, "Not Found: no such file")
        shown = (
            file.mime_type if file.mime_type in {"image/png", "image/jpeg"} else "application/octet-stream"
        )
        headers = {
            "X-Content-Type-Options": "nosniff",
            "Cache-Control": "private, max-age=31536000, immutable",
        }
        if shown == "application/octet-stream":
            headers["Content-Disposition"] = "attachment"
        return web.Response(body=file.content, content_type=shown, headers=headers)

    async def _sent(self, request: web.Request) -> web.Response:
        """What the bot sent after the first ``since``; waits ``timeout`` seconds at most for ``n``."""
        since, wanted = int(request.query.get("since", 0)), int(request.query.get("n", 0))
        timeout_s = min(float(request.query.get("timeout", 0)), _LONGEST_WAIT_S)
        chat = int(request.query["chat"]) if "chat" in request.query else None
        if wanted and timeout_s:
            await self._platform.wait_for_sent(wanted, since=since, chat=chat, timeout=timeout_s)
        found = [item for item in self._platform.sent[since:] if chat in (None, item.chat_id)]
        plain = [{**asdict(item), "at": item.at.isoformat(), "file": item.file is not None} for item in found]
        return success(plain)

    async def _calls(self, request: web.Request) -> web.Response:
        since = int(request.query.get("since", 0))
        calls = self._room.calls[since:]
        return success(
            [{"method": call.method, "params": call.params, "at": call.at.isoformat()} for call in calls]
        )

    async def _say(self, request: web.Request) -> web.Response:
        given = await _body(request)
        chat, person = self._find_chat(given), self._find_person(given)
        text = str(given.get("text", "")).strip()
        if not 1 <= len(text) <= _LONGEST_TEXT:
            raise BadRequest(f"a message has 1 to {_LONGEST_TEXT} characters")
        if person.id not in chat.members:
            raise BadRequest(f"{person.name} is not in this chat")
        options: dict[str, Any] = {
            key: given[key] for key in ("reply_to", "update_id", "thread") if key in given
        }
        if "date" in given:
            options["date"] = datetime.fromtimestamp(int(given["date"]), UTC)
        return success(self._platform.say(chat, person, text, **options))

    async def _enclose(self, request: web.Request) -> web.Response:
        """A person sends a file (in base64), with words under it; a picture goes as a photo."""
        given = await _body(request)
        chat, person = self._find_chat(given), self._find_person(given)
        text = str(given.get("text", "")).strip()[:_LONGEST_CAPTION]
        if person.id not in chat.members:
            raise BadRequest(f"{person.name} is not in this chat")
        try:
            content = b64decode(str(given["content"]), validate=True)
        except (KeyError, ValueError):
            raise BadRequest("content must be base64") from None
        if not 1 <= len(content) <= _MOST_FILE_BYTES:
            raise BadRequest(f"a file has 1 byte to {_MOST_FILE_BYTES // 2**20} MB here")
        if picture_size(content) is not None:
            return success(self._platform.send_photo(chat, person, content, caption=text))
        name = str(given.get("name", "file"))[:_LONGEST_NAME]
        return success(self._platform.send_file(chat, person, name, content, caption=text))

    async def _edit(self, request: web.Request) -> web.Response:
        given = await _body(request)
        chat, person = self._find_chat(given), self._find_person(given)
        line = chat.line(_whole(given, "message"))
        if line is None or line.message["from"]["id"] != person.id:
            raise BadRequest("only one's own message can be edited")
        text = str(given.get("text", "")).strip()
        if not 1 <= len(text) <= _LONGEST_TEXT:
            raise BadRequest(f"a message has 1 to {_LONGEST_TEXT} characters")
        return success(self._platform.edit(line, text, chat=chat))

    async def _press(self, request: web.Request) -> web.Response:
        given = await _body(request)
        chat, person, number = self._find_chat(given), self._find_person(given), _whole(given, "message")
        if number not in chat.lines:
            raise BadRequest("no such message")
        return success(
            {"query": self._platform.press(number, str(given.get("button", "")), person, chat=chat)}
        )

    async def _deliver(self, request: web.Request) -> web.Response:
        return success(self._platform.deliver((await _body(request))["update"]))

    async def _fail(self, request: web.Request) -> web.Response:
        given = await _body(request)
        known = {item.name for item in fields(Fault)}
        wrong = given.get("fault", {})
        if not isinstance(wrong, dict) or not wrong.keys() <= known:
            raise BadRequest(f"a fault has {', '.join(sorted(known))}")
        self._platform.fail(
            str(given["method"]),
            Fault(**wrong),
            int(given.get("times", 1)),
            skip=int(given.get("skip", 0)),
            chat=int(given["chat"]) if "chat" in given else None,
        )
        return success(True)

    async def _person(self, request: web.Request) -> web.Response:
        given = await _body(request)
        person = self._platform.person(_whole(given, "id"), str(given["name"]), given.get("language"))
        return success({"id": self._platform.private_chat(person).id})

    async def _group(self, request: web.Request) -> web.Response:
        given = await _body(request)
        members = [self._room.people[int(number)] for number in given["members"]]
        chat = self._platform.group(str(given["title"]), members, admin=bool(given.get("admin", True)))
        return success({"id": chat.id})

    async def _limits(self, request: web.Request) -> web.Response:
        self._platform.limits(on=bool((await _body(request)).get("on")))
        return success(True)

    def _find_chat(self, given: dict[str, Any]) -> Chat:
        chat = self._room.chats.get(_whole(given, "chat"))
        if chat is None:
            raise Refusal(404, "Not Found: no such chat")
        return chat

    def _find_person(self, given: dict[str, Any]) -> Person:
        person = self._room.people.get(_whole(given, "person"))
        if person is None:
            raise Refusal(404, "Not Found: no such person")
        return person


async def _body(request: web.Request) -> dict[str, Any]:
    try:
        given = await request.json()
    except ValueError:
        raise BadRequest("can't parse JSON object") from None
    if not isinstance(given, dict):
        raise BadRequest("can't parse JSON object")
    return given


def _whole(given: dict[str, Any], name: str) -> int:
    try:
        return int(given[name])
    except (KeyError, TypeError, ValueError):
        raise BadRequest(f"{name} must be a whole number") from None
