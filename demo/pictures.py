"""The pictures of the README, made by the program: an invented household lives a season, then asks.

python -m demo.pictures [folder]
"""

from __future__ import annotations

import asyncio
import sys
import tempfile
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import MappingProxyType

from bot.assistant.exchange import Letter
from bot.rendering.pictures import drawn
from bot.terminal import say
from demo.season.household import season
from storage.engine import Store, open_store

__all__ = ["ASKED", "FOLDER", "make"]

FOLDER = Path(__file__).parent.parent / "docs" / "pictures"
ASKED: Mapping[str, str] = MappingProxyType({"chart": "chart 30 days", "site_map": "/plants"})
"""What is asked for each picture."""

BEGAN = datetime(2026, 4, 5, 17, 30, tzinfo=UTC)
DAYS = 36
MIDDAY_AFTER = timedelta(hours=17)


async def make(folder: Path, days: int = DAYS) -> list[Path]:
    """Draws every picture into the folder, which is made where it is missing; gives the files.

    days : so long has the season lasted, 3 to 60.
    """
    await asyncio.to_thread(folder.mkdir, parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        store = open_store(f"sqlite:///{Path(place) / 'season.db'}")
        await store.upgrade()
        try:
            await _live(store, days)
            asked_at = BEGAN + timedelta(days=days - 1) + MIDDAY_AFTER
            return [await _made(store, folder, name, text, asked_at) for name, text in ASKED.items()]
        finally:
            await store.close()


async def _live(store: Store, days: int) -> None:
    await _say(store, "set time zone Europe/Lisbon", BEGAN)
    for said in season(BEGAN, days=days):
        await _say(store, said.text, said.at)


async def _made(store: Store, folder: Path, name: str, text: str, at: datetime) -> Path:
    letters = await _say(store, text, at)
    picture = letters[-1].picture  # what had fallen due by then came first
    if picture is None:
        raise RuntimeError(f"no picture came for {text!r}")
    file = folder / f"{name}.png"
    await asyncio.to_thread(file.write_bytes, drawn(picture))
    return file


async def _say(store: Store, text: str, at: datetime) -> tuple[Letter, ...]:
    said = await say(store, text, person="Mina", chat="home", group=False, at=at)
    return said.letters


if __name__ == "__main__":
    for made in asyncio.run(make(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER)):
        print(made)  # noqa: T201 — a command of its own
