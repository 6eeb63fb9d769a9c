"""What the logs may show. The whole path is watched in tests/end_to_end; here are the formatter's rules."""

from __future__ import annotations

import asyncio
import io
import logging
from collections.abc import Iterator

import pytest

from bot.logs import HIDDEN, set_up_logs, watch_loop

TOKEN = "123456:invented-Token_1"
SAID = "ph 6.1 in my bath"


@pytest.fixture
def shown() -> Iterator[io.StringIO]:
    """What is written, at the talkative end. The logging of the test run is put back afterwards."""
    root = logging.getLogger()
    before = (
        list(root.handlers),
        root.level,
        {name: logging.getLogger(name).level for name in ("bot", "httpx")},
    )
    written = io.StringIO()
    set_up_logs("DEBUG", [TOKEN], written)
    yield written
    root.handlers[:] = before[0]
    root.setLevel(before[1])
    for name, level in before[2].items():
        logging.getLogger(name).setLevel(level)


def test_our_own_records_are_written_at_the_level_asked_for(shown: io.StringIO) -> None:
    logging.getLogger("bot.telegram.delivery").debug("letter %d: %s", 7, "flood")
    assert "DEBUG bot.telegram.delivery: letter 7: flood" in shown.getvalue()


@pytest.mark.parametrize("spelling", [TOKEN, "123456%3Ainvented-Token_1"])
def test_token_is_struck_out_of_our_own_records_too(shown: io.StringIO, spelling: str) -> None:
    logging.getLogger("bot").error("POST https://example.org/bot%s/getMe", spelling)
    assert f"/bot{HIDDEN}/getMe" in shown.getvalue()


@pytest.mark.parametrize(
    "name", ["httpx", "httpcore.http11", "telegram.Bot", "aiosqlite", "sqlalchemy.engine.Engine"]
)
def test_libraries_are_quiet_below_warning(shown: io.StringIO, name: str) -> None:
    logging.getLogger(name).debug("%s", SAID)
    logging.getLogger(name).info("%s", SAID)
    assert shown.getvalue() == ""


def test_a_librarys_warning_loses_what_it_was_filled_with(shown: io.StringIO) -> None:
    logging.getLogger("telegram.request").error('Can not load invalid JSON data: "%s"', SAID)
    assert 'Can not load invalid JSON data: "%s"' in shown.getvalue()
    assert SAID not in shown.getvalue()


@pytest.mark.parametrize("name", ["bot.telegram.workers", "telegram.ext"])
def test_exception_shows_kind_and_place_but_not_what_it_says(shown: io.StringIO, name: str) -> None:
    try:
        try:
            raise KeyError(SAID)
        except KeyError as error:
            raise ValueError(SAID) from error
    except ValueError:
        logging.getLogger(name).exception("update 7 went wrong")
    written = shown.getvalue()
    assert "update 7 went wrong" in written
    assert "ValueError at test_logs.py:" in written
    assert "KeyError at test_logs.py:" in written
    assert SAID not in written


async def test_broken_task_is_reported_without_its_text(shown: io.StringIO) -> None:
    loop = asyncio.get_running_loop()
    watch_loop(loop)
    loop.call_exception_handler(
        {"message": "Task exception was never retrieved", "exception": ValueError(SAID)}
    )
    assert "a task broke" in shown.getvalue()
    assert "ValueError" in shown.getvalue()
    assert SAID not in shown.getvalue()
