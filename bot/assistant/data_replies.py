"""The replies about the household's own data: taking it out, as data."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from bot.assistant.exchange import Document

__all__ = ["DataReply", "FileOffered", "OfferedInPrivate"]


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


DataReply = FileOffered | OfferedInPrivate
