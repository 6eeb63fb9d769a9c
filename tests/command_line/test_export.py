"""``rillkeeper export``: one file for its owner alone, or one line that says what to do."""

from __future__ import annotations

import stat
import zipfile
from pathlib import Path

from typer.testing import CliRunner, Result

from bot.__main__ import app


def run(*words: str) -> Result:
    return CliRunner().invoke(app, list(words))


def logged(tmp_path: Path, *chats: str) -> str:
    db = f"sqlite:///{tmp_path / 'rillkeeper.db'}"
    for chat in chats:
        assert run("say", "ph 6.4", "--chat", chat, "--db", db).exit_code == 0
    return db


def test_the_archive_is_written_for_its_owner_alone(tmp_path: Path) -> None:
    db = logged(tmp_path, "home")
    out = tmp_path / "home.zip"
    assert run("export", "--db", db, "--out", str(out)).exit_code == 0
    assert stat.S_IMODE(out.stat().st_mode) == 0o600
    with zipfile.ZipFile(out) as archive:
        assert b"6.4" in archive.read("sheets/reading.csv")
    assert [file.name for file in tmp_path.glob(".*.part")] == []


def test_of_several_households_one_must_be_named(tmp_path: Path) -> None:
    db = logged(tmp_path, "home", "office")
    out = tmp_path / "x.zip"
    asked = run("export", "--db", db, "--out", str(out))
    assert asked.exit_code == 2
    assert "--household: 1 (home, 1 messages); 2 (office, 1 messages)" in asked.stderr
    assert not out.exists()
    assert run("export", "--db", db, "--household", "2", "--out", str(out)).exit_code == 0


def test_an_empty_database_and_a_folder_that_is_not_there_are_told_in_one_line(tmp_path: Path) -> None:
    empty = run("export", "--db", f"sqlite:///{tmp_path / 'new.db'}", "--out", str(tmp_path / "x.zip"))
    assert (empty.exit_code, len(empty.stderr.splitlines())) == (2, 1)
    nowhere = run("export", "--db", logged(tmp_path, "home"), "--out", str(tmp_path / "no" / "x.zip"))
    assert (nowhere.exit_code, len(nowhere.stderr.splitlines())) == (2, 1)
