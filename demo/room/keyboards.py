"""Buttons and reactions, checked as the platform checks them."""

from __future__ import annotations

from typing import Any

from demo.room.state import Key
from demo.room.wire import BadRequest, Params

__all__ = ["DATA_BYTES", "REACTIONS", "inline_keyboard", "keys_of", "reaction_of"]

DATA_BYTES = 64
"""The longest ``callback_data``. [bytes] (Bot API, InlineKeyboardButton)"""
_MOST_BUTTONS = 100

# fmt: off
REACTIONS = frozenset(
    (
        "👍", "👎", "❤", "🔥", "🥰", "👏", "😁", "🤔", "🤯", "😱", "🤬", "😢", "🎉", "🤩",
        "🤮", "💩", "🙏", "👌", "🕊", "🤡", "🥱", "🥴", "😍", "🐳", "❤‍🔥", "🌚", "🌭", "💯",
        "🤣", "⚡", "🍌", "🏆", "💔", "🤨", "😐", "🍓", "🍾", "💋", "🖕", "😈", "😴", "😭",
        "🤓", "👻", "👨‍💻", "👀", "🎃", "🙈", "😇", "😨", "🤝", "✍", "🤗", "🫡", "🎅", "🎄",
        "☃", "💅", "🤪", "🗿", "🆒", "💘", "🙉", "🦄", "😘", "💊", "🙊", "😎", "👾", "🤷‍♂",
        "🤷", "🤷‍♀", "😡",
    )
)
# fmt: on
"""What a bot may react with (Bot API, ReactionTypeEmoji), without the invisible sign that asks for colour."""

_COLOURED = "\N{VARIATION SELECTOR-16}"


def inline_keyboard(params: Params) -> dict[str, Any] | None:
    """The buttons under a message; ``None`` where there are none.

    Other kinds of ``reply_markup`` (a forced reply, a keyboard) are taken and leave nothing behind.
    """
    rows = params.object("reply_markup").get("inline_keyboard")
    if rows is None:
        return None
    if not isinstance(rows, list) or not all(isinstance(row, list) for row in rows):
        raise BadRequest("inline keyboard must be an array of arrays")
    kept = [[_button(item) for item in row] for row in rows if row]
    if sum(len(row) for row in kept) > _MOST_BUTTONS:
        raise BadRequest("too many buttons")
    return {"inline_keyboard": kept} if kept else None


def _button(item: Any) -> dict[str, Any]:
    if not isinstance(item, dict):
        raise BadRequest("inline keyboard button must be an object")
    if not str(item.get("text") or "").strip():
        raise BadRequest("inline keyboard button text must be non-empty")
    if "url" in item:
        return {"text": str(item["text"]), "url": str(item["url"])}
    data = item.get("callback_data")
    if data is None:
        raise BadRequest("text buttons are unallowed in the inline keyboard")
    if not 1 <= len(str(data).encode("utf-8", "surrogatepass")) <= DATA_BYTES:
        raise BadRequest("BUTTON_DATA_INVALID")
    return {"text": str(item["text"]), "callback_data": str(data)}


def keys_of(message: dict[str, Any]) -> tuple[tuple[Key, ...], ...]:
    """The buttons under a stored message."""
    rows = message.get("reply_markup", {}).get("inline_keyboard", [])
    return tuple(
        tuple(Key(item["text"], item.get("callback_data") or item.get("url", "")) for item in row)
        for row in rows
    )


def reaction_of(params: Params) -> str:
    """The one emoji of a ``setMessageReaction``; empty where the reaction is taken away."""
    given = params.objects("reaction")
    if len(given) > 1:  # "as non-premium users, bots can set up to one reaction per message" (Bot API)
        raise BadRequest("REACTIONS_TOO_MANY")
    for item in given:
        if item.get("type") != "emoji" or str(item.get("emoji")).replace(_COLOURED, "") not in REACTIONS:
            raise BadRequest("REACTION_INVALID")
        return str(item["emoji"])
    return ""
