"""One line of ``parse --jsonl``: a message with its clock and settings in, facts or an error out."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from bot.reader.moments import Moments
from bot.reader.reading import read
from bot.reader.result import ReaderSettings

__all__ = ["parse_line"]

MAX_LINE_CHARACTERS = 200_000
"""No message with its settings is longer; a longer line is not parsed."""


def parse_line(line: str) -> dict[str, Any]:
    """What the message in ``line`` says, as ``{"id", "facts", "unclear"}``, or ``{"id", "error"}``.

    line : JSON with ``text``, ``now`` (ISO 8601; without an offset local to ``tz``), ``tz`` (IANA name) and,
        if wanted, ``id`` and ``settings``.
    Never raises: a line that is no message comes back with its error, ``id`` ``None`` where none can be read.
    """
    said: Any = None
    try:
        if len(line) > MAX_LINE_CHARACTERS:
            raise ValueError("the line is too long")
        said = json.loads(line)
        if not isinstance(said, Mapping):
            raise ValueError("a line must be a JSON object")
        return {"id": said.get("id"), **_parsed(said)}
    except (ValueError, TypeError, KeyError, RecursionError, OverflowError) as error:
        known = said.get("id") if isinstance(said, Mapping) else None
        return {"id": known, "error": _plain(error)}


def _parsed(said: Mapping[str, Any]) -> dict[str, Any]:
    text = said.get("text")
    if not isinstance(text, str):
        raise ValueError("text must be a string")
    settings = said.get("settings")
    if settings is not None and not isinstance(settings, Mapping):
        raise ValueError("settings must be an object")
    zone = _zone(said.get("tz", "UTC"))
    now = _now(said.get("now"), zone)
    return read(text, now=now, zone=zone, settings=ReaderSettings.from_json(settings or {})).as_json()


def _zone(name: object) -> ZoneInfo:
    if not isinstance(name, str) or not name:
        raise ValueError("tz must be the name of a time zone")
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise ValueError(f"unknown time zone: {name[:60]}") from None


def _now(typed: object, zone: ZoneInfo) -> datetime:
    if not isinstance(typed, str):
        raise ValueError("now must be an ISO 8601 time")
    try:
        now = datetime.fromisoformat(typed)
    except ValueError:
        raise ValueError(f"now is no ISO 8601 time: {typed[:60]}") from None
    return now if now.tzinfo is not None else Moments.of(now.replace(tzinfo=zone), zone).at_local(now)


def _plain(error: Exception) -> str:
    if isinstance(error, json.JSONDecodeError):
        return f"no JSON: {error.msg}"
    return str(error) or type(error).__name__
