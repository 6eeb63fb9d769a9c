"""``rillkeeper say``, ``parse`` and ``db upgrade`` as somebody types them."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from bot.__main__ import app

Run = Callable[..., Result]
COMMAND = [sys.executable, "-m", "bot", "parse", "--jsonl"]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Runs a command on a database of its own in an empty folder."""

    def command(*words: str, stdin: str | None = None) -> Result:
        needs_db = words[0] in ("say", "db")
        db = ("--db", f"sqlite:///{tmp_path / 'rillkeeper.db'}") if needs_db else ()
        return CliRunner().invoke(app, [*words, *db], input=stdin)

    return command


def test_a_reading_in_an_empty_folder_brings_facts_verdicts_and_a_dose_and_is_remembered(run: Run) -> None:
    first = run("say", "ph 6.9 ppm 540 temp 23", "--json", "--at", "2026-05-04T19:05:00+00:00")
    assert first.exit_code == 0, first.output
    said = json.loads(first.stdout)
    assert said["facts"][0]["ph"] == 6.9
    assert {verdict["what"]: verdict["place"] for verdict in said["verdicts"]}["ph"] == "high"
    assert said["dose"]["outcome"] == "steps"
    assert said["dose"]["basis"]["inputs"]
    assert {"label_strength", "tank_volume"} <= set(said["needs"])
    assert said["text"]
    second = run("say", "how much adjuster for 40 litres", "--json", "--at", "2026-05-04T19:06:00+00:00")
    asked = json.loads(second.stdout)
    assert asked["facts"] == [{"kind": "question", "about": "adjuster", "volume_l": 40}]
    assert asked["dose"]["outcome"] == "steps"


def test_text_is_shown_plain_with_its_keys(run: Run) -> None:
    said = run("say", "tank holds 45 L")
    assert said.stdout == "Noted: tank volume 45 L.\n[Undo] [Correct]\n"


def test_chats_have_households_of_their_own(run: Run) -> None:
    run("say", "ph 6.9", "--chat", "one")
    other = run("say", "/journal", "--chat", "two")
    assert "6.9" not in other.stdout


def test_what_falls_due_by_then_comes_first(run: Run) -> None:
    run("say", "added 5 ml ph down", "--at", "2026-05-04T10:00:00+00:00")
    later = run("say", "ph 6.0", "--at", "2026-05-04T11:00:00+00:00")
    assert later.stdout.startswith("Test again")


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("say", "hi", "--at", "noon"), "2026-05-04T19:05:00"),
        (("parse", "ph 6", "--tz", "Mars"), "Europe/Lisbon"),
        (("parse",), "give a text"),
        (("run",), "RILLKEEPER_TOKEN"),
    ],
)
def test_trouble_is_one_line_that_says_what_to_do(
    run: Run, words: tuple[str, ...], hint: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    result = run(*words)
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
    assert hint in result.stderr


def test_a_file_that_is_no_database_is_told_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("not a database, whatever it is called" * 50)
    result = CliRunner().invoke(app, ["say", "ph 6", "--db", f"sqlite:///{tmp_path / 'notes.txt'}"])
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
    assert "check --db" in result.stderr


def test_parse_reads_one_text(run: Run) -> None:
    parsed = run("parse", "ph 5.9 ppm 720 temp 19", "--now", "2026-05-04T19:05:00", "--tz", "Europe/Lisbon")
    (fact,) = json.loads(parsed.stdout)["facts"]
    assert fact["when"] == "2026-05-04T19:05:00+01:00"


def test_parse_reads_lines_and_one_bad_line_does_not_stop_the_rest(run: Run) -> None:
    lines = [
        json.dumps({"id": 1, "text": "ph 6.1", "now": "2026-05-04T19:05:00", "tz": "UTC"}),
        "{broken",
        json.dumps({"id": 3, "text": "topped up 4 L", "now": "2026-05-04T19:05:00", "tz": "UTC"}),
    ]
    parsed = run("parse", "--jsonl", stdin="\n".join(lines))
    first, second, third = (json.loads(line) for line in parsed.stdout.splitlines())
    assert first["facts"][0]["ph"] == 6.1
    assert "error" in second
    assert third["facts"][0]["litres"] == 4


def test_no_bar_is_drawn_where_nobody_watches() -> None:
    line = json.dumps({"id": 1, "text": "ph 6.1", "now": "2026-05-04T19:05:00", "tz": "UTC"})
    parsed = subprocess.run(
        [sys.executable, "-m", "bot", "parse", "--jsonl"],
        input=line,
        capture_output=True,
        text=True,
        check=True,
    )
    assert parsed.stderr == ""
    assert json.loads(parsed.stdout)["id"] == 1


def test_upgrade_can_be_asked_for_as_often_as_one_likes(run: Run) -> None:
    for _ in range(2):
        upgraded = run("db", "upgrade")
        assert upgraded.exit_code == 0
        assert "up to date" in upgraded.stdout


def test_help_names_every_command() -> None:
    shown = CliRunner().invoke(app, ["--help"]).stdout
    assert all(command in shown for command in ("run", "say", "parse", "room", "db"))
