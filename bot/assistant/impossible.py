"""Hours, repeats, journeys and tanks that do not exist: said so, and not kept with what is left of them."""

from __future__ import annotations

import re
from collections.abc import Sequence

from bot.assistant.hints import Hint
from bot.reader import Found
from domain.facts import Away, Reminder, Setting

__all__ = ["LEAST_TANK_L", "MOST_TANK_L", "possible"]

LEAST_TANK_L, MOST_TANK_L = 1.0, 10_000.0
"""A jar is no tank, and above the contract's largest level nobody keeps one at home. [L]"""

_CLOCK = re.compile(r"(?<![\d:.])(?P<hour>\d{1,2}):(?P<minute>\d{2})(?![\d:])")
_NO_REPEAT = re.compile(r"\bevery (?:0+|zero)(?: \w+)?\b", re.IGNORECASE)
_DAYS = re.compile(
    r"(?<![\d.:/-])(?P<first>\d{1,2})\s*(?:-|–|to|until|till)\s*(?P<last>\d{1,2})\.?\s+[a-z]{3,}",
    re.IGNORECASE,
)


def possible(kept: Sequence[Found], text: str) -> tuple[tuple[Found, ...], tuple[Hint, ...]]:
    """The facts that can be, and what is said of the others.

    text : the message, in which each fact has its span.
    """
    hints = {id(found): _fault(found, text) for found in kept}
    told = tuple(hint for hint in hints.values() if hint is not None)
    return tuple(found for found in kept if hints[id(found)] is None), told


def _fault(found: Found, text: str) -> Hint | None:
    fact = found.fact
    if isinstance(fact, Reminder):
        # What the reader found to be no time is left in the words of the reminder.
        for clock in _CLOCK.finditer(fact.text):
            if int(clock["hour"]) > 24 or int(clock["minute"]) > 59:
                return Hint(code="no_such_hour", about=clock[0])
        never = _NO_REPEAT.search(fact.text)
        return Hint(code="no_such_repeat", about=never[0]) if never else None
    if isinstance(fact, Setting) and fact.name == "tank_volume_l" and fact.value is not None:
        fits = LEAST_TANK_L <= float(fact.value) <= MOST_TANK_L
        return None if fits else Hint(code="no_tank_size", about=text[slice(*found.span)].strip())
    if isinstance(fact, Away) and fact.start is not None and fact.end is not None:
        days = _DAYS.search(text, found.span[0])
        if days and int(days["first"]) > int(days["last"]) and fact.end.year > fact.start.year:
            return Hint(code="ends_before", about=days[0])
    return None
