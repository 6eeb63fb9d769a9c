"""What the commands share: which database, which moment, and trouble told in one line."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Annotated
from zoneinfo import ZoneInfo

import typer

__all__ = ["Database", "Trouble", "database_told", "database_url", "moment", "told_in_one_line"]

Database = Annotated[
    str | None,
    typer.Option("--db", help="sqlite:///path or postgresql://…; default: a file in your data folder."),
]


class Trouble(Exception):
    """Something the caller can mend; its text is one line that says how."""


@contextmanager
def told_in_one_line() -> Iterator[None]:
    """Expected trouble becomes one line on standard error and exit status 2."""
    from bot.settings import SettingsError

    try:
        yield
    except (Trouble, SettingsError) as trouble:
        print(f"rillkeeper: {trouble}", file=sys.stderr)
        raise typer.Exit(2) from None


@contextmanager
def database_told(setting: str = "--db") -> Iterator[None]:
    """A database that cannot be used is trouble that names the setting."""
    from bot.settings import SettingsError
    from storage.engine import CANNOT_BE_USED

    try:
        yield
    except (Trouble, SettingsError):
        raise
    except CANNOT_BE_USED as error:
        first = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise Trouble(f"the database cannot be used: {first}; check {setting}") from None


def database_url(given: str | None) -> str:
    """The database to use: the one given, else the one in the settings."""
    from bot.settings import load_settings

    return load_settings(database_url=given).database_url if given else load_settings().database_url


def moment(text: str | None, zone: ZoneInfo | None = None) -> datetime:
    """A time as typed on the command line; without an offset it is the machine's own clock, or the zone's."""
    if text is None:
        return datetime.now(UTC)
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise Trouble(f"{text!r} is no time; write it as 2026-05-04T19:05:00") from None
    if at.tzinfo is None:
        at = at.replace(tzinfo=zone) if zone else at.astimezone()
    return at
