"""Who and what is in the room: people, chats, lines, files, and what the bot did."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from itertools import count
from typing import Any

from demo.room.bell import Bell
from demo.room.updates import Updates
from demo.room.wire import BadRequest, Refusal

__all__ = ["Answered", "Call", "Chat", "Key", "Line", "Person", "Room", "Sent", "StoredFile"]


@dataclass(slots=True)
class Person:
    """Somebody who talks to the bot.

    opened : has written to the bot in private at least once; before that the bot cannot write to them.
    blocked : has blocked the bot.
    """

    id: int
    name: str
    language: str | None = None
    opened: bool = False
    blocked: bool = False

    def user(self) -> dict[str, Any]:
        """As the Bot API's ``User``."""
        user: dict[str, Any] = {"id": self.id, "is_bot": False, "first_name": self.name}
        if self.language:
            user["language_code"] = self.language
        return user


@dataclass(slots=True)
class Line:
    """One message in a chat.

    message : the Bot API's ``Message``.
    html : its text for a browser.
    reaction : the emoji that the bot put on it.
    gone : deleted.
    """

    message: dict[str, Any]
    html: str = ""
    reaction: str = ""
    gone: bool = False


@dataclass(slots=True)
class Chat:
    """A private chat (its id is the person's) or a group (its id is negative).

    bot_status : ``member``, ``administrator``, ``left`` or ``kicked``. An administrator hears everything.
    topics : thread id -> name; a group with topics is a forum.
    migrated_to : the id under which the group goes on.
    behind_s : how far its messages are dated back, while a season is played there. [s]
    """

    id: int
    kind: str
    title: str = ""
    members: list[int] = field(default_factory=list)
    bot_status: str = "administrator"
    topics: dict[int, str] = field(default_factory=dict)
    is_forum: bool = False
    migrated_to: int | None = None
    lines: dict[int, Line] = field(default_factory=dict)
    next_message: int = 1
    behind_s: int = 0

    @property
    def private(self) -> bool:
        """One person's chat with the bot."""
        return self.kind == "private"

    def brief(self) -> dict[str, Any]:
        """As the Bot API's ``Chat``."""
        if self.private:
            return {"id": self.id, "type": "private", "first_name": self.title}
        chat = {"id": self.id, "type": self.kind, "title": self.title}
        return {**chat, "is_forum": True} if self.is_forum else chat

    def add(self, line: Line) -> Line:
        """Append a message; its ``message_id`` is unique in this chat only."""
        line.message = {"message_id": self.next_message, **line.message}
        self.lines[self.next_message] = line
        self.next_message += 1
        return line

    def line(self, message_id: int) -> Line | None:
        """A message that is still there."""
        line = self.lines.get(message_id)
        return None if line is None or line.gone else line


@dataclass(frozen=True, slots=True)
class Key:
    """A button as sent."""

    label: str
    data: str


@dataclass(frozen=True, slots=True)
class Sent:
    """Something the bot put into a chat: a new message, an edit, or new buttons.

    html : the text as the bot wrote it, mark-up and all.
    buttons : rows of buttons.
    file : the content of a photo or document.
    at : by the room's clock.
    """

    method: str
    chat_id: int
    text: str
    html: str
    buttons: tuple[tuple[Key, ...], ...]
    message_id: int
    reply_to: int | None
    at: datetime
    thread_id: int | None = None
    silent: bool = False
    file: bytes | None = field(default=None, repr=False)
    file_name: str = ""

    @property
    def labels(self) -> list[str]:
        """What the buttons say, row after row."""
        return [key.label for row in self.buttons for key in row]


@dataclass(frozen=True, slots=True)
class Call:
    """One call of the bot, whether it went well or not. ``params`` as they came, uploads by their names."""

    method: str
    params: dict[str, Any]
    at: datetime


@dataclass(frozen=True, slots=True)
class Answered:
    """What the bot told somebody who pressed a button."""

    query: str
    text: str
    alert: bool
    at: datetime


@dataclass(frozen=True, slots=True)
class StoredFile:
    """A file that the bot sent."""

    id: str
    unique_id: str
    path: str
    name: str
    mime_type: str
    content: bytes = field(repr=False)

    def brief(self) -> dict[str, Any]:
        """The fields that every file object shares."""
        return {"file_id": self.id, "file_unique_id": self.unique_id, "file_size": len(self.content)}


class Room:
    """The state behind the server. It outlives the bot's process and the server's."""

    def __init__(self, clock: Callable[[], datetime], username: str, name: str, hears_all: bool) -> None:
        self.clock = clock
        self.hears_all = hears_all
        self.bell = Bell()
        self.updates = Updates(clock, self.bell)
        self.bot: dict[str, Any] = {"id": 42, "is_bot": True, "first_name": name, "username": username}
        self.people: dict[int, Person] = {}
        self.chats: dict[int, Chat] = {}
        self.files: dict[str, StoredFile] = {}
        self.presses: dict[str, tuple[int, datetime]] = {}
        self.commands: dict[str, list[dict[str, str]]] = {}
        self.descriptions: dict[str, str] = {}
        self.webhook: dict[str, Any] = {"url": ""}
        self.sent: list[Sent] = []
        self.calls: list[Call] = []
        self.answers: list[Answered] = []
        self.reactions: list[tuple[int, int, str]] = []
        self.on_change: list[Callable[[Chat, Line], None]] = []
        self.on_answer: list[Callable[[Answered], None]] = []
        self._numbers = count(1)

    def number(self) -> int:
        """The next number for files and presses."""
        return next(self._numbers)

    def number_from(self, first: int) -> None:
        """Go on numbering from ``first``."""
        self._numbers = count(first)

    def unix_now(self) -> int:
        """The room's clock. [s]"""
        return int(self.clock().timestamp())

    def changed(self, chat: Chat, line: Line) -> None:
        """Tell everybody who looks on that a message came or changed."""
        for listener in self.on_change:
            listener(chat, line)
        self.bell.ring()

    def answered(self, answered: Answered) -> None:
        """Note what somebody was told who pressed a button."""
        self.answers.append(answered)
        for listener in self.on_answer:
            listener(answered)
        self.bell.ring()

    def chat_for_sending(self, chat_id: int) -> Chat:
        """The chat that the bot may write to; refused in the platform's words where it may not."""
        chat = self.chats.get(chat_id)
        if chat is None:
            if chat_id in self.people:
                raise Refusal(403, "Forbidden: bot can't initiate conversation with a user")
            raise BadRequest("chat not found")
        if chat.migrated_to is not None:
            words = "group chat was upgraded to a supergroup chat"
            raise BadRequest(words, {"migrate_to_chat_id": chat.migrated_to})
        if chat.private:
            person = self.people[chat.id]
            if person.blocked:
                raise Refusal(403, "Forbidden: bot was blocked by the user")
            if not person.opened:
                raise Refusal(403, "Forbidden: bot can't initiate conversation with a user")
        elif chat.bot_status == "kicked":
            raise Refusal(403, f"Forbidden: bot was kicked from the {chat.kind} chat")
        elif chat.bot_status == "left":
            raise Refusal(403, f"Forbidden: bot is not a member of the {chat.kind} chat")
        return chat
