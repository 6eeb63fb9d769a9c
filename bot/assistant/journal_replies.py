"""The replies that show the journal itself, as data."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from domain.facts import Fact

__all__ = ["JournalLine", "JournalShown", "Mark"]

Mark = Literal["edited", "taken_back", "doubted"]
"""What became of a message: its words were changed, it says nothing any more, it waits to be confirmed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalLine:
    """What one message says.

    at : when it happened. author : who said so. mark : what became of it since.
    photo : the entry by which the photos that came with it are asked for; ``None`` where none did.
    """

    at: datetime
    author: str
    facts: tuple[Fact, ...]
    mark: Mark | None = None
    photo: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalShown:
    """A page of the journal.

    lines : in the order in which things happened.
    end : how many lines there are up to the last one shown, the oldest being 1; total : of the whole part.
    asked : the part that was asked for, as typed; empty for the whole journal.
    since, until : its ends, where it was asked for by time.
    question : what the buttons that turn the page carry; ``None`` where there is but one.
    """

    lines: tuple[JournalLine, ...]
    now: datetime
    end: int
    total: int
    asked: str = ""
    since: datetime | None = None
    until: datetime | None = None
    question: int | None = None
