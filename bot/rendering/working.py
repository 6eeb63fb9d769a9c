"""Bands, assumptions and the working: what stands behind a reply."""

from __future__ import annotations

from collections.abc import Sequence

from bot.assistant.replies import Assumption, BandsShown
from bot.rendering.markup import Code, Line, Strong, joined, line, name
from bot.rendering.voice import Voice, number
from bot.rendering.words import ASSUMED, LIMITS, NEEDS, ROLES, WHAT, words_for
from domain.bands import Band, Misfit, SourceLine, TankBands
from domain.dosing import Moves, Plan, Predicted
from domain.safety import CAUTIONS
from domain.tank import DEFAULTS

__all__ = ["assumed_lines", "bands_lines", "span_of", "tolerable", "why_lines"]

_EXAMPLES = {"metric": "tank holds 45 L", "us": "tank holds 12 gal"}


def tolerable(band: Band, voice: Voice) -> str:
    """The edges beyond which to act."""
    return span_of(band.what, band.tolerable_low, band.tolerable_high, voice)


def span_of(what: str, low: float, high: float, voice: Voice) -> str:
    """A range of one value in the household's units."""
    if what == "ec_ms_cm":
        return voice.strength_span(low, high)
    if what == "water_temp_c":
        return f"{voice.temperature(low).split(' ')[0]}–{voice.temperature(high)}"
    if what == "ph":
        return f"{low:.1f}–{high:.1f}"
    return f"{number(low, 1)}–{number(high, 1)}"


def assumed_lines(assumed: Sequence[Assumption], voice: Voice) -> list[Line]:
    """What stood in for what was not said, and how to say it: one line."""
    if not assumed:
        return []
    words = [words_for(ASSUMED, code).format(volume=voice.volume(DEFAULTS.volume_l)) for code in assumed]
    if tuple(assumed) == ("tank_volume",):
        return [line(f"Assumed {words[0]}. Not so? ", Code(_EXAMPLES[voice.units]))]
    return [line(f"Assumed {', '.join(words)}. /settings")]


def bands_lines(reply: BandsShown, voice: Voice) -> list[Line]:
    """The ranges to keep, each with who sets its ends."""
    lines = [line(Strong(f"Keep, for {_for_whom(reply)}"))]
    lines += [line(_band_text(band, voice)) for band in _bands_of(reply.bands)]
    if not reply.bands.assumed and reply.crop is None:
        lines.append(line(_all_set_by(reply.bands)))
    lines += [line(text) for text in conflicts(reply.bands, voice)]
    lines += assumed_lines(reply.assumed, voice)
    return lines


def _for_whom(reply: BandsShown) -> str:
    if reply.crop and reply.stage and reply.stage != "vegetative":
        return f"{reply.crop}, {reply.stage}"
    return reply.crop or ("a mixed tank" if reply.bands.assumed else "all that stands on the tank")


def _bands_of(bands: TankBands) -> tuple[Band, ...]:
    return (bands.ph, bands.ec, bands.water_temp)


def _band_text(band: Band, voice: Voice) -> str:
    """``pH 5.6–6.2, act outside 5.5–6.5``"""
    label = "" if band.what == "ec_ms_cm" else f"{WHAT[band.what]} "
    ideal = span_of(band.what, band.ideal_low, band.ideal_high, voice)
    return f"{label}{ideal}, act outside {tolerable(band, voice).removeprefix('EC ')}"


def _all_set_by(bands: TankBands) -> str:
    """``Set by: pH lettuce to basil; EC, water basil``: whose wishes set the ends."""
    whose: dict[str, list[str]] = {}
    for band in _bands_of(bands):
        whose.setdefault(_set_by(band).removeprefix(", "), []).append(WHAT[band.what])
    parts = (f"{', '.join(labels)} {who}" for who, labels in whose.items())
    return f"Set by: {'; '.join(parts)}"


def _set_by(band: Band) -> str:
    """``, lettuce to basil``: whose wishes set the ends."""
    return f", {' to '.join(dict.fromkeys((band.set_by_low, band.set_by_high)))}"


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
            lines.append(line(f"· {_band_text(band, voice)}{'' if bands.assumed else _set_by(band)}"))
            lines += [line(f"  {_source(source)}") for source in band.sources[:4]]
    if plan is not None and plan.outcome != "nothing":
        lines += _working(plan, voice)
    return lines


def _source(source: SourceLine) -> str:
    return source.text


def _working(plan: Plan, voice: Voice) -> list[Line]:
    lines = [line(Strong("Working"))]
    if plan.basis.moves is not None:
        lines.append(line(f"· {_learned(plan.basis.moves, plan.basis.answers, voice)}"))
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


def _learned(moves: Moves, answers: int, voice: Voice) -> str:
    """What the tank's answers so far come to, in plain words."""
    so_far = f"{answers} dose{'' if answers == 1 else 's'}" if answers else "no dose"
    yet = "" if answers else " yet; by usual ranges"
    shift = f"{number(moves.ph, 2)} ± {number(moves.deviation, 2)}"
    unit = f"1 {moves.unit} {ROLES[moves.role]}"
    return f"this tank has answered {so_far}{yet or ';'} {unit} moves {voice.volume(moves.litres)} by {shift}"


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
