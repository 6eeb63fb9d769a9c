"""The pictures of an archive: the whole course of each tank's water, and what stands where."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime

from bot.assistant.advise import plants_shown
from bot.assistant.charting import chart
from bot.assistant.scene import Scene, looking_on
from bot.rendering import render
from bot.rendering.pictures import drawn
from bot.rendering.voice import Voice
from domain.journal import Entry

__all__ = ["drawings"]

_EVER = datetime.min.replace(tzinfo=UTC)


def drawings(entries: Iterable[Entry], at: datetime) -> dict[str, bytes]:
    """PNG by name, ``water.png`` and ``plants.png``; of several tanks ``water-2.png`` and so on.

    entries : the net journal, in the order in which things happened.
    at : aware; the moment that they show.
    Draws some 0.2 s a tank: call it off the event loop.
    """
    scene = looking_on(entries, at)
    found: dict[str, bytes] = {}
    for number, tank in enumerate(scene.tanks or (None,), start=1):
        of_tank = f"-{number}" if number > 1 else ""
        found |= {f"{name}{of_tank}.png": png for name, png in _of(replace(scene, about=tank)).items()}
    return found


def _of(scene: Scene) -> dict[str, bytes]:
    voice = Voice.of(scene.choices, speaks_ppm=scene.speaks_ppm)
    shown = {"water": chart(scene, (), _EVER, scene.at), "plants": plants_shown(scene)}
    pictures = {name: render(reply, voice).picture for name, reply in shown.items()}
    return {name: drawn(picture) for name, picture in pictures.items() if picture is not None}
