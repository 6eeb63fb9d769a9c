"""Replies about the water: what the values mean and what to do about them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from bot.assistant.replies import Advice, Doubted, Logged
from bot.rendering.brevity import IN_BAND, OF_PLANTS, OUT_OF_BAND, Part, brief, said
from bot.rendering.describe import described, reading_values
from bot.rendering.markup import Line, Strong, joined, line, packed
from bot.rendering.people import others_lines
from bot.rendering.plants import notes_parts
from bot.rendering.steps import plan_lines
from bot.rendering.voice import Voice, number
from bot.rendering.words import NOTHING, ROLES, WARM, WARM_WHY, WHAT, words_for
from bot.rendering.working import assumed_lines, tolerable
from domain.bands import Band, Verdict
from domain.dosing import Span, Step
from domain.facts import Question, Reading

__all__ = ["advice_lines", "doubted_lines", "logged_lines", "warmth_why"]

_OUT = ("low", "high")
CLOSE_PH = 0.3
"""Ends nearer than this are shown as one figure: a home tester's own error either way."""
_ABOUT_NOW = ("status", "why")
_NEAR = {"near_low": " (bit low)", "near_high": " (bit high)"}
AFTER_WATER = 4
"""How soon what is said of plants gives way to water that is out of its band; see ``Part.rank``."""
WARM_ENOUGH_C = 18.0
"""To which cold water is warmed: common practice. [°C]"""


def logged_lines(reply: Logged, voice: Voice) -> tuple[list[Line], list[Line]]:
    """What it means and what to do, then what was kept: at most 3 lines where all is well, else 7.

    Returns the lines, and those that had to give way.
    """
    acts = _acts(reply)
    about_plants = reply.plants is not None and reply.said_at is not None
    parts = [*_verdict_parts(reply, voice)] if reply.verdicts else []
    noted = _noted(reply, voice)
    if reply.times_advised is not None:
        parts = [*_far_too_much(reply.times_advised), *parts]
    elif not reply.verdicts:
        parts = [*noted]
    if reply.said_at is not None:
        parts = [Part(tuple(others_lines(reply.others, voice, reply.said_at))), *parts]
    tester, hint = _hints(reply)
    parts += tester
    if reply.strength_before is not None and reply.bands is not None:
        before = reply.strength_before
        keep = _keep(reply.bands.of("ec_ms_cm"), voice)
        parts.append(said(f"Strength first: {voice.strength(before.value)} {keep}."))
    if reply.plan is not None and (acts or reply.plan.outcome != "nothing"):
        parts.append(Part(tuple(plan_lines(reply.plan, voice, reply.said_at))))
    if reply.retest_at is not None and reply.said_at is not None and not _says_when(reply):
        parts.append(said(f"Test again {voice.at(reply.retest_at, reply.said_at)}."))
    if reply.plants is not None and reply.said_at is not None:
        notes = notes_parts(reply.plants, voice, reply.said_at)
        parts += [replace(note, rank=max(note.rank, AFTER_WATER)) for note in notes] if acts else notes
    if reply.verdicts or reply.times_advised is not None:
        parts += noted
    parts += hint
    parts.append(Part(tuple(assumed_lines(reply.assumed, voice))))
    if acts or reply.times_advised is not None:
        return brief(parts, OUT_OF_BAND)
    return brief(parts, OF_PLANTS if about_plants else IN_BAND)


def _hints(reply: Logged) -> tuple[list[Part], list[Part]]:
    """What has become plain, as it is told unasked: a tester's trouble before a dose, else at the end."""
    if reply.pattern is None:
        return [], []
    pattern = reply.pattern.pattern
    if pattern.is_tester and _acts(reply):
        return [Part((line(Strong(pattern.hint)),))], []
    return [], [said(pattern.hint, rank=3)]


def _acts(reply: Logged) -> bool:
    """Whether something is out of its band, or there is something to do."""
    out = any(verdict.place in _OUT for verdict in reply.verdicts)
    return out or (reply.plan is not None and reply.plan.outcome != "nothing")


def _says_when(reply: Logged) -> bool:
    """The plan or the warning says already when to test."""
    held = reply.plan.hold if reply.plan is not None else None
    return reply.times_advised is not None or (held is not None and "read_at" in held.data)


