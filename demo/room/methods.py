"""The table of methods that the room answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from demo.room import profile, sending
from demo.room.state import Room
from demo.room.wire import Params

__all__ = ["METHODS", "PACED", "canonical"]

METHODS: Mapping[str, Callable[[Room, Params], Any]] = MappingProxyType(
    {
        "getMe": profile.get_me,
        "sendMessage": sending.send_message,
        "sendPhoto": sending.send_photo,
        "sendDocument": sending.send_document,
        "editMessageText": sending.edit_message_text,
        "editMessageCaption": sending.edit_message_caption,
        "editMessageReplyMarkup": sending.edit_message_reply_markup,
        "deleteMessage": sending.delete_message,
        "setMessageReaction": sending.set_message_reaction,
        "answerCallbackQuery": sending.answer_callback_query,
        "sendChatAction": sending.send_chat_action,
        "setMyCommands": profile.set_my_commands,
        "getMyCommands": profile.get_my_commands,
        "deleteMyCommands": profile.delete_my_commands,
        "setMyDescription": profile.set_my_description,
        "setMyShortDescription": profile.set_my_short_description,
        "setWebhook": profile.set_webhook,
        "deleteWebhook": profile.delete_webhook,
        "getWebhookInfo": profile.get_webhook_info,
        "getFile": profile.get_file,
        "getChat": profile.get_chat,
        "getChatMember": profile.get_chat_member,
    }
)
"""Every method but ``getUpdates``, which waits and is answered by the queue itself."""

PACED = frozenset(
    (
        "sendMessage",
        "sendPhoto",
        "sendDocument",
        "editMessageText",
        "editMessageCaption",
        "editMessageReplyMarkup",
    )
)
"""What counts against the platform's pace. Edits share it with sends; answers to buttons do not count."""

_CANONICAL = {name.lower(): name for name in [*METHODS, "getUpdates"]}


def canonical(name: str) -> str | None:
    """The method's name as documented, for a name in any case; ``None`` where the room has none."""
    return _CANONICAL.get(name.lower())
