"""The paths by which a page, or a test in another process, drives the room."""

from __future__ import annotations

import asyncio
import json
from base64 import b64encode
from collections.abc import AsyncIterator
from typing import Any

import pytest
from aiohttp import ClientSession
from telegram import Bot, InlineKeyboardButton, InlineKeyboardMarkup
from telegram.error import BadRequest, Forbidden

from demo.room.platform import Platform

PIXEL = b64encode(
    bytes.fromhex(
        "89504e470d0a1a0a0000000d49484452000000010000000108060000001f15c489"
        "0000000d49444154789c63606060f80f00010401005fe5c34b0000000049454e44ae426082"
    )
).decode()
"""A PNG of one pixel."""


class Desk:
    """Calls of the room's own paths."""

    def __init__(self, session: ClientSession, platform: Platform) -> None:
        self.session = session
        self.base = f"http://127.0.0.1:{platform.port}/room/api/"

    async def post(self, path: str, **body: Any) -> Any:
        async with self.session.post(self.base + path, json=body) as response:
            return await response.json()

    async def get(self, path: str) -> Any:
        async with self.session.get(self.base + path) as response:
            return await response.json()


@pytest.fixture
async def desk(platform: Platform) -> AsyncIterator[Desk]:
    async with ClientSession() as session:
        yield Desk(session, platform)


async def test_a_talk_from_another_process(platform: Platform, bot: Bot, desk: Desk) -> None:
    await desk.post("person", id=5, name="Wren")
    await desk.post("person", id=6, name="Idris")
    group = (await desk.post("group", title="Sill", members=[5, 6]))["result"]["id"]
    said = (await desk.post("say", chat=group, person=5, text="ph 6.1"))["result"]
    await desk.post("edit", chat=group, person=5, message=said["message_id"], text="ph 6.4")
    keys = InlineKeyboardMarkup([[InlineKeyboardButton("Undo", callback_data="v1:u:8")]])
    answer = await bot.send_message(group, "Saved <6.4>", reply_markup=keys)
    await desk.post("press", chat=group, person=6, message=answer.message_id, button="Undo")
    updates = await bot.get_updates()
    assert [update.effective_user.first_name for update in updates if update.effective_user] == [
        "Wren",
        "Wren",
        "Idris",
    ]
    assert updates[1].edited_message is not None
    assert updates[1].edited_message.text == "ph 6.4"
    assert updates[2].callback_query is not None
    assert updates[2].callback_query.data == "v1:u:8"
    (sent,) = (await desk.get("sent?n=1&timeout=5"))["result"]
    assert (sent["text"], sent["buttons"]) == ("Saved <6.4>", [[{"label": "Undo", "data": "v1:u:8"}]])
    lines = (await desk.get(f"chats/{group}"))["result"]
    assert [(line["name"], line["html"], line["edited"]) for line in lines] == [
        ("Wren", "ph 6.4", True),
        ("Rillkeeper", "Saved &lt;6.4&gt;", False),
    ]


async def test_faults_can_be_ordered(platform: Platform, bot: Bot, desk: Desk) -> None:
    await desk.post("person", id=5, name="Wren")
    body = {"ok": False, "error_code": 403, "description": "Forbidden: bot was blocked by the user"}
    await desk.post("fail", method="sendMessage", fault={"status": 403, "body": body}, times=1, skip=1)
    await bot.send_message(5, "one")
    with pytest.raises(Forbidden):
        await bot.send_message(5, "two")
    await bot.send_message(5, "three")
    assert [item.text for item in platform.sent] == ["one", "three"]
    refused = await desk.post("fail", method="sendMessage", fault={"explode": True})
    assert refused["error_code"] == 400


async def test_nobody_writes_in_another_name(platform: Platform, desk: Desk) -> None:
    await desk.post("person", id=5, name="Wren")
    await desk.post("person", id=6, name="Idris")
    said = (await desk.post("say", chat=5, person=5, text="mine"))["result"]
    assert (await desk.post("say", chat=5, person=6, text="not mine"))["error_code"] == 400
    assert (await desk.post("edit", chat=5, person=6, message=said["message_id"], text="x"))[
        "error_code"
    ] == 400
    assert (await desk.post("say", chat=5, person=5, text="  "))["error_code"] == 400
    assert (await desk.post("say", chat=5, person=5, text="x" * 4097))["error_code"] == 400
    assert (await desk.post("say", chat=77, person=5, text="x"))["error_code"] == 404
    assert (await desk.post("say", chat="here", person=5, text="x"))["error_code"] == 400
    assert [line["html"] for line in (await desk.get("chats/5"))["result"]] == ["mine"]


