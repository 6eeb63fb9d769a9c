"""What a bot asks or says about itself, its chats and its files."""

from __future__ import annotations

import re
from typing import Any

from demo.room.state import Chat, Person, Room
from demo.room.wire import BadRequest, Params

__all__ = [
    "delete_my_commands",
    "delete_webhook",
    "get_chat",
    "get_chat_member",
    "get_file",
    "get_me",
    "get_my_commands",
    "get_webhook_info",
    "member_of",
    "set_my_commands",
    "set_my_description",
    "set_my_short_description",
    "set_webhook",
]

_COMMAND = re.compile(r"[a-z0-9_]{1,32}")
_SECRET = re.compile(r"[A-Za-z0-9_-]{1,256}")
_MOST_COMMANDS = 100
_DESCRIPTION = 512
_SHORT_DESCRIPTION = 120
_DOWNLOAD_BYTES = 20 * 1024 * 1024
_SCOPES = frozenset(
    (
        "default",
        "all_private_chats",
        "all_group_chats",
        "all_chat_administrators",
        "chat",
        "chat_administrators",
        "chat_member",
    )
)
# Every right that an administrator has to be told about (Bot API, ChatMemberAdministrator).
_RIGHTS = (
    "can_manage_chat",
    "can_delete_messages",
    "can_manage_video_chats",
    "can_restrict_members",
    "can_promote_members",
    "can_change_info",
    "can_invite_users",
    "can_post_stories",
    "can_edit_stories",
    "can_delete_stories",
)


def get_me(room: Room, params: Params) -> dict[str, Any]:
    """``getMe``"""
    return {
        **room.bot,
        "can_join_groups": True,
        "can_read_all_group_messages": room.hears_all,
        "supports_inline_queries": False,
        "can_connect_to_business": False,
        "has_main_web_app": False,
    }


def _scope(params: Params) -> str:
    scope = params.object("scope") or {"type": "default"}
    if str(scope.get("type")) not in _SCOPES:
        raise BadRequest("can't parse BotCommandScope: unsupported type specified")
    parts = [scope["type"], scope.get("chat_id", ""), scope.get("user_id", ""), params.text("language_code")]
    return ":".join(str(part) for part in parts)


def set_my_commands(room: Room, params: Params) -> bool:
    """``setMyCommands``"""
    commands = params.objects("commands")
    if len(commands) > _MOST_COMMANDS:
        raise BadRequest("BOT_COMMANDS_TOO_MUCH")
    for command in commands:
        if not _COMMAND.fullmatch(str(command.get("command", "")).removeprefix("/")):
            raise BadRequest("BOT_COMMAND_INVALID")
        if not 1 <= len(str(command.get("description", "")).strip()) <= 256:
            raise BadRequest("BOT_COMMAND_DESCRIPTION_INVALID")
    room.commands[_scope(params)] = commands
    return True


def delete_my_commands(room: Room, params: Params) -> bool:
    """``deleteMyCommands``"""
    room.commands.pop(_scope(params), None)
    return True


def get_my_commands(room: Room, params: Params) -> list[dict[str, str]]:
    """``getMyCommands``"""
    return room.commands.get(_scope(params), [])


def _describe(room: Room, params: Params, name: str, longest: int) -> bool:
    text = params.text(name)
    if len(text) > longest:
        raise BadRequest(f"{name.replace('_', ' ')} is too long")
    room.descriptions[f"{name}:{params.text('language_code')}"] = text
    return True


def set_my_description(room: Room, params: Params) -> bool:
    """``setMyDescription``"""
    return _describe(room, params, "description", _DESCRIPTION)


def set_my_short_description(room: Room, params: Params) -> bool:
    """``setMyShortDescription``"""
    return _describe(room, params, "short_description", _SHORT_DESCRIPTION)


def set_webhook(room: Room, params: Params) -> bool:
    """``setWebhook``; unlike the platform's own cloud it takes ``http``, as a local server does."""
    url = params.text("url")
    if not url:
        return delete_webhook(room, params)
    secret = params.text("secret_token")
    if secret and not _SECRET.fullmatch(secret):
        raise BadRequest("secret token contains unallowed characters")
    if not url.startswith(("http://127.0.0.1", "http://localhost", "https://")):
        raise BadRequest("bad webhook: An HTTPS URL must be provided for webhook")
    _drop_if_asked(room, params)
    allowed = params.names("allowed_updates")
    if allowed is not None:
        room.updates.allowed = allowed
    room.webhook = {"url": url, "secret": secret, "max_connections": params.integer("max_connections", 40)}
    room.updates.webhook_url = url
    room.bell.ring()
    return True


def delete_webhook(room: Room, params: Params) -> bool:
    """``deleteWebhook``"""
    _drop_if_asked(room, params)
    room.webhook = {"url": ""}
    room.updates.webhook_url = ""
    room.bell.ring()
    return True


def _drop_if_asked(room: Room, params: Params) -> None:
    if params.flag("drop_pending_updates"):
        room.updates.drop_all()


def get_webhook_info(room: Room, params: Params) -> dict[str, Any]:
    """``getWebhookInfo``"""
    info = {key: value for key, value in room.webhook.items() if key != "secret"}
    info |= {"has_custom_certificate": False, "pending_update_count": len(room.updates.pending)}
    return {**info, "allowed_updates": room.updates.allowed} if room.updates.allowed else info


def get_file(room: Room, params: Params) -> dict[str, Any]:
    """``getFile``"""
    file = room.files.get(params.text("file_id"))
    if file is None:
        raise BadRequest("wrong file_id or the file is temporarily unavailable")
    if len(file.content) > _DOWNLOAD_BYTES:
        raise BadRequest("file is too big")
    return {**file.brief(), "file_path": file.path}


def get_chat(room: Room, params: Params) -> dict[str, Any]:
    """``getChat``"""
    chat = _chat(room, params)
    gifts = (
        "unlimited_gifts",
        "limited_gifts",
        "unique_gifts",
        "premium_subscription",
        "gifts_from_channels",
    )
    full = {
        "accent_color_id": 0,
        "max_reaction_count": 11,
        "accepted_gift_types": dict.fromkeys(gifts, False),
    }
    return {**chat.brief(), **full}


def _chat(room: Room, params: Params) -> Chat:
    return room.chat_for_sending(params.integer("chat_id"))


def get_chat_member(room: Room, params: Params) -> dict[str, Any]:
    """``getChatMember``"""
    chat = _chat(room, params)
    user_id = params.integer("user_id")
    if user_id == room.bot["id"]:
        return member_of(room.bot, chat.bot_status)
    person: Person | None = room.people.get(user_id)
    if person is None:
        raise BadRequest("PARTICIPANT_ID_INVALID")
    if person.id in chat.members and chat.members[0] == person.id and not chat.private:
        return member_of(person.user(), "creator")
    return member_of(person.user(), "member" if person.id in chat.members else "left")


def member_of(user: dict[str, Any], status: str) -> dict[str, Any]:
    """A ``ChatMember`` with every field that its kind must have."""
    member: dict[str, Any] = {"status": status, "user": user}
    if status == "creator":
        member["is_anonymous"] = False
    elif status == "administrator":
        member |= {"can_be_edited": False, "is_anonymous": False}
        member |= {right: right in {"can_manage_chat", "can_delete_messages"} for right in _RIGHTS}
    elif status == "kicked":
        member["until_date"] = 0
    return member
