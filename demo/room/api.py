"""The HTTP side of the Bot API: paths, tokens, faults, and the table of methods behind them."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from typing import Any

from aiohttp import web

from demo.room.faults import Fault, Faults
from demo.room.limits import Pace
from demo.room.methods import METHODS, PACED, canonical
from demo.room.state import Call, Room
from demo.room.wire import Params, Refusal, failure, read_params, success

__all__ = ["BotApi"]

_SHUFFLES: dict[str, Callable[[list[Any]], list[Any]]] = {
    "twice": lambda batch: [item for item in batch for _ in range(2)],
    "backwards": lambda batch: batch[::-1],
}


class BotApi:
    """Answers ``/bot<token>/<method>`` and ``/file/bot<token>/<path>``.

    busy : how many calls other than ``getUpdates`` are being answered.
    pace : set to limit how fast a bot may send; ``None``: no limit.
    """

    def __init__(self, room: Room, token: str, faults: Faults) -> None:
        self.busy = 0
        self.pace: Pace | None = None
        self._room = room
        self._token = token
        self._faults = faults
        self._closing = asyncio.Event()

    def add_routes(self, app: web.Application) -> None:
        """Put the Bot API's paths into a web application."""
        app.router.add_route("GET", "/file/bot{token}/{path:.+}", self._file)
        app.router.add_route("*", "/bot{token}/{method}", self._call)

    def open(self) -> None:
        """Take calls, also after ``close``."""
        self._closing = asyncio.Event()

    def close(self) -> None:
        """Let go of every call that a fault holds."""
        self._closing.set()

    async def _file(self, request: web.Request) -> web.Response:
        if request.match_info["token"] != self._token:
            return failure(Refusal(401, "Unauthorized"))
        for file in self._room.files.values():
            if file.path == request.match_info["path"]:
                return web.Response(body=file.content, content_type="application/octet-stream")
        return failure(Refusal(404, "Not Found"))

    async def _call(self, request: web.Request) -> web.StreamResponse:
        if request.match_info["token"] != self._token:
            return failure(Refusal(401, "Unauthorized"))
        method = canonical(request.match_info["method"])
        if method is None or request.method not in {"GET", "POST"}:
            return failure(Refusal(404, "Not Found: method not found"))
        try:
            params = await read_params(request)
        except Refusal as refusal:
            return failure(refusal)
        self._room.calls.append(Call(method, {**params.values, **_uploads(params)}, self._room.clock()))
        if method == "getUpdates":
            return await self._answer(request, method, params)
        self.busy += 1
        try:
            return await self._answer(request, method, params)
        finally:
            self.busy -= 1
            self._room.bell.ring()

    async def _answer(self, request: web.Request, method: str, params: Params) -> web.StreamResponse:
        fault = self._faults.take(method, _chat_of(params)) or Fault()
        if fault.delay_s:
            await self._held(fault.delay_s)
        if fault.close == "before":
            return _hang_up(request)
        if fault.hang and not fault.accepts:
            await self._held(None)
            return _hang_up(request)
        if fault.status is not None:
            return _as_ordered(fault)
        try:
            result = await self._perform(method, params)
        except Refusal as refusal:
            return failure(refusal)
        if fault.hang:
            await self._held(None)
        if fault.close == "after" or fault.hang:
            return _hang_up(request)
        if fault.shuffle:
            result = _SHUFFLES[fault.shuffle](result)
        return success(result)

    async def _held(self, delay_s: float | None) -> None:
        try:
            await asyncio.wait_for(self._closing.wait(), delay_s)
        except TimeoutError:
            return

    async def _perform(self, method: str, params: Params) -> Any:
        if method == "getUpdates":
            allowed = params.names("allowed_updates")
            return await self._room.updates.fetch(
                params.integer("offset"), params.integer("limit", 100), params.integer("timeout"), allowed
            )
        if self.pace is not None and method in PACED:
            self.pace.check(params.integer("chat_id"))
        return METHODS[method](self._room, params)


def _chat_of(params: Params) -> int | None:
    text = params.text("chat_id").strip()
    return int(text) if text.lstrip("-").isdigit() else None


def _uploads(params: Params) -> dict[str, str]:
    return {name: upload.name for name, upload in params.uploads.items()}


def _hang_up(request: web.Request) -> web.Response:
    """Break the connection with no answer; what is returned reaches nobody."""
    if request.transport is not None:
        request.transport.abort()
    return web.Response()


def _as_ordered(fault: Fault) -> web.Response:
    headers = dict(fault.headers or {})
    body = fault.body if fault.body is not None else ""
    if not isinstance(body, str):
        body = json.dumps(body)
        headers.setdefault("Content-Type", "application/json")
    headers.setdefault("Content-Type", "text/plain")
    return web.Response(status=fault.status or 500, text=body, headers=headers)
