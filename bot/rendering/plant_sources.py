"""What stands behind a reply about plants: all causes and remedies, sources, and what was assumed."""

from __future__ import annotations

from collections.abc import Iterable

from bot.assistant.garden_replies import (
    CameUpShown,
    HarvestShown,
    LotsShown,
    PlantNotes,
    SitesShown,
    StockShown,
)
from bot.rendering.markup import Line, Strong, line, name
from bot.rendering.plants import in_units
from bot.rendering.voice import Voice
from domain.germination import SPREAD, Outlook
from domain.harvest import Ahead
from domain.sources import source_line
from domain.troubles import Trouble

__all__ = ["answer_sources", "notes_sources"]

MOST = 4


def notes_sources(notes: PlantNotes, voice: Voice) -> list[Line]:
    """Behind the notes under a message; empty where they claim nothing."""
    lines: list[Line] = []
    for trouble in notes.troubles:
        lines += _trouble(trouble, voice)
    return lines + _windows(notes.outlooks, voice)


def answer_sources(
    reply: SitesShown | CameUpShown | LotsShown | HarvestShown | StockShown, voice: Voice
) -> list[Line]:
    """Behind the answer to a question about plants."""
    match reply:
        case CameUpShown():
            lines = _windows(reply.coming, voice)
            chance = (
                f"The chance takes {round(100 * reply.viable)} in 100 seeds to be good (from memory) and "
                "their days to be spread log-normally, nine in ten of them inside the window."
            )
            return [*lines, line(chance)] if lines else []
        case LotsShown() if reply.records:
            return [
                line(
                    "The span holds the packet's share 95 times in 100: Jeffreys' interval (Brown, Cai and ",
                    "DasGupta 2001).",
                ),
                line(
                    "One packet is called better only where the difference leaves zero out (Newcombe 1998)."
                ),
                line("What waits counts neither way; sowings of which nothing was told are left out."),
            ]
        case HarvestShown() | SitesShown():
            return _maturity(reply.ahead)
        case _:
            return []


def _trouble(trouble: Trouble, voice: Voice) -> list[Line]:
    cited = "; ".join(source.text for source in trouble.sources)
    return [
        line(Strong(trouble.sign.replace("_", " "))),
        line(f"· may be: {'; '.join(trouble.causes)}"),
        line(f"· look: {trouble.look}"),
        *(
            line(in_units(f"· {place}. {remedy}", voice))
            for place, remedy in enumerate(trouble.remedies, start=1)
        ),
        line(f"  {cited}"),
    ]


def _windows(outlooks: Iterable[Outlook], voice: Voice) -> list[Line]:
    lines: list[Line] = []
    for outlook in list(outlooks)[:MOST]:
        at = (
            f" at {voice.temperature(outlook.temperature_c)}"
            if outlook.temperature_c is not None
            else ", no warmth logged"
        )
        recalled = ", in part from memory" if outlook.from_memory else ""
        head = f"· {name(outlook.sowing.crop)}: {outlook.days_low:.0f}–{outlook.days_high:.0f} days{at}"
        lines.append(line(f"{head}: {_cited(outlook.sources)}{recalled}"))
    if not lines:
        return []
    low, high = SPREAD
    spread = f"One published day stands for {low:g} to {high:g} of it (common practice)."
    return [line(Strong("Days to come up")), *lines, line(spread)]


def _maturity(ahead: Iterable[Ahead]) -> list[Line]:
    cited = {each.planting.crop: _cited(each.sources) for each in ahead if each.sources}
    rows = [line(f"· {name(crop)}: {sources}") for crop, sources in list(cited.items())[: 2 * MOST]]
    return [line(Strong("Days from seed to first harvest")), *rows] if rows else []


def _cited(keys: Iterable[str]) -> str:
    return "; ".join(source_line(key).text for key in keys)
