"""Lines of text with a little emphasis, and the one place where text becomes HTML."""

from __future__ import annotations

import html
import re
import unicodedata
from collections.abc import Iterable, Sequence

__all__ = ["Code", "Line", "Strong", "line", "name", "to_html", "to_plain"]


class Strong(str):
    """Text that stands out."""

    __slots__ = ()


class Code(str):
    """Text to be typed."""

    __slots__ = ()


Line = tuple[str, ...]
"""Parts of one line; none is escaped yet."""

MOST = 4096
"""The longest text that a chat message holds. [characters]"""
MOST_CAPTION = 1024
"""The longest text that stands under a picture. [characters, mark-up not counted]"""
_TAGS = re.compile(r"</?(?:b|code)>")


def line(*parts: str) -> Line:
    """One line of a reply."""
    return parts


def name(text: str) -> str:
    """A name that somebody chose, kept to one line and from turning the text around it."""
    shown = "".join(c if unicodedata.category(c)[0] != "C" else " " for c in text)
    return (
        f"\u2068{' '.join(shown.split())[:60]}\u2069" if not shown.isascii() else " ".join(shown.split())[:60]
    )


def to_html(lines: Iterable[Line]) -> str:
    """The lines as the HTML that chats take: every part escaped, emphasis in tags.

    Lines that would make the text longer than a message are left off, the last one kept says so.
    """
    shown: list[str] = []
    length = 0
    for parts in lines:
        written = "".join(_part(part) for part in parts)
        length += len("".join(parts)) + 1
        if length > MOST - 2:
            shown.append("…")
            break
        shown.append(written)
    return "\n".join(shown)


def _part(part: str) -> str:
    escaped = html.escape(part, quote=False)
    if isinstance(part, Strong):
        return f"<b>{escaped}</b>"
    if isinstance(part, Code):
        return f"<code>{escaped}</code>"
    return escaped


def to_plain(text: str) -> str:
    """What ``to_html`` wrote, for a terminal."""
    return html.unescape(_TAGS.sub("", text))


def joined(parts: Sequence[str], last: str = "and") -> str:
    """``a, b and c``."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} {last} {parts[-1]}"
