"""Column types for what SQLite and PostgreSQL would not keep alike: instants, and text that people typed."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import DateTime, Text
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator, TypeEngine

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

    SQLite has no such type, and SQLAlchemy's stand-in drops the offset without a word. There it is text in
    UTC and always of one length, so that it sorts as the instants do: ``2026-05-04 19:05:00.000000+00:00``.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return dialect.type_descriptor(Text() if dialect.name == "sqlite" else DateTime(timezone=True))

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:
        if value is None:
            return None
        instant = as_utc(value)
        return instant.isoformat(" ", "microseconds") if dialect.name == "sqlite" else instant

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        return None if value is None else as_utc(value)

    def result_processor(self, dialect: Dialect, coltype: Any) -> Callable[[Any], datetime | None] | None:
        # A journal has tens of thousands of these, so SQLite's text goes by the shortest way.
        return _from_text if dialect.name == "sqlite" else super().result_processor(dialect, coltype)


def _from_text(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)


class SafeText(TypeDecorator[str]):
    """Text that somebody typed. NUL and half surrogate pairs, which no database takes, become U+FFFD."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:
        return None if value is None else _UNSTORABLE.sub("\N{REPLACEMENT CHARACTER}", value)
