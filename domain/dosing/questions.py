"""Plans for questions: a dose for a volume, an end that was named, what an amount would do, a fresh mix."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from domain.chemistry.mixing import after_top_up
from domain.chemistry.solution import mixed, ph, with_nutrient
from domain.dosing.acidity import ec_change_ms_cm, effect, span
from domain.dosing.holds import hold_on_tank, is_before_fill
from domain.dosing.planner import plan
from domain.dosing.shapes import Aim, Hold, Plan, Predicted, Span, Step
from domain.dosing.strength import MIX_MINUTES, Strength, fed, feed_gain
from domain.dosing.working import basis_of
from domain.facts import Product, ProductRole, Question
from domain.response import beliefs
from domain.safety import CAPS, caps_for, cautions_for
from domain.tank import Figure, TankState

__all__ = ["mix_plan", "question_plan", "what_if"]


def question_plan(
    state: TankState, aim: Aim, question: Question, *, now: datetime, insist: bool = False
) -> Plan:
    """The plan that answers a question about adjuster, nutrient, diluting, topping up or a fresh mix.

    question : ``about`` one of ph_down, ph_up, adjuster, nutrient, dilute, top_up, mix.
    Raises ValueError for a question of another kind.
    """
    if question.about == "mix" or _is_of_fresh_water(state, question):
        return mix_plan(state, aim, volume_l=question.volume_l)
    if question.about not in ("ph_down", "ph_up", "adjuster", "nutrient", "dilute", "top_up"):
        raise ValueError(f"no dose answers a question about {question.about}")
    return plan(
        state,
        aim,
        now=now,
        volume_l=question.volume_l,
        ph_from=question.ph_from,
        ph_to=question.ph_to,
        ec_from=question.ec_from,
        ec_to=question.ec_to,
        direction=question.about,
        insist=insist,
    )


def _is_of_fresh_water(state: TankState, question: Question) -> bool:
    """Nutrient is asked for after a change of the whole water that nobody has fed or tested yet."""
    if question.about != "nutrient" or question.ec_from is not None or state.filled_at is None:
        return False
    known = state.ec_ms_cm
    is_tested = known is not None and not is_before_fill(state, known)
    return not is_tested and not state.doses_since(state.filled_at, "nutrient")


def what_if(
    state: TankState,
    *,
    role: ProductRole | None,
    amount: float,
    unit: str,
    now: datetime,
    product: Product | None = None,
    seed: int = 0,
) -> Plan:
    """What a dose or a top-up would do, without advice to do it.

    role : of what is added; ``None`` for plain water.
    amount : not negative. unit : ml or g; l for water.
    product : the bottle; the household's own of that role where ``None``.
    Returns one step with its prediction, reason ``what_if``; an ``ask`` without a pH reading where pH is at
    stake.
    """
    state = replace(state, now=now)
    bottle = product or (state.product(role) if role else None) or (Product(role=role) if role else None)
    held = hold_on_tank(state)
    if held is not None:
        return Plan("hold", reason=held.code, hold=held)
    if role == "other":
        held = Hold("unknown_product")
        return Plan("ask", reason=held.code, hold=held)
    predicted = _foretold(state, role, bottle, amount, seed)
    if predicted is None:
        held = Hold("no_ph_reading" if role in ("ph_down", "ph_up") else "no_ec_reading")
        return Plan("ask", reason=held.code, hold=held, needs=("reading",))
    step = Step(
        "top_up" if role is None else "add",
        role=role,
        product=bottle.name if bottle else None,
        reagent=bottle.reagent if bottle else None,
        unit=unit,
        first=amount,
        predicted=predicted,
        wait_minutes=MIX_MINUTES,
        bound_by=_passed_cap(state, role, amount, predicted),
    )
    return Plan("steps", reason="what_if", steps=(step,), needs=state.needs, cautions=cautions_for((step,)))


def _foretold(
    state: TankState, role: ProductRole | None, product: Product | None, amount: float, seed: int
) -> Predicted | None:
    belief = beliefs(state, products=(product,) if product else (), seed=seed)
    ec = state.ec_ms_cm
    litres = state.level_l.value
    if role in ("ph_down", "ph_up"):
        if belief is None or product is None:
            return None
        predicted = effect(belief, belief.water, product, amount)
        after = ec.value + ec_change_ms_cm(belief, product, amount) if ec else None
        return replace(predicted, ec_ms_cm=Span(after, after, after) if after is not None else None)
    if ec is None and belief is None:
        return None
    if role == "nutrient":
        gain = feed_gain(state, product)
        rises = [amount * gain.gain * np.exp(z * gain.deviation) / litres for z in (0.0, -1.2816, 1.2816)]
        water = with_nutrient(belief.water, ec_ms_cm=float(rises[0])) if belief else None
        after_ec = Span(*(ec.value + float(rise) for rise in rises)) if ec else None
    else:
        share = amount / (litres + amount)
        source = state.source.ec_ms_cm
        water = mixed(belief.water, belief.source, share) if belief else None
        middle = after_top_up(ec.value, litres, source.value, amount) if ec else 0.0
        off = source.spread * share
        after_ec = Span(middle, middle - off, middle + off) if ec else None
    if belief is None or water is None:
        return Predicted(ec_ms_cm=after_ec)
    now, later = np.asarray(ph(water)), np.asarray(ph(belief.later(water, 24.0)))
    return Predicted(span(belief, now), span(belief, later), after_ec)


def _passed_cap(
    state: TankState, role: ProductRole | None, amount: float, predicted: Predicted
) -> str | None:
    """The cap that this dose would pass, as what the answer must warn of."""
    caps = caps_for(planted=state.planted)
    now = predicted.ph_now
    if role == "ph_down" and now is not None and now.low < caps.lowest_ph_just_after:
        return "just_after"
    if role == "ph_up" and now is not None and now.high > caps.highest_ph_just_after:
        return "just_after"
    if role in ("ph_down", "ph_up") and amount > caps.concentrate_ml_per_l * state.level_l.value:
        return "per_litre"
    ec = predicted.ec_ms_cm
    if role != "nutrient" or ec is None or state.ec_ms_cm is None:
        return None
    return "ec_rise" if ec.middle - state.ec_ms_cm.value > CAPS["ec_rise_per_step"].value else None


def mix_plan(state: TankState, aim: Aim, *, volume_l: float | None = None) -> Plan:
    """A fresh fill: feed to strength at once, a wait, a reading; pH last, on that reading.

    volume_l : how much is mixed; the whole tank where ``None``. [L]
    """
    held = hold_on_tank(state)
    if held is not None:
        return Plan("hold", reason=held.code, hold=held)
    target, most = aim.ec_target_ms_cm, aim.ec_high
    if target is None or most is None:
        missing = Hold("no_ec_aim")
        return Plan("ask", reason=missing.code, hold=missing, needs=("crops",))
    litres = volume_l if volume_l is not None else state.volume_l.value
    said = Figure(litres, "said" if volume_l is not None else state.volume_l.basis, state.volume_l.spread)
    fresh = replace(state, planted=False, level_l=said, happenings=(), filled_at=None)
    at = Strength(litres, state.source.ec_ms_cm.value)
    product = state.product("nutrient")
    steps, _, code = fed(fresh, at, target, most, caps_for(planted=False), product)
    if not steps:
        held = Hold(code or "in_band")
        return Plan("hold", reason=held.code, hold=held, basis=basis_of(fresh, None, None))
    learned = feed_gain(state, product)
    steps = (*steps, Step("wait", wait_minutes=MIX_MINUTES), Step("read"))
    needs = state.needs if learned.basis in ("learned", "label") else ("feed_label", *state.needs)
    return Plan(
        "steps",
        reason="mix",
        steps=steps,
        needs=needs,
        basis=basis_of(fresh, None, None),
        retest_after=timedelta(minutes=MIX_MINUTES),
        cautions=cautions_for(steps),
    )
