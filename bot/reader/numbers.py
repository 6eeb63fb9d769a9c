"""Numbers and quantities: what ``1,400``, ``1½``, ``a couple`` and ``5ml`` say."""

from __future__ import annotations

from dataclasses import dataclass

from bot.reader.fillers import words
from bot.reader.scan import Token, word_at
from domain.units import UNITS, Dimension

__all__ = ["MAX_DIGITS", "Number", "Quantity", "number_at", "quantity_at"]

MAX_DIGITS = 9
"""No number about a tank has more digits; longer ones are phone numbers or noise."""

WORDS = {
    word: float(value)
    for value, word in enumerate(
        [
            "zero",
            "one",
            "two",
            "three",
            "four",
            "five",
            "six",
            "seven",
            "eight",
            "nine",
            "ten",
            "eleven",
            "twelve",
        ],
    )
}
_NOT_FINITE = frozenset(("nan", "inf", "infinity"))
_PARTS = {"half": 0.5, "quarter": 0.25, "third": 1 / 3}
_FIRST_WORDS = frozenset((*WORDS, *_NOT_FINITE, *_PARTS, "couple", "a"))


@dataclass(slots=True)
class Number:
    """A number as typed.

    end : index of the token after it.
    style : ``point`` or ``comma`` where it has decimals, ``grouped`` for ``1,400`` and ``1 400``, ``whole``,
        ``fraction`` for ``1/2``, ``word`` for ``six``, ``half`` for ``half`` and ``quarter`` alone.
    finite : false for ``NaN``, ``inf`` and more than nine digits.
    """

    value: float
    end: int
    style: str
    finite: bool = True


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its unit; ``value`` is in ``unit``, ``typed`` in the unit as typed.

    unit : ``ml``, ``g``, ``drop`` ..., ``c``, ``f`` or ``deg`` (a temperature that says no scale).
    """

    value: float
    unit: str
    dimension: Dimension
    end: int
    typed: float
    finite: bool = True


def number_at(tokens: list[Token], i: int, *, grouped: bool = True) -> Number | None:
    """The number that starts at token ``i``, if one does. ``grouped``: ``1 400`` may be one number."""
    token = tokens[i]
    if token.kind == "n":
        return _digits_at(tokens, i, grouped)
    text = token.text
    if text not in _FIRST_WORDS:
        return None
    if text in WORDS and word_at(tokens, i + 1) == "point" and word_at(tokens, i + 2) in WORDS:
        decimals = int(WORDS[word_at(tokens, i + 2)])
        return Number(WORDS[text] + decimals / (10 if decimals < 10 else 100), i + 3, "word")
    if text in WORDS:
        return _and_a_half(tokens, _in_parts(tokens, Number(WORDS[text], i + 1, "word")))
    if text in _PARTS:
        return Number(_PARTS[text], _skip_article(tokens, i + 1), "half")
    if text in _NOT_FINITE:
        return Number(float("nan"), i + 1, "word", finite=False)
    if text == "couple":
        return Number(2.0, _skip(tokens, i + 1, "of"), "word")
    if text == "a" and word_at(tokens, i + 1) in ("third", "quarter"):
        return Number(_PARTS[word_at(tokens, i + 1)], i + 2, "half")
    if text == "a" and word_at(tokens, i + 1) == "couple":
        return Number(2.0, _skip(tokens, i + 2, "of"), "word")
    return None


def _digits_at(tokens: list[Token], i: int, grouped: bool) -> Number | None:
    text = tokens[i].text
    if len(text) <= MAX_DIGITS and text.isdigit():
        return _with_tail(tokens, _whole_at(tokens, i, grouped))
    if len(text) > MAX_DIGITS and sum(c.isdigit() for c in text) > MAX_DIGITS:
        return Number(float("nan"), i + 1, "whole", finite=False)
    if text.count(".") > 1 or "e" in text or ",," in text or ".," in text or ",." in text:
        return Number(float("nan"), i + 1, "whole", finite=False)
    if "," in text and ("." in text or _is_thousands(text)):
        number = Number(float(text.replace(",", "")), i + 1, "grouped")
    elif "," in text:
        number = Number(float(text.replace(",", ".")), i + 1, "comma")
    else:
        number = Number(float(text), i + 1, "point")
    return _with_tail(tokens, number)


def _with_tail(tokens: list[Token], number: Number) -> Number:
    """``number`` with what may be written right behind it: ``1.4k``, ``1 and a half``."""
    if number.style == "fraction":
        return number
    following = tokens[number.end] if number.end < len(tokens) else None
    if following is not None and following.text == "k" and not following.gap:
        return Number(number.value * 1000, number.end + 1, "grouped")
    return _and_a_half(tokens, number)


def _whole_at(tokens: list[Token], i: int, grouped: bool) -> Number:
    text = tokens[i].text
    fraction = _fraction_at(tokens, i)
    if fraction is not None:
        return Number(fraction, i + 3, "fraction")
    if i + 1 < len(tokens):
        following = tokens[i + 1]
        if (
            grouped
            and len(text) <= 3
            and not text.startswith("0")
            and following.kind == "n"
            and len(following.text) == 3
            and following.text.isdigit()
            and following.start - tokens[i].end == 1
        ):
            return Number(float(text + following.text), i + 2, "grouped")
        fraction = _fraction_at(tokens, i + 1)
        if fraction is not None and following.gap and len(text) <= 3:
            return Number(float(text) + fraction, i + 4, "fraction")
    return Number(float(text), i + 1, "whole")


def _is_thousands(text: str) -> bool:
    """``1,400`` but not ``0,125``."""
    head, _, _ = text.partition(",")
    return len(text) == len(head) + 4 * text.count(",") and not head.startswith("0")


def _fraction_at(tokens: list[Token], i: int) -> float | None:
    """``1/2``, ``3/4`` and the like, as a number below one."""
    if i + 2 >= len(tokens) or tokens[i + 1].text != "/" or tokens[i + 1].gap or tokens[i + 2].gap:
        return None
    over, under = tokens[i].text, tokens[i + 2].text
    if over not in ("1", "2", "3") or under not in ("2", "3", "4", "8") or int(over) >= int(under):
        return None
    if i + 3 < len(tokens) and tokens[i + 3].text == "/" and not tokens[i + 3].gap:
        return None
    return int(over) / int(under)


def _in_parts(tokens: list[Token], number: Number) -> Number:
    """``two thirds``, ``three quarters``."""
    part = _PARTS.get(word_at(tokens, number.end).removesuffix("s"))
    if part is None or not word_at(tokens, number.end).endswith("s"):
        return number
    return Number(number.value * part, number.end + 1, "half")


def _and_a_half(tokens: list[Token], number: Number) -> Number:
    end = number.end
    if (
        word_at(tokens, end) == "and"
        and word_at(tokens, end + 1) == "a"
        and word_at(tokens, end + 2) == "half"
    ):
        return Number(number.value + 0.5, number.end + 3, number.style)
    return number


def _skip_article(tokens: list[Token], i: int) -> int:
    """After ``half`` and the like: ``half a cup``, ``quarter of a cup``."""
    if word_at(tokens, i) == "of" and word_at(tokens, i + 1) in ("a", "an"):
        return i + 2
    return i + 1 if word_at(tokens, i) in ("a", "an") else i


def _skip(tokens: list[Token], i: int, word: str) -> int:
    return i + 1 if word_at(tokens, i) == word else i


def quantity_at(tokens: list[Token], number: Number) -> Quantity | None:
    """The quantity that ``number`` is together with the unit after it; ``None`` for no unit."""
    spelling, end = _unit_spelling(tokens, number.end)
    if not spelling:
        return None
    if spelling == "deg":
        return Quantity(number.value, "deg", "temperature", end, number.value, number.finite)
    unit = UNITS[spelling]
    typed = number.value
    if unit.dimension in ("volume", "count") and _goes_on_by_half(tokens, end):
        typed, end = typed + 0.5, end + 3
    return Quantity(typed * unit.factor, unit.canonical, unit.dimension, end, typed, number.finite)


def _goes_on_by_half(tokens: list[Token], i: int) -> bool:
    """``a gallon and a half``, but not ``a litre and a half scoop``."""
    said = tuple(word_at(tokens, i + k) for k in range(3))
    return said == ("and", "a", "half") and word_at(tokens, i + 3) in ("", "of", ",", ".", "and", "\n", "!")


_DEGREES = words("° deg degs degree degrees grad grado grados grau graus gradi stopni")
_SCALES = {
    "c": "celsius",
    "celsius": "celsius",
    "centigrade": "celsius",
    "f": "fahrenheit",
    "fahrenheit": "fahrenheit",
}
_SLASHED = {("mg", "l"): "mg/l", ("ms", "cm"): "ms/cm", ("us", "cm"): "us/cm", ("ds", "m"): "ds/m"}
_GALLONS = frozenset(("gal", "gals", "gallon", "gallons"))
_SINGLE_LETTERS = frozenset("cflg")
_UNIT_WORDS = (
    frozenset(UNITS)
    | _DEGREES
    | frozenset(_SCALES)
    | frozenset(first for first, _ in _SLASHED)
    | frozenset(("fl", "fluid", "tea", "table", "imp", "imperial", "uk", "us", "%"))
)
"""Words with which a unit starts."""


def _unit_spelling(tokens: list[Token], i: int) -> tuple[str, int]:
    """A key of ``UNITS`` (or ``deg``) that starts at token ``i``, and the index after it; ``""`` for none."""
    first = word_at(tokens, i)
    if first not in _UNIT_WORDS:
        return "", i
    if first in _DEGREES:
        scale = _SCALES.get(word_at(tokens, i + 1))
        return (scale, i + 2) if scale and not _starts_label(tokens, i + 1) else ("deg", i + 1)
    if first in _SCALES:
        return ("", i) if _starts_label(tokens, i) else (_SCALES[first], i + 1)
    second = word_at(tokens, i + 1)
    if (first, word_at(tokens, i + 2)) in _SLASHED and second == "/":
        return _SLASHED[first, word_at(tokens, i + 2)], i + 3
    if first in ("fl", "fluid"):
        skip = 2 if second == "." else 1
        if word_at(tokens, i + skip) in ("oz", "ozs", "ounce", "ounces"):
            return "fluid_ounce", i + skip + 1
        return "", i
    if first in ("tea", "table") and second in ("spoon", "spoons"):
        return ("tsp" if first == "tea" else "tbsp"), i + 2
    if first in ("imp", "imperial", "uk") and second in _GALLONS:
        return "imperial_gallon", i + 2
    if first == "us" and second in _GALLONS:
        return second, i + 2
    if first == "%" and i + 1 < len(tokens) and tokens[i + 1].kind == "w" and not tokens[i + 1].gap:
        return "", i
    if first in UNITS and not (first in _SINGLE_LETTERS and _starts_label(tokens, i)):
        return first, _skip(tokens, i + 1, ".") if first in ("oz", "gal", "tsp", "tbsp") else i + 1
    return "", i


def _starts_label(tokens: list[Token], i: int) -> bool:
    """Whether a letter is the head of a site's label (``C3``) and so no unit."""
    return i + 1 < len(tokens) and tokens[i + 1].kind == "n" and not tokens[i + 1].gap
