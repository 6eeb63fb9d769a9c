"""Replies about the water: what the values mean, what to add, and the working behind it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from bot.assistant.replies import Advice, Assumption, BandsShown, Doubted, Logged
from bot.rendering.describe import described, reading_values
from bot.rendering.markup import Code, Line, Strong, joined, line, name
from bot.rendering.voice import Voice, minutes, number
from bot.rendering.words import ASSUMED, HOLDS, LIMITS, NEEDS, NOTHING, ROLES, WARM, WHAT, words_for
from domain.bands import Band, Misfit, SourceLine, TankBands, Verdict
from domain.dosing import Hold, Plan, Predicted, Span, Step
from domain.facts import Question, Reading
from domain.safety import CAUTIONS, cautions_for
from domain.tank import DEFAULTS

__all__ = ["advice_lines", "bands_lines", "doubted_lines", "logged_lines", "why_lines"]

_OUT = ("low", "high")
CLOSE_PH = 0.3
"""Ends nearer than this are shown as one figure: a home tester's own error either way."""
_EXAMPLES = {"metric": "tank holds 45 L", "us": "tank holds 12 gal"}
_ALWAYS = ("second_dose",)
_ABOUT_NOW = ("status", "trend", "why")
_NEAR = {"near_low": " (a bit low)", "near_high": " (a bit high)"}


def logged_lines(reply: Logged, voice: Voice) -> list[Line]:
    """What was kept, what it means and what to do: at most 3 lines in band, 7 out of band."""
    lines = [_opening(reply, voice)]
    acts = any(verdict.place in _OUT for verdict in reply.verdicts)
    lines += [line(_warmth(v)) for v in reply.verdicts if v.what == "water_temp_c" and v.place in _OUT]
    if reply.strength_before is not None and reply.bands is not None:
        before = reply.strength_before
        keep = tolerable(reply.bands.of("ec_ms_cm"), voice)
        lines.append(line(f"Strength first: it was {voice.strength(before.value)} (keep {keep})."))
    if reply.plan is not None and (acts or reply.plan.outcome != "nothing"):
        lines += plan_lines(reply.plan, voice, reply.said_at)
    if reply.retest_at is not None and reply.said_at is not None:
        lines.append(line(f"Test again at {voice.moment(reply.retest_at, reply.said_at)}."))
    lines += assumed_lines(reply.assumed, voice)
    return lines


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


def tolerable(band: Band, voice: Voice) -> str:
    """The edges beyond which to act."""
    return span_of(band.what, band.tolerable_low, band.tolerable_high, voice)


def span_of(what: str, low: float, high: float, voice: Voice) -> str:
    """A range of one value in the household's units."""
    if what == "ec_ms_cm":
        return voice.strength_span(low, high)
    if what == "water_temp_c":
        return f"{voice.temperature(low).split(' ')[0]}–{voice.temperature(high)}"
    return f"{number(low, 1)}–{number(high, 1)}"


def _warmth(verdict: Verdict) -> str:
    return WARM[verdict.place]


def plan_lines(plan: Plan, voice: Voice, now: datetime | None) -> list[Line]:
    """The steps in order, or why there are none; the cautions in one line at the end."""
    if plan.outcome == "nothing":
        return [line("Nothing to add.")]
    lines: list[Line] = []
    if plan.hold is not None:
        lines.append(line(_held(plan.hold, voice, now)))
    shown = steps_before_test(plan)
    if any(step.action == "test_portion" for step in shown):
        lines.append(line("Strength unknown: a test, safe for the strongest sold."))
    steps = [text for step in shown if (text := step_text(step, voice))]
    if len(steps) == 1:
        lines.append(line(steps[0]))
    else:
        lines += [line(f"{place}. {text}") for place, text in enumerate(steps, 1)]
    if plan.retest_after is not None and all(step.action != "wait" for step in shown):
        jar = " Surer: Jar test, below." if any(step.action == "jar_test" for step in shown) else ""
        lines.append(line(f"Test again in {minutes(plan.retest_after)}.{jar}"))
    if cautions := [code for code in plan.cautions if code in cautions_for(shown) or code in _ALWAYS]:
        lines.append(line(" ".join(CAUTIONS[code].brief for code in cautions[:2])))
    return lines


