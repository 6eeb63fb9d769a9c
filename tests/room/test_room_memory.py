"""What the room keeps between visits."""

from __future__ import annotations

from pathlib import Path

from telegram import Bot, InlineKeyboardButton, InlineKeyboardMarkup

from demo.room.memory import Memory
from demo.room.platform import Platform


async def test_everything_that_stands_in_the_room_comes_back(
    platform: Platform, bot: Bot, tmp_path: Path
) -> None:
    wren = platform.person(5, "Wren", "en")
    chat = platform.private_chat(wren)
    group = platform.group("Sill", [wren], forum=True)
    thread = platform.topic(group, "Tank")
    keys = InlineKeyboardMarkup([[InlineKeyboardButton("Undo", callback_data="v1:u:8")]])
    message = await bot.send_message(5, "<b>Saved</b>", parse_mode="HTML", reply_markup=keys)
    document = await bot.send_document(group.id, b"a,b\n", filename="journal.csv", message_thread_id=thread)
    said = platform.say(chat, wren, "ph 6.1 \U0001f331")
    query = platform.press(platform.sent[0], "Undo", wren)
    Memory(platform.room, tmp_path).keep()

    async with Platform() as later:
        assert Memory(later.room, tmp_path).recall()
        assert later.room.people == platform.room.people
        assert later.room.chats == platform.room.chats
        async with Bot(later.token, base_url=later.base_url, base_file_url=later.file_url) as again:
            updates = await again.get_updates()
            assert [update.update_id for update in updates] == [101, 102]
            assert updates[0].message is not None
            assert updates[0].message.message_id == said["message_id"]
            await again.answer_callback_query(query)
            assert document.document is not None
            file = await again.get_file(document.document.file_id)
            assert bytes(await file.download_as_bytearray()) == b"a,b\n"
            edited = await again.edit_message_text("Taken back", 5, message.message_id)
            assert edited.text == "Taken back"
        assert (
            later.say(later.room.chats[5], later.person(5, "Wren"), "on")["message_id"]
            == said["message_id"] + 1
        )
        assert later.pending[-1]["update_id"] == 103


async def test_an_empty_folder_holds_nothing(tmp_path: Path) -> None:
    platform = Platform()
    assert not Memory(platform.room, tmp_path / "new").recall()
    assert platform.people() == []


async def test_a_broken_memory_is_put_aside_and_the_room_opens(tmp_path: Path) -> None:
    (tmp_path / "room.json").write_text('{"form": 1, "people": [')
    platform = Platform()
    assert not Memory(platform.room, tmp_path).recall()
    assert (tmp_path / "room.broken").read_text().startswith('{"form"')
    assert platform.people() == []
