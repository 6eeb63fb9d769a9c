"""The other way in: what is taken, what is refused, and that nothing is confirmed before it is kept."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from aiohttp import ClientResponse
from aiohttp.test_utils import TestClient, TestServer

from bot.telegram.inbox import Door
from bot.telegram.webhook import LARGEST_BODY_BYTES, SECRET_HEADER, webhook_app
from storage.engine import Store

SECRET = "invented-secret"
JSON = {"Content-Type": "application/json", SECRET_HEADER: SECRET}
TEXT = {
    "update_id": 101,
    "message": {
        "message_id": 7,
        "date": 1_777_919_100,
        "chat": {"id": 5, "type": "private", "first_name": "Ana"},
        "from": {"id": 5, "is_bot": False, "first_name": "Ana"},
        "text": "ph 6.1",
    },
}


@pytest.fixture
def door(store: Store, clock: Callable[[], datetime]) -> Door:
    return Door(store, clock=clock, on_kept=lambda: None)


@pytest.fixture
async def server(door: Door) -> AsyncIterator[TestClient[Any, Any]]:
    async with TestClient(TestServer(webhook_app(door.keep, secret=SECRET, path="/hook"))) as client:
        yield client


async def kept(store: Store, clock: Callable[[], datetime]) -> list[str]:
    """The numbers of what stands in the inbox."""
    async with store.write() as tx:
        claims = await tx.inbox.claim(clock(), limit=9, lease=timedelta(seconds=0))
    return [claim.update_id for claim in claims]


async def post(server: TestClient[Any, Any], body: object, **headers: str) -> ClientResponse:
    data = body if isinstance(body, bytes) else json.dumps(body).encode()
    return await server.post("/hook", data=data, headers={**JSON, **headers})


async def test_update_is_kept_and_only_then_confirmed(
    server: TestClient[Any, Any], store: Store, clock: Callable[[], datetime]
) -> None:
    assert (await post(server, TEXT)).status == 200
    assert await kept(store, clock) == ["telegram:101"]


async def test_same_update_twice_is_kept_once(
    server: TestClient[Any, Any], store: Store, clock: Callable[[], datetime]
) -> None:
    """Case 1: the platform repeats a body that it believes lost."""
    assert [(await post(server, TEXT)).status for _ in range(2)] == [200, 200]
    assert await kept(store, clock) == ["telegram:101"]


async def test_charset_beside_the_type_is_fine(server: TestClient[Any, Any]) -> None:
    assert (await post(server, TEXT, **{"Content-Type": "application/json; charset=utf-8"})).status == 200


@pytest.mark.parametrize("secret", ["", "wrong", "INVENTED-SECRET", "invented-secreté"])
async def test_without_the_secret_nothing_is_kept(
    server: TestClient[Any, Any], store: Store, clock: Callable[[], datetime], secret: str
) -> None:
    """Case 72: no secret, wrong secret: refused with 4xx; no row."""
    assert (await post(server, TEXT, **{SECRET_HEADER: secret})).status == 403
    assert await kept(store, clock) == []


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"{not json", 400),
        (b"\xff\xfe", 400),
        (b"[" * 100_000, 400),
        (b"[" + b" " * LARGEST_BODY_BYTES + b"]", 413),
    ],
    ids=["no JSON", "no text", "nested without end", "too large"],
)
async def test_bad_bodies(
    server: TestClient[Any, Any], store: Store, clock: Callable[[], datetime], body: bytes, status: int
) -> None:
    """Case 72: bad JSON, 5 MB body: refused with 4xx; no row."""
    assert (await post(server, body)).status == status
    assert await kept(store, clock) == []


async def test_other_ways_to_ask(server: TestClient[Any, Any]) -> None:
    """Case 72: GET; another path; another type."""
    assert (await server.get("/hook", headers=JSON)).status == 405
    assert (await server.post("/other", data=b"{}", headers=JSON)).status == 404
    assert (await post(server, TEXT, **{"Content-Type": "text/plain"})).status == 415


async def test_while_it_cannot_be_kept_it_is_not_confirmed(
    server: TestClient[Any, Any], store: Store, clock: Callable[[], datetime], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Case 48: a 5xx makes the platform send it again."""
    with monkeypatch.context() as broken:

        async def fail(*_: object) -> bool:
            raise OSError("disk is gone")

        broken.setattr("storage.inbox.Inbox.put", fail)
        assert (await post(server, TEXT)).status == 503
    assert await kept(store, clock) == []
    assert (await post(server, TEXT)).status == 200
    assert await kept(store, clock) == ["telegram:101"]


async def test_what_has_no_number_is_set_aside_and_confirmed(
    server: TestClient[Any, Any], store: Store
) -> None:
    """Case 7: refused, it would come again for a day and hold up its chat."""
    assert (await post(server, {"message": {}})).status == 200
    async with store.read() as tx:
        assert [aside.code for aside in await tx.inbox.aside()] == ["no_update_id"]
