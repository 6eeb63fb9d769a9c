"""Replies about the household itself as data: who belongs to it, who may come in, who did what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from domain.facts import Fact, ProductRole
from domain.roles import Deed

__all__ = [
    "ChatLost",
    "DidWhat",
    "HouseholdShown",
    "InWater",
    "InviteMade",
    "Joined",
    "LeaveAsked",
    "MemberChanged",
    "MemberLine",
    "OpenInvite",
    "OtherHome",
    "Refused",
    "StepTaken",
    "TanksShown",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberLine:
    """One member. ``person``: their number, for the buttons."""

    person: int
    name: str
    role: str
    is_you: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenInvite:
    number: int
    role: str
    expires_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherHome:
    """Another household of the person's, which this chat may be used for."""

    household: int
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseholdShown:
    """Who belongs to it; ``may_invite`` and ``may_rule``: what the asker may do. ``invites``: the open ones,
    for those who may revoke them."""

    title: str
    members: tuple[MemberLine, ...]
    invites: tuple[OpenInvite, ...]
    others: tuple[OtherHome, ...]
    may_rule: bool
    now: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class InviteMade:
    """A way in for one person. ``token`` is kept in this letter alone."""

    number: int
    token: str
    role: str
    expires_at: datetime
    now: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Joined:
    """Somebody came in. ``choose``: this chat still stands in another household, and may stay there.

    household : the number of the one that was joined.
    """

    title: str
    role: str
    household: int
    choose: bool = False
    already: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberChanged:
    """A member has another role, was removed, has left, or has taken the household over."""

    name: str
    change: Literal["role", "removed", "left", "handed_over", "moved_here"]
    role: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeaveAsked:
    """Whether somebody really wants to leave."""

    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """Something that this member may not do. ``keepers``: whom to ask."""

    deed: Deed
    role: str
    keepers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class InWater:
    """What another member added, not mixed through yet.

    test_at : when it has mixed through.
    """

    who: str
    what: ProductRole
    amount: float
    unit: str
    at: datetime
    test_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class StepTaken:
    """Somebody is putting something in. ``by_you``: whoever asked is the one."""

    who: str
    what: str
    at: datetime
    until: datetime
    by_you: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DidWhat:
    """What each person did, the busiest first: (name, facts). ``days``: how far back."""

    people: tuple[tuple[str, tuple[Fact, ...]], ...]
    days: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ChatLost:
    """A chat of the household cannot be written to any more: blocked, or the assistant was removed."""

    title: str
    private: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TanksShown:
    """The household's tanks and the one that this chat is about.

    stays : the first tank, that was to be dropped and cannot be.
    """

    tanks: tuple[str, ...]
    current: str | None
    stays: str | None = None
