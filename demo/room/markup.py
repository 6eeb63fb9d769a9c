"""Text as the platform takes it: the small HTML, entities in UTF-16 units, cleaning, limits."""

from __future__ import annotations

import html as html_escapes
import re
import unicodedata
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from demo.room.wire import BadRequest

__all__ = ["MAX_TEXT", "Marked", "entities_in", "read_html", "read_plain", "utf16_length"]

MAX_TEXT = 4096
"""The longest message, after the mark-up is taken off. [characters]"""
_MAX_RAW_BYTES = 32768

# Tag -> the entity it makes (td MessageEntity.cpp; Bot API, "HTML style").
_TAGS = {
    "b": "bold",
    "strong": "bold",
    "i": "italic",
    "em": "italic",
    "u": "underline",
    "ins": "underline",
    "s": "strikethrough",
    "strike": "strikethrough",
    "del": "strikethrough",
    "code": "code",
    "pre": "pre",
    "blockquote": "blockquote",
    "tg-spoiler": "spoiler",
    "span": "spoiler",
    "a": "text_link",
    "tg-emoji": "custom_emoji",
    "tg-time": "date_time",
}
# What a browser is given for each of them.
_SHOWN = {
    "bold": "strong",
    "italic": "em",
    "underline": "u",
    "strikethrough": "s",
    "code": "code",
    "pre": "pre",
    "blockquote": "blockquote",
    "spoiler": "mark",
    "date_time": "time",
}
_LINKS = frozenset({"http", "https", "tg", "mailto"})

_TOKEN = re.compile(r"<[^>]*>?|&(?:#\d{1,7}|#x[0-9a-fA-F]{1,6}|lt|gt|amp|quot);?|[^<&]+|&")
_TAG = re.compile(r"<(/?)([a-zA-Z][a-zA-Z0-9-]*|)\s*(.*?)>", re.DOTALL)
_ATTRIBUTE = re.compile(r"([a-zA-Z-]+)(?:\s*=\s*(?:\"([^\"]*)\"|'([^']*)'|([^\s\"'>]+)))?")
_ENTITY = re.compile(r"(?<![\w/@])(?:(?P<bot_command>/\w{1,64}(?:@\w{3,32})?)|(?P<mention>@\w{3,32}))(?!\w)")

# Taken out or turned into spaces on the way in (td misc.cpp, clean_input_string).
_REMOVED = {
    ord("\r"): None,
    **dict.fromkeys(range(0x2028, 0x202F)),
    0x333: None,
    0x33F: None,
    0x30A: None,
}
_SPACED = {code: " " for code in range(0x20) if code not in (0x0A, 0x0D)}
_CLEANED = {**_SPACED, **_REMOVED}
_INVISIBLE = {"Cf", "Zs", "Zl", "Zp", "Cc"}


@dataclass(frozen=True, slots=True)
class Marked:
    """A text that the platform took.

    text : plain, as ``Message.text`` holds it.
    entities : Bot API ``MessageEntity`` objects, offsets in UTF-16 units.
    html : the same for a browser: escaped, only harmless tags.
    """

    text: str
    entities: tuple[dict[str, Any], ...]
    html: str


def utf16_length(text: str) -> int:
    """Length in UTF-16 code units, which the platform counts entities in."""
    return len(text.encode("utf-16-le", "surrogatepass")) // 2


def entities_in(text: str) -> list[dict[str, Any]]:
    """The commands and mentions that a client marks in what a person types."""
    found = []
    for match in _ENTITY.finditer(text):
        offset = utf16_length(text[: match.start()])
        found.append({"type": match.lastgroup, "offset": offset, "length": utf16_length(match.group())})
    return found


def read_plain(text: str, *, limit: int = MAX_TEXT) -> Marked:
    """A text sent with no parse mode."""
    if not text:
        raise BadRequest("message text is empty")
    return _finish([(text.translate(_CLEANED), ())], limit)


def read_html(text: str, *, limit: int = MAX_TEXT) -> Marked:
    """A text sent with ``parse_mode=HTML``; refused as the platform refuses it."""
    if not text:
        raise BadRequest("message text is empty")
    if len(text.encode("utf-8", "surrogatepass")) > _MAX_RAW_BYTES:
        raise BadRequest("text is too long")
    return _finish(_pieces(text), limit)


_Open = tuple[str, str, dict[str, str]]  # tag as typed, entity, attributes


def _pieces(text: str) -> list[tuple[str, tuple[_Open, ...]]]:
    """The text cut where its mark-up changes: each piece with the tags open around it."""
    pieces: list[tuple[str, tuple[_Open, ...]]] = []
    open_tags: list[_Open] = []
    for token in _TOKEN.finditer(text):
        part = token.group()
        if not part.startswith("<"):
            plain = html_escapes.unescape(part) if part.startswith("&") and len(part) > 1 else part
            pieces.append((plain.translate(_CLEANED), tuple(open_tags)))
            continue
        at_byte = len(text[: token.start()].encode("utf-8", "surrogatepass"))
        tag = _TAG.fullmatch(part)
        if tag is None:
            name = part[1:].split()[0] if part[1:].split() else ""
            raise BadRequest(
                f'can\'t parse entities: Unsupported start tag "{name}" at byte offset {at_byte}'
            )
        if tag.group(1):
            _close(open_tags, tag.group(2).lower(), at_byte)
        else:
            open_tags.append(_opened(tag.group(2).lower(), tag.group(3), at_byte))
    if open_tags:
        raise BadRequest(
            f"can't parse entities: Can't find end tag corresponding to start tag \"{open_tags[-1][0]}\""
        )
    return pieces


