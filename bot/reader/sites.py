"""Site labels: ``A3``, ranges, lists and rows. A label is never read as a quantity."""

from __future__ import annotations

from dataclasses import dataclass

from bot.reader.scan import Token, word_at

__all__ = ["Sites", "sites_at"]

MAX_RANGE = 60
"""No household names more sites at once; a longer range is a slip."""

_JOINTS = frozenset((",", "and", "&", "+", "/", "n"))
_BEFORE_ROWS = frozenset(("row", "rows", "all", "whole", "entire"))
_TO = frozenset(("to", "thru", "through", "till", "-"))


@dataclass(frozen=True, slots=True)
class Sites:
    """Labels that stand together. ``end``: index of the token after them."""

    labels: tuple[str, ...]
    end: int


def sites_at(tokens: list[Token], i: int, *, moving: bool = False) -> Sites | None:
    """The sites that start at token ``i``, if any do.

    moving : ``A1 to C4`` is a way from one to the other, not a range.
    """
    if len(tokens[i].text) > 1 and tokens[i].text not in _BEFORE_ROWS:
        return None
    first = _group(tokens, i, moving)
    if first is None:
        return None
    labels, end = list(first.labels), first.end
    while True:
        start = end
        while start < len(tokens) and tokens[start].text in _JOINTS and start - end < 2:
            start += 1
        following = _group(tokens, start, moving) if start > end or _is_next(tokens, start) else None
        if following is not None and i > 0 and _is_subject(tokens, following, i, tokens[end].text):
            following = None
        if following is None and start > end:
            following = _bare_number(tokens, start, labels[-1], end)
        if following is None or (
            moving and start > end and word_at(tokens, following.end) in ("to", "into", ">")
        ):
            return Sites(tuple(dict.fromkeys(labels)), end)
        labels += following.labels
        end = following.end


def _is_subject(tokens: list[Token], sites: Sites, i: int, joint: str) -> bool:
    """``pinched A1, B2 looks droopy``: one site with a verb of its own goes on with no list.

    i : the token with which the list begins. joint : what stands before ``sites``.
    """
    if len(sites.labels) != 1:
        return False
    verb = word_at(tokens, sites.end)
    if joint == "," and verb in _SINGULAR:
        return True
    done = [token.text for token in tokens[max(0, i - 4) : i]]
    return verb in ("is", "has", *_SINGULAR) and any(len(word) > 4 and word.endswith("ed") for word in done)


_SINGULAR = frozenset(("looks", "seems", "needs"))


def _is_next(tokens: list[Token], i: int) -> bool:
    """``A1 A2``: a label right after another."""
    return i + 1 < len(tokens) and len(tokens[i].text) == 1 and tokens[i].text not in "ax"


def _group(tokens: list[Token], i: int, moving: bool) -> Sites | None:
    """One label, one range or one row."""
    row = _row(tokens, i)
    if row is not None:
        return row
    first = _label(tokens, i)
    if first is None:
        return None
    letter, number, end, more = first
    labels = [f"{letter}{number}", *(f"{letter}{n}" for n in more)]
    sign = word_at(tokens, end)
    if sign not in _TO or more:
        return Sites(tuple(labels), end)
    if sign != "-" and moving:
        return Sites(tuple(labels), end)
    last = _label(tokens, end + 1)
    if last is not None and not last[3]:
        if last[0] != letter:
            return Sites(tuple(labels), end) if moving else _grid(first, last, labels)
        return _range(letter, number, last[1], last[2], labels, end)
    token = tokens[end + 1] if end + 1 < len(tokens) else None
    if token is not None and token.kind == "n" and token.text.isdigit() and not (sign == "-" and token.gap):
        return _range(letter, number, token.text, end + 2, labels, end)
    return Sites(tuple(labels), end)


def _range(letter: str, low: str, high: str, end: int, labels: list[str], end_of_first: int) -> Sites:
    first, last = sorted((int(low), int(high)))
    if last - first > MAX_RANGE:
        return Sites(tuple(labels), end_of_first)
    return Sites(tuple(f"{letter}{n}" for n in range(first, last + 1)), end)


