"""When a number without a name goes on with the name said last: ``ph 6.4, 5.9 after 3 ml down``."""

from __future__ import annotations

from bot.reader.fillers import CHANGES, words
from bot.reader.items import Item

__all__ = ["BREAKS", "NAMED", "is_second", "moves_from", "tells_later"]

BREAKS = words(", ; . ! ? nl and then but & because so ( ) vs versus")
"""Where one clause ends and another begins."""

NAMED = frozenset(("PH", "EC", "PPM", "CF", "STRENGTH", "TEMP", "WTEMP", "RH"))
"""Names that are asked for their number where they stand without one."""

_DOSED = words("#vol #mass #cnt #oz #prod ADDED DOWN UP")
MOST_APART = 1.5
"""Two numbers are of one name where the larger is less than so many times the smaller."""


def tells_later(keys: list[str], i: int) -> bool:
    """``6.4, 5.9 after``, ``6.4, 5.9 after 3 ml down``, ``6.4, 5.9 now``: item ``i`` is the later value."""
    word, following = keys[i + 1], keys[i + 2]
    if word in ("after", "afterwards", "later") and following in ("", ",", ".", "nl"):
        return True
    before = i - 1
    while keys[before] in ("is", "it's", "its", "it"):
        before -= 1
    if keys[before] not in BREAKS or keys[i] != "#num":
        return False
    return (word == "after" and following in _DOSED) or (
        word == "now" and (not following or following in BREAKS)
    )


def is_second(items: list[Item], keys: list[str], i: int) -> bool:
    """``ph 6.4 and 5.9``: item ``i`` is another number for the same name."""
    if keys[i - 1] not in ("and", "or") or keys[i - 2] != "#num" or keys[i] != "#num":
        return False
    low, high = sorted((float(items[i - 2].value.value), float(items[i].value.value)))
    ends = not keys[i + 1] or keys[i + 1] in BREAKS or keys[i + 1] in NAMED
    return ends and 0 < high < MOST_APART * low


def moves_from(keys: list[str], i: int) -> bool:
    """Whether item ``i`` ends ``6.4``, or ``6.4 down``, before ``to 5.9``."""
    while keys[i] in CHANGES:
        i -= 1
    return keys[i] == "#num"
