"""What a bot puts into a chat: messages, pictures, edits, reactions, answers to buttons."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from demo.room.keyboards import inline_keyboard, keys_of, reaction_of
from demo.room.markup import Marked, read_html, read_plain
from demo.room.pictures import picture_size
from demo.room.state import Answered, Chat, Line, Room, Sent, StoredFile
from demo.room.wire import BadRequest, Params, Upload

__all__ = [
    "answer_callback_query",
    "delete_message",
    "edit_message_caption",
    "edit_message_reply_markup",
    "edit_message_text",
    "send_chat_action",
    "send_document",
    "send_message",
    "send_photo",
    "set_message_reaction",
]

_CAPTION = 1024
_ANSWER_TEXT = 200
_PHOTO_BYTES = 10 * 1024 * 1024
_PHOTO_SIDES = 10_000
_PHOTO_RATIO = 20
_DOCUMENT_BYTES = 50 * 1024 * 1024
_PRESS_AGE = timedelta(seconds=150)
"""How long a press may be answered: as long as its update lives (150 s); the platform may wait longer."""
_ACTIONS = frozenset(
    (
        "typing",
        "upload_photo",
        "record_video",
        "upload_video",
        "record_voice",
        "upload_voice",
        "upload_document",
        "choose_sticker",
        "find_location",
        "record_video_note",
        "upload_video_note",
    )
)


def _marked(params: Params, name: str, limit: int | None = None) -> Marked:
    mode = params.text("parse_mode").lower()
    if mode not in {"", "html"}:
        # The platform also takes two kinds of Markdown; nothing here writes them.
        raise BadRequest("unsupported parse_mode")
    read = read_html if mode == "html" else read_plain
    return read(params.text(name)) if limit is None else read(params.text(name), limit=limit)


def _chat(room: Room, params: Params) -> Chat:
    text = params.text("chat_id").strip()
    if not text:
        raise BadRequest("chat_id is empty")
    try:
        return room.chat_for_sending(int(text))
    except ValueError:
        raise BadRequest("chat not found") from None


def _thread(chat: Chat, params: Params) -> dict[str, Any]:
    thread = params.integer("message_thread_id")
    if not thread:
        return {}
    if thread not in chat.topics:
        raise BadRequest("message thread not found")
    return {"message_thread_id": thread, "is_topic_message": True}


def _answered(chat: Chat, params: Params) -> dict[str, Any]:
    """The message that a new one answers, as the field ``reply_to_message``."""
    given = params.object("reply_parameters")
    target = given.get("message_id") or params.integer("reply_to_message_id")
    if not target:
        return {}
    line = chat.line(target) if isinstance(target, int) else None
    if line is None:
        if given.get("allow_sending_without_reply") or params.flag("allow_sending_without_reply"):
            return {}
        raise BadRequest("message to be replied not found")
    return {
        "reply_to_message": {key: value for key, value in line.message.items() if key != "reply_to_message"}
    }


def _post(
    room: Room, params: Params, method: str, chat: Chat, content: dict[str, Any], marked: Marked | None,
    file: StoredFile | None = None,
) -> dict[str, Any]:  # fmt: skip
    keyboard = inline_keyboard(params)
    message = {
        "from": room.bot,
        "chat": chat.brief(),
        "date": room.unix_now() - chat.behind_s,
        **_thread(chat, params),
        **_answered(chat, params),
        **content,
        **({"reply_markup": keyboard} if keyboard else {}),
    }
    line = chat.add(Line(message, marked.html if marked else ""))
    _note(room, params, method, chat, line, file)
    return line.message


def _note(
    room: Room, params: Params, method: str, chat: Chat, line: Line, file: StoredFile | None = None
) -> None:
    message = line.message
    room.sent.append(
        Sent(
            method=method,
            chat_id=chat.id,
            text=message.get("text", message.get("caption", "")),
            html=params.text("text") or params.text("caption"),
            buttons=keys_of(message),
            message_id=message["message_id"],
            reply_to=message.get("reply_to_message", {}).get("message_id"),
            at=room.clock(),
            thread_id=message.get("message_thread_id"),
            silent=params.flag("disable_notification"),
            file=file.content if file else None,
            file_name=file.name if file else "",
        )
    )
    room.changed(chat, line)


def send_message(room: Room, params: Params) -> dict[str, Any]:
    """``sendMessage``"""
    chat = _chat(room, params)
    marked = _marked(params, "text")
    content: dict[str, Any] = {"text": marked.text}
    if marked.entities:
        content["entities"] = list(marked.entities)
    return _post(room, params, "sendMessage", chat, content, marked)


def _caption(params: Params) -> tuple[Marked | None, dict[str, Any]]:
    if not params.text("caption"):
        return None, {}
    marked = _marked(params, "caption", _CAPTION)
    content: dict[str, Any] = {"caption": marked.text}
    if marked.entities:
        content["caption_entities"] = list(marked.entities)
    return marked, content


def _file(room: Room, params: Params, name: str, folder: str, most_bytes: int) -> StoredFile:
    upload = params.upload(name)
    if upload is None:
        known = room.files.get(params.text(name))
        if known is None:
            kind = "photo" if name == "photo" else "document"
            raise BadRequest(
                f"there is no {kind} in the request" if not params.text(name) else "wrong file identifier"
            )
        return known
    if len(upload.content) > most_bytes:
        raise BadRequest("file is too big")
    if not upload.content:
        raise BadRequest("file must be non-empty")
    return _store(room, upload, folder)


def _store(room: Room, upload: Upload, folder: str) -> StoredFile:
    number = room.number()
    # The path never holds the sender's file name.
    suffix = {"image/png": ".png", "image/jpeg": ".jpg"}.get(upload.mime_type, ".bin")
    path = f"{folder}/file_{number}{suffix}"
    stored = StoredFile(f"F{number:06d}", f"u{number}", path, upload.name, upload.mime_type, upload.content)
    room.files[stored.id] = stored
    return stored


def send_photo(room: Room, params: Params) -> dict[str, Any]:
    """``sendPhoto``"""
    chat = _chat(room, params)
    marked, caption = _caption(params)
    file = _file(room, params, "photo", "photos", _PHOTO_BYTES)
    size = picture_size(file.content)
    if size is None:
        raise BadRequest("IMAGE_PROCESS_FAILED")
    width, height = size
    if width + height > _PHOTO_SIDES or max(size) > _PHOTO_RATIO * min(size):
        raise BadRequest("PHOTO_INVALID_DIMENSIONS")
    photo = [{**file.brief(), "width": width, "height": height}]
    return _post(room, params, "sendPhoto", chat, {"photo": photo, **caption}, marked, file)


def send_document(room: Room, params: Params) -> dict[str, Any]:
    """``sendDocument``"""
    chat = _chat(room, params)
    marked, caption = _caption(params)
    file = _file(room, params, "document", "documents", _DOCUMENT_BYTES)
    document = {**file.brief(), "file_name": file.name, "mime_type": file.mime_type}
    return _post(room, params, "sendDocument", chat, {"document": document, **caption}, marked, file)


def _own_line(room: Room, chat: Chat, params: Params) -> Line:
    line = chat.line(params.integer("message_id"))
    if line is None:
        raise BadRequest("message to edit not found")
    if line.message["from"]["id"] != room.bot["id"]:
        raise BadRequest("message can't be edited")
    return line


def _rewrite(
    room: Room, params: Params, method: str, chat: Chat, line: Line, new: dict[str, Any], html: str
) -> Any:
    """Put new content into a message, unless it says what it said."""
    shown = ("text", "entities", "caption", "caption_entities", "reply_markup")
    if all(line.message.get(key) == new.get(key) for key in shown):
        raise BadRequest(
            "message is not modified: specified new message content and reply markup are exactly the same"
            " as a current content and reply markup of the message"
        )
    line.message = {**new, "edit_date": room.unix_now()}
    line.html = html
    _note(room, params, method, chat, line)
    return line.message


def _without(message: dict[str, Any], *keys: str) -> dict[str, Any]:
    return {key: value for key, value in message.items() if key not in keys}


def edit_message_text(room: Room, params: Params) -> dict[str, Any]:
    """``editMessageText``; buttons that are not given again go away, as on the platform."""
    chat = _chat(room, params)
    line = _own_line(room, chat, params)
    marked = _marked(params, "text")
    if "text" not in line.message:
        raise BadRequest("there is no text in the message to edit")
    keyboard = inline_keyboard(params)
    new = {**_without(line.message, "entities", "reply_markup"), "text": marked.text}
    if marked.entities:
        new["entities"] = list(marked.entities)
    if keyboard:
        new["reply_markup"] = keyboard
    return dict(_rewrite(room, params, "editMessageText", chat, line, new, marked.html))


def edit_message_caption(room: Room, params: Params) -> dict[str, Any]:
    """``editMessageCaption``"""
    chat = _chat(room, params)
    line = _own_line(room, chat, params)
    marked, caption = _caption(params)
    if "text" in line.message:
        raise BadRequest("there is no caption in the message to edit")
    keyboard = inline_keyboard(params)
    new = {**_without(line.message, "caption", "caption_entities", "reply_markup"), **caption}
    if keyboard:
        new["reply_markup"] = keyboard
    return dict(_rewrite(room, params, "editMessageCaption", chat, line, new, marked.html if marked else ""))


def edit_message_reply_markup(room: Room, params: Params) -> dict[str, Any]:
    """``editMessageReplyMarkup``"""
    chat = _chat(room, params)
    line = _own_line(room, chat, params)
    keyboard = inline_keyboard(params)
    new = _without(line.message, "reply_markup")
    if keyboard:
        new["reply_markup"] = keyboard
    return dict(_rewrite(room, params, "editMessageReplyMarkup", chat, line, new, line.html))


def delete_message(room: Room, params: Params) -> bool:
    """``deleteMessage``"""
    chat = _chat(room, params)
    line = chat.line(params.integer("message_id"))
    if line is None:
        raise BadRequest("message to delete not found")
    line.gone = True
    room.changed(chat, line)
    return True


def set_message_reaction(room: Room, params: Params) -> bool:
    """``setMessageReaction``"""
    chat = _chat(room, params)
    line = chat.line(params.integer("message_id"))
    if line is None:
        raise BadRequest("message to react not found")
    line.reaction = reaction_of(params)
    room.reactions.append((chat.id, line.message["message_id"], line.reaction))
    room.changed(chat, line)
    return True


def answer_callback_query(room: Room, params: Params) -> bool:
    """``answerCallbackQuery``"""
    query = params.text("callback_query_id")
    _, pressed_at = room.presses.get(query, (0, None))
    if pressed_at is None or room.clock() - pressed_at > _PRESS_AGE:
        raise BadRequest("query is too old and response timeout expired or query ID is invalid")
    text = params.text("text")
    if len(text) > _ANSWER_TEXT:
        raise BadRequest("MESSAGE_TOO_LONG")
    room.answered(Answered(query, text, params.flag("show_alert"), room.clock()))
    return True


def send_chat_action(room: Room, params: Params) -> bool:
    """``sendChatAction``"""
    chat = _chat(room, params)
    _thread(chat, params)
    if params.text("action") not in _ACTIONS:
        raise BadRequest("wrong parameter action in request")
    return True