def _grid(
    first: tuple[str, str, int, list[str]], last: tuple[str, str, int, list[str]], labels: list[str]
) -> Sites:
    """``A1-F5``: every row from A to F with its sites 1 to 5; the first site alone where that is too much."""
    (low, start, end, _), (high, stop, end_of_last, _) = first, last
    rows = [chr(code) for code in range(ord(min(low, high)), ord(max(low, high)) + 1)]
    numbers = range(min(int(start), int(stop)), max(int(start), int(stop)) + 1)
    if len(rows) * len(numbers) > MAX_RANGE:
        return Sites(tuple(labels), end)
    return Sites(tuple(f"{row}{number}" for row in rows for number in numbers), end_of_last)


def _label(tokens: list[Token], i: int) -> tuple[str, str, int, list[str]] | None:
    """(letter, number, index after it, further numbers of ``A1,2``) of a label at token ``i``."""
    if i + 1 >= len(tokens):
        return None
    letter, number = tokens[i], tokens[i + 1]
    if letter.kind != "w" or len(letter.text) != 1 or not letter.text.isascii():
        return None
    if (
        number.kind != "n"
        or (number.gap and not _is_spaced(tokens, i))
        or (i > 0 and tokens[i - 1].kind == "n" and not letter.gap)
    ):
        return None
    head, *more = number.text.split(",")
    if not all(n.isdigit() and 1 <= len(n) <= 2 for n in (head, *more)):
        return None
    if i + 2 < len(tokens) and not tokens[i + 2].gap and tokens[i + 2].kind == "w":
        return None
    return letter.text.upper(), head, i + 2, more


def _is_spaced(tokens: list[Token], i: int) -> bool:
    """``in a 1``: after a word of place, and with nothing counted behind it."""
    after = tokens[i + 2] if i + 2 < len(tokens) else None
    return (
        word_at(tokens, i - 1) in ("in", "at", "into") and i > 0 and (after is None or after.text in ".,;!\n")
    )


def _bare_number(tokens: list[Token], i: int, last: str, end: int) -> Sites | None:
    """``3`` in ``B1, B2 and 3`` or ``A1/2/3``: a number that can only go on with the row."""
    if i >= len(tokens) or tokens[i].kind != "n" or not tokens[i].text.isdigit() or not last[1:].isdigit():
        return None
    after = tokens[i + 1] if i + 1 < len(tokens) else None
    tight = not tokens[end].gap and not tokens[i].gap
    if int(tokens[i].text) <= int(last[1:]) or len(tokens[i].text) > 2:
        return None
    closes = after is None or (after.kind == "p" and after.text not in "%°/,&+")
    goes_on = (
        after is not None
        and after.text in (",", "and", "&", "+")
        and _bare_number(tokens, i + 2, last[0] + tokens[i].text, i + 1)
    )
    if tight or goes_on or (closes and tokens[end].text in ("and", "&", "+")):
        if after is not None and not after.gap and after.kind != "p":
            return None
        return Sites((last[0] + tokens[i].text,), i + 1)
    return None


def _row(tokens: list[Token], i: int) -> Sites | None:
    """``row B``, ``rows A and B``, ``all of B``, ``B row``: ``B*``."""
    word = word_at(tokens, i)
    j = i + 1
    if word in ("all", "whole", "entire"):
        while word_at(tokens, j) in ("of", "the", "row"):
            j += 1
        if j == i + 1 and word != "all":
            return None
    elif word not in ("row", "rows"):
        if word_at(tokens, j) == "row" and _is_letter(tokens, i):
            return Sites((word.upper() + "*",), i + 2)
        return None
    if not _is_letter(tokens, j) or _starts_word_after(tokens, j):
        return None
    labels, end = [word_at(tokens, j).upper() + "*"], j + 1
    while word_at(tokens, end) in _JOINTS and _is_letter(tokens, end + 1) and word == "rows":
        labels.append(word_at(tokens, end + 1).upper() + "*")
        end += 2
    return Sites(tuple(labels), end)


def _is_letter(tokens: list[Token], i: int) -> bool:
    return i < len(tokens) and len(tokens[i].text) == 1 and tokens[i].kind == "w" and tokens[i].text.isascii()


def _starts_word_after(tokens: list[Token], i: int) -> bool:
    """``all a 5``: an article, or a label that goes on."""
    return i + 1 < len(tokens) and tokens[i + 1].kind == "n" and not tokens[i + 1].gap
