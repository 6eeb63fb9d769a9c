"""What a note about the lamp or the pump means: light of a day, turnovers, dry spells."""

from __future__ import annotations

import re
from collections.abc import Sequence

from bot.assistant.garden_replies import LampNote, PumpNote
from bot.assistant.scene import Scene
from domain.crops import crops
from domain.flow import Duty, turnovers_per_hour
from domain.light import daily_light_mol_m2, day_length, hours_for, ppfd_from_lux
from domain.plantings import Planting
from domain.stages import stage_row

__all__ = ["lamp_note", "pump_note"]

_LAMP = re.compile(r"\b(?:lights?|lamps?|leds?)\b", re.I)
_PUMP = re.compile(r"\bpumps?\b", re.I)
_NUMBER = r"(\d{1,6}(?:[.,]\d{1,2})?)\s*"
_HOURS = re.compile(_NUMBER + r"(?:h|hrs?|hours?)\b(?!\s*/)", re.I)
_PPFD = re.compile(_NUMBER + r"(?:ppfd|[uµμ]mol)|\bppfd\s*(?:of|is|=|:)?\s*" + _NUMBER, re.I)
_LUX = re.compile(_NUMBER + r"(?:lux|lx)\b", re.I)
_FLOW = re.compile(_NUMBER + r"(?:l|litres?|liters?)\s*(?:/|per|an)\s*(?:h|hr|hour)\b", re.I)
_DUTY = re.compile(
    _NUMBER + r"(?:m|mins?|minutes?)?\s*on\b\W*(?:and\W+)?" + _NUMBER + r"(?:m|mins?|minutes?)?\s*off\b", re.I
)
MOST = 1000
"""So much of a note is looked at. [characters]"""
WHITE_LAMP = "white LED"
"""What a household lamp is where nothing is said: common practice."""


def lamp_note(scene: Scene, text: str) -> LampNote | None:
    """What the lamp of a note gives; ``None`` where it says no hours of a lamp that there could be."""
    hours = _found(_HOURS, text)
    if hours is None or not _LAMP.search(text) or hours > 24:
        return None
    ppfd, lux = _found(_PPFD, text), _found(_LUX, text)
    if ppfd is None and lux is not None and lux <= 200_000:
        ppfd = ppfd_from_lux(lux, WHITE_LAMP)
    if ppfd is not None and not 0 < ppfd <= 3000:
        return None
    wanted = _wanted(scene.plantings)
    return LampNote(
        hours=hours,
        ppfd_umol_m2_s=ppfd,
        from_lux=lux is not None,
        dli_mol_m2=None if ppfd is None else daily_light_mol_m2(ppfd, hours),
        wanted_dli=wanted,
        hours_wanted=None if ppfd is None or wanted is None else hours_for(wanted[0], ppfd),
        bolting=day_length([planting.crop for planting in scene.plantings], hours).bolting,
    )


def pump_note(scene: Scene, text: str) -> PumpNote | None:
    """What the pump of a note moves; ``None`` where it says neither a flow nor a timer."""
    if not _PUMP.search(text):
        return None
    flow, timer = _found(_FLOW, text), _DUTY.search(text[:MOST])
    on, off = (float(part.replace(",", ".")) for part in timer.groups()) if timer else (1.0, 0.0)
    if (flow is None and timer is None) or on <= 0 or (flow is not None and flow > 20_000):
        return None
    duty = Duty(on, off)
    volume_l = scene.choices.tank_volume_l
    turnovers = turnovers_per_hour(flow, duty, volume_l) if flow is not None and volume_l else None
    return PumpNote(
        turnovers_per_hour=turnovers,
        dry_min=duty.longest_dry_min if timer else None,
        needs_volume=flow is not None and not volume_l,
    )


def _wanted(plantings: Sequence[Planting]) -> tuple[float, float] | None:
    """The light of a day that all that stands can share; seedlings want what their stage says. [mol/m2/d]

    Where they share none, what lies between their ranges.
    """
    lows, highs = [], []
    for planting in plantings:
        crop = crops().get(planting.crop)
        if crop is None or planting.stage == "germinating":
            continue
        row = stage_row(crop.group, planting.stage)
        span = row.dli if row is not None and planting.stage == "seedling" else crop.dli
        if span.low is not None and span.high is not None:
            lows.append(span.low)
            highs.append(span.high)
    if not lows:
        return None
    return min(max(lows), min(highs)), max(max(lows), min(highs))


def _found(pattern: re.Pattern[str], text: str) -> float | None:
    hit = pattern.search(text[:MOST])
    if hit is None:
        return None
    number = next(group for group in hit.groups() if group)
    return float(number.replace(",", "."))
