"""Lists and standing texts: set-up, settings, what is due, what grows, help."""

from __future__ import annotations

from bot.assistant.replies import (
    PlantsShown,
    SetupAsked,
    SetupEnded,
)
from bot.rendering.describe import UNITS, described, sites_shown
from bot.rendering.markup import Code, Line, Strong, joined, line, name, rows
from bot.rendering.standing_texts import HELP, JAR_TEST, PRIVACY, SAFETY_END, SAFETY_INTRO
from bot.rendering.voice import Voice, number
from bot.rendering.words import ROLES, STEP_AGAIN, STEP_EXAMPLES, STEP_QUESTIONS
from domain.facts import ProductRole
from domain.household import Choices
from domain.safety import CAUTIONS

__all__ = [
    "plants_lines",
    "settings_lines",
    "setup_ended_lines",
    "setup_lines",
    "text_lines",
]

MOST_LINES = 25


def setup_lines(reply: SetupAsked, voice: Voice) -> list[Line]:
    """A step of the set-up: what was kept, then the question with an example of its answer."""
    lines: list[Line] = []
    if reply.first:
        lines += [line("Hello! I keep your tank's log"), line("and say what to add.")]
        lines += [line("A few questions; skip what you like."), line("Or just start:")]
        lines.append(line(Code(voice.reading_example)))
    if reply.kept:
        lines.append(line(f"Noted: {joined([described(fact, voice) for fact in reply.kept])}."))
    if reply.again:
        return [*lines, *rows(STEP_AGAIN[reply.step])]
    lines += [line(Strong(row)) for row in STEP_QUESTIONS[reply.step].split("\n")]
    in_units = f"{reply.step}.us"
    step = in_units if voice.units == "us" and in_units in STEP_EXAMPLES else reply.step
    if step in STEP_EXAMPLES:
        lines.append(line("e.g. ", Code(STEP_EXAMPLES[step])))
    return lines


def setup_ended_lines(reply: SetupEnded, voice: Voice) -> list[Line]:
    """The end of the set-up and the first thing to type."""
    lines: list[Line] = []
    if reply.kept:
        lines.append(line(f"Noted: {joined([described(fact, voice) for fact in reply.kept])}."))
    lines.append(line("That is all I need. Send what you read:"))
    lines.append(line(Code(voice.reading_example)))
    lines.append(line("/settings shows and changes what I know."))
    return lines


def settings_lines(chosen: Choices, voice: Voice) -> list[Line]:
    """What the household has said, and what is assumed in its place."""
    meter = {"us_cm": "EC (mS or µS)", "ppm": f"ppm, {chosen.spoken_ppm_scale} scale"}.get(
        chosen.strength_unit or ""
    )
    if meter is None and chosen.ppm_scale is not None:
        meter = f"{chosen.ppm_scale} scale"
    known = [
        ("System", name(chosen.system_name) if chosen.system_name else None),
        ("Tank", voice.volume(chosen.tank_volume_l) if chosen.tank_volume_l else None),
        ("Units", UNITS.get(chosen.units or "")),
        ("Meter", meter),
        ("Clock", chosen.zone_name),
        ("Growing", joined([described(crop, voice) for crop in chosen.growing]) or None),
        *((ROLES[role], _product(chosen, role, voice)) for role in ("ph_down", "ph_up", "nutrient")),
    ]
    if chosen.fish:
        known.append(("Fish", "in the tank: no doses"))
    known.append(("Tap water", _tap_water(chosen)))
    shown = [
        line(f"{title}: ", Strong(value)) if value else line(f"{title}: not said") for title, value in known
    ]
    say = "tank holds 12 gal" if voice.units == "us" else "tank holds 45 L"
    water = [] if chosen.source_alkalinity_mg_l_caco3 is not None else [line(Code("tap water KH 5"))]
    return [*shown, line("Change by button, or say: ", Code(say)), *water]


def _tap_water(chosen: Choices) -> str | None:
    parts = []
    if chosen.source_alkalinity_mg_l_caco3 is not None:
        parts.append(f"alkalinity {number(chosen.source_alkalinity_mg_l_caco3, 0)} mg/L")
    if chosen.source_ph is not None:
        parts.append(f"pH {number(chosen.source_ph, 1)}")
    if chosen.source_ec_ms_cm is not None:
        parts.append(f"EC {number(chosen.source_ec_ms_cm, 2)}")
    return ", ".join(parts) or None


def _product(chosen: Choices, role: str, voice: Voice) -> str | None:
    wanted: ProductRole = role  # type: ignore[assignment]
    product = chosen.product(wanted)
    return described(product, voice).split(": ", 1)[1] if product else None


def plants_lines(reply: PlantsShown, voice: Voice) -> list[Line]:
    """What stands where, with its days from seed."""
    if not reply.plantings:
        return [line("Nothing sown yet. Tell me:"), line(Code("sowed basil in A1-A3"))]
    lines = []
    for planting in reply.plantings[:MOST_LINES]:
        where = sites_shown(planting.sites)
        days = f", day {planting.days}" if planting.days is not None else ""
        count = f"{planting.count} " if planting.count and planting.count > 1 else ""
        at = f"{where[:1].upper()}{where[1:]}: " if where else ""
        lines.append(line(Strong(f"{at}{count}{planting.crop}"), f"{days}, {planting.stage}"))
    left = len(reply.plantings) - MOST_LINES
    return [*lines, line(f"and {left} more")] if left > 0 else lines


def text_lines(text: str) -> list[Line]:
    """Help, the cautions in full, or what is kept of whom."""
    if text == "help":
        return [line(sentence) for sentence in HELP]
    if text == "privacy":
        return [line(sentence) for sentence in PRIVACY]
    if text == "jar_test":
        title, *steps = JAR_TEST
        return [line(Strong(title)), *(line(step) for step in steps)]
    cautions = [line(f"· {caution.text}") for caution in CAUTIONS.values()]
    return [line(Strong(SAFETY_INTRO)), *cautions, line(SAFETY_END)]
