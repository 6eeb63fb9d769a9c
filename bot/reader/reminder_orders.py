"""What a household says about a reminder that it has: to pause it, go on with it, move it or drop it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from typing import Literal
from zoneinfo import ZoneInfo

from bot.reader.reading import read
from bot.reader.result import ReaderSettings
from domain.facts import Reminder

__all__ = ["ReminderAction", "ReminderOrder", "reminder_order"]

ReminderAction = Literal["pause", "resume", "move", "stop"]

LONGEST = 200
"""A longer text is no order. [characters]"""


@dataclass(frozen=True, slots=True)
class ReminderOrder:
    """What to do with which reminder.

    about : the words that name it, lower case; empty: all of them.
    to : for ``move``, the new time, aware; ``None`` where the text gives none that can be read.
    """

    action: ReminderAction
    about: str
    to: datetime | None = None


_POLITE = r"(?:please |pls |can you |could you )?"
_END = r"(?: please| pls| for now| for a while| for good)?[.!]?"
_OF = r"(?:reminders?|reminding(?: us| me)?|alerts?)(?: (?:to|of|about|for|that))?"
_ANY_MORE = r"(?: any ?more| again)?"
_WHICH = rf"(?:the |our |my |all )*(?:{_OF} ?(?P<a>.*?)|(?P<b>.+?) {_OF})"
_ORDERS: tuple[tuple[ReminderAction, str], ...] = (
    ("pause", rf"(?:pause|mute|silence) {_WHICH}"),
    ("resume", rf"(?:resume|unpause|unmute|restart) {_WHICH}"),
    ("stop", rf"(?:delete|cancel|remove|drop|end|stop) {_WHICH}{_ANY_MORE}"),
    ("stop", rf"(?:don'?t|do not|never|no longer) remind (?:us|me) (?:to |of |about )?(?P<a>.+?){_ANY_MORE}"),
    (
        "move",
        rf"(?:move|postpone|shift|reschedule|put off|delay) (?:{_WHICH}|(?:the |our |my )*(?P<c>.+?))"
        r" (?:to|until|till|by) (?P<to>.+?)",
    ),
)
_SAID = tuple((action, re.compile(f"{_POLITE}{words}{_END}", re.IGNORECASE)) for action, words in _ORDERS)
_LITTLE = re.compile(r"^(?:the|our|my|to|of|about|for|that)\s+", re.IGNORECASE)


def reminder_order(
    text: str, *, now: datetime, zone: ZoneInfo, settings: ReaderSettings
) -> ReminderOrder | None:
    """What a text orders about a reminder; ``None`` where it says something else.

    now : when it was sent, in the household's zone. zone, settings : as for ``read``.
    """
    said = " ".join(text.split())
    if len(said) > LONGEST:
        return None
    for action, pattern in _SAID:
        match = pattern.fullmatch(said)
        if match is None:
            continue
        groups = match.groupdict()
        about = _LITTLE.sub("", (groups.get("a") or groups.get("b") or groups.get("c") or "").strip()).lower()
        if action == "stop" and not about:
            return None  # nobody drops everything in four words
        if action != "move":
            return ReminderOrder(action, about)
        to = _moment(groups["to"], now, zone, settings)
        if to is None and "remind" not in said.lower():
            return None  # ``move the kale to C4``
        return ReminderOrder(action, about, to)
    return None


def _moment(phrase: str, now: datetime, zone: ZoneInfo, settings: ReaderSettings) -> datetime | None:
    """When a phrase means, read as the time of a new reminder is."""
    taken = read(f"remind us {phrase} to look", now=now, zone=zone, settings=settings)
    (found,) = taken.facts if len(taken.facts) == 1 else (None,)
    fact = found.fact if found is not None else None
    if isinstance(fact, Reminder) and fact.text == "look" and fact.rrule is None:
        return fact.at
    return None
