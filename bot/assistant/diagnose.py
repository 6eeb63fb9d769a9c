"""Why a value of the water moves: the question put to the log, and what is said unasked."""

from __future__ import annotations

import re
from dataclasses import replace

from bot.assistant.chart_replies import WhyShown
from bot.assistant.replies import Logged
from bot.assistant.scene import Scene
from bot.reader.charts import quantities_named
from domain.bands import verdict
from domain.diagnosis import Way, diagnosed, plain_pattern
from domain.history import Quantity
from domain.past import Moved, Past, past

__all__ = ["noticed", "why"]

_WARMTH = re.compile(r"\bwater\b.*\b(?:warm|hot|cold)", re.I)
_UP = re.compile(
    r"\b(?:climb\w*|ris\w*|rose|up|upwards?|high\w*|increas\w*|grow\w*|jump\w*|warm\w*|hot)\b", re.I
)
_DOWN = re.compile(
    r"\b(?:fall\w*|fell|drop\w*|down|downwards?|low\w*|decreas\w*|sink\w*|crash\w*|cold\w*)\b", re.I
)


def why(scene: Scene, text: str) -> WhyShown | None:
    """The answer to why a value moves; ``None`` where the question names none, or it was never read."""
    named = quantities_named(text) or (("water_temp_c",) if _WARMTH.search(text) else ())
    if not named or named[0] == "level_l":
        return None
    what = named[0]
    seen = past(scene.told, scene.at)
    if not (read := seen.read(what)):
        return None
    moved = _moved(seen, what, _way(text, what)) or Moved(what, read[-1], read[-1])
    return WhyShown(
        what=what,
        way=_way(text, what),
        moved=moved,
        findings=diagnosed(seen, what, _way(text, what)),
        verdict=verdict(moved.after.value, scene.bands.of(what)),
        now=scene.at,
    )


def noticed(scene: Scene, reply: Logged, message_key: str) -> Logged:
    """The reply with what has become plain by this message; not what was plain before it.

    message_key : of the message whose reading the reply is about.
    """
    if reply.reading is None:
        return reply
    found = plain_pattern(past(scene.told, scene.at))
    if found is None:
        return reply
    before = [entry for entry in scene.told if entry.message_key != message_key]
    known = plain_pattern(past(before, scene.at))
    if known is not None and known.pattern == found.pattern:
        return reply
    return replace(reply, pattern=found)


def _moved(seen: Past, what: Quantity, way: Way | None) -> Moved | None:
    """The change that is asked about: of the last days, or since the last hand in the water where only that
    goes the way that the question says."""
    over_days = seen.moved(what)
    hands = seen.hands()
    since = seen.moved_since(what, hands[-1].at) if hands else None
    if way is None or over_days is None or since is None:
        return over_days
    sign = 1 if way == "up" else -1
    return since if sign * over_days.by <= 0 < sign * since.by else over_days


def _way(text: str, what: Quantity) -> Way | None:
    """Which way the question says the value goes; ``None`` where it says neither or both."""
    spoken = re.sub(r"\bph[ -]?(?:up|down)\b", " ", text, flags=re.I) if what == "ph" else text
    up, down = bool(_UP.search(spoken)), bool(_DOWN.search(spoken))
    return None if up == down else "up" if up else "down"
