"""A plan as orders: what to add, in which order, and when to test again."""

from __future__ import annotations

from datetime import datetime

from bot.rendering.markup import Line, line, name
from bot.rendering.voice import Voice, minutes, number
from bot.rendering.words import HOLDS, ROLES, UNDER_WAY, words_for
from domain.dosing import Hold, Plan, Step
from domain.safety import CAUTIONS, cautions_for

__all__ = ["plan_lines", "steps_before_test"]

_ALWAYS = ("second_dose",)
"""Cautions that hold whatever the steps are."""


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
    by_limit = f"{hold.code}.{hold.data.get('limit')}"
    return words_for(HOLDS, by_limit if by_limit in HOLDS else hold.code).format(**data)


def _filled(key: str, value: object, voice: Voice, now: datetime | None) -> str:
    if isinstance(value, datetime):
        return voice.moment(value, now or value)
    if isinstance(value, float | int):
        return voice.volume(value) if key.endswith("_l") else number(value, 1)
    if key == "what":
        return words_for(UNDER_WAY, str(value))
    return name(str(value)) if key == "who" else str(value)


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
