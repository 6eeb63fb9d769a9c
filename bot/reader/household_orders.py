"""What a household says about itself: who belongs to it, who may do what, who did what, which tank."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

__all__ = ["HouseholdAction", "HouseholdOrder", "household_order"]

HouseholdAction = Literal[
    "invite", "members", "role", "remove", "hand_over", "leave", "who_did", "tank", "dosing"
]

LONGEST = 120
"""A longer text is no order. [characters]"""


@dataclass(frozen=True, slots=True)
class HouseholdOrder:
    """What is to be done.

    name : of a person or a tank, as typed; empty where none is named.
    role : the role to give. days : how far back to look, today included.
    certain : no other meaning of the words is left, whatever the household's members are called.
    """

    action: HouseholdAction
    name: str = ""
    role: str = ""
    days: int = 0
    certain: bool = True


_ROLE = r"(?:an? |the )?(?P<role>keeper|helper|onlooker)"
_HOME = r"(?:from|of) (?:the |our )?(?:household|home|group)"
_SAID: tuple[tuple[HouseholdAction, re.Pattern[str]], ...] = tuple(
    (action, re.compile(f"(?:please |pls )?{words}[.!?]?", re.IGNORECASE))  # type: ignore[misc]
    for action, words in (
        ("invite", rf"invite(?: {_ROLE}| somebody| someone)?"),
        ("members", r"(?:who is in|who'?s in|who belongs to|members of) (?:the |our )?(?:household|home)"),
        ("role", rf"make (?P<name>.+?) {_ROLE}(?: of (?:the |our )?household)?"),
        ("remove", rf"remove (?P<name>.+?) (?P<home>{_HOME})"),
        ("remove", r"remove (?P<name>\S+(?: \S+)?)"),
        ("hand_over", r"hand (?:it |everything |the household )?over to (?P<name>.+?)"),
        ("leave", r"(?:i )?leave (?:the |this |our )?household"),
        ("who_did", r"who did what(?: (?P<when>today|this week|last week|this month))?"),
        ("tank", r"(?:use|switch to) (?:the )?(?P<name>.+?) tank"),
        ("tank", r"tank:? (?P<name>[a-z]\S*(?: [a-z]\S*)?)"),
        ("dosing", r"i'?(?:m| am) dosing(?: now)?"),
    )
)
_DAYS = {"today": 1, "this week": 7, "last week": 14, "this month": 31}
"""How far back each is looked; a week where nothing is said."""
_UNSURE = frozenset({"remove", "tank", "role"})


def household_order(text: str) -> HouseholdOrder | None:
    """What a text orders; ``None`` where it says something else."""
    said = " ".join(text.split())
    if len(said) > LONGEST:
        return None
    for action, pattern in _SAID:
        match = pattern.fullmatch(said)
        if match is not None:
            groups = {key: value or "" for key, value in match.groupdict().items()}
            return HouseholdOrder(
                action,
                name=groups.get("name", ""),
                role=groups.get("role", "").lower(),
                days=_DAYS.get(groups.get("when", "").lower(), 7) if action == "who_did" else 0,
                certain=action not in _UNSURE or bool(groups.get("home")),
            )
    return None
