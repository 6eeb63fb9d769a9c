"""How much feed, how much plain water: the level first, then the strength.

Strength is taken as linear in what is dissolved over the small steps that are made here; the bend of the true
curve (about 5 % over a doubling) is inside the spread that a feed is given.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from domain.bottles import Z_ONE_IN_TEN, FeedStrength, feed_strength
from domain.chemistry.mixing import after_swaps, after_top_up, swap_fraction
from domain.dosing.measures import measurable
from domain.dosing.shapes import Aim, Predicted, Span, Step
from domain.facts import Product
from domain.safety import Caps
from domain.tank import Dosed, Read, TankState, Watered

__all__ = ["Strength", "feed_gain", "stands_low", "strength_steps", "top_up_step"]

Z_ONE_IN_A_HUNDRED = 2.3263
MIX_MINUTES = 30
"""How long a dose takes to be everywhere: three turns of a small pump with room to spare (common
practice)."""
_LOW_SHARE = 0.9
"""Below this share of the line the water comes first: a dose for a half-empty tank is wrong once it is
filled."""
_MOST_SWAP = 0.5
"""No more than half the water is changed at once under standing plants: common practice."""
_READ_ERROR = 0.03
"""What two readings of strength together are off by: 2 % each."""


@dataclass(frozen=True, slots=True)
class Strength:
    """Where strength and level stand while steps are added: litres, mS/cm, and what was put in on the way.

    share_of_tank : how many times the tank's water a question is about; 1 for the tank itself.
    """

    litres: float
    ec_ms_cm: float
    fed_ms_cm: float = 0.0
    plain_share: float = 0.0
    share_of_tank: float = 1.0


def stands_low(state: TankState) -> bool:
    """The level was read, and is so low that water comes before any dose."""
    return not state.level_l.is_assumed and state.level_l.value < _LOW_SHARE * state.volume_l.value


def top_up_step(state: TankState, at: Strength) -> tuple[Step | None, Strength]:
    """Water up to the line, where the level was read and is low."""
    full = state.volume_l.value
    if not stands_low(state):
        return None, at
    litres = full - at.litres
    source = state.source.ec_ms_cm.value
    ec = after_top_up(at.ec_ms_cm, at.litres, source, litres)
    step = Step(
        "top_up",
        unit="l",
        first=measurable(litres, "l"),
        low=measurable(litres, "l"),
        high=measurable(litres, "l", up=True),
        predicted=Predicted(ec_ms_cm=Span(ec, ec - 0.05, ec + 0.05)),
        wait_minutes=MIX_MINUTES,
        assumption="source_ec" if state.source.ec_ms_cm.is_assumed else None,
    )
    return step, replace(at, litres=full, ec_ms_cm=ec, plain_share=litres / full)


def strength_steps(
    state: TankState, at: Strength, aim: Aim, caps: Caps, product: Product | None
) -> tuple[tuple[Step, ...], Strength, str | None]:
    """What brings the strength into its band.

    Returns the steps, where they leave the tank, and the code of what holds them back.
    """
    target = aim.ec_target_ms_cm
    if target is None or aim.ec_low is None or aim.ec_high is None:
        return (), at, None
    if at.ec_ms_cm < aim.ec_low:
        return fed(state, at, target, aim.ec_high, caps, product)
    if at.ec_ms_cm > aim.ec_high:
        return diluted(state, at, target)
    return (), at, None


def fed(
    state: TankState, at: Strength, target: float, most: float, caps: Caps, product: Product | None
) -> tuple[tuple[Step, ...], Strength, str | None]:
    """Feed up to a strength: the whole amount, and a first portion within the cap on a rise."""
    strength = feed_gain(state, product)
    wanted = target - at.ec_ms_cm
    per_unit = strength.gain / at.litres
    whole = wanted / per_unit
    spread = math.exp(Z_ONE_IN_TEN * strength.deviation)
    surely = per_unit * math.exp(Z_ONE_IN_A_HUNDRED * strength.deviation)
    limits = {
        "ec_rise": caps.ec_rise_per_step / (per_unit * spread),
        "far_edge": (most - at.ec_ms_cm) / surely,
        "label_maximum": _label_room(state, at, product, strength),
    }
    limit, ceiling = min(limits.items(), key=lambda item: item[1])
    if whole <= ceiling:
        limit, ceiling = "", whole
    first = measurable(max(ceiling, 0.0), strength.unit)
    if first <= 0:
        return (), at, limit or None
    rise = Span(first * per_unit, first * per_unit / spread, first * per_unit * spread)
    after = Span(*(at.ec_ms_cm + change for change in (rise.middle, rise.low, rise.high)))
    step = Step(
        "add",
        role="nutrient",
        product=product.name if product else None,
        unit=strength.unit,
        first=first,
        low=measurable(whole / spread, strength.unit),
        high=measurable(whole * spread, strength.unit, up=True),
        parts=(product.parts or ()) if product else (),
        predicted=Predicted(ec_ms_cm=after),
        wait_minutes=MIX_MINUTES,
        assumption=None if strength.basis == "learned" else "feed_strength",
        bound_by=limit or None,
    )
    reached = replace(at, ec_ms_cm=after.middle, fed_ms_cm=at.fed_ms_cm + rise.middle)
    return (step,), reached, None


def diluted(state: TankState, at: Strength, target: float) -> tuple[tuple[Step, ...], Strength, str | None]:
    """The share of the water to swap for plain water, by mass balance."""
    source = state.source.ec_ms_cm
    if source.value >= target:
        return (), at, "source_too_strong"
    stronger = min(source.value + source.spread, target - 0.05)
    weaker = max(source.value - source.spread, 0.0)
    low, share, high = (swap_fraction(at.ec_ms_cm, ec, target) for ec in (weaker, source.value, stronger))
    bound = "half_at_once" if share > _MOST_SWAP else None
    first = measurable(min(share, _MOST_SWAP) * at.litres, "l")
    done = first / at.litres
    ec = after_swaps(at.ec_ms_cm, source.value, done)
    off = source.spread * done + 0.02 * ec
    step = Step(
        "drain_refill",
        unit="l",
        first=first,
        low=measurable(low * at.litres, "l"),
        high=measurable(min(high, 1.0) * at.litres, "l", up=True),
        predicted=Predicted(ec_ms_cm=Span(ec, ec - off, ec + off)),
        wait_minutes=MIX_MINUTES,
        assumption="source_ec" if source.is_assumed else None,
        bound_by=bound,
    )
    plain = at.plain_share + (1 - at.plain_share) * done
    return (step,), replace(at, ec_ms_cm=ec, plain_share=plain), None


def feed_gain(state: TankState, product: Product | None) -> FeedStrength:
    """What the feed adds, the label's word and this tank's answers weighed by how sure each is.

    A pair of readings with nothing but this feed between them tells rise x litres / amount, within their
    error. The product of two lognormal densities: precisions add (any textbook on Bayes' rule).
    """
    prior = feed_strength(product)
    precision, weighted, answers = 1 / prior.deviation**2, math.log(prior.gain) / prior.deviation**2, 0
    for rise, amount_per_l, error in _feed_answers(state, product):
        if rise > 2 * error and amount_per_l > 0:
            deviation = math.hypot(error / rise, 0.1)
            precision += 1 / deviation**2
            weighted += math.log(rise / amount_per_l) / deviation**2
            answers += 1
    if not answers:
        return prior
    return FeedStrength(
        math.exp(weighted / precision), precision**-0.5, prior.unit, prior.most_per_l, "learned"
    )


def _feed_answers(state: TankState, product: Product | None) -> list[tuple[float, float, float]]:
    """Rise [mS/cm], amount [unit/L] and error [mS/cm] of each feed that readings stand on both sides of."""
    answers: list[tuple[float, float, float]] = []
    before: float | None = None
    amount = 0.0
    for happening in state.happenings:
        if isinstance(happening, Read) and happening.ec_ms_cm is not None:
            if before is not None and amount > 0:
                error = _READ_ERROR * happening.ec_ms_cm
                answers.append((happening.ec_ms_cm - before, amount / state.level_l.value, error))
            before, amount = happening.ec_ms_cm, 0.0
        elif isinstance(happening, Watered):
            before, amount = None, 0.0
        elif isinstance(happening, Dosed) and happening.role == "nutrient":
            same = product is not None and happening.product.name == product.name
            before, amount = (before, amount + happening.amount) if same or product is None else (None, 0.0)
    return answers[-6:]


def _label_room(state: TankState, at: Strength, product: Product | None, strength: FeedStrength) -> float:
    """What the label still allows in this water after what went in since the fill. [unit]

    Plants take feed up, so that only the last week's doses count against the label where no fill is known.
    """
    if strength.most_per_l is None or product is None:
        return math.inf
    given = sum(
        h.amount
        for h in state.since_fill
        if isinstance(h, Dosed)
        and h.role == "nutrient"
        and h.product.name == product.name
        and (state.now - h.at).days < 7
    )
    return max(strength.most_per_l * at.litres - given * at.share_of_tank, 0.0)
