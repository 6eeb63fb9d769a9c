"""The room opened for real, and headless Chromium looking at it."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Playwright, expect, sync_playwright

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
FLAGS = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PATIENCE_MS = 20_000
"""A reply comes after a start of the bot, on a machine that runs other tests as well."""

expect.set_options(timeout=PATIENCE_MS)


@pytest.fixture(scope="module")
def playwright() -> Iterator[Playwright]:
    if CHROMIUM is None:
        wanted = "these tests need Chromium: install your system's package chromium"
        # Whoever merges must have seen them; at home the rest of the suite may do.
        (pytest.fail if os.environ.get("CI") else pytest.skip)(wanted)
    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="module")
def browser(playwright: Playwright) -> Iterator[Browser]:
    # Chromium keeps no sandbox for root, who runs the tests in many a container; it sees this machine only.
    root = os.geteuid() == 0
    browser = playwright.chromium.launch(
        executable_path=CHROMIUM, args=[*FLAGS, *(["--no-sandbox"] if root else [])]
    )
    yield browser
    browser.close()


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a room of its own, as ``rillkeeper room`` opens it."""
    home: Path = tmp_path_factory.mktemp("room")
    command = [sys.executable, "-m", "bot", "room", "--port", "0", "--home", str(home)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        line = process.stdout.readline()
        assert line.startswith("The room is open: "), line
        yield line.removeprefix("The room is open: ").strip()
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=20)


@pytest.fixture(params=["wide", "narrow"])
def page(browser: Browser, room: str, request: pytest.FixtureRequest) -> Iterator[Page]:
    """The page on a desk and on a phone; an error of its script fails the test."""
    narrow = request.param == "narrow"
    context = browser.new_context(
        viewport={"width": 360, "height": 740} if narrow else {"width": 1440, "height": 900},
        has_touch=narrow,
        color_scheme="dark" if narrow else "light",
        reduced_motion="reduce",
    )
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
    page.goto(room)
    yield page
    context.close()
    assert wrong == []
