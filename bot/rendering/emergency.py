"""What is said when somebody or the tank is in danger: the first thing first, nothing else beside it."""

from __future__ import annotations

from datetime import timedelta

from bot.assistant.replies import EmergencyAdvice
from bot.rendering.markup import LONGEST, Line, Strong, line
from bot.rendering.voice import Voice, minutes, number
from bot.rendering.words import ROLES
from domain.rescue import Rescue, RootsLast, roots_last
from domain.safety import EMERGENCY, LOCAL_EMERGENCY, LOCAL_HELP, Advice, poison_centre

__all__ = ["emergency_lines"]

_SHARES = {0.25: "a quarter", 0.5: "half", 0.75: "three quarters", 1.0: "all"}
_SYSTEMS = {
    "mist": "Roots in mist",
    "film": "Roots in a film",
    "tower": "Roots in a tower",
    "medium": "Roots in a medium",
    "deep_water": "Roots in deep water",
}
_TOO_LATE = "They may be dry by now: wet them at once."
_TOO_LATE_DEEP = "They may lack air by now: stir at once."


def emergency_lines(reply: EmergencyAdvice, voice: Voice) -> list[Line]:
    """Orders in order of need; who to call, by the household's country; what was reckoned for this tank."""
    advice = EMERGENCY[reply.code]
    lines = _with_reckoned(advice, reply, voice)
    if advice.call != "nobody":
        lines.insert(1, line(Strong(_call(advice, reply.country, voice))))
    return lines


def _with_reckoned(advice: Advice, reply: EmergencyAdvice, voice: Voice) -> list[Line]:
    """The orders, what was reckoned for this tank in the place of what holds for any."""
    first, *rest = advice.lines
    lines = [line(Strong(first)), *(line(text) for text in rest)]
    if advice.reckoned_at is None:
        return lines
    reckoned: list[Line] = []
    if reply.rescue is not None and not reply.rescue.is_blind:
        reckoned = _swap_lines(reply, reply.rescue, voice)
    elif reply.roots is not None:
        reckoned = _roots(reply, reply.roots, voice)
    start, end = advice.reckoned_at
    return [*lines[:start], *reckoned, *lines[end:]] if reckoned else lines


def _swap_lines(reply: EmergencyAdvice, rescue: Rescue, voice: Voice) -> list[Line]:
    """What the dose has done, how much to swap, when to read again: three lines at most."""
    wait = minutes(rescue.read_after)
    shown = f"With that {ROLES[reply.emergency.product or 'other']} in: {_shown(reply, rescue, voice)}"
    swap = rescue.swap
    if swap is None:
        return [line(f"{shown}, no need to drain."), line(f"Test again in {wait} before anything goes in.")]
    share = _SHARES.get(swap.share, f"{number(100 * swap.share, 0)} %")
    order = f"Drain {voice.volume(swap.litres)} ({share}), refill with plain water."
    after = _after(rescue, voice)
    last = f"Then {after}: test in {wait}." if after else f"Test again in {wait}, before all else."
    return [line(f"{shown}."), line(Strong(order)), line(last)]


def _shown(reply: EmergencyAdvice, rescue: Rescue, voice: Voice) -> str:
    """What the water shows with the dose in it: strength for a feed, pH for the rest."""
    predicted = rescue.predicted
    if predicted is None or predicted.ph_now is None:
        return "too much"
    if reply.emergency.product == "nutrient" and predicted.ec_ms_cm is not None:
        return voice.strength(predicted.ec_ms_cm.middle)
    return f"pH {_range(predicted.ph_now.low, predicted.ph_now.high)}"


def _after(rescue: Rescue, voice: Voice) -> str:
    swapped = rescue.swap.predicted if rescue.swap is not None else None
    if swapped is None or swapped.ph_now is None:
        return ""
    ec = f", {voice.strength(swapped.ec_ms_cm.middle)}" if swapped.ec_ms_cm is not None else ""
    return f"about pH {number(swapped.ph_now.middle, 1)}{ec}"


def _range(low: float, high: float) -> str:
    ends = f"{low:.1f}", f"{high:.1f}"
    return ends[0] if ends[0] == ends[1] else "–".join(ends)


def _roots(reply: EmergencyAdvice, roots: RootsLast, voice: Voice) -> list[Line]:
    """From when on roots suffer, as a time of the day."""
    at = f" at {voice.temperature(roots.temperature_c)}" if roots.temperature_c is not None else ""
    if _is_over(reply, roots.low_h):
        return [line(_TOO_LATE_DEEP if roots.system == "deep_water" else _TOO_LATE)]
    start = _until(reply, roots.low_h, voice)
    if roots.system is not None:
        hours = f"{number(roots.low_h, 1)}–{number(roots.high_h, 1)} h"
        return [
            line(f"{_SYSTEMS[roots.system]} suffer after {hours}{at}:"),
            line(f"from {start} on (common practice)."),
        ]
    deep = _until(reply, roots_last("deep_water", roots.temperature_c).low_h, voice)
    return [
        line(f"Roots suffer from {start} (common practice),"),
        line(f"in deep water from {deep}."),
    ]


def _is_over(reply: EmergencyAdvice, hours: float) -> bool:
    if reply.since is None or reply.asked_at is None:
        return False
    return reply.since + timedelta(hours=hours) <= reply.asked_at


def _until(reply: EmergencyAdvice, hours: float, voice: Voice) -> str:
    since = reply.since or reply.asked_at
    if since is None or reply.asked_at is None:
        return f"{number(hours, 1)} h are over"
    return voice.moment(since + timedelta(hours=hours), reply.asked_at)


def _call(advice: Advice, country: str | None, voice: Voice) -> str:
    """Who to call, on one line: the poison centre with the emergency number, or that one alone."""
    centre = poison_centre(voice.zone.key) if country else None
    if centre is None:
        return f"Call {LOCAL_EMERGENCY if advice.call == 'emergency' else LOCAL_HELP}."
    if advice.call == "emergency" or not centre.number:
        return f"Call {centre.emergency_number} (emergency)."
    if centre.number == centre.emergency_number:
        return f"Call {centre.number}, {centre.note}."
    limits = ", ".join(filter(None, (centre.limited_hours, centre.note)))
    number_to_call = f"{centre.number} ({limits})" if limits else centre.number
    in_full = f"Call {number_to_call}; life in danger: {centre.emergency_number}."
    return in_full if len(in_full) <= LONGEST else in_full.replace("life in danger", "danger")
