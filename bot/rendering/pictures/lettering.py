"""Text in pictures: one font everywhere, measured before it is drawn, cut with a mark where it must be."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import matplotlib
from matplotlib.axes import Axes
from matplotlib.font_manager import FontProperties
from matplotlib.ft2font import FT2Font

from bot.rendering.pictures.palette import INK

__all__ = ["CUT", "UNSHOWN", "face", "readable", "shortened", "width", "wrapped", "write"]

CUT = "…"
"""Ends what was shortened."""

UNSHOWN = "see list"
"""Stands for a word in a script that the font does not have."""

_FILES = {False: "DejaVuSans.ttf", True: "DejaVuSans-Bold.ttf"}
_MEASURED_AT = 100.0
_FIXED = 65536
"""FreeType gives linear advances as 16.16 fixed-point numbers."""


@cache
def face(*, strong: bool = False) -> FontProperties:
    """The font, which comes with the drawing library."""
    return FontProperties(fname=_file(strong))


def readable(text: str) -> str:
    """The text in one line, of characters that the font has; ``UNSHOWN`` where too few of them are.

    Marks that turn or join what stands beside them are dropped.
    """
    spaced = (" " if unicodedata.category(c)[0] in "CZ" else c for c in unicodedata.normalize("NFC", text))
    line = " ".join("".join(spaced).split())
    shown = "".join(c for c in line if c == " " or _has(c))
    return " ".join(shown.split()) if 2 * len(shown.strip()) >= len(line) > 0 and shown.strip() else UNSHOWN


def width(text: str, size: float, *, strong: bool = False) -> float:
    """How wide a ``readable`` text is drawn, at most; size and result in the same unit."""
    return size * sum(_advance(c, strong) for c in text)


def shortened(text: str, room: float, size: float, *, strong: bool = False) -> str:
    """The text, or as much of its beginning as fits into ``room``, with a mark."""
    if width(text, size, strong=strong) <= room:
        return text
    for end in range(len(text) - 1, 0, -1):
        cut = text[:end].rstrip() + CUT
        if width(cut, size, strong=strong) <= room:
            return cut
    return CUT


def wrapped(text: str, room: float, size: float, most: int, *, least: float | None = None) -> Sequence[str]:
    """The text in at most ``most`` lines, broken between words.

    size : that the lines are broken for. least : the size at which a line that cannot be broken must fit,
        and is cut if it does not; default: ``size``.
    """
    lines: list[str] = []
    words = text.split()
    while words and len(lines) < most - 1:
        taken = 1
        while taken < len(words) and width(" ".join(words[: taken + 1]), size) <= room:
            taken += 1
        lines.append(" ".join(words[:taken]))
        words = words[taken:]
    if words:
        lines.append(" ".join(words))
    return [shortened(line, room, least or size) for line in lines]


def write(
    axes: Axes,
    x: float,
    y: float,
    text: str,
    size: float,
    *,
    strong: bool = False,
    colour: str = INK,
    align: str = "left",
) -> None:
    """Puts text on a sheet, its foot at y; mark-up in it is text."""
    axes.text(
        x,
        y,
        text,
        fontproperties=face(strong=strong),
        fontsize=size,
        color=colour,
        ha=align,
        va="baseline",
        parse_math=False,
        usetex=False,
    )


def _file(strong: bool) -> Path:
    return Path(matplotlib.get_data_path()) / "fonts" / "ttf" / _FILES[strong]


@cache
def _opened(strong: bool) -> FT2Font:
    font = FT2Font(str(_file(strong)))
    font.set_size(_MEASURED_AT, 72)
    return font


@cache
def _advance(character: str, strong: bool) -> float:
    """How far one character moves the pen. [of the size]"""
    return float(_opened(strong).load_char(ord(character)).linearHoriAdvance) / _FIXED / _MEASURED_AT


def _has(character: str) -> bool:
    return _opened(False).get_char_index(ord(character)) != 0 and (
        _opened(True).get_char_index(ord(character)) != 0
    )
