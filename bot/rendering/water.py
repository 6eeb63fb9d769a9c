"""Replies about the water: what the values mean and what to do about them."""

from __future__ import annotations

import math
from collections.abc import Iterable

from bot.assistant.replies import Advice, Doubted, Logged
from bot.rendering.describe import described, reading_values
from bot.rendering.markup import Line, Strong, joined, line
from bot.rendering.plants import notes_lines
from bot.rendering.steps import plan_lines
from bot.rendering.voice import Voice, number
from bot.rendering.words import NOTHING, ROLES, WARM, WHAT, words_for
from bot.rendering.working import assumed_lines, tolerable
from domain.bands import Verdict
from domain.dosing import Span, Step
from domain.facts import Question, Reading

__all__ = ["advice_lines", "doubted_lines", "logged_lines"]

_OUT = ("low", "high")
CLOSE_PH = 0.3
"""Ends nearer than this are shown as one figure: a home tester's own error either way."""
_ABOUT_NOW = ("status", "why")
_NEAR = {"near_low": " (a bit low)", "near_high": " (a bit high)"}


def logged_lines(reply: Logged, voice: Voice) -> list[Line]:
    """What was kept, what it means and what to do: at most 3 lines in band, 7 out of band."""
    lines = [_opening(reply, voice)]
    acts = any(verdict.place in _OUT for verdict in reply.verdicts)
    lines += [line(WARM[v.place]) for v in reply.verdicts if v.what == "water_temp_c" and v.place in _OUT]
    if reply.strength_before is not None and reply.bands is not None:
        before = reply.strength_before
        keep = tolerable(reply.bands.of("ec_ms_cm"), voice)
        lines.append(line(f"Strength first: it was {voice.strength(before.value)} (keep {keep})."))
    if reply.plan is not None and (acts or reply.plan.outcome != "nothing"):
        lines += plan_lines(reply.plan, voice, reply.said_at)
    if reply.times_advised is not None:
        lines.append(line(Strong(_far_too_much(reply.times_advised))))
        lines.append(line("Pump on, test in 10 min. Under 5 or over 7.5: drain half, refill."))
    elif reply.retest_at is not None and reply.said_at is not None:
        lines.append(line(f"Test again at {voice.moment(reply.retest_at, reply.said_at)}."))
    if reply.plants is not None and reply.said_at is not None:
        lines += notes_lines(reply.plants, voice, reply.said_at)
    lines += assumed_lines(reply.assumed, voice)
    return lines


def _far_too_much(times: float) -> str:
    if math.isinf(times):
        return "That is more than the water takes at once (1 ml per litre)."
    return f"That is {round(times)} times the portion I gave."


def doubted_lines(reply: Doubted, voice: Voice) -> list[Line]:
    """What looks wrong and what to do before anything is added."""
    seen, expected = (
        f"pH {voice.ph(value)}" if reply.doubt.what == "ph" else voice.strength(value)
        for value in (reply.doubt.value, reply.doubt.expected)
    )
    return [
        line(Strong(f"{seen}?"), f" By your log it should be about {expected}."),
        line("Rinse the probe, test again. I leave it out of advice until you confirm."),
    ]


def _opening(reply: Logged, voice: Voice) -> Line:
    others = [
        described(fact, voice) for fact in reply.facts if not (isinstance(fact, Reading) and reply.verdicts)
    ]
    noted = f"Noted: {joined(others)}" if others else ""
    if reply.edited:
        noted = f"Changed: {joined([described(fact, voice) for fact in reply.facts])}"
    if reply.earlier is not None and reply.said_at is not None:
        noted += f" ({voice.moment(reply.earlier, reply.said_at)})"
    if not reply.verdicts:
        return line(f"{noted}.")
    said = _judged(reply, voice)
    return line(f"{noted}. ", *said) if noted else line(*said)


def _judged(reply: Logged | Advice, voice: Voice) -> tuple[str, ...]:
    """``pH 6.9 is high (keep 5.5–6.5). Fine: 540 ppm (a bit low).``"""
    bands = reply.bands
    assert bands is not None  # noqa: S101 — verdicts come with the bands they were judged by
    if all(verdict.place == "in" for verdict in reply.verdicts):
        values = joined(values_of(reply.verdicts, voice, reply.reading))
        nothing = " Nothing to add." if reply.plan is None or reply.plan.outcome == "nothing" else ""
        return (Strong("In band"), f": {values}.{nothing}")
    out = [v for v in reply.verdicts if v.place in _OUT]
    parts: list[str] = []
    for verdict in out:
        (value,) = values_of([verdict], voice, reply.reading)
        parts += [
            Strong(f"{value} is {verdict.place}"),
            f" (keep {tolerable(bands.of(verdict.what), voice)}). ",
        ]
    fine = [v for v in reply.verdicts if v.place not in _OUT]
    if fine:
        shown = values_of(fine, voice, reply.reading)
        near = [f"{text}{_NEAR.get(v.place, '')}" for text, v in zip(shown, fine, strict=True)]
        parts.append(f"Fine: {joined(near)}. ")
    if not out and (reply.plan is None or reply.plan.outcome == "nothing"):
        parts.append("Nothing to add.")
    return (*parts[:-1], parts[-1].rstrip())


