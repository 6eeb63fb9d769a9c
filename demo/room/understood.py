"""What the assistant made of a chat: its journal, its bands and what falls due, for the page to show.

Read from the bot's own database with the bot's own folds and words, so the page can show nothing else than
what the assistant goes by.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from aiohttp import web

from bot.assistant.due import dues_ahead
from bot.assistant.scene import Scene, looking_on
from bot.rendering.describe import described
from bot.rendering.voice import Voice
from bot.rendering.working import span_of
from demo.room.wire import success
from domain.bands import Band, TankBands
from domain.due import Due
from domain.journal import Entry
from storage.engine import CANNOT_BE_USED, open_store

__all__ = ["NOTHING_YET", "Understanding", "understood"]

NOTHING_YET: dict[str, Any] = {"entries": [], "bands": [], "due": [], "for": ""}
"""The view of a chat that the assistant does not know."""

_ENTRIES, _DUE = 12, 5


class Understanding:
    """Answers ``/room/api/understood/<chat>`` from the bot's database.

    database : the bot's SQLite file; nothing is written to it. Where it is not there yet, nothing is known.
    """

    def __init__(self, database: Path) -> None:
        self._database = database
        self._store = open_store(f"sqlite:///{database.as_posix()}")

    async def close(self) -> None:
        """Let go of the database."""
        await self._store.close()

    def add_route(self, app: web.Application) -> None:
        """Put the path into a web application."""
        app.router.add_get("/room/api/understood/{chat}", self._answer)

    async def _answer(self, request: web.Request) -> web.Response:
        return success(await self.of(request.match_info["chat"], datetime.now(UTC)))

    async def of(self, address: str, now: datetime) -> dict[str, Any]:
        """The view of the household that writes in a chat.

        address : the chat's number on the platform, as text.
        now : aware.
        """
        if not self._database.exists():  # opening it would make it, before the bot makes it private
            return NOTHING_YET
        try:
            async with self._store.read() as tx:
                chat = await tx.households.find_chat("telegram", address)
                entries = await tx.journal.entries(chat.household_id) if chat else []
        except CANNOT_BE_USED:  # the bot has not made its tables yet
            return NOTHING_YET
        if chat is None:
            return NOTHING_YET
        return understood(looking_on(entries, now, chat=chat))


def understood(scene: Scene) -> dict[str, Any]:
    """What a household's journal comes to, in words.

    Gives ``entries`` (the newest first), ``bands``, ``for`` (whose the bands are) and ``due`` (the soonest
    first).
    """
    voice = Voice.of(scene.choices, speaks_ppm=scene.speaks_ppm)
    return {
        "entries": [_entry(entry, voice, scene.now) for entry in reversed(scene.entries[-_ENTRIES:])],
        "for": "any mixed tank" if scene.bands.assumed else "what stands on the tank",
        "bands": _bands(scene.bands, voice),
        "due": [_due(due, voice, scene.now) for due in dues_ahead(scene)[:_DUE]],
    }


def _entry(entry: Entry, voice: Voice, now: datetime) -> dict[str, Any]:
    return {
        "id": entry.id,
        "who": entry.author,
        "when": voice.moment(entry.happened_at, now),
        "words": described(entry.fact, voice),
        "doubted": entry.doubted,
    }


def _due(due: Due, voice: Voice, now: datetime) -> dict[str, str]:
    return {"when": voice.day(due.next_at or due.due_at, now), "what": due.text, "why": due.why}


def _bands(bands: TankBands, voice: Voice) -> list[dict[str, str]]:
    shown = ((bands.ph, "pH"), (bands.ec, "strength"), (bands.water_temp, "water"))
    return [{"what": what, **_ends(band, voice)} for band, what in shown]


def _ends(band: Band, voice: Voice) -> dict[str, str]:
    return {
        "aim": span_of(band.what, band.ideal_low, band.ideal_high, voice),
        "keep": span_of(band.what, band.tolerable_low, band.tolerable_high, voice),
    }
