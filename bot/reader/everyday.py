"""Names of values are everyday words too: when a number beside one is no reading, or only perhaps one."""

from __future__ import annotations

from bot.reader.fillers import CHANGES
from bot.reader.items import Line
from bot.reader.numbers import Number, Quantity
from bot.reader.slots import ACCEPTS, BY_UNIT, JOINTS, LEAST_DOOR, STRICT

__all__ = ["is_change", "is_clear_oxygen", "is_door", "is_ph_moved", "is_weak", "is_weather"]

_OTHER_VALUES = STRICT | BY_UNIT.keys() - {"#temp"}
"""What makes a temperature beside it one of the water."""


def is_change(line: Line, i: int, j: int) -> bool:
    """``ph dropped 0.3``, ``ec up by 0.2``: a difference, no value."""
    between = [line.around[k] for k in range(i + 1, j)]
    moved = [k for k, key in enumerate(between) if key in CHANGES]
    return bool(moved) and not any(
        key in ("to", "from", "at", "is", ":", "=", "now", "was") for key in between[moved[-1] + 1 :]
    )


def is_clear_oxygen(line: Line, i: int, j: int) -> bool:
    """``do 8`` is oxygen only where nothing makes it the verb."""
    after = line.around[j + 1]
    typed = line.typed(i, i)
    before = line.around[i - 2] if line.around[i - 1] in JOINTS else line.around[i - 1]
    number = line.items[j].value
    return (
        j > i + 1
        or typed == "DO"
        or len(typed) > 2
        or number.style in ("point", "comma")
        or after in ACCEPTS
        or before in ("#num", "#temp", "#pct", "#ec", "#ppm")
    ) and (after in ("", ",", ".", ";", "nl", "and", ")", "]") or after in ACCEPTS)


def is_ph_moved(line: Line, i: int) -> bool:
    """``ph down to 5.9`` speaks of the value, not of the bottle."""
    return line.typed(i, i).lower().split() in (["ph", "down"], ["ph", "up"])


def is_weak(line: Line, slot: str, first: int, last: int) -> bool:
    """Whether the name is an everyday word, that talk may use with a number too."""
    if slot in ("PH", "EC", "PPM", "CF"):
        return False
    typed = line.typed(first, last).lower()
    if "level" in typed and slot != "LEVEL":
        return False
    return not any(name in typed for name in ("water temp", "tank temp", "humidity"))


def is_door(line: Line, first: int, number: Number) -> bool:
    """``room 204`` is where people meet."""
    return number.value >= LEAST_DOOR and line.typed(first, first).lower() == "room"


def is_weather(line: Line, i: int) -> bool:
    """``it's 30 degrees today``: no name, no scale and no other value says that it is of the water."""
    number = line.items[i].value
    is_unsaid = isinstance(number, Quantity) and number.unit == "deg"
    return is_unsaid and _OTHER_VALUES.isdisjoint(line.around)
