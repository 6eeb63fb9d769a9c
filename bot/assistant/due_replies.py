"""Replies about what is due as data: lists, reminders, and what became of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from domain.absence import Ahead, OnReturn

__all__ = ["AwayPlanned", "DueItem", "DueShown", "Reminded", "RemindedItem", "RemindersShown", "Replanned"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DueItem:
    """One thing of the list of what is due. ``reminder`` and ``planned_at`` are what its buttons carry.

    brief : why now, in few words. due_at : when it stands. is_now : it should be done by now.
    whom : who is to do it, where that is one person's.
    """

    reminder: int
    task: str
    text: str
    brief: str
    due_at: datetime
    planned_at: datetime
    is_now: bool
    whom: str | None = None
    is_paused: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class DueShown:
    """What is next, the soonest first. ``paused``: what is not told of for now. ``whole``: all of it."""

    dues: tuple[DueItem, ...]
    now: datetime
    paused: tuple[str, ...] = ()
    whole: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class AwayPlanned:
    """What an absence holds, for the one who takes over.

    keeper : their name; ``None`` where nobody was named. address : theirs on the platform, where known.
    reminded : who is reminded where nobody of the household is called so; empty where somebody is.
    start, end : first and last day. returns_at : when the household is back, UTC.
    """

    keeper: str | None
    start: date
    end: date
    ahead: tuple[Ahead, ...]
    on_return: OnReturn
    returns_at: datetime
    now: datetime
    address: str | None = None
    reminded: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RemindersShown:
    """Reminders to be paused, moved or dropped. ``asked``: the words that fit several of them."""

    dues: tuple[DueItem, ...]
    now: datetime
    asked: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Replanned:
    """What was done to reminders. ``to``: the new time of one that was moved."""

    action: Literal["pause", "resume", "move"]
    texts: tuple[str, ...]
    now: datetime
    to: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reminded:
    """What has fallen due, bundled for one chat.

    late_since : when the earliest should have come.
    keeper : who has taken over while the household is away. address : theirs on the platform, for a member.
    """

    dues: Sequence[RemindedItem]
    now: datetime
    late_since: datetime | None = None
    keeper: str | None = None
    address: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RemindedItem:
    """One reminder. ``reminder`` and ``planned_at`` are what its buttons carry.

    may_stop : the household can say that it does not want to be told of it any more.
    """

    reminder: int
    task: str
    text: str
    why: str
    planned_at: datetime
    may_stop: bool = False
