"""``rillkeeper import``: looks first, writes all or nothing, says what to do."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from bot.__main__ import app


@pytest.fixture
def db(tmp_path: Path) -> str:
    return f"sqlite:///{tmp_path / 'rillkeeper.db'}"


def run(*words: str, answer: str | None = None) -> Result:
    return CliRunner().invoke(app, list(words), input=answer)


def journal(db: str) -> str:
    return run("say", "journal", "--db", db).stdout


def notes(tmp_path: Path, text: str) -> str:
    file = tmp_path / "notes.csv"
    file.write_text(text, encoding="utf-8")
    return str(file)


def test_notes_are_shown_asked_about_and_written(tmp_path: Path, db: str) -> None:
    file = notes(tmp_path, "date,ph\n2026-05-04,6.1\n")
    looked = run("import", file, "--db", db, "--dry-run")
    assert "date, pH." in looked.stdout
    assert "Nothing was written." in looked.stdout
    assert "empty" in journal(db)
    assert "Nothing was written." in run("import", file, "--db", db, answer="n\n").stdout
    assert "empty" in journal(db)
    assert "Written: 1 entries." in run("import", file, "--db", db, answer="y\n").stdout
    assert "pH 6.1" in journal(db)
    again = run("import", file, "--db", db, "--yes")
    assert (again.exit_code, again.stderr) == (2, "rillkeeper: that file is in the journal already\n")


def test_errors_are_listed_with_their_lines_and_nothing_is_written(tmp_path: Path, db: str) -> None:
    rows = "".join(f"2026-05-04,{66 + number}\n" for number in range(7))
    refused = run("import", notes(tmp_path, f"date,ph\n2026-05-04,6\n{rows}"), "--db", db, "--yes")
    assert refused.exit_code == 2
    assert all(f"Line {number}: ph {63 + number}" in refused.stdout for number in range(3, 10))
    assert "empty" in journal(db)


def test_out_erased_in_again_is_the_same_to_the_byte(tmp_path: Path, db: str) -> None:
    for words in (
        "set time zone Europe/Lisbon",
        "ph 6.4",
        "sowed basil in A1-A3",
        "undo",
        "ph 6.2, added 2 ml down",
    ):
        assert run("say", words, "--db", db).exit_code == 0
    first, second = tmp_path / "first.zip", tmp_path / "second.zip"
    assert run("export", "--db", db, "--out", str(first)).exit_code == 0
    new = f"sqlite:///{tmp_path / 'new.db'}"
    written = run("import", str(first), "--db", new, "--yes")
    assert written.exit_code == 0, written.stderr
    assert run("export", "--db", new, "--out", str(second)).exit_code == 0
    assert second.read_bytes() == first.read_bytes()
    assert "pH 6.2" in journal(new)
    refused = run("import", str(first), "--db", new, "--yes")
    assert "empty journal" in refused.stderr


@pytest.mark.parametrize("name", ["missing.csv", "."])
def test_a_file_that_is_not_there_is_told_in_one_line(tmp_path: Path, db: str, name: str) -> None:
    refused = run("import", str(tmp_path / name), "--db", db)
    assert (refused.exit_code, len(refused.stderr.splitlines())) == (2, 1)
