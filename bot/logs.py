"""Logs that can be shown to anybody: no token, no secret, nothing that people said, at any level.

Our own records carry numbers and short codes, never a text or an address. Libraries cannot promise as much:
httpx writes the token into a line at INFO, python-telegram-bot whole updates at DEBUG, database drivers the
parameters of a statement. So of a library's record only the template is written, without what was to be
filled in, and of an exception only its type and where it was raised, because its text may quote a message
or a row.
"""

from __future__ import annotations

import asyncio
import logging
import sys
import traceback
from collections.abc import Iterable
from pathlib import Path
from typing import Any, TextIO
from urllib.parse import quote

__all__ = ["QuietFormatter", "set_up_logs", "watch_loop"]

OUR_ROOMS = ("bot", "domain", "storage", "demo")
LINE = "%(asctime)s %(levelname)s %(name)s: %(message)s"
HIDDEN = "(secret)"
LAST_FRAMES = 6
"""How many of the innermost frames of an exception are written."""


class QuietFormatter(logging.Formatter):
    """Writes a record without secrets, without a library's payload, and exceptions without their text.

    secrets : what is struck out wherever it stands, as it is and as it looks inside an address.
    """

    def __init__(self, secrets: Iterable[str] = ()) -> None:
        super().__init__(LINE)
        given = [secret for secret in secrets if secret]
        spellings = {spelling for secret in given for spelling in (secret, quote(secret, safe=""))}
        self._spellings = sorted(spellings, key=len, reverse=True)

    def format(self, record: logging.LogRecord) -> str:
        if not _is_ours(record.name):
            record = logging.makeLogRecord({**record.__dict__, "args": None, "exc_text": None})
        line = super().format(record)
        for spelling in self._spellings:
            line = line.replace(spelling, HIDDEN)
        return line

    def formatException(self, ei: Any) -> str:
        return "\n".join(_described(ei[1]))

    def formatStack(self, stack_info: str) -> str:
        return ""


def set_up_logs(level: str = "INFO", secrets: Iterable[str] = (), stream: TextIO | None = None) -> None:
    """Sends every log through one quiet handler at the root.

    level : of our own records; libraries are heard from WARNING on.
    secrets : the token and whatever else must never be shown.
    stream : where to write; default: standard error.
    """
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(QuietFormatter(secrets))
    root = logging.getLogger()
    for old in list(root.handlers):
        root.removeHandler(old)
    root.addHandler(handler)
    root.setLevel(logging.WARNING)
    for room in OUR_ROOMS:
        logging.getLogger(room).setLevel(level)


def watch_loop(loop: asyncio.AbstractEventLoop) -> None:
    """Makes the event loop report a task that broke without the text of its exception."""
    loop.set_exception_handler(_report)


def _report(_loop: asyncio.AbstractEventLoop, context: dict[str, Any]) -> None:
    error = context.get("exception")
    logging.getLogger(__name__).error("a task broke", exc_info=error if error is not None else None)


def _is_ours(name: str) -> bool:
    return name.split(".", 1)[0] in OUR_ROOMS


def _described(error: BaseException | None) -> list[str]:
    lines: list[str] = []
    while error is not None:
        name = type(error).__qualname__
        frames = traceback.extract_tb(error.__traceback__)[-LAST_FRAMES:]
        places = " < ".join(f"{Path(f.filename).name}:{f.lineno} {f.name}" for f in reversed(frames))
        lines.append(f"  {name} at {places or '?'}")
        error = error.__cause__ or (None if error.__suppress_context__ else error.__context__)
    return lines
