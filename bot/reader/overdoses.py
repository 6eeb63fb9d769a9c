"""Whether two amounts or two bottles in a sentence tell of one dose that should not have gone in."""

from __future__ import annotations

from bot.reader.fillers import words
from bot.reader.items import Item, Line
from bot.reader.numbers import Number, Quantity

__all__ = ["is_overdose"]


def is_overdose(line: Line, first: int, last: int) -> bool:
    """``50 ml instead of 5``: two amounts, the one that went in the larger; or the wrong bottle."""
    if line.items[last].key not in ("instead", "not"):
        return True
    before = {item.key for item in line.items[:first]}
    if before & _MAYBE or (line.items[last].key == "not" and not before & _SLIPS):
        return False
    if _is_wrong_bottle(line, first, last):
        return True
    put = next(
        (item for item in line.items[first : last + 1] if item.key[0] == "#" and item.value is not None), None
    )
    meant = next((item for item in line.items[last + 1 : last + 3] if item.key in _AMOUNTS), None)
    if put is None or meant is None:
        return False
    return _typed_value(put) > _typed_value(meant)


def _is_wrong_bottle(line: Line, first: int, last: int) -> bool:
    went_in = [item.value for item in line.items[first:last] if item.key in _BOTTLES]
    meant = [item.value for item in line.items[last + 1 : last + 6] if item.key in _BOTTLES]
    return bool(went_in and meant) and went_in[-1] != meant[0]


_BOTTLES = ("#prod", "FOOD")
_MAYBE = words("can could may SHOULD")
_SLIPS = words("oops whoops ops damn shit sorry accidentally mistake argh ugh")
_AMOUNTS = ("#vol", "#mass", "#cnt", "#oz", "#num")


def _typed_value(item: Item) -> float:
    value = item.value
    return (
        value.typed
        if isinstance(value, Quantity)
        else float(value.value)
        if isinstance(value, Number)
        else 0.0
    )