def steps_before_test(plan: Plan) -> tuple[Step, ...]:
    """The steps up to the next test; what follows is planned anew by then, on what the water shows."""
    waits = next((at for at, step in enumerate(plan.steps) if step.action == "wait"), len(plan.steps))
    return plan.steps[: waits + 1]


def _held(hold: Hold, voice: Voice, now: datetime | None) -> str:
    """Why nothing is added now, and what to do instead."""
    data = {key: _filled(key, value, voice, now) for key, value in hold.data.items()}
    return words_for(HOLDS, hold.code).format(**data)


def _filled(key: str, value: object, voice: Voice, now: datetime | None) -> str:
    if isinstance(value, datetime):
        return voice.moment(value, now or value)
    if isinstance(value, float | int):
        return voice.volume(value) if key.endswith("_l") else number(value, 1)
    return str(value)


def step_text(step: Step, voice: Voice) -> str:
    """One step as an order; empty for what is said elsewhere."""
    product = name(step.product) if step.product and step.role == "other" else ROLES[step.role or "other"]
    first = voice.amount(step.first, step.unit) if step.first is not None and step.unit else ""
    match step.action:
        case "top_up":
            return f"Top up with plain water: {first}."
        case "drain_refill":
            return f"Drain {first}, refill with plain water."
        case "add":
            return _add(step, product, first, voice)
        case "wait":
            return f"Wait {step.wait_minutes} min, send pH and strength. pH comes last."
        case "test_portion":
            return f"{_portion(step, product, first)}."
    return ""


def _add(step: Step, product: str, first: str, voice: Voice) -> str:
    if step.parts:
        portions = f", stir, then {first} ".join(f"{part}" for part in step.parts)
        return f"Add {first} {portions}{_whole(step, voice)}"
    if step.role == "nutrient" and step.assumption == "feed_strength" and step.product is None:
        return f"Label dose unknown: add only {first} {product}{_whole(step, voice)}"
    return f"{_portion(step, product, first)}{_whole(step, voice)}"


def _portion(step: Step, product: str, first: str) -> str:
    """``Add 3 ml pH down``; too little to measure neat is diluted first."""
    if step.dilution > 1:
        return f"Mix 1 ml {product} + {step.dilution - 1} ml water; add {first} of it"
    return f"Add {first} {product}"


def _whole(step: Step, voice: Voice) -> str:
    """The whole amount as a range; where the first portion is not all of it, that the rest follows."""
    if step.low is None or step.high is None or step.first is None or step.unit is None:
        return "."
    whole = voice.amount_span(step.low, step.high, step.unit)
    if step.first < step.low:
        return f" now; {whole} in all, the rest after the test."
    return f" ({whole})." if step.low != step.high else "."


def assumed_lines(assumed: Sequence[Assumption], voice: Voice) -> list[Line]:
    """What stood in for what was not said, and how to say it."""
    if not assumed:
        return []
    words = [words_for(ASSUMED, code).format(volume=voice.volume(DEFAULTS.volume_l)) for code in assumed]
    if assumed[0] == "tank_volume":
        return [line(f"Assumed: {', '.join(words)}. Not so? ", Code(_EXAMPLES[voice.units]), " or /settings")]
    return [line(f"Assumed: {', '.join(words)}. Not so? /settings")]


def advice_lines(reply: Advice, voice: Voice) -> list[Line]:
    """The answer to a question about the water."""
    lines = [line(_opening_of(reply, voice))] if reply.reading_at and reply.asked_at else []
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
    """Those values of the latest reading that the question is about."""
    if reply.question.about in ("nutrient", "dilute") and reply.strength is not None:
        return [voice.strength(reply.strength)]
    named = values_of([v for v in reply.verdicts if v.what == "ph"], voice, reply.reading)
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


def bands_lines(reply: BandsShown, voice: Voice) -> list[Line]:
    """The ranges to keep, each with who sets its ends."""
    lines = [line(Strong(f"Keep, for {_for_whom(reply)}"))]
    lines += [line(_band_text(band, voice, reply.bands.assumed)) for band in _bands_of(reply.bands)]
    lines += [line(text) for text in conflicts(reply.bands, voice)]
    lines += assumed_lines(reply.assumed, voice)
    return lines


