"""Plans put together: steps, waits and readings around the amounts, with their needs, cautions and
working."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta

from domain.bottles import bottle_of
from domain.dosing.acidity import Portion, ec_change_ms_cm
from domain.dosing.measures import DILUTION, measurable
from domain.dosing.shapes import Hold, Outcome, Plan, Predicted, Span, Step
from domain.dosing.strength import MIX_MINUTES, Strength
from domain.dosing.working import basis_of, leading_assumption
from domain.facts import Product
from domain.response import Beliefs
from domain.safety import CAPS, cautions_for
from domain.tank import TankState

__all__ = ["Draft", "around_portion", "held_back", "nothing_to_do", "only_strength", "unlabelled"]

_ONCE_MIXED = timedelta(minutes=MIX_MINUTES)
_WHILE_CO2_LEAVES = timedelta(hours=4)


@dataclass(frozen=True, slots=True)
class Draft:
    """A plan in the making.

    belief : ``None`` without a pH reading.
    at : where level and strength end up.
    steps : for level and strength; ``strength_hold`` is what holds them back.
    insists : the person wants a dose before the last was tested.
    """

    state: TankState
    belief: Beliefs | None
    at: Strength
    steps: tuple[Step, ...]
    strength_hold: Hold | None
    insists: bool


def held_back(draft: Draft, hold: Hold, *, retest_after: timedelta | None = None, asks: bool = False) -> Plan:
    """No adjuster, for this reason; what level and strength need is said all the same."""
    if draft.steps:
        return replace(only_strength(draft), hold=hold)
    return Plan(
        "ask" if asks else "hold",
        reason=hold.code,
        hold=hold,
        needs=("reading", *_needs(draft, ())) if asks else _needs(draft, ()),
        basis=basis_of(draft.state, draft.belief, None),
        retest_after=retest_after,
    )


def nothing_to_do(draft: Draft, reason: str) -> Plan:
    """Nothing to add; a hold on strength that is more than a missing reading stands."""
    hold = draft.strength_hold
    outcome: Outcome = "nothing" if hold is None or hold.code == "no_ec_reading" else "hold"
    return Plan(
        outcome,
        reason=hold.code if hold is not None and outcome == "hold" else reason,
        hold=hold if outcome == "hold" else None,
        needs=_needs(draft, ()),
        basis=basis_of(draft.state, draft.belief, None),
    )


def only_strength(draft: Draft) -> Plan:
    """Level and strength alone."""
    return Plan(
        "steps",
        steps=draft.steps,
        hold=draft.strength_hold,
        needs=_needs(draft, draft.steps),
        basis=basis_of(draft.state, draft.belief, None),
        retest_after=_ONCE_MIXED,
        cautions=cautions_for(draft.steps),
    )


def unlabelled(draft: Draft, product: Product, hold: Hold) -> Plan:
    """A bottle without any label: a jar test at the most, by somebody who knows what is in it."""
    steps = (*draft.steps, _jar_test(product))
    return Plan(
        "hold",
        reason=hold.code,
        hold=hold,
        steps=steps,
        needs=_needs(draft, steps),
        basis=basis_of(draft.state, draft.belief, None),
        cautions=cautions_for(steps),
    )


def around_portion(draft: Draft, belief: Beliefs, product: Product, found: Portion, shown: float) -> Plan:
    """The plan around a portion of adjuster.

    belief : of the water as it is by then.
    shown : the pH that the band was compared with.
    """
    if found.first <= 0:
        # Even nothing at all may pass an edge by tomorrow, as CO2 leaves; or the day's share is used up.
        hold = Hold("wait_and_read", {"limit": found.limit, "ph": shown})
        return held_back(draft, hold, retest_after=_WHILE_CO2_LEAVES)
    between = (Step("wait", wait_minutes=MIX_MINUTES), Step("read")) if draft.steps else ()
    jar = (_jar_test(product),) if found.is_test else ()
    steps = (*draft.steps, *between, _adds(draft, belief, product, found), *jar, Step("read"))
    return Plan(
        "steps",
        steps=steps,
        needs=_needs(draft, steps),
        basis=basis_of(draft.state, belief, found, product),
        retest_after=_ONCE_MIXED,
        cautions=_cautions(draft, belief, steps, found),
    )


def _adds(draft: Draft, belief: Beliefs, product: Product, found: Portion) -> Step:
    unit = found.bottle.unit
    return Step(
        "test_portion" if found.is_test else "add",
        role=product.role,
        product=product.name,
        reagent=found.bottle.reagent if found.bottle.is_named else None,
        unit=unit,
        first=found.first,
        low=None if found.is_test else measurable(found.low, unit),
        high=None if found.is_test else measurable(found.high, unit, up=True),
        dilution=found.dilution,
        predicted=_with_ec(draft, belief, product, found),
        wait_minutes=MIX_MINUTES,
        assumption="bottle_strength" if found.is_test else leading_assumption(belief, found),
        bound_by=found.limit,
    )


def _with_ec(draft: Draft, belief: Beliefs, product: Product, found: Portion) -> Predicted:
    """The prediction with what the adjuster itself does to the strength."""
    known = draft.state.ec_ms_cm
    if known is None:
        return found.predicted
    before = draft.at.ec_ms_cm if draft.steps else known.value
    after = before + ec_change_ms_cm(belief, product, found.first / found.dilution)
    return replace(found.predicted, ec_ms_cm=Span(after, after - known.spread, after + known.spread))


def _cautions(draft: Draft, belief: Beliefs, steps: tuple[Step, ...], found: Portion) -> tuple[str, ...]:
    codes = list(cautions_for(steps))
    if draft.insists and draft.state.unanswered:
        codes.insert(0, "second_dose")
    if found.bottle.reagent == "phosphoric acid":
        whole_mmol_l = 1e3 * found.middle * belief.quantile(found.per_unit, 0.5)
        if whole_mmol_l > CAPS["phosphoric_acid_mmol_l"].value:
            codes.append("phosphorus_high")
    return tuple(codes)


def _jar_test(product: Product) -> Step:
    """One litre of tank water in a jar, half a millilitre of the diluted adjuster at a time, a reading
    each."""
    bottle = bottle_of(product)
    return Step(
        "jar_test",
        role=product.role,
        product=product.name,
        reagent=bottle.reagent if bottle.is_named else None,
        unit="ml",
        first=0.5,
        dilution=DILUTION,
        assumption="bottle_strength",
    )


def _needs(draft: Draft, steps: tuple[Step, ...]) -> tuple[str, ...]:
    """What would make the answer better, the most useful first."""
    state = draft.state
    needs = list(state.needs)
    if any(step.action in ("test_portion", "jar_test") for step in steps):
        needs.insert(0, "label_strength")
    if any(step.role == "nutrient" and step.assumption == "feed_strength" for step in steps):
        product = state.product("nutrient")
        if product is None or product.dose_per_litre is None:
            needs.append("feed_label")
    if state.ec_ms_cm is None:
        needs.append("ec_reading")
    return tuple(dict.fromkeys(needs))
