"""Column types for what SQLite and PostgreSQL would not keep alike: instants, and text that people typed."""

from __future__ import annotations

import re
from datetime import UTC, datetime

from sqlalchemy import DateTime, Text
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator

__all__ = ["SafeText", "UtcDateTime", "as_utc"]

_UNSTORABLE = re.compile("[\0\ud800-\udfff]")


def as_utc(instant: datetime) -> datetime:
    """``instant`` in UTC.

    Raises ValueError for a time without a zone: what it means is anybody's guess.
    """
    if instant.tzinfo is None:
        raise ValueError(f"a time without a zone cannot be kept: {instant.isoformat()}")
    return instant.astimezone(UTC)


class UtcDateTime(TypeDecorator[datetime]):
    """An instant: aware in, aware UTC out.

    SQLite has no such type and drops the offset without a word, so there the digits are UTC's own.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return None if value is None else as_utc(value)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class SafeText(TypeDecorator[str]):
    """Text that somebody typed. NUL and half surrogate pairs, which no database takes, become U+FFFD."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:
        return None if value is None else _UNSTORABLE.sub("\N{REPLACEMENT CHARACTER}", value)
