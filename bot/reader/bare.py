"""Messages of numbers alone: two or three are pH, strength and temperature (rule 7)."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from bot.reader.items import Item, Line, framed
from bot.reader.numbers import Number, number_at
from bot.reader.readings import reading_of
from bot.reader.result import ReaderSettings, Reason
from bot.reader.scan import Cleaned, Token
from bot.reader.values import ValueReader
from domain.facts import Reading

__all__ = ["Bare", "bare_numbers", "lone_number", "meanings"]

_SEPARATORS = frozenset(",;/|-\\.\n")
_SLOTS = ("PH", "STRENGTH", "TEMP")


@dataclass(frozen=True, slots=True)
class Bare:
    """What a message of bare numbers comes to: a reading, or a reason."""

    reading: Reading | None = None
    reason: Reason | None = None
    suggestions: tuple[str, ...] = ()


def bare_numbers(cleaned: Cleaned, tokens: list[Token], settings: ReaderSettings) -> Bare | None:
    """The reading in a message that holds nothing but numbers and separators; ``None`` for others."""
    if not all(
        token.kind == "n" or token.text in _SEPARATORS or token.text in ("nan", "inf", "k", "+")
        for token in tokens
    ):
        return None
    numbers = _numbers(tokens)
    if numbers is None or any(not number.finite for number in numbers) or _has_sign(tokens):
        return Bare(reason="implausible")
    if not numbers:
        return None
    if len(numbers) == 1:
        return Bare(reason="ambiguous", suggestions=meanings(numbers[0].value))
    if len(numbers) > 3 or _is_range(tokens, numbers):
        return Bare(reason="ambiguous")
    reader = ValueReader(_line(cleaned, numbers), settings)
    values = [reader.again(slot, i) for i, slot in enumerate(_SLOTS[: len(numbers)])]
    found = [value for value in values if value is not None and value.reason is None]
    if len(found) < len(numbers):
        return Bare(reason="ambiguous")
    return Bare(reading=reading_of(found)[0])


_LONE = re.compile(
    r"(?:(?:it'?s|its|now|today|reads|reading|is|about|around|got|at|currently|still|just|only|"
    r"~)(?: |$)|,\s*)*"
    r"(?P<number>\d{1,2}[.,]\d{1,2})(?: ?(?:now|today|again|still|this morning|atm|right now|tonight))*\W*",
)


def lone_number(text: str) -> tuple[int, int] | None:
    """Where the number stands in a message that says one decimal number of nothing: ``its 5.9 today``."""
    if "?" in text:
        return None
    match = _LONE.fullmatch(text.strip())
    if match is None:
        return None
    shift = len(text) - len(text.lstrip())
    return match.start("number") + shift, match.end("number") + shift


def meanings(value: float) -> tuple[str, ...]:
    """Readings that one bare number may be."""
    typed = f"{value:g}"
    if value >= 100:
        return (f"ppm {typed}", f"ec {typed}")
    if 4 <= value <= 9:
        return (f"ph {typed}", f"ec {typed}")
    return (f"temp {typed}",) if 10 < value <= 45 else (f"ec {typed}",)


def _numbers(tokens: list[Token]) -> list[Number] | None:
    """The numbers; ``None`` where a word stands for one that is not finite."""
    numbers: list[Number] = []
    has_point = any(token.kind == "n" and "." in token.text for token in tokens) and _tight_commas(tokens)
    i = 0
    while i < len(tokens):
        token = tokens[i]
        if token.kind == "p":
            i += 1
            continue
        if token.kind == "w":
            return None
        if has_point and "," in token.text and "." not in token.text:
            # ``5.9,720,19``: where decimals have points, commas separate.
            numbers += [Number(float(part), i + 1, "whole") for part in token.text.split(",")]
            i += 1
            continue
        if token.text.count(".") > 1:
            return [Number(float("nan"), i + 1, "whole"), *[Number(0, 0, "whole")] * 3]
        number = number_at(tokens, i, grouped=False)
        if number is None or number.style == "fraction":
            number = Number(float(token.text.replace(",", ".")), i + 1, "whole")
        numbers.append(number)
        i = number.end
    if _commas_unsure(tokens):
        return [*numbers, *numbers, *numbers, *numbers]
    return numbers


def _commas_unsure(tokens: list[Token]) -> bool:
    """``5,9,720,19``: nobody can tell which comma is a decimal one."""
    decimal = any(token.kind == "n" and "," in token.text for token in tokens)
    points = any(token.kind == "n" and "." in token.text for token in tokens)
    return decimal and not points and _tight_commas(tokens)


def _tight_commas(tokens: list[Token]) -> bool:
    """Whether a comma with no space after it separates two numbers."""
    return any(
        token.text == "," and i + 1 < len(tokens) and not tokens[i + 1].gap for i, token in enumerate(tokens)
    )


def _has_sign(tokens: list[Token]) -> bool:
    return any(
        token.text in "-+" and i + 1 < len(tokens) and not tokens[i + 1].gap and (i == 0 or token.gap)
        for i, token in enumerate(tokens)
    )


def _is_range(tokens: list[Token], numbers: list[Number]) -> bool:
    """``6-6.5`` may be what a strip says."""
    return len(numbers) == 2 and any(token.text == "-" for token in tokens)


def _line(cleaned: Cleaned, numbers: list[Number]) -> Line:
    items = [Item("#num", i, i + 1, replace(number)) for i, number in enumerate(numbers)]
    keys = [item.key for item in items]
    return Line(
        cleaned, items, "#num " * len(items), framed(keys), [5 * i for i in range(len(items))], [], []
    )