def _for_whom(reply: BandsShown) -> str:
    return reply.crop or ("a mixed tank" if reply.bands.assumed else "all that stands on the tank")


def _bands_of(bands: TankBands) -> tuple[Band, ...]:
    return (bands.ph, bands.ec, bands.water_temp)


def _band_text(band: Band, voice: Voice, assumed: bool) -> str:
    """``pH 5.6–6.2, act outside 5.5–6.5 (lettuce to basil)``"""
    label = "" if band.what == "ec_ms_cm" else f"{WHAT[band.what]} "
    ideal = span_of(band.what, band.ideal_low, band.ideal_high, voice)
    outer = tolerable(band, voice)
    if assumed:
        return f"{label}{ideal}, act outside {outer}"
    ends = list(dict.fromkeys((band.set_by_low, band.set_by_high)))
    return f"{label}{ideal}, act outside {outer} ({' to '.join(ends)})"


def conflicts(bands: TankBands, voice: Voice) -> list[str]:
    """Who is out, where no range suits all."""
    return [_misfit(misfit, bands, voice) for misfit in bands.misfits if misfit.is_beyond_tolerable][:3]


def _misfit(misfit: Misfit, bands: TankBands, voice: Voice) -> str:
    band = bands.of(misfit.what)
    middle = (band.ideal_low + band.ideal_high) / 2
    side = "lower" if misfit.by > 0 else "higher"
    wants = span_of(misfit.what, middle - misfit.by, middle - misfit.by, voice).split("–")[0]
    return f"{misfit.crop} wants {WHAT[misfit.what]} {side}, {wants} or so: better apart."


def why_lines(plan: Plan | None, bands: TankBands | None, voice: Voice) -> list[Line]:
    """The working: bands and sources, what went in, what was taken for granted, the limit, the cautions."""
    lines: list[Line] = []
    if bands is not None:
        lines.append(line(Strong("Bands")))
        for band in _bands_of(bands):
            lines.append(line(f"· {_band_text(band, voice, bands.assumed)}"))
            lines += [line(f"  {_source(source)}") for source in band.sources[:4]]
    if plan is not None and plan.outcome != "nothing":
        lines += _working(plan, voice)
    return lines


def _source(source: SourceLine) -> str:
    return source.text


def _working(plan: Plan, voice: Voice) -> list[Line]:
    lines = [line(Strong("Working"))]
    for item in plan.basis.inputs:
        value = number(item.value, 3) if isinstance(item.value, float | int) else name(item.value)
        lines.append(
            line(f"· {item.name.replace('_', ' ')}: {value} {item.unit} ({item.basis.replace('_', ' ')})")
        )
    for guess in plan.basis.assumptions:
        span = f"{number(guess.low, 2)}–{number(guess.high, 2)} {guess.unit}"
        lines.append(line(f"· {guess.code.replace('_', ' ')}: {span} ({guess.source})"))
    lines += [
        line(f"· after {step.action.replace('_', ' ')}: {text}")
        for step in plan.steps
        if (text := _predicted(step.predicted))
    ]
    if plan.basis.limit:
        lines.append(line(f"· limit: {words_for(LIMITS, plan.basis.limit)}"))
    if plan.needs:
        lines.append(line(f"Better with: {joined([words_for(NEEDS, code) for code in plan.needs])}."))
    if plan.cautions:
        lines.append(line(Strong("Cautions")))
        lines += [line(f"· {CAUTIONS[code].text} ({CAUTIONS[code].source})") for code in plan.cautions]
    return lines


def _predicted(predicted: Predicted | None) -> str:
    if predicted is None:
        return ""
    spans = (
        ("pH", predicted.ph_now, 2),
        ("pH a day later", predicted.ph_later, 2),
        ("EC", predicted.ec_ms_cm, 2),
    )
    return ", ".join(
        f"{label} {number(span.middle, d)} ({number(span.low, d)}–{number(span.high, d)})"
        for label, span, d in spans
        if span is not None
    )
