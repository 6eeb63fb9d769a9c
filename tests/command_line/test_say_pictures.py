"""Pictures in a terminal: a file, and where it lies."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

import pytest
from typer.testing import CliRunner

from bot.__main__ import app
from demo.room.pictures import picture_size


@pytest.fixture(autouse=True)
def temporary_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    return folder


def say(tmp_path: Path, *words: str) -> str:
    result = CliRunner().invoke(app, ["say", *words, "--db", f"sqlite:///{tmp_path / 'rillkeeper.db'}"])
    assert result.exit_code == 0, result.output
    return result.stdout


def test_the_file_is_named_above_the_list(tmp_path: Path, temporary_files: Path) -> None:
    say(tmp_path, "sowed basil in A1-A3")
    first, *rest = say(tmp_path, "/plants").splitlines()
    (file,) = temporary_files.rglob("*.png")
    assert first == f"[picture: {file}]"
    assert picture_size(file.read_bytes()) is not None
    assert "A1–A3: 3 basil" in rest[0]


def test_as_json_the_path_stands_beside_the_text(tmp_path: Path, temporary_files: Path) -> None:
    say(tmp_path, "sowed basil in A1-A3")
    said = json.loads(say(tmp_path, "/plants", "--json"))
    (file,) = temporary_files.rglob("*.png")
    assert said["pictures"] == [str(file)]
    assert str(file) not in said["text"][0]


def test_no_picture_no_folder(tmp_path: Path, temporary_files: Path) -> None:
    assert json.loads(say(tmp_path, "sowed 3 basil", "--json"))["pictures"] == []
    assert list(temporary_files.iterdir()) == []