def values_of(verdicts: Iterable[Verdict], voice: Voice, reading: Reading | None) -> list[str]:
    """The judged values as the household typed them."""
    shown = []
    for verdict in verdicts:
        if verdict.what == "ph":
            shown.append(f"pH {voice.ph(verdict.value)}")
        elif verdict.what == "ec_ms_cm":
            shown.append(voice.strength_as_read(verdict.value, reading.ppm if reading else None))
        elif verdict.what == "water_temp_c":
            shown.append(voice.temperature(verdict.value))
        else:
            shown.append(f"{words_for(WHAT, verdict.what)} {number(verdict.value, 1)}")
    return shown


def advice_lines(reply: Advice, voice: Voice) -> list[Line]:
    """The answer to a question about the water."""
    lines = [line(_opening_of(reply, voice))] if reply.reading_at and reply.asked_at else []
    if reply.strength_first and reply.strength is not None and reply.plan.outcome == "steps":
        keep = tolerable(reply.bands.of("ec_ms_cm"), voice)
        lines.append(line(f"But strength first: {voice.strength(reply.strength)} (keep {keep})."))
    if reply.question.about in _ABOUT_NOW and reply.verdicts:
        lines.append(line(*_judged(reply, voice)))
    if reply.plan.reason == "what_if":
        lines += [line(text) for step in reply.plan.steps if (text := _foretold(step, voice))]
    elif reply.plan.outcome == "nothing":
        lines = lines if reply.question.about in _ABOUT_NOW else [line(_nothing(reply, voice))]
    else:
        lines += plan_lines(reply.plan, voice, reply.asked_at)
    lines += assumed_lines(reply.assumed, voice)
    return lines


def _change_asked(asked: Question, voice: Voice) -> str:
    """``From pH 6.8 to 5.9 for 10 gal``"""
    volume = f" for {voice.volume(asked.volume_l)}" if asked.volume_l else ""
    if asked.ph_from is not None:
        to = f" to {voice.ph(asked.ph_to)}" if asked.ph_to is not None else ""
        return f"From pH {voice.ph(asked.ph_from)}{to}{volume}"
    to = f" to {voice.strength(asked.ec_to)}" if asked.ec_to is not None else ""
    return f"From {voice.strength(asked.ec_from or 0.0)}{to}{volume}"


def _values_asked(reply: Advice, voice: Voice) -> list[str]:
    """Those values of the latest reading, or of the question itself, that it is about."""
    if reply.question.ph_from is not None:
        return [f"pH {voice.ph(reply.question.ph_from)}"]
    if reply.question.about in ("nutrient", "dilute") and reply.strength is not None:
        return [voice.strength(reply.strength)]
    named = [f"pH {voice.ph(reply.ph)}"] if reply.ph is not None else []
    return named or (reading_values(reply.reading, voice) if reply.reading else [])


def _foretold(step: Step, voice: Voice) -> str:
    """What a step that is only thought of would do."""
    predicted = step.predicted
    if predicted is None:
        return ""
    parts = []
    if predicted.ph_now is not None:
        parts.append(f"pH {_range(predicted.ph_now)} at once")
    if predicted.ph_later is not None:
        parts.append(f"{_range(predicted.ph_later)} tomorrow")
    if predicted.ec_ms_cm is not None:
        parts.append(voice.strength(predicted.ec_ms_cm.middle))
    amount = voice.amount(step.first, step.unit) if step.first is not None and step.unit else ""
    product = ROLES[step.role] if step.role else "plain water"
    return f"{amount} {product} would bring: {joined(parts)}."


def _range(span: Span) -> str:
    """One figure where it is known well, else both ends."""
    if span.high - span.low < CLOSE_PH:
        return f"about {number(span.middle, 1)}"
    return f"{number(span.low, 1)}–{number(span.high, 1)}"


def _opening_of(reply: Advice, voice: Voice) -> str:
    asked = reply.question
    if asked.ph_from is not None or asked.ec_from is not None:
        return f"{_change_asked(asked, voice)}:"
    if asked.about in _ABOUT_NOW and reply.reading_at and reply.asked_at:
        return f"Read {voice.moment(reply.reading_at, reply.asked_at)}:"
    volume = f" for {voice.volume(asked.volume_l)}" if asked.volume_l and asked.about != "what_if" else ""
    value = joined(_values_asked(reply, voice))
    when = voice.moment(reply.reading_at, reply.asked_at) if reply.reading_at and reply.asked_at else ""
    return f"From {value} at {when}{volume}:"


def _nothing(reply: Advice, voice: Voice) -> str:
    values = joined(_values_asked(reply, voice)) or "the last reading"
    product = ROLES.get(reply.question.about, "adjuster")
    return words_for(NOTHING, reply.plan.reason or "in_band").format(values=values, product=product)
