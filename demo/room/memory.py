"""The room's memory: its state as one file, beside what the bot sent; written whole or not at all."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Any

from demo.room.state import Chat, Line, Person, Room, StoredFile

__all__ = ["Memory"]

_FORM = 1
_LINES_KEPT = 1000
"""So many messages of a chat are kept between visits; the bot's own journal keeps everything."""
_PAUSE_S = 0.3


class Memory:
    """Keeps a room in a folder.

    folder : made where it is missing; holds ``room.json`` and ``files/``.
    """

    def __init__(self, room: Room, folder: Path) -> None:
        self._room = room
        self._file = folder / "room.json"
        self._files = folder / "files"

    def recall(self) -> bool:
        """Fill the room from the folder; ``False`` where nothing (or nothing readable) is kept there."""
        try:
            kept = json.loads(self._file.read_text("utf-8"))
            if kept["form"] != _FORM:
                return False
            self._fill(kept)
        except FileNotFoundError:
            return False
        except (ValueError, KeyError, TypeError):
            # A broken file is put aside, so that the room opens and nothing is overwritten.
            self._file.replace(self._file.with_suffix(".broken"))
            return False
        return True

    def _fill(self, kept: dict[str, Any]) -> None:
        room = self._room
        people = [Person(**item) for item in kept["people"]]
        chats = [_chat(item) for item in kept["chats"]]
        files = [self._stored(item) for item in kept["files"]]
        room.people = {person.id: person for person in people}
        room.chats = {chat.id: chat for chat in chats}
        room.files = {file.id: file for file in files if file is not None}
        room.presses = {key: (who, datetime.fromisoformat(at)) for key, (who, at) in kept["presses"].items()}
        room.commands, room.descriptions = kept["commands"], kept["descriptions"]
        room.number_from(int(kept["next_number"]))
        room.updates.next_id = int(kept["next_update"])
        for update in kept["pending"]:
            room.updates.put(update)

    def _stored(self, item: dict[str, Any]) -> StoredFile | None:
        try:
            return StoredFile(**item, content=(self._files / item["id"]).read_bytes())
        except FileNotFoundError:
            return None

    def keep(self) -> None:
        """Write the room down now."""
        room = self._room
        self._files.mkdir(parents=True, exist_ok=True)
        for file in list(room.files.values()):
            target = self._files / file.id
            if not target.exists():
                target.write_bytes(file.content)
        kept = {
            "form": _FORM,
            "people": [asdict(person) for person in room.people.values()],
            "chats": [_plain_chat(chat) for chat in room.chats.values()],
            "files": [_plain_file(file) for file in room.files.values()],
            "presses": {key: (who, at.isoformat()) for key, (who, at) in room.presses.items()},
            "commands": room.commands,
            "descriptions": room.descriptions,
            "next_number": room.number(),
            "next_update": room.updates.next_id,
            "pending": room.updates.pending,
        }
        beside = self._file.with_suffix(".new")
        with beside.open("w", encoding="utf-8") as out:
            json.dump(kept, out, ensure_ascii=True)
            out.flush()
            os.fsync(out.fileno())
        beside.replace(self._file)

    async def keep_up(self) -> None:
        """Write the room down after each change, a moment later; until cancelled, and then once more."""
        try:
            while True:
                await self._room.bell.wait()
                await asyncio.sleep(_PAUSE_S)
                self.keep()
        finally:
            with contextlib.suppress(OSError):
                self.keep()


def _chat(item: dict[str, Any]) -> Chat:
    lines = {int(number): Line(**line) for number, line in item.pop("lines").items()}
    topics = {int(number): name for number, name in item.pop("topics").items()}
    return Chat(**item, lines=lines, topics=topics)


def _plain_chat(chat: Chat) -> dict[str, Any]:
    plain = {name: getattr(chat, name) for name in Chat.__slots__ if name != "lines"}
    latest = list(chat.lines.items())[-_LINES_KEPT:]
    return {**plain, "lines": {number: asdict(line) for number, line in latest}}


def _plain_file(file: StoredFile) -> dict[str, Any]:
    return {name: getattr(file, name) for name in StoredFile.__slots__ if name != "content"}
