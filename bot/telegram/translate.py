"""From the platform's updates to what the assistant hears. Pure: no network, no clock, nothing kept.

Two readings of one update. The *envelope* is taken at the door from the bare JSON, and asks for next to
nothing, so that an update nobody can parse is still kept and can be set aside. The *translation* is made by
a worker from the parsed update, and gives ``None`` for whatever is no business of the assistant.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final

from telegram import Chat, ChatMember, ChatMemberRestricted, Message, MessageEntity, Update, User

from bot.assistant.exchange import Brought, ChatRef, Heard, PersonRef, PhotoRef, Pressed

__all__ = [
    "ALLOWED_UPDATES",
    "PLATFORM",
    "Envelope",
    "Me",
    "Migration",
    "Presence",
    "envelope",
    "news",
    "translate",
]

PLATFORM: Final = "telegram"

ALLOWED_UPDATES: Final = ("message", "edited_message", "callback_query", "my_chat_member")
"""What the platform is asked for, on every start: it remembers the last list it was given."""

LATEST_UNIX_S: Final = 2**33
"""A date beyond this one (the year 2242) is taken for damage. [s]"""


@dataclass(frozen=True, slots=True)
class Me:
    """The assistant's own account. ``username`` without the ``@``."""

    id: int
    username: str


@dataclass(frozen=True, slots=True)
class Envelope:
    """What the door needs to know of an update.

    chat : the platform's id of the chat; ``None`` where the update names none.
    sent_at : when it was sent or edited; ``None`` where the update does not say, as with a pressed button.
    thread : the topic it was written in; ``None`` where it was in none.
    """

    update_id: int
    chat: str | None
    sent_at: datetime | None
    thread: str | None = None


@dataclass(frozen=True, slots=True)
class Presence:
    """The assistant may write in this chat from now on, or no more (it was removed, or blocked).

    rules : it is an administrator, and so is handed every message of the group.
    """

    chat: ChatRef
    is_welcome: bool
    rules: bool = False


@dataclass(frozen=True, slots=True)
class Migration:
    """A group became a supergroup, and so got a new number."""

    old: str
    new: str


def envelope(update: object) -> Envelope | None:
    """What stands on the outside of an update as it came; ``None`` where it has no number to be known by."""
    if not isinstance(update, Mapping) or type(update.get("update_id")) is not int:
        return None
    chat: str | None = None
    sent_at: datetime | None = None
    thread: str | None = None
    for part in update.values():
        if isinstance(part, Mapping):
            held = part["message"] if isinstance(part.get("message"), Mapping) else part
            chat = _number(held.get("chat"), "id") or _number(part.get("from"), "id")
            thread = _number(held, "message_thread_id") if held.get("is_topic_message") is True else None
            sent_at = _instant(part.get("edit_date")) or _instant(part.get("date"))
            break
    return Envelope(update["update_id"], chat, sent_at, thread)


def translate(update: Update, me: Me, *, received_at: datetime) -> Heard | Pressed | None:
    """What was said or pressed, or ``None``: another bot's command, a bot's message, a kind we do not serve.

    received_at : stands in for the time of a press, which the platform does not tell; aware.
    """
    if update.callback_query is not None:
        return _pressed(update, received_at)
    if update.edited_message is not None:
        return _heard(update.edited_message, me, edited=True)
    if update.message is not None:
        return _heard(update.message, me, edited=False)
    return None


def news(update: Update) -> Presence | Migration | None:
    """What the update says about the chat itself. Either end of a migration may be told of it, or both."""
    if update.my_chat_member is not None:
        member = update.my_chat_member.new_chat_member
        is_welcome = member.status in {ChatMember.MEMBER, ChatMember.ADMINISTRATOR, ChatMember.OWNER}
        is_welcome = is_welcome or (isinstance(member, ChatMemberRestricted) and member.can_send_messages)
        rules = member.status in {ChatMember.ADMINISTRATOR, ChatMember.OWNER}
        return Presence(_chat(update.my_chat_member.chat, None), is_welcome, rules)
    message = update.message
    if message is not None and message.migrate_to_chat_id is not None:
        return Migration(str(message.chat.id), str(message.migrate_to_chat_id))
    if message is not None and message.migrate_from_chat_id is not None:
        return Migration(str(message.migrate_from_chat_id), str(message.chat.id))
    return None


def _pressed(update: Update, received_at: datetime) -> Pressed | None:
    query = update.callback_query
    if query is None or query.message is None or query.data is None:
        return None  # a button of an inline message or a game: none of ours
    message = query.message
    thread = _thread(message) if isinstance(message, Message) else None
    return Pressed(
        chat=_chat(message.chat, thread),
        person=_person(query.from_user),
        press=query.id,
        pressed_at=received_at,
        data=_clean(query.data),
        message=str(message.message_id) if message.is_accessible else None,
    )


