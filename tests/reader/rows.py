"""How the rows of the reader's corpus are written: a text, and the facts that it gives by the contract.

``when`` is the time of the message where a row gives none; questions and commands have none.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

NOW = "2026-05-04T19:05:00+01:00"
"""A Monday evening in Lisbon."""

Data = dict[str, Any]


@dataclass(frozen=True)
class Row:
    """One message and what it says. ``unclear``: reasons, in the order of the text."""

    text: str
    facts: tuple[Data, ...] = ()
    unclear: tuple[str, ...] = ()
    settings: Data = field(default_factory=dict)
    now: str = NOW
    tz: str = "Europe/Lisbon"


def say(
    text: str,
    *facts: Data,
    unclear: str = "",
    us: bool = False,
    now: str = NOW,
    tz: str = "Europe/Lisbon",
    **settings: Any,
) -> Row:
    """A row. ``unclear``: the reasons, separated by spaces; ``us``: a household with US units."""
    known = {"units": "us", **settings} if us else settings
    facts = tuple({**fact, "when": now} if fact.get("when") == NOW else fact for fact in facts)
    return Row(text, facts, tuple(unclear.split()), known, now, tz)


def silent(text: str) -> Row:
    """Talk that is not for the record."""
    return Row(text)


def _maker(kind: str, *, timeless: bool = False) -> Callable[..., Data]:
    def make(**keys: Any) -> Data:
        keys = {name.removesuffix("_"): value for name, value in keys.items()}
        if timeless:
            return {"kind": kind, **keys}
        return {"kind": kind, "when": NOW, **keys}

    return make


emergency = _maker("emergency")
reading = _maker("reading")
dose = _maker("dose")
top_up = _maker("top_up")
change = _maker("water_change")
sow = _maker("sow")
reseed = _maker("reseed")
emerged = _maker("emerged")
lost = _maker("lost")
moved = _maker("moved")
tended = _maker("tended")
harvest = _maker("harvest")
removed = _maker("removed")
stage = _maker("stage")
chore = _maker("chore")
observation = _maker("observation")
question = _maker("question", timeless=True)
setting = _maker("setting")
stock = _maker("stock")
away = _maker("away")
command = _maker("command", timeless=True)
reminder = _maker("reminder")
