"""What a note about the lamp or the pump means, in words."""

from __future__ import annotations

from bot.assistant.garden_replies import LampNote, PlantNotes, PumpNote
from bot.rendering.markup import Line, joined, line, name
from bot.rendering.voice import number
from domain.flow import TOWER_DUTY

__all__ = ["equipment_lines"]


def equipment_lines(notes: PlantNotes) -> list[Line]:
    """What the lamp gives and what the pump moves, with what is to be changed."""
    lamp = _lamp(notes.lamp) if notes.lamp is not None else []
    return [*lamp, *(_pump(notes.pump) if notes.pump is not None else [])]


def _lamp(note: LampNote) -> list[Line]:
    lines: list[Line] = []
    if note.dli_mol_m2 is not None:
        rough = "roughly " if note.from_lux else ""
        said = f"That is {rough}{number(note.dli_mol_m2, 1)} mol/m² a day"
        if note.wanted_dli is None:
            return [line(f"{said}."), *_bolting(note)]
        low, high = note.wanted_dli
        lines.append(line(f"{said};"))
        wanted = f"your plants want {number(low, 0)}–{number(high, 0)}"
        if note.dli_mol_m2 >= low:
            lines.append(line(f"{wanted}."))
        else:
            lines += [line(f"{wanted}:"), line(f"{_longer(note)}.")]
    return lines + _bolting(note)


def _bolting(note: LampNote) -> list[Line]:
    if not note.bolting:
        return []
    crops = joined([f"{name(crop)} (from {number(hours, 0)} h)" for crop, hours in note.bolting])
    return [line(f"{number(note.hours, 1)} h a day may send {crops} to flower (from memory).")]


def _longer(note: LampNote) -> str:
    if note.hours_wanted is None:
        return "hang the lamp nearer, a day is too short"
    return f"{number(note.hours_wanted, 1)} h would do, or the lamp nearer"


def _pump(note: PumpNote) -> list[Line]:
    lines: list[Line] = []
    if note.turnovers_per_hour is not None:
        each = number(note.turnovers_per_hour, 1)
        lines.append(line(f"It turns the tank over {each} times an hour,"))
        lines.append(line("less what the height takes."))
    elif note.needs_volume:
        lines.append(line("Tell me what the tank holds and I can say how often it turns over."))
    if note.dry_min:
        usual = number(TOWER_DUTY.off_min, 0)
        lines.append(
            line(
                f"Roots wait up to {number(note.dry_min, 0)} min; many towers rest {usual} (common practice)."
            )
        )
    return lines