@pytest.mark.parametrize(
    "headers",
    [
        {"Host": "rebound.example.invalid"},
        {"Origin": "https://example.invalid"},
        {"Sec-Fetch-Site": "cross-site"},
    ],
)
async def test_other_sites_are_turned_away(platform: Platform, desk: Desk, headers: dict[str, str]) -> None:
    platform.private_chat(platform.person(5, "Wren"))
    said = {"chat": 5, "person": 5, "text": "not from here"}
    async with desk.session.post(desk.base + "say", json=said, headers=headers) as response:
        assert response.status == 403
    async with desk.session.get(desk.base + "state", headers=headers) as response:
        assert response.status == 403
    form = {"Content-Type": "text/plain"}  # what a foreign page may send without asking first
    async with desk.session.post(desk.base + "say", data=json.dumps(said), headers=form) as response:
        assert response.status == 415
    assert platform.pending == []


async def events(desk: Desk, after: int, count: int) -> list[tuple[str, Any]]:
    found: list[tuple[str, Any]] = []
    kind = ""
    async with asyncio.timeout(5), desk.session.get(f"{desk.base}events?after={after}") as response:
        assert response.content_type == "text/event-stream"
        async for raw in response.content:
            name, _, value = raw.decode().strip().partition(": ")
            if name == "event":
                kind = value
            elif name == "data":
                found.append((kind, json.loads(value)))
                if len(found) == count:
                    break
    return found


async def test_the_page_hears_of_everything_as_it_happens(platform: Platform, bot: Bot, desk: Desk) -> None:
    wren = platform.person(5, "Wren")
    chat = platform.private_chat(wren)
    listening = asyncio.create_task(events(desk, 0, 6))
    said = platform.say(chat, wren, "ph <6>")
    keys = InlineKeyboardMarkup([[InlineKeyboardButton("Undo", callback_data="v1:u:8")]])
    message = await bot.send_message(5, "<b>Saved</b>", parse_mode="HTML", reply_markup=keys)
    await bot.set_message_reaction(5, said["message_id"], "👌")
    query = platform.press(platform.sent[0], "Undo", wren)
    await bot.answer_callback_query(query, "Taken back", show_alert=True)
    await bot.edit_message_text("Taken back", 5, message.message_id)
    await bot.delete_message(5, message.message_id)
    heard = await listening
    assert [kind for kind, _ in heard] == ["line", "line", "line", "answer", "line", "line"]
    views = [content for _, content in heard]
    assert views[0]["html"] == "ph &lt;6&gt;"
    assert views[1]["html"] == "<strong>Saved</strong>"
    assert views[1]["keys"] == [[{"label": "Undo", "data": "v1:u:8", "url": ""}]]
    assert views[2]["reaction"] == "👌"
    assert views[3] == {"query": query, "text": "Taken back", "alert": True, "person": 5}
    assert (views[4]["edited"], views[4]["keys"], views[5]["gone"]) == (True, [], True)


async def test_a_page_that_missed_too_much_reads_again(platform: Platform, desk: Desk) -> None:
    wren = platform.person(5, "Wren")
    chat = platform.private_chat(wren)
    for number in range(600):
        platform.say(chat, wren, f"entry {number}")
    assert (await events(desk, 3, 1))[0][0] == "reload"
    assert (await events(desk, 10_000, 1))[0][0] == "reload"
    ((kind, last),) = await events(desk, 599, 1)
    assert (kind, last["html"]) == ("line", "entry 599")


async def test_a_mention_that_could_run_is_shown_as_text(platform: Platform, bot: Bot, desk: Desk) -> None:
    platform.private_chat(platform.person(5, "Wren"))
    wild = '<a href="javascript:alert(1)">press</a> <a href="tg://user?id=5">Wren</a> &lt;script&gt; <i>x</i>'
    await bot.send_message(5, wild, parse_mode="HTML")
    (line,) = (await desk.get("chats/5"))["result"]
    assert "javascript" not in line["html"]
    assert line["html"].startswith('press <a href="tg://user?id=5"')
    assert line["html"].endswith("&lt;script&gt; <em>x</em>")
    with pytest.raises(BadRequest):
        await bot.send_message(5, "<script>alert(1)</script>", parse_mode="HTML")


async def test_a_file_is_enclosed_and_a_picture_goes_as_a_photo(
    platform: Platform, bot: Bot, desk: Desk
) -> None:
    await desk.post("person", id=5, name="Wren")
    table = b64encode(b"date,ph\n2026-05-04,6.1\n").decode()
    await desk.post("enclose", chat=5, person=5, name="notes.csv", content=table, text="my notes")
    await desk.post("enclose", chat=5, person=5, name="tips.png", content=PIXEL, text="note: tips")
    sheet, photo = [update.message for update in await bot.get_updates()]
    assert sheet is not None
    assert sheet.document is not None
    assert (sheet.document.file_name, sheet.caption) == ("notes.csv", "my notes")
    fetched = await (await bot.get_file(sheet.document.file_id)).download_as_bytearray()
    assert bytes(fetched) == b"date,ph\n2026-05-04,6.1\n"
    assert photo is not None
    assert [(size.width, size.height) for size in photo.photo] == [(1, 1)]
    for wrong in ({"content": "%%%"}, {"content": ""}, {}):
        assert not (await desk.post("enclose", chat=5, person=5, name="x", **wrong))["ok"]