def _far_too_much(times: float) -> list[Part]:
    said_so = (
        "Too much at once (over 1 ml per litre)."
        if math.isinf(times)
        else f"That is {round(times)} times the portion I gave."
    )
    orders = said("Pump on, test in 10 min.", "Under 5 or over 7.5: drain half, refill.")
    return [Part((line(Strong(said_so)),)), orders]


def _noted(reply: Logged, voice: Voice) -> list[Part]:
    """What was kept besides the values that are judged; in few words where there is no room for many."""
    judged = bool(reply.verdicts)
    others = [described(fact, voice) for fact in reply.facts if not (isinstance(fact, Reading) and judged)]
    word = "Changed" if reply.edited else "Noted"
    when = ""
    if reply.earlier is not None and reply.said_at is not None:
        when = f" ({voice.moment(reply.earlier, reply.said_at)})"
    if not others:
        return [said(f"{word}{when}.", rank=2)] if reply.edited or when else []
    short = (line(f"{word}: {len(others)} things{when}, see Why."),) if len(others) > 1 else ()
    lines = (line(f"{word}: {joined(others)}{when}."),)
    return [Part(lines, 0 if len(others) == 1 and not judged else 2, short)]


def doubted_lines(reply: Doubted, voice: Voice) -> list[Line]:
    """What looks wrong and what to do before anything is added."""
    seen, expected = (
        f"pH {voice.ph(round(value, digits))}" if reply.doubt.what == "ph" else voice.strength(value)
        for value, digits in ((reply.doubt.value, 2), (reply.doubt.expected, 1))
    )
    return [
        line(Strong(f"{seen}?"), f" By your log about {expected}."),
        line("Rinse the probe, test again."),
        line("Left out of advice until you confirm."),
    ]


def _verdict_parts(reply: Logged | Advice, voice: Voice) -> list[Part]:
    """What each value is: ``pH 6.9 is high (keep 5.5–6.5).``, then what is fine, then how to warm or cool."""
    out = [v for v in reply.verdicts if v.place in _OUT]
    fine = [v for v in reply.verdicts if v.place not in _OUT]
    idle = reply.plan is None or reply.plan.outcome == "nothing"
    if not out:
        well = all(verdict.place == "in" for verdict in fine)
        shown = joined(values_of(fine, voice, reply.reading)) if well else _near(fine, voice, reply.reading)
        verdict = line(Strong("In band" if well else "Fine"), f": {shown}.")
        whole = line(*verdict, " Nothing to add.")
        return [Part((whole,), 6, (verdict,))] if idle else [Part((verdict,))]
    parts = _out_of_band(out, reply, voice)
    if fine:
        parts.append(said(f"Fine: {_near(fine, voice, reply.reading)}.", rank=3))
    return parts + [_warmth(v, voice) for v in out if v.what == "water_temp_c"]


def _out_of_band(out: list[Verdict], reply: Logged | Advice, voice: Voice) -> list[Part]:
    bands = reply.bands
    assert bands is not None  # noqa: S101 — verdicts come with the bands they were judged by
    shown = values_of(out, voice, reply.reading)
    if len(out) == 1:
        keep = _keep(bands.of(out[0].what), voice)
        return [Part((line(Strong(f"{shown[0]} is {out[0].place}"), f" {keep}."),))]
    by_side = {side: [t for t, v in zip(shown, out, strict=True) if v.place == side] for side in _OUT}
    sides = [f"{side.capitalize()}: {joined(texts)}." for side, texts in by_side.items() if texts]
    spans = [_span(bands.of(verdict.what), voice, named=True) for verdict in out]
    return [
        Part(tuple(line(Strong(row)) for row in _packed_texts(sides))),
        said(f"Keep {', '.join(spans)}.", rank=4),
    ]


def _packed_texts(sentences: list[str]) -> list[str]:
    return ["".join(row) for row in packed(sentences)]


def _near(verdicts: list[Verdict], voice: Voice, reading: Reading | None) -> str:
    """``540 ppm (bit low), 23 °C (bit high)``"""
    shown = values_of(verdicts, voice, reading)
    return ", ".join(f"{text}{_NEAR.get(v.place, '')}" for text, v in zip(shown, verdicts, strict=True))


