"""Lines of text with a little emphasis, and the one place where text becomes HTML."""

from __future__ import annotations

import html
import re
import unicodedata
from collections.abc import Iterable, Sequence

__all__ = [
    "LONGEST",
    "Code",
    "Line",
    "Strong",
    "joined",
    "line",
    "name",
    "narrow",
    "packed",
    "rows",
    "to_html",
    "to_plain",
    "width",
]


class Strong(str):
    """Text that stands out."""

    __slots__ = ()


class Code(str):
    """Text to be typed."""

    __slots__ = ()


class Mention(str):
    """A person's name that calls them, where the platform knows them by a number.

    address : that number; anything else is shown as a plain name.
    """

    __slots__ = ("address",)
    address: str | None

    def __new__(cls, text: str, address: str | None = None) -> Mention:
        made = super().__new__(cls, text)
        made.address = address
        return made


Line = tuple[str, ...]
"""Parts of one line; none is escaped yet."""

MOST = 4096
"""The longest text that a chat message holds. [characters]"""
MOST_CAPTION = 1024
"""The longest text that stands under a picture. [characters, mark-up not counted]"""
LINE = 40
"""What a phone held upright shows of a line, at the usual size of letters. [characters]"""
LONGEST = 46
"""A line up to here is left to the phone; a longer one is broken at ``LINE``. [characters]"""
_TAGS = re.compile(r"</?(?:b|code)>|<a href=\"[^\"<>]*\">|</a>")
_ISOLATES = str.maketrans("", "", "\u2068\u2069")
_UNIT = re.compile(r"(?:ml|[gLlhN]|ppm|gal|°[CF]|%|min|days|UTC|m|lux|mg/L|mS/cm|scoops?|drops?)[.,:;)]*\Z")
"""What is not parted from the number before it."""


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


def width(parts: Line) -> int:
    """How much room a line takes. [characters, those that do not show not counted]"""
    return len("".join(parts).translate(_ISOLATES))


def narrow(lines: Iterable[Line]) -> list[Line]:
    """The lines as a narrow screen shows them best: a long one is broken between words.

    A number stays with its unit, what is to be typed stays in one piece. What is one long word stays whole.
    """
    return [piece for parts in lines for piece in _broken(parts)]


def _broken(parts: Line) -> list[Line]:
    if width(parts) <= LONGEST:
        return [parts]
    broken: list[list[str]] = [[]]
    for word in _words(parts):
        row = broken[-1]
        if row and width((*row, word)) - (word[-1:] == " ") > LINE:
            broken.append([word])
        else:
            row.append(word)
    return [_whole(row) for row in broken if row]


def _words(parts: Line) -> list[str]:
    """The words of a line, each with the blank after it and in its own emphasis."""
    words: list[str] = []
    for part in parts:
        if isinstance(part, Mention):
            words.append(part)
            continue
        pieces = [part] if isinstance(part, Code) else re.findall(r"\s*\S+\s?|\s+", part)
        for piece in pieces:
            word = type(part)(piece)
            if words and type(words[-1]) is type(word) and _belongs(words[-1], word):
                words[-1] = type(part)(words[-1] + word)
            else:
                words.append(word)
    return words


def _belongs(before: str, word: str) -> bool:
    return before[:-1][-1:].isdigit() and before[-1:] == " " and _UNIT.match(word.rstrip()) is not None


def _whole(row: list[str]) -> Line:
    """One row of words: neighbours of the same emphasis as one part, no blank at either end."""
    parts: list[str] = []
    for word in row:
        if parts and type(parts[-1]) is type(word) and not isinstance(word, Mention):
            parts[-1] = type(word)(parts[-1] + word)
        else:
            parts.append(word)
    for at, strip in ((0, str.lstrip), (-1, str.rstrip)):
        if not isinstance(parts[at], Mention):
            parts[at] = type(parts[at])(strip(parts[at]))
    return tuple(parts)


def _part(part: str) -> str:
    escaped = html.escape(part, quote=False)
    if isinstance(part, Strong):
        return f"<b>{escaped}</b>"
    if isinstance(part, Mention) and part.address is not None and part.address.isdecimal():
        return f'<a href="tg://user?id={part.address}">{escaped}</a>'
    if isinstance(part, Code):
        return f"<code>{escaped}</code>"
    return escaped


def to_plain(text: str) -> str:
    """What ``to_html`` wrote, for a terminal."""
    return html.unescape(_TAGS.sub("", text))


def rows(text: str) -> list[Line]:
    """The lines of a text that has its own line breaks."""
    return [line(row) for row in text.split("\n")]


def packed(sentences: Iterable[str]) -> list[Line]:
    """Whole sentences, as many on a line as it holds."""
    filled: list[str] = []
    for sentence in sentences:
        if filled and width((filled[-1], " ", sentence)) <= LONGEST:
            filled[-1] = f"{filled[-1]} {sentence}"
        else:
            filled.append(sentence)
    return [line(row) for row in filled]


def joined(parts: Sequence[str], last: str = "and") -> str:
    """``a, b and c``."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} {last} {parts[-1]}"