def _heard(message: Message, me: Me, *, edited: bool) -> Heard | None:
    said = message.text or message.caption
    photo = _photo(message)
    # A file that was looked at is not looked at again.
    file = _file(message) if photo is None and not edited else None
    speaker = _speaker(message)
    if not (said or file or photo) or speaker is None:
        return None
    text, mentioned = _without_mention(message, me)
    order = _command(message)
    if order is not None and order.bot not in {"", me.username.lower()}:
        return None
    private = message.chat.type == Chat.PRIVATE
    return Heard(
        chat=_chat(message.chat, _thread(message)),
        person=speaker,
        message=str(message.message_id),
        said_at=message.date.astimezone(UTC),
        text=_clean(text),
        edited_at=(message.edit_date or message.date).astimezone(UTC) if edited else None,
        command=order.name if order else None,
        args=_clean(order.args) if order else "",
        addressed=private or mentioned or order is not None or _answers(message, me),
        file=file,
        photo=photo,
    )


def _photo(message: Message) -> PhotoRef | None:
    """The photo of a message in its largest size; also one that was sent as a file, without loss."""
    if message.photo:
        return PhotoRef(message.photo[-1].file_id, message.media_group_id)
    document = message.document
    if document is not None and (document.mime_type or "").startswith("image/"):
        return PhotoRef(document.file_id, message.media_group_id, is_file=True)
    return None


def _file(message: Message) -> Brought | None:
    """The document of a message; not an animation, which the platform also calls a document."""
    document = message.document
    if document is None or message.animation is not None:
        return None
    return Brought(document.file_id, _clean(document.file_name or "file"), document.file_size or 0)


@dataclass(frozen=True, slots=True)
class _Order:
    name: str
    bot: str
    args: str


def _command(message: Message) -> _Order | None:
    """The order at the very start of a text. In a caption it is no order, as everywhere on the platform."""
    for entity in message.entities if message.text else ():
        if entity.type == MessageEntity.BOT_COMMAND and entity.offset == 0:
            called = message.parse_entity(entity)
            name, _, bot = called.removeprefix("/").lower().partition("@")
            return _Order(name, bot, (message.text or "")[len(called) :].strip())
    return None


def _without_mention(message: Message, me: Me) -> tuple[str, bool]:
    """The text with the mention of the assistant cut off, and whether there was one.

    The platform counts in UTF-16 units: an emoji before the mention counts twice.
    """
    text = message.text or message.caption or ""
    entities = message.entities if message.text else message.caption_entities
    for entity in entities:
        named = (
            entity.type == MessageEntity.MENTION and _slice(text, entity).lower() == f"@{me.username.lower()}"
        )
        linked = (
            entity.type == MessageEntity.TEXT_MENTION and entity.user is not None and entity.user.id == me.id
        )
        if named or linked:
            units = text.encode("utf-16-le", "surrogatepass")
            before = units[: entity.offset * 2].decode("utf-16-le", "replace").rstrip()
            after = units[(entity.offset + entity.length) * 2 :].decode("utf-16-le", "replace")
            after = after.lstrip() if before else after.lstrip(" \t,:;")
            return f"{before} {after}".strip(), True
    return text, False


def _slice(text: str, entity: MessageEntity) -> str:
    units = text.encode("utf-16-le", "surrogatepass")
    return units[entity.offset * 2 : (entity.offset + entity.length) * 2].decode("utf-16-le", "replace")


def _answers(message: Message, me: Me) -> bool:
    answered = message.reply_to_message
    return answered is not None and answered.from_user is not None and answered.from_user.id == me.id


def _speaker(message: Message) -> PersonRef | None:
    """Who says it; ``None`` for bots and for posts that a linked channel passes on by itself.

    Whoever speaks for the group or for a channel stays nameless: the platform puts one shared account in
    their place, and behind it may stand anyone. That account is a bot's, so this is asked first.
    """
    if message.is_automatic_forward:
        return None
    if message.sender_chat is not None:
        return PersonRef(None, _clean(message.sender_chat.title or message.sender_chat.effective_name or ""))
    if message.from_user is None or message.from_user.is_bot:
        return None
    return _person(message.from_user)


def _person(user: User) -> PersonRef:
    return PersonRef(str(user.id), _clean(user.full_name), user.language_code)


def _chat(chat: Chat, thread: str | None) -> ChatRef:
    title = chat.title or chat.effective_name or ""
    return ChatRef(PLATFORM, str(chat.id), chat.type == Chat.PRIVATE, _clean(title), thread)


def _thread(message: Message) -> str | None:
    """The topic. In groups without topics the same field only marks the root of a chain of replies."""
    if message.is_topic_message and message.message_thread_id is not None:
        return str(message.message_thread_id)
    return None


def _clean(text: str) -> str:
    """Without what no database keeps: half surrogate pairs and NUL become the replacement character."""
    whole = text.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")
    return whole.replace("\0", "\N{REPLACEMENT CHARACTER}")


def _number(part: object, key: str) -> str | None:
    if isinstance(part, Mapping) and type(part.get(key)) is int:
        return str(part[key])
    return None


def _instant(unix_s: Any) -> datetime | None:
    if type(unix_s) is int and 0 < unix_s < LATEST_UNIX_S:
        return datetime.fromtimestamp(unix_s, UTC)
    return None
