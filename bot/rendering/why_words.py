"""Why a value moves, in words: what the log shows, possible causes, the check, what to do first."""

from __future__ import annotations

from datetime import timedelta

from bot.assistant.chart_replies import WhyShown
from bot.rendering.brevity import OUT_OF_BAND, Part, brief, said
from bot.rendering.markup import Line, Strong, line
from bot.rendering.voice import Voice, number
from bot.rendering.words import HANDS, WHAT, words_for
from domain.diagnosis import Evidence
from domain.history import Quantity
from domain.past import Moved

__all__ = ["why_moved_lines", "why_moved_sources"]

_TESTER = {"ph": 0.1, "water_temp_c": 0.5, "level_l": 1.0}
_TESTER_SHARE = 0.05
"""What two readings of one water may lie apart; of strength as a share: common practice for home testers."""
_WAYS = {"up": "climbing", "down": "falling"}


def why_moved_lines(reply: WhyShown, voice: Voice) -> tuple[list[Line], list[Line]]:
    """The move, a cause with its evidence, the check, the mildest step, another cause: seven lines at most.

    Returns the lines, and those that had to give way.
    """
    parts = [Part((_opening(reply, voice),))]
    if not reply.findings:
        return brief([*parts, said(_no_cause(reply))], OUT_OF_BAND)
    first, *others = reply.findings
    is_tester = first.pattern.is_tester and first.evidence.is_plain
    cause = Strong(f"{'Suspect first' if is_tester else 'It may be'}: {first.pattern.cause}")
    shown = _shown(first.evidence, reply, voice)
    parts.append(Part((line(cause, f"{shown}."),), rank=1 if shown else 0, short=(line(cause, "."),)))
    parts.append(said(f"To tell: {first.pattern.check}."))
    parts.append(said(f"Do first: {first.pattern.actions[0]}."))
    if reply.verdict.needs_action and not is_tester:
        parts.append(said("Out of its band: /status says what to add.", rank=2))
    for other in others:
        parts.append(said(f"Or: {other.pattern.cause}{_shown(other.evidence, reply, voice)}.", rank=3))
    return brief(parts, OUT_OF_BAND)


def _no_cause(reply: WhyShown) -> str:
    if _is_little(reply.moved):
        return "So little may be the tester alone."
    return "My log shows no cause. Log the level and what you add, then ask again."


def _is_little(moved: Moved) -> bool:
    if moved.what == "ec_ms_cm":
        return abs(moved.share) <= _TESTER_SHARE
    return abs(moved.by) <= _TESTER[moved.what] + 1e-9


def why_moved_sources(reply: WhyShown, voice: Voice) -> list[Line]:
    """All causes, checks and steps in their order, with the sources."""
    lines: list[Line] = []
    for finding in reply.findings:
        pattern = finding.pattern
        lines.append(line(Strong(f"{pattern.cause[0].upper()}{pattern.cause[1:]}"), "."))
        if pattern.others:
            lines.append(line(f"Looks alike: {'; '.join(pattern.others)}."))
        lines.append(line(f"To tell: {pattern.check}."))
        lines.append(line(f"In this order: {'; '.join(pattern.actions)}."))
        lines.append(line(f"Source: {'; '.join(source.text for source in pattern.sources)}."))
    return [*lines, line("Possible causes by what was logged, no verdict.")] if lines else []


def _opening(reply: WhyShown, voice: Voice) -> Line:
    moved = reply.moved
    name = words_for(WHAT, reply.what)
    goes = "up" if moved.by > 0 else "down"
    if moved.before == moved.after:
        return line(f"{_value(moved.what, moved.after.value, voice)}, the only reading of the last days.")
    went = f"{_from_to(moved, voice)} in {_span(moved.after.at - moved.before.at)}."
    if _is_little(moved):
        opens = name if name.startswith("pH") else f"{name[:1].upper()}{name[1:]}"
        return line(f"{opens} hardly moved: {went}")
    if reply.way is not None and reply.way != goes:
        return line(f"By your log {name} is not {_WAYS[reply.way]}: {went}")
    return line(went)


def _shown(evidence: Evidence, reply: WhyShown, voice: Voice) -> str:
    """The evidence in brackets: what else moved, what was done, what was not looked after."""
    parts = [_from_to(moved, voice) for moved in evidence.moves if moved != reply.moved]
    if evidence.hand is not None:
        parts.append(f"{HANDS[evidence.hand.kind]} {voice.moment(evidence.hand.at, reply.now)}")
    if evidence.is_care:
        at = evidence.cared_at
        parts.append("never logged" if at is None else f"last {voice.date(at)}")
    if evidence.oxygen_mg_l is not None:
        parts.append(f"it holds at most {number(evidence.oxygen_mg_l, 1)} mg/L of oxygen")
    return f" ({'; '.join(parts)})" if parts else ""


def _from_to(moved: Moved, voice: Voice) -> str:
    """``pH 5.8 to 6.3``, ``level 44 L to 40 L``."""
    before, after = (_value(moved.what, point.value, voice) for point in (moved.before, moved.after))
    lead = f"{words_for(WHAT, moved.what)} " if moved.what in ("level_l", "water_temp_c") else ""
    return f"{lead}{before} to {after.removeprefix('pH ').removeprefix('EC ')}"


def _value(what: Quantity, value: float, voice: Voice) -> str:
    if what == "ec_ms_cm" and voice.ppm_scale is None:
        return f"EC {number(value, 2)}"  # a change of a tenth must show
    return voice.quantity(what, value)


def _span(over: timedelta) -> str:
    days = over / timedelta(days=1)
    if days >= 1.5:
        return f"{round(days)} days"
    hours = max(1, round(days * 24))
    return "an hour" if hours == 1 else f"{hours} hours"
