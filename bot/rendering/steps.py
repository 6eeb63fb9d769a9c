"""A plan as orders: what to add, in which order, and when to test again."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from bot.rendering.markup import Line, line, name, packed, rows
from bot.rendering.voice import Voice, minutes, number
from bot.rendering.words import HOLDS, ROLES, UNDER_WAY, words_for
from domain.dosing import Hold, Plan, Step
from domain.safety import CAUTIONS, cautions_for
from domain.tank import SETTLED_AFTER

__all__ = ["plan_lines", "steps_before_test"]

_ALWAYS = ("second_dose",)
"""Cautions that hold whatever the steps are."""


def plan_lines(plan: Plan, voice: Voice, now: datetime | None) -> list[Line]:
    """The steps in order, or why there are none; when to test again; the cautions at the end."""
    if plan.outcome == "nothing":
        return [line("Nothing to add.")]
    shown = steps_before_test(plan)
    beside = plan.hold is not None and f"{plan.hold.code}.beside" in HOLDS and bool(plan.steps)
    held = rows(_held(plan.hold, voice, now, beside=beside)) if plan.hold is not None else []
    lines = [] if beside else held
    if (unknown := _unknown(plan, shown)) is not None:
        lines.append(line(unknown))
    steps = [text for step in shown if (text := step_text(step, voice))]
    numbered = steps if len(steps) == 1 else [f"{place}. {text}" for place, text in enumerate(steps, 1)]
    lines += [*(line(text) for text in numbered), *(held if beside else ())]
    # A hold says in its own words when to test again.
    if (
        plan.retest_after is not None
        and plan.outcome != "hold"
        and all(step.action != "wait" for step in shown)
    ):
        lines.append(line(_retest(plan.retest_after, shown)))
    return lines + packed(CAUTIONS[code].brief for code in _beside(plan, shown))


def _unknown(plan: Plan, shown: Sequence[Step]) -> str | None:
    """Why the portion is a small one, where the label says too little."""
    if any(step.action == "test_portion" for step in shown):
        return "Strength unknown: a test, safe for any sold."
    feeds = any(step.action == "add" and step.role == "nutrient" for step in shown)
    if feeds and "feed_label" in plan.needs:
        return "Label dose unknown: a small first portion."
    return None


def _retest(after: timedelta, shown: Sequence[Step]) -> str:
    """When to test again, and what comes with it."""
    if any(step.action == "jar_test" for step in shown):
        return f"Test again in {minutes(after)}; surer: Jar test."
    parts = [step for step in shown if _is_part(step)]
    if any(step.role in ("ph_down", "ph_up") for step in parts):
        return f"Test in {minutes(after)} and in {minutes(SETTLED_AFTER)}; then the rest."
    return f"Test again in {minutes(after)}{'; the rest comes then' if parts else ''}."


def _beside(plan: Plan, shown: Sequence[Step]) -> list[str]:
    """The cautions to be said at once. That the strength is unknown is said above the steps."""
    said = cautions_for(shown)
    return [c for c in plan.cautions if (c in said or c in _ALWAYS) and c != "unknown_bottle"]


def steps_before_test(plan: Plan) -> tuple[Step, ...]:
    """The steps up to the next test; what follows is planned anew by then, on what the water shows."""
    waits = next((at for at, step in enumerate(plan.steps) if step.action == "wait"), len(plan.steps))
    return plan.steps[: waits + 1]


def _held(hold: Hold, voice: Voice, now: datetime | None, *, beside: bool) -> str:
    """Why nothing is added now, and what to do instead. beside : there are other steps, which go first."""
    data = {key: _filled(key, value, voice, now) for key, value in hold.data.items()}
    by_limit = f"{hold.code}.beside" if beside else f"{hold.code}.{hold.data.get('limit')}"
    return words_for(HOLDS, by_limit if by_limit in HOLDS else hold.code).format(**data)


def _filled(key: str, value: object, voice: Voice, now: datetime | None) -> str:
    if isinstance(value, datetime):
        return voice.at(value, now or value)
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
            return f"Wait {step.wait_minutes} min, then test; pH comes last."
        case "test_portion":
            return f"{_portion(step, product, first)}."
    return ""


def _add(step: Step, product: str, first: str, voice: Voice) -> str:
    if step.parts:
        portions = f", stir, then {first} ".join(f"{part}" for part in step.parts)
        return f"Add {first} {portions}{_whole(step, voice)}"
    return f"{_portion(step, product, first)}{_whole(step, voice)}"


def _is_part(step: Step) -> bool:
    """The first portion is not all of it."""
    return step.action == "add" and None not in (step.first, step.low) and step.first < step.low  # type: ignore[operator]


def _portion(step: Step, product: str, first: str) -> str:
    """``Add 3 ml pH down``; too little to measure neat is diluted first, the water before the acid."""
    if step.dilution > 1:
        return f"{step.dilution - 1} ml water + 1 ml {product}: add {first} of it"
    return f"Add {first} {product}"


def _whole(step: Step, voice: Voice) -> str:
    """The whole amount as a range; where the first portion is not all of it, that more follows."""
    if step.low is None or step.high is None or step.unit is None:
        return "."
    whole = voice.amount_span(step.low, step.high, step.unit)
    if _is_part(step):
        return f" now ({whole} in all)."
    return f" ({whole})." if step.low != step.high else "."