def _keep(band: Band, voice: Voice) -> str:
    """``(keep 5.5–6.5)``: in the unit of the value that stands before it."""
    return f"(keep {_span(band, voice)})"


def _span(band: Band, voice: Voice, *, named: bool = False) -> str:
    """``5.5–6.5``; named: ``pH 5.5–6.5``, ``480–1080 ppm``."""
    whole = tolerable(band, voice)
    if named:
        return f"pH {whole}" if band.what == "ph" else whole
    return whole.removeprefix("EC ").split(" ")[0]


def _warmth(verdict: Verdict, voice: Voice) -> Part:
    order = WARM[verdict.place].format(aim=voice.temperature(WARM_ENOUGH_C))
    return said(order, rank=1)


def warmth_why(verdicts: Iterable[Verdict]) -> list[Line]:
    """Why the water is to be warmed or cooled."""
    return [line(WARM_WHY[v.place]) for v in verdicts if v.what == "water_temp_c" and v.place in _OUT]


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


def advice_lines(reply: Advice, voice: Voice) -> tuple[list[Line], list[Line]]:
    """The answer to a question about the water, and what had to give way in it."""
    about_now = reply.question.about in _ABOUT_NOW
    rank = 5 if about_now else 2
    opening = [said(_opening_of(reply, voice), rank=rank)] if reply.reading_at and reply.asked_at else []
    others = others_lines(reply.others, voice, reply.asked_at) if reply.asked_at else []
    parts = [Part(tuple(others)), *([] if about_now else opening)]
    if reply.strength_first and reply.strength is not None and reply.plan.outcome == "steps":
        keep = _keep(reply.bands.of("ec_ms_cm"), voice)
        parts.append(said(f"Strength first: {voice.strength(reply.strength)} {keep}."))
    if about_now and reply.verdicts:
        parts += _verdict_parts(reply, voice)
    if reply.plan.reason == "what_if":
        parts += [said(*texts) for step in reply.plan.steps if (texts := _foretold(step, voice))]
    elif reply.plan.outcome == "nothing":
        parts = parts if about_now else [parts[0], said(_nothing(reply, voice))]
    else:
        parts.append(Part(tuple(plan_lines(reply.plan, voice, reply.asked_at))))
    parts += opening if about_now and reply.verdicts else []
    parts.append(Part(tuple(assumed_lines(reply.assumed, voice))))
    return brief(parts, OUT_OF_BAND)


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


def _foretold(step: Step, voice: Voice) -> list[str]:
    """What a step that is only thought of would do."""
    predicted = step.predicted
    if predicted is None:
        return []
    rows = []
    if predicted.ph_now is not None:
        rows.append(f"pH {_range(predicted.ph_now)} at once,")
    if predicted.ph_later is not None:
        rows.append(f"pH {_range(predicted.ph_later)} tomorrow,")
    if predicted.ec_ms_cm is not None:
        rows.append(f"{voice.strength(predicted.ec_ms_cm.middle)},")
    amount = voice.amount(step.first, step.unit) if step.first is not None and step.unit else ""
    product = ROLES[step.role] if step.role else "plain water"
    return [f"{amount} {product} would bring:", *_ended(rows)]


def _ended(rows: list[str]) -> list[str]:
    return [*rows[:-1], f"{rows[-1].rstrip(',')}."] if rows else []


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
        return f"Read {voice.at(reply.reading_at, reply.asked_at)}."
    volume = f" for {voice.volume(asked.volume_l)}" if asked.volume_l and asked.about != "what_if" else ""
    value = joined(_values_asked(reply, voice))
    when = voice.moment(reply.reading_at, reply.asked_at) if reply.reading_at and reply.asked_at else ""
    return f"From {value} ({when}){volume}:"


def _nothing(reply: Advice, voice: Voice) -> str:
    values = joined(_values_asked(reply, voice)) or "the last reading"
    product = ROLES.get(reply.question.about, "adjuster")
    return words_for(NOTHING, reply.plan.reason or "in_band").format(values=values, product=product)
