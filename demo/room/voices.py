"""What people do: talk, edit, press, come and go. Each becomes an update, as the platform would send it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from html import escape
from typing import Any

from demo.room.markup import entities_in
from demo.room.pictures import picture_size
from demo.room.profile import member_of
from demo.room.state import Chat, Line, Person, Room, Sent, StoredFile

__all__ = ["AUTO", "Voices"]

AUTO = "auto"
"""Entities as a client marks them: commands and mentions."""

Message = dict[str, Any]
Which = Message | Sent | Line | int

_FIRST_GROUP_ID = -1_000_000_000_001


@dataclass(slots=True)
class Voices:
    """People and their chats, on top of a room."""

    room: Room

    def person(self, id: int, name: str, language: str | None = None) -> Person:
        """Somebody the platform knows; known again by ``id``."""
        known = self.room.people.get(id)
        if known is None:
            known = self.room.people[id] = Person(id, name, language)
        return known

    def private_chat(self, person: Person) -> Chat:
        """The person's own chat with the bot, opened."""
        person.opened = True
        if person.id not in self.room.chats:
            chat = Chat(person.id, "private", person.name, [person.id], bot_status="member")
            self.room.chats[person.id] = chat
        return self.room.chats[person.id]

    def group(
        self,
        title: str,
        members: Sequence[Person],
        *,
        admin: bool = True,
        kind: str = "supergroup",
        forum: bool = False,
    ) -> Chat:
        """A group in which the bot already is.

        admin : the bot is an administrator and hears everything; else what privacy mode lets through.
        kind : ``supergroup``, or ``group`` for one that can still migrate.
        """
        groups = sum(not chat.private for chat in self.room.chats.values())
        chat_id = _FIRST_GROUP_ID - groups if kind == "supergroup" else -501 - groups
        status = "administrator" if admin else "member"
        chat = Chat(
            chat_id, kind, title, [person.id for person in members], bot_status=status, is_forum=forum
        )
        self.room.chats[chat_id] = chat
        return chat

    def topic(self, chat: Chat, name: str) -> int:
        """A new topic in a forum; gives its thread id."""
        chat.is_forum = True
        chat.next_message = max(chat.next_message, 2)  # message 1 of a forum is its General topic
        line = chat.add(Line({"chat": chat.brief(), "date": self.room.unix_now()}, gone=True))
        thread = int(line.message["message_id"])
        chat.topics[thread] = name
        return thread

    def say(
        self,
        chat: Chat,
        person: Person,
        text: str,
        *,
        date: datetime | None = None,
        reply_to: Which | None = None,
        entities: Sequence[dict[str, Any]] | str = AUTO,
        update_id: int | None = None,
        thread: int | None = None,
        **extra: Any,
    ) -> Message:
        """A person writes. Gives the message, also where the bot does not hear it.

        date : when it was sent; default: the room's clock.
        thread : the topic it is written in.
        extra : more fields of the message, or others in place of the usual (``sender_chat``, ``from_``).
        """
        if chat.private:
            person.opened = True
        said_at = date or self.room.clock()
        message: Message = {
            "from": person.user(),
            "chat": chat.brief(),
            "date": int(said_at.timestamp()),
            **{key.rstrip("_"): value for key, value in extra.items()},
        }
        message |= _said(message, text, entities)
        if thread is not None:
            message |= {"message_thread_id": thread, "is_topic_message": True}
        if reply_to is not None:
            message["reply_to_message"] = _quotable(self._find(reply_to, chat)[1].message)
        line = chat.add(Line(message, escape(text)))
        self.room.changed(chat, line)
        if self._hears(chat, line.message):
            self.room.updates.push("message", line.message, update_id)
        return line.message

    def send_file(
        self,
        chat: Chat,
        person: Person,
        name: str,
        content: bytes,
        *,
        caption: str = "",
        mime_type: str = "application/octet-stream",
        size: int | None = None,
    ) -> Message:
        """A person sends a file.

        size : what the platform says of its size; default: the truth. [bytes]
        """
        number = self.room.number()
        # As on the platform, the path never holds the sender's file name.
        path = f"documents/file_{number}.bin"
        stored = StoredFile(f"F{number:06d}", f"u{number}", path, name, mime_type, content)
        self.room.files[stored.id] = stored
        document = {**stored.brief(), "file_name": name, "mime_type": mime_type}
        if size is not None:
            document["file_size"] = size
        return self.say(chat, person, caption, document=document)

    def send_photo(
        self, chat: Chat, person: Person, content: bytes, *, caption: str = "", album: str | None = None
    ) -> Message:
        """A person sends a photo. album : what those that were sent together share."""
        number = self.room.number()
        stored = StoredFile(
            f"F{number:06d}", f"u{number}", f"photos/file_{number}.jpg", "", "image/png", content
        )
        self.room.files[stored.id] = stored
        width, height = picture_size(content) or (1, 1)
        sizes = [{**stored.brief(), "width": width, "height": height}]
        together: dict[str, Any] = {"media_group_id": album} if album else {}
        return self.say(chat, person, caption, photo=sizes, **together)

    def edit(
        self, message: Which, text: str, *, chat: Chat | None = None, update_id: int | None = None
    ) -> Message:
        """A person edits a message of theirs; sent to the bot even where the text stays the same."""
        home, line = self._find(message, chat)
        kept = {key: value for key, value in line.message.items() if not key.endswith("entities")}
        line.message = {**kept, **_said(kept, text, AUTO), "edit_date": self.room.unix_now()}
        line.html = escape(text)
        self.room.changed(home, line)
        if self._hears(home, line.message):
            self.room.updates.push("edited_message", line.message, update_id)
        return line.message

    def remove(self, message: Which, *, chat: Chat | None = None) -> None:
        """Somebody deletes a message; the platform tells the bot nothing."""
        home, line = self._find(message, chat)
        line.gone = True
        self.room.changed(home, line)

    def press(
        self,
        message: Which,
        label_or_data: str,
        person: Person,
        *,
        chat: Chat | None = None,
        inaccessible: bool = False,
        update_id: int | None = None,
    ) -> str:
        """A person presses a button; gives the query's id.

        label_or_data : what the button says, else what it carries; data that stands on no button is sent
            as it is, as a rogue client can.
        inaccessible : the message is too old to be shown to the bot.
        """
        home, line = self._find(message, chat, also_gone=True)
        keys = [key for row in line.message.get("reply_markup", {}).get("inline_keyboard", []) for key in row]
        named = [key for key in keys if key["text"] == label_or_data]
        data = named[0].get("callback_data", "") if named else label_or_data
        query = str(7_000_000 + self.room.number())
        self.room.presses[query] = (person.id, self.room.clock())
        shown: Message = line.message
        if inaccessible or line.gone:
            shown = {"chat": home.brief(), "message_id": line.message["message_id"], "date": 0}
        callback = {
            "id": query,
            "from": person.user(),
            "message": shown,
            "chat_instance": str(abs(home.id) * 31 + 7),
            "data": data,
        }
        self.room.updates.push("callback_query", callback, update_id)
        return query

    def membership(self, chat: Chat, by: Person, status: str) -> None:
        """The bot is added, leaves, or is thrown out or blocked: ``member``, ``left``, ``kicked``."""
        before = chat.bot_status
        if chat.private:
            before = "kicked" if self.room.people[chat.id].blocked else "member"
            self.room.people[chat.id].blocked = status == "kicked"
        else:
            chat.bot_status = status
        change = {
            "chat": chat.brief(),
            "from": by.user(),
            "date": self.room.unix_now(),
            "old_chat_member": member_of(self.room.bot, before),
            "new_chat_member": member_of(self.room.bot, status),
        }
        self.room.updates.push("my_chat_member", change)

    def migrate(self, chat: Chat, by: Person, *, announce: bool = True) -> Chat:
        """A group becomes a supergroup with a new id; ``announce`` sends both service messages."""
        people = [self.room.people[number] for number in chat.members]
        new = self.group(chat.title, people, admin=chat.bot_status == "administrator")
        chat.migrated_to = new.id
        for home, note in ((chat, {"migrate_to_chat_id": new.id}), (new, {"migrate_from_chat_id": chat.id})):
            said = {"from": by.user(), "chat": home.brief(), "date": self.room.unix_now(), **note}
            line = home.add(Line(said))
            if announce:
                self.room.updates.push("message", line.message)
        return new

    def _hears(self, chat: Chat, message: Message) -> bool:
        """Whether the platform hands a message to the bot: everything, or what privacy mode lets through."""
        if chat.private or self.room.hears_all or chat.bot_status == "administrator":
            return chat.bot_status not in {"left", "kicked"}
        if chat.bot_status != "member":
            return False
        if message.get("reply_to_message", {}).get("from", {}).get("id") == self.room.bot["id"]:
            return True
        text = (message.get("text") or message.get("caption", "")).encode("utf-16-le", "surrogatepass")
        for mark in message.get("entities", []):
            if mark["type"] == "bot_command":
                start = 2 * mark["offset"]
                command = text[start : start + 2 * mark["length"]].decode("utf-16-le", "replace")
                _, at, name = command.partition("@")
                return not at or name.lower() == self.room.bot["username"].lower()
        return False

    def _find(self, message: Which, chat: Chat | None, *, also_gone: bool = False) -> tuple[Chat, Line]:
        if chat is None:
            if isinstance(message, Sent):
                chat = self.room.chats[message.chat_id]
            elif isinstance(message, Line):
                chat = self.room.chats[message.message["chat"]["id"]]
            elif isinstance(message, dict):
                chat = self.room.chats[message["chat"]["id"]]
            else:
                raise ValueError("a message number says nothing without its chat")
        line = chat.lines.get(_number(message))
        if line is None or (line.gone and not also_gone):
            raise LookupError(f"no message {_number(message)} in chat {chat.id}")
        return chat, line


def _said(message: Message, text: str, entities: Sequence[dict[str, Any]] | str) -> Message:
    """What a message says: its text, or what stands under its photo or file."""
    if not {"photo", "document"} & message.keys():
        return {"text": text, **_marked(text, entities)}
    marked = {f"caption_{key}": value for key, value in _marked(text, entities).items()}
    return {"caption": text, **marked} if text else {}


def _marked(text: str, entities: Sequence[dict[str, Any]] | str) -> Message:
    marks = entities_in(text) if isinstance(entities, str) else list(entities)
    return {"entities": marks} if marks else {}


def _quotable(message: Message) -> Message:
    """A message as its answer holds it: without what it answers itself (Bot API, reply_to_message)."""
    return {key: value for key, value in message.items() if key != "reply_to_message"}


def _number(message: Which) -> int:
    if isinstance(message, Sent):
        return message.message_id
    if isinstance(message, Line):
        message = message.message
    return int(message["message_id"]) if isinstance(message, dict) else message
