"""Who of a household may do what: one table, asked by everything that acts for a person."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal, get_args

from domain.facts import (
    Away,
    Command,
    Emergency,
    Fact,
    Growing,
    Product,
    Question,
    Reminder,
    Setting,
)

__all__ = ["MAY", "ROLES", "Deed", "Role", "deed_of", "may"]

Role = Literal["keeper", "helper", "onlooker", "removed"]
"""A keeper looks after the household, a helper after the tank, an onlooker looks on. Who was removed may
only ask for help in an emergency."""

ROLES: tuple[Role, ...] = get_args(Role)

Deed = Literal[
    "emergency",
    "leave",
    "see",
    "log",
    "undo_own",
    "undo_others",
    "remind",
    "away",
    "settings",
    "invite",
    "members",
    "hand_over",
    "erase",
]

_KEEPER = frozenset({"keeper"})
_HANDS = frozenset({"keeper", "helper"})
_INSIDE = frozenset({"keeper", "helper", "onlooker"})
_ANYBODY = frozenset(ROLES)

MAY: Mapping[Deed, frozenset[str]] = MappingProxyType(
    {
        "emergency": _ANYBODY,  # somebody in trouble is helped, whoever it is
        "leave": _INSIDE,
        "see": _INSIDE,  # what the journal holds, what is due, what to add
        "log": _HANDS,  # readings, doses, water, chores, plants
        "undo_own": _HANDS,
        "undo_others": _HANDS,  # whoever is at the tank puts right what the other one mistyped
        "remind": _HANDS,  # reminders and intervals
        "away": _HANDS,
        # The tank, its bottles, units, bands: whoever is at the tank reads the label. Each change is kept
        # with who said it, and anybody's undo takes it back.
        "settings": _HANDS,
        "invite": _KEEPER,
        "members": _KEEPER,  # give a role, remove somebody
        "hand_over": _KEEPER,
        "erase": _KEEPER,  # the whole household; a person may always take themselves out
    }
)


def may(role: str, deed: Deed) -> bool:
    """Whether a member with this role may do this."""
    return role in MAY[deed]


def deed_of(fact: Fact) -> Deed:
    """What a member does who says this."""
    match fact:
        case Emergency():
            return "emergency"
        case Question() | Command():
            return "see"
        case Setting(name="interval") | Reminder():
            return "remind"
        case Away():
            return "away"
        case Setting() | Product() | Growing():
            return "settings"
        case _:
            return "log"
