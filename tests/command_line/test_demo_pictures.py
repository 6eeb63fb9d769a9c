"""The pictures of the README can be drawn anew."""

from __future__ import annotations

from pathlib import Path

from demo.pictures import ASKED, FOLDER, make
from demo.room.pictures import picture_size


async def test_every_picture_is_drawn_and_shown_in_the_readme(tmp_path: Path) -> None:
    files = await make(tmp_path / "pictures", days=3)
    assert [file.stem for file in files] == list(ASKED)
    readme = (FOLDER.parent.parent / "README.md").read_text(encoding="utf-8")
    for file in files:
        size = picture_size(file.read_bytes())
        assert size is not None
        assert size[0] == 1080
        assert f"docs/pictures/{file.name}" in readme
        assert (FOLDER / file.name).stat().st_size < 150_000