def _opened(name: str, rest: str, at_byte: int) -> _Open:
    attributes = {
        match.group(1).lower(): html_escapes.unescape(
            match.group(2) or match.group(3) or match.group(4) or ""
        )
        for match in _ATTRIBUTE.finditer(rest)
    }
    if name not in _TAGS:
        raise BadRequest(f'can\'t parse entities: Unsupported start tag "{name}" at byte offset {at_byte}')
    if name == "span" and attributes.get("class") != "tg-spoiler":
        raise BadRequest(
            f'can\'t parse entities: Tag "span" must have class "tg-spoiler" at byte offset {at_byte}'
        )
    return name, _TAGS[name], attributes


def _close(open_tags: list[_Open], name: str, at_byte: int) -> None:
    if not open_tags:
        raise BadRequest(f"can't parse entities: Unexpected end tag at byte offset {at_byte}")
    expected = open_tags.pop()[0]
    if name and name != expected:
        words = f'Unmatched end tag at byte offset {at_byte}, expected "</{expected}>", found "</{name}>"'
        raise BadRequest(f"can't parse entities: {words}")


def _finish(pieces: list[tuple[str, tuple[_Open, ...]]], limit: int) -> Marked:
    pieces = _trimmed(pieces)
    text = "".join(part for part, _ in pieces)
    if all(unicodedata.category(character) in _INVISIBLE for character in text):
        raise BadRequest("text must be non-empty")
    if len(text) > limit:
        raise BadRequest("message is too long" if limit == MAX_TEXT else "message caption is too long")
    return Marked(text, tuple(_entities(pieces)), _shown(pieces))


def _trimmed(pieces: list[tuple[str, tuple[_Open, ...]]]) -> list[tuple[str, tuple[_Open, ...]]]:
    """Without the blanks at both ends, wherever the mark-up stands."""
    kept = list(pieces)
    while kept and not kept[0][0].strip():
        kept.pop(0)
    while kept and not kept[-1][0].strip():
        kept.pop()
    if kept:
        kept[0] = (kept[0][0].lstrip(), kept[0][1])
        kept[-1] = (kept[-1][0].rstrip(), kept[-1][1])
    return kept


def _entities(pieces: list[tuple[str, tuple[_Open, ...]]]) -> list[dict[str, Any]]:
    # One tag spans neighbouring pieces; it is told from an equal one by being the same object.
    spans: dict[int, tuple[int, int, _Open]] = {}
    at = 0
    for part, tags in pieces:
        length = utf16_length(part)
        for tag in tags:
            start = spans.get(id(tag), (at, 0, tag))[0]
            spans[id(tag)] = (start, at + length, tag)
        at += length
    entities = []
    for start, end, (_, kind, attributes) in sorted(spans.values(), key=lambda span: (span[0], -span[1])):
        entity: dict[str, Any] = {"type": kind, "offset": start, "length": end - start}
        if kind == "text_link":
            entity["url"] = attributes.get("href", "")
        elif kind == "custom_emoji":
            entity["custom_emoji_id"] = attributes.get("emoji-id", "")
        elif kind == "date_time":
            entity["unix_time"] = int(attributes.get("unix", "0") or 0)
            entity["date_time_format"] = attributes.get("format", "")
        if entity["length"]:
            entities.append(entity)
    text = "".join(part for part, _ in pieces)
    return entities + entities_in(text)


def _shown(pieces: list[tuple[str, tuple[_Open, ...]]]) -> str:
    out: list[str] = []
    around: tuple[_Open, ...] = ()
    for part, tags in [*pieces, ("", ())]:
        shared = 0
        while shared < min(len(around), len(tags)) and around[shared] is tags[shared]:
            shared += 1
        out += [_tag_text(tag, closing=True) for tag in reversed(around[shared:])]
        out += [_tag_text(tag, closing=False) for tag in tags[shared:]]
        out.append(html_escapes.escape(part))
        around = tags
    return "".join(out)


def _tag_text(tag: _Open, *, closing: bool) -> str:
    _, kind, attributes = tag
    if kind == "text_link":
        href = attributes.get("href", "")
        if urlsplit(href).scheme not in _LINKS:
            return ""
        return "</a>" if closing else f'<a href="{html_escapes.escape(href)}" rel="noreferrer">'
    name = _SHOWN.get(kind)
    if name is None:
        return ""
    return f"</{name}>" if closing else f"<{name}>"
