"""``rillkeeper parse --jsonl`` on many lines: every answer in its place, and a bar for whoever watches."""

import json
import os
import pty
import subprocess
import sys
import threading

import pytest

COMMAND = [sys.executable, "-m", "bot", "parse", "--jsonl"]


def _lines(count: int) -> str:
    """Lines of which the middle one is no JSON."""
    said = [
        json.dumps({"id": i, "text": f"ph 5.{i % 10}", "now": "2026-05-04T19:05:00"}) for i in range(count)
    ]
    said[count // 2] = "{not JSON"
    return "\n".join(said) + "\n"


def _check(written: str, count: int) -> None:
    """Every line has its answer, in order, and the bad one an error."""
    answers = [json.loads(line) for line in written.splitlines()]
    assert len(answers) == count
    bad = answers.pop(count // 2)
    assert bad["id"] is None
    assert bad["error"].startswith("no JSON")
    assert [answer["id"] for answer in answers] == [i for i in range(count) if i != count // 2]
    for answer in answers:
        assert answer["facts"][0]["ph"] == pytest.approx(5 + answer["id"] % 10 / 10)


def test_piped_it_writes_answers_and_nothing_else() -> None:
    done = subprocess.run(
        COMMAND, input=_lines(1_000), capture_output=True, text=True, timeout=50, check=True
    )
    assert done.stderr == ""
    _check(done.stdout, 1_000)


def test_on_a_terminal_a_bar_moves_beside_the_same_answers() -> None:
    watched, terminal = pty.openpty()
    shown: list[bytes] = []
    reader = threading.Thread(target=_drain, args=(watched, shown))
    reader.start()
    try:
        done = subprocess.run(
            COMMAND,
            input=_lines(10_000).encode(),
            stdout=subprocess.PIPE,
            stderr=terminal,
            timeout=50,
            check=True,
            env={**os.environ, "TERM": "xterm-256color", "COLUMNS": "80"},
        )
    finally:
        os.close(terminal)
        reader.join(timeout=5)
        os.close(watched)
    bar = b"".join(shown).decode()
    assert "Reading" in bar
    assert "100%" in bar
    assert len(set(_percentages(bar))) > 2  # it moves
    _check(done.stdout.decode(), 10_000)


def _percentages(bar: str) -> list[str]:
    return [word for word in bar.replace("\x1b", " ").split() if word.endswith("%")]


def _drain(watched: int, shown: list[bytes]) -> None:
    """All that the terminal shows, until nobody writes to it."""
    while True:
        try:
            part = os.read(watched, 65_536)
        except OSError:  # the other end is closed
            return
        if not part:
            return
        shown.append(part)
