"""The replies about the household's own data: taking it out, as data."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from bot.assistant.exchange import Document
from domain.facts import Fact

__all__ = [
    "ArchiveLooked",
    "BroughtIn",
    "DataReply",
    "FileOffered",
    "FileRefused",
    "ForgetAsked",
    "ForgetCalledOff",
    "ForgetPlanned",
    "ForgetSure",
    "NotesLooked",
    "OfferedInPrivate",
    "PhotoShown",
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


@dataclass(frozen=True, slots=True, kw_only=True)
class NotesLooked:
    """A table of notes that was looked at; nothing of it is kept yet.

    columns : heading, role and unit of those that are understood; unused : the headings of the others.
    kinds : how many facts of each kind. date_order : ``DMY`` or ``MDY`` where only a habit says so.
    errors : the first rows that are wrong, by line; wrong : how many are.
    question : what the button carries; ``None`` where it cannot be kept.
    """

    name: str
    columns: tuple[tuple[str, str, str], ...]
    unused: tuple[str, ...]
    rows: int
    kinds: tuple[tuple[str, int], ...]
    since: datetime | None
    until: datetime | None
    date_order: str | None
    errors: tuple[tuple[int, str], ...]
    wrong: int
    question: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveLooked:
    """An archive that was looked at; nothing of it is kept yet."""

    entries: int
    messages: int
    people: tuple[str, ...]
    since: datetime | None
    until: datetime | None
    question: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtIn:
    """What was taken in. revision : its number, for undo; ``None`` for a whole archive."""

    entries: int
    revision: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FileRefused:
    """A file that cannot be read in. why : one line, ready to show."""

    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoShown:
    """A photo of the household's, with what was said with it. place, total : among those of its album."""

    reference: str
    is_file: bool
    at: datetime
    author: str
    facts: tuple[Fact, ...]
    place: int
    total: int


DataReply = (
    PhotoShown
    | FileOffered
    | FileRefused
    | OfferedInPrivate
    | ForgetAsked
    | ForgetSure
    | ForgetPlanned
    | ForgetCalledOff
    | NotesLooked
    | ArchiveLooked
    | BroughtIn
)
