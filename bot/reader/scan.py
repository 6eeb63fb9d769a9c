"""Typed text to tokens. Every token knows where it stood in the text as typed.

What cannot be seen (control characters, zero-width characters, direction marks) is dropped, look-alikes of
digits, dashes and quotes are made plain, and nothing else is changed. All of it takes one pass.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

__all__ = ["Cleaned", "Token", "clean", "tokens_of", "word_at"]

_PLAIN = {
    "–": "-", "—": "-", "−": "-", "‐": "-", "‑": "-", "‒": "-", "―": "-",
    "’": "'", "‘": "'", "ʼ": "'", "´": "'", "`": "'", "“": '"', "”": '"', "„": '"',
    "°": "°", "º": "°", "˚": "°", "µ": "u", "μ": "u", "×": "x", "·": ".",
    "→": ">", "➔": ">", "➡": ">", "⇒": ">", "≈": "~", "∼": "~", "～": "~", "…": ".",
    "٫": ".", "٬": ",", "、": ",", "。": ".", "℃": "°c", "℉": "°f", "ℓ": "l", "㎖": "ml", "㎎": "mg",
    "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3", "⁄": "/", "∕": "/",
    "\t": " ", "\r": "\n", "\v": "\n", "\f": "\n", "\u2028": "\n", "\u2029": "\n", "\u0085": "\n",
}  # fmt: skip

_LOOK_ALIKES = str.maketrans("авекмнорстухіł", "abekmhopctyxil")
"""Cyrillic letters that look like ours: ``рН`` is typed on many keyboards; and the one with a stroke."""

_ODD_ASCII = re.compile(r"[\x00-\x08\x0b-\x1f\x7f`]")


@dataclass(frozen=True, slots=True)
class Cleaned:
    """``text``: lower case, plain; ``origin[i]``: where its i-th character stood (``None``: in place)."""

    text: str
    typed: str
    origin: list[int] | None

    def span(self, start: int, end: int) -> tuple[int, int]:
        """The place in the text as typed of ``text[start:end]``, which must not be empty."""
        if self.origin is None:
            return start, end
        return self.origin[start], self.origin[end - 1] + 1

    def raw(self, start: int, end: int) -> str:
        """``text[start:end]`` as typed, without what cannot be seen."""
        if self.origin is None:
            return self.typed[start:end]
        first, last = self.span(start, end)
        return "".join(c for c in self.typed[first:last] if unicodedata.category(c) not in _UNSEEN).strip()


_UNSEEN = {"Cf", "Cc", "Cs", "Co", "Cn", "Mn", "Me"}


def clean(typed: str) -> Cleaned:
    """``typed`` in lower case, with nothing in it that cannot be seen."""
    if typed.isascii() and not _ODD_ASCII.search(typed):
        return Cleaned(_without_tags(typed.lower().replace("\t", " ")), typed, None)
    out: list[str] = []
    origin: list[int] = []
    for place, char in enumerate(typed):
        plain = _plain(char)
        out.append(plain)
        origin.extend([place] * len(plain))
    return Cleaned(_without_tags("".join(out)), typed, origin)


_SCRIPT = re.compile(r"<(script|style)\b[^<>]{0,80}>[^<]{0,400}</\1>")
_WITH = re.compile(r"\bw/(?!o\b)")
_MARK = re.compile(r"\[/?[biu]\]")
_NO_TALK = re.compile(r"https?://[^\s)>\]]+|\bwww\.\S+|\bph\.d\b\.?")
"""Addresses, whatever values they carry, and a doctor's degree."""
_TAG = re.compile(r"</?[a-z][^<>\n]{0,80}>")


def _without_tags(text: str) -> str:
    """The text with spaces where mark-up and the stroke of ``w/`` stood: every character keeps its place."""
    if "w/" in text:
        text = _WITH.sub("w ", text)
    if "://" in text or "www." in text or "ph.d" in text:
        text = _NO_TALK.sub(_blank, text)
    if "[" in text:
        text = _MARK.sub(_blank, text)
    if "<" not in text:
        return text
    return _TAG.sub(_blank, _SCRIPT.sub(_blank, text))


def _blank(found: re.Match[str]) -> str:
    return " " * len(found[0])


def _plain(char: str) -> str:
    """One character as the grammar wants it; may be none or several."""
    if char in _PLAIN:
        return _PLAIN[char]
    if char.isascii():
        return char.lower() if (char >= " " and char != "\x7f") or char == "\n" else ""
    category = unicodedata.category(char)
    if category in _UNSEEN:
        return ""
    if category == "Nd":
        return str(unicodedata.decimal(char))
    if category == "Zs":
        return " "
    if category[0] == "L" or 0xFF00 <= ord(char) <= 0xFFEF:
        bare = unicodedata.normalize("NFKD", char)
        plain = "".join(c for c in bare.lower() if unicodedata.category(c) not in _UNSEEN) or " "
        return plain.translate(_LOOK_ALIKES)
    return char


@dataclass(slots=True)
class Token:
    """One word, number or sign. ``kind``: ``w``, ``n`` or ``p``; ``gap``: not close upon the one before.

    Nothing changes a token; it is not frozen because a message has hundreds, and frozen ones take three times
    as long to make.
    """

    kind: str
    text: str
    start: int
    end: int
    gap: bool


_TOKEN = re.compile(
    r"(?P<n>(?!2(?:moro|morrow|day|nite)\b)(?:\d{1,4}\.\d{1,4}\.\d{1,4}(?!\.?\d)"  # 24.10.2026
    r"|\d{1,3}(?:,\d{3}){1,3}(?!,?\d)(?:\.\d+)?"  # 1,400
    r"|\d+[.,]{2,3}\d+"  # 5..9, a slip
    r"|\d+(?:[.,]\d+)?(?:e[+-]?\d+)?"
    r"|(?<![\w.,])\.\d+))"
    r"|(?P<w>2(?:moro|morrow|day|nite)|h2o2?|co2|n't|[^\W\d_]+(?:'[^\W\d_]+)*'?)"
    r"|(?P<p>\n\s*|(?P<s>[^\s\w])(?P=s)*)"
)
_MEANINGFUL = frozenset(",.;:!?=-+/&()<>@%°~\n")
"""Signs that may change what is read; quotes, stars and brackets around a value do not."""


def tokens_of(text: str, most: int | None = None) -> list[Token]:
    """The tokens of a cleaned text, from left to right; repeated signs are one, pictures none.

    most : so many at most; the rest of the text is not looked at.
    """
    return list(islice(_tokens(text), most))


def _tokens(text: str) -> Iterator[Token]:
    before = -1
    for match in _TOKEN.finditer(text):
        kind, typed = match.lastgroup or "w", match[0]
        start, end = match.span()
        if kind == "p":
            typed = typed[0]
            if typed not in _MEANINGFUL:
                continue
        yield Token(kind, typed, start, end, start != before)
        before = end


def word_at(tokens: list[Token], i: int) -> str:
    """The text of token ``i``; empty beyond the end."""
    return tokens[i].text if i < len(tokens) else ""
