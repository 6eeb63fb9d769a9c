"""The replies about the household's own data: taking it out, as data."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from bot.assistant.exchange import Document

__all__ = [
    "DataReply",
    "FileOffered",
    "ForgetAsked",
    "ForgetCalledOff",
    "ForgetPlanned",
    "ForgetSure",
    "OfferedInPrivate",
    "Whom",
]

Whom = Literal["person", "household"]
"""Who is to be forgotten: the speaker, or everybody."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FileOffered:
    """A file with the household's data. entries : how many facts stand. since : when the first happened."""

    document: Document
    entries: int
    since: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedInPrivate:
    """In a group: the file goes to one person alone. kind : of the document."""

    kind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ForgetAsked:
    """Whom to forget? whoms : whom the speaker may have forgotten. entries : what the household would lose.

    household, person : their numbers, for the buttons. asked_at : when, for the same.
    """

    whoms: tuple[Whom, ...]
    household: int
    person: int
    asked_at: datetime
    entries: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ForgetSure:
    """The second question. number : of the household or person. at : when it would happen."""

    whom: Whom
    number: int
    asked_at: datetime
    entries: int
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ForgetPlanned:
    """It will happen at ``at``, unless somebody calls it off."""

    whom: Whom
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ForgetCalledOff:
    """Nothing is forgotten."""


DataReply = FileOffered | OfferedInPrivate | ForgetAsked | ForgetSure | ForgetPlanned | ForgetCalledOff
