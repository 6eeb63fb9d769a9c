"""What is said when somebody or the tank is in danger: the first thing first, nothing else beside it."""

from __future__ import annotations

from bot.assistant.replies import EmergencyAdvice
from bot.rendering.markup import Line, Strong, line
from bot.rendering.voice import Voice
from domain.safety import EMERGENCY, LOCAL_HELP, poison_centre

__all__ = ["emergency_lines"]


def emergency_lines(reply: EmergencyAdvice, voice: Voice) -> list[Line]:
    """Orders in order of need; who to call, by the household's country."""
    advice = EMERGENCY[reply.emergency.about]
    first, *rest = sorted(advice.lines, key=lambda text: reply.swallowed and not text.startswith("Swallowed"))
    lines = [line(Strong(first)), *(line(text) for text in rest)]
    if advice.call:
        lines.insert(1, line(Strong(_call(reply.country, voice))))
    return lines


def _call(country: str | None, voice: Voice) -> str:
    centre = poison_centre(voice.zone.key) if country else None
    if centre is None:
        return f"Call {LOCAL_HELP}."
    if not centre.number:
        return f"Call {centre.emergency_number} (emergency)."
    return f"Call {centre.number} ({centre.name}); life in danger: {centre.emergency_number}."
