"""What to do after a reading, in order: the level, then the strength, a wait, and pH last.

Feed moves pH and fresh water moves both, so that pH is planned on the water as it will be by then; the plan
still asks for a reading in between.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

import numpy as np

from domain.chemistry.solution import Solution, mixed, ph, with_nutrient
from domain.dosing.acidity import DAY_H, Portion, Task, portion, span
from domain.dosing.assembly import (
    Draft,
    around_portion,
    held_back,
    nothing_to_do,
    only_strength,
    unlabelled,
)
from domain.dosing.holds import (
    hold_on_bottle,
    hold_on_ph,
    hold_on_settling,
    hold_on_strength,
    hold_on_tank,
    hold_on_target,
)
from domain.dosing.shapes import Aim, Hold, Plan, Predicted, Step
from domain.dosing.strength import Strength, strength_steps, top_up_step
from domain.dosing.working import basis_of
from domain.facts import Product, ProductRole
from domain.response import Beliefs, beliefs
from domain.safety import caps_for
from domain.tank import Dosed, Figure, Read, TankState

__all__ = ["Direction", "plan"]

Direction = Literal["ph_down", "ph_up", "adjuster", "nutrient", "dilute", "top_up"]

_ABOUT_PH = ("ph_down", "ph_up", "adjuster")
_NO_HOLDS = ("in_band", "wrong_direction")
_NEXT_DAY = timedelta(hours=16)
"""From a reading in the evening of the day of a dose to the next morning."""
_VOLUME_SHARE = 0.03
"""What a volume that somebody names is off by."""
_BESIDE = 0.3
"""How far beyond a target that was asked for the water may come to stand. [pH]"""


@dataclass(frozen=True, slots=True)
class _Wish:
    """What was asked for; all ``None`` after a plain reading."""

    ph_to: float | None
    direction: Direction | None
    insist: bool
    ph_said: bool
    ec_said: bool

    @property
    def about_ph(self) -> bool:
        return self.direction is None or self.direction in _ABOUT_PH

    @property
    def about_strength(self) -> bool:
        return self.direction not in _ABOUT_PH


def plan(
    state: TankState,
    aim: Aim,
    *,
    now: datetime,
    volume_l: float | None = None,
    ph_from: float | None = None,
    ph_to: float | None = None,
    ec_from: float | None = None,
    ec_to: float | None = None,
    direction: Direction | None = None,
    insist: bool = False,
    belief: Beliefs | None = None,
    seed: int = 0,
) -> Plan:
    """What to do for this tank.

    state : as the journal leaves it.
    aim : where the tank should be.
    now : aware; readings older than a day are not dosed on.
    volume_l : for this much of the same water instead of what is in the tank. [L]
    ph_from, ph_to, ec_from, ec_to : given ends of the change; the last reading and the aim where ``None``.
    direction : only this kind of change; ``None``: whatever the tank needs.
    insist : give a second dose before the first was tested, within the caps and with its caution.
    belief : what may be true of the water, where the caller knows more than a journal says; reckoned from the
        state where ``None``.
    seed : of the samples; the same situation gives the same plan.
    """
    wish = _Wish(ph_to, direction, insist, ph_from is not None, ec_from is not None)
    state = _asked(state, now, ph_from, ec_from)
    aim = _aimed(aim, ec_to)
    held = hold_on_tank(state) or (
        hold_on_target(ph_to, planted=state.planted) if ph_to is not None else None
    )
    if held is not None:
        return Plan("hold", reason=held.code, hold=held, needs=state.needs)
    at, steps, held = _strength(state, aim, wish, now, volume_l)
    supposed = _supposed(state, now, ph_from)
    draft = Draft(_only(state, supposed, volume_l), belief, at, steps, held, insist)
    if wish.about_ph and _needs_nothing(draft, aim, wish):
        return _quiet(draft, aim, wish, now)
    if belief is None:
        reckoned = beliefs(state, products=_adjusters(state), supposed=supposed, seed=seed)
        draft = replace(draft, belief=_in_volume(reckoned, state, volume_l))
    return _with_ph(draft, aim, wish, now) if wish.about_ph else _without_ph(draft)


def _asked(state: TankState, now: datetime, ph_from: float | None, ec_from: float | None) -> TankState:
    """The tank with the ends that the question names."""
    if ph_from is not None:
        state = replace(state, ph=Figure(ph_from, "said", state.defaults.ph_tester_spread, now))
    if ec_from is not None:
        state = replace(state, ec_ms_cm=Figure(ec_from, "said", 0.02 * ec_from, now))
    return state if state.now == now else replace(state, now=now)


def _supposed(state: TankState, now: datetime, ph_from: float | None) -> Read | None:
    """The reading that a question supposes: no answer of this tank to any dose."""
    if ph_from is None:
        return None
    ec = state.ec_ms_cm.value if state.ec_ms_cm is not None else None
    return Read(now, 0, ph_from, state.defaults.ph_tester_spread, ec, None, False)


def _only(state: TankState, supposed: Read | None, volume_l: float | None) -> TankState:
    """What the question is about: its volume, and where it supposes a reading, nothing that was done
    before."""
    if volume_l is not None:
        said = Figure(volume_l, "said", _VOLUME_SHARE * volume_l)
        state = replace(state, volume_l=said, level_l=said)
    return state if supposed is None else replace(state, happenings=(supposed,), filled_at=None)


def _in_volume(belief: Beliefs | None, state: TankState, volume_l: float | None) -> Beliefs | None:
    """The beliefs for the volume that was asked for; the tank's own volume keeps what its answers told."""
    if belief is None or volume_l is None:
        return belief
    level = state.level_l
    if not level.is_assumed and abs(volume_l / level.value - 1.0) <= _VOLUME_SHARE:
        return belief
    return replace(belief, volume_l=np.full_like(belief.volume_l, volume_l))


def _aimed(aim: Aim, ec_to: float | None) -> Aim:
    """The aim with the strength that was asked for."""
    if ec_to is None:
        return aim
    return replace(aim, ec_low=ec_to - 0.05, ec_ideal_low=ec_to, ec_ideal_high=ec_to, ec_high=ec_to + 0.2)


def _adjusters(state: TankState) -> tuple[Product, ...]:
    return tuple(_product(state, role) for role in ("ph_down", "ph_up"))


def _product(state: TankState, role: ProductRole) -> Product:
    return state.product(role) or Product(role=role)


def _strength(
    state: TankState, aim: Aim, wish: _Wish, now: datetime, volume_l: float | None
) -> tuple[Strength, tuple[Step, ...], Hold | None]:
    """Level and strength: where they end up, the steps, and what holds them."""
    known = state.ec_ms_cm
    litres = volume_l if volume_l is not None else state.level_l.value
    share = litres / state.level_l.value
    at = Strength(litres, known.value if known else 0.0, share_of_tank=share)
    if not wish.about_strength:
        return at, (), None
    held = hold_on_strength(state, now, insist=wish.insist, is_said=wish.ec_said)
    if held is not None:
        return at, (), held
    steps: list[Step] = []
    if volume_l is None:
        water, at = top_up_step(state, at)
        steps += [water] if water is not None else []
    if wish.direction == "top_up":
        return at, tuple(steps), None
    side = _strength_side(aim, at.ec_ms_cm)
    if wish.direction in ("nutrient", "dilute") and wish.direction != side:
        none = Hold("in_band" if side is None else "wrong_direction")
        return at, tuple(steps), None if steps else none
    caps = caps_for(planted=state.planted)
    more, at, code = strength_steps(state, at, aim, caps, state.product("nutrient"))
    return at, (*steps, *more), Hold(code) if code else None


def _strength_side(aim: Aim, ec_ms_cm: float) -> Direction | None:
    """What the strength calls for; ``None`` inside the band or where there is none."""
    if aim.ec_low is not None and ec_ms_cm < aim.ec_low:
        return "nutrient"
    if aim.ec_high is not None and ec_ms_cm > aim.ec_high:
        return "dilute"
    return None


def _without_ph(draft: Draft) -> Plan:
    """An answer about level and strength alone."""
    held = draft.strength_hold
    if draft.steps:
        if draft.belief is None:
            return only_strength(draft)
        belief, water = _by_then(draft.state, draft.belief, draft.at)
        return only_strength(replace(draft, steps=_foretold(draft.steps, belief, water)))
    if held is not None and held.code == "no_ec_reading":
        return held_back(draft, held, asks=True)
    if held is not None and held.code in _NO_HOLDS:
        return nothing_to_do(replace(draft, strength_hold=None), held.code)
    return nothing_to_do(draft, "in_band")


def _with_ph(draft: Draft, aim: Aim, wish: _Wish, now: datetime) -> Plan:
    """A plan that ends with pH."""
    state, belief = draft.state, draft.belief
    surprise = belief.surprise if belief is not None and _calls_for_dose(state, aim, wish) else None
    held = hold_on_ph(state, surprise, now, insist=wish.insist, is_said=wish.ph_said)
    if held is not None or belief is None:
        held = held or Hold("no_ph_reading")
        return held_back(draft, held, asks=held.code == "no_ph_reading")
    belief, water = _by_then(state, belief, draft.at)
    shown = _shown(draft, belief, water)
    role, reason = _role(aim, wish, shown)
    if role is None:
        if not draft.steps:
            return nothing_to_do(draft, reason)
        return only_strength(replace(draft, steps=_foretold(draft.steps, belief, water)))
    product = _product(state, role)
    no_label = hold_on_bottle(product.name)
    if no_label is not None:
        return unlabelled(draft, product, no_label)
    task = _task(draft, aim, wish, product, shown)
    found = portion(belief, water, task)
    if not wish.insist and not wish.ph_said and (waits := _waits(state, found, task, shown, now)):
        held_up = held_back(draft, waits[0], retest_after=waits[1])
        return replace(held_up, basis=basis_of(state, belief, found, product))
    return around_portion(draft, belief, product, found, shown)


def _waits(
    state: TankState, found: Portion, task: Task, shown: float, now: datetime
) -> tuple[Hold, timedelta] | None:
    """Why a portion is put off, and after how long to read again, where one went in of late.

    A test portion teaches by itself, and may be followed at once.
    """
    settling = None if found.is_test else hold_on_settling(state, now)
    if settling is not None:
        read_at: datetime = settling.data["read_at"]
        return settling, read_at - now
    later = found.predicted.ph_later
    falls_short = later is not None and (
        later.high > task.near_edge if task.lowers else later.low < task.near_edge
    )
    if found.limit == "settled_shift" and task.day_start != shown and falls_short:
        # A dose for the rest of the day's share would be a small one: tomorrow's is a whole one.
        return Hold("wait_and_read", {"limit": found.limit, "ph": shown}), _NEXT_DAY
    return None


def _needs_nothing(draft: Draft, aim: Aim, wish: _Wish) -> bool:
    """The usual day: nothing to correct and no dose open, so that nothing has to be reckoned."""
    state = draft.state
    return (
        not draft.steps
        and not state.unanswered
        and state.ph is not None
        and not _calls_for_dose(state, aim, wish)
    )


def _quiet(draft: Draft, aim: Aim, wish: _Wish, now: datetime) -> Plan:
    """Nothing to add, if the reading can be trusted."""
    state = draft.state
    held = hold_on_ph(state, None, now, insist=wish.insist, is_said=wish.ph_said)
    if held is not None:
        return held_back(draft, held, asks=held.code == "no_ph_reading")
    shown = state.ph.value if state.ph is not None else aim.ph_target
    return nothing_to_do(draft, _role(aim, wish, shown)[1])


def _calls_for_dose(state: TankState, aim: Aim, wish: _Wish) -> bool:
    """The reading as it stands asks for adjuster; an odd one inside the band harms nobody."""
    return state.ph is not None and _role(aim, wish, state.ph.value)[0] is not None


def _by_then(state: TankState, belief: Beliefs, at: Strength) -> tuple[Beliefs, Solution]:
    """The samples once level and strength are set right."""
    water = belief.water
    if at.plain_share > 0:
        water = mixed(water, belief.source, at.plain_share)
    if at.fed_ms_cm > 0:
        water = with_nutrient(water, ec_ms_cm=at.fed_ms_cm)
    grown = at.litres / state.level_l.value
    return (replace(belief, volume_l=belief.volume_l * grown) if grown != 1 else belief), water


def _shown(draft: Draft, belief: Beliefs, water: Solution) -> float:
    """The pH that the band is compared with: the reading itself, or what it becomes on the way."""
    state = draft.state
    if draft.steps or state.unanswered or state.ph is None:
        return belief.quantile(np.asarray(ph(water)), 0.5)
    return state.ph.value


def _role(aim: Aim, wish: _Wish, shown: float) -> tuple[ProductRole | None, str]:
    """Which adjuster, if any; and why none."""
    if wish.ph_to is not None:
        role: ProductRole = "ph_down" if wish.ph_to < shown else "ph_up"
        if abs(wish.ph_to - shown) < 0.05:
            return None, "at_target"
    elif aim.ph_low <= shown <= aim.ph_high:
        inside = aim.ph_ideal_low <= shown <= aim.ph_ideal_high
        return None, "in_band" if inside else "tolerable"
    else:
        role = "ph_down" if shown > aim.ph_high else "ph_up"
    if wish.direction in ("ph_down", "ph_up") and wish.direction != role:
        return None, "wrong_direction"
    return role, ""


def _task(draft: Draft, aim: Aim, wish: _Wish, product: Product, shown: float) -> Task:
    state, litres = draft.state, draft.at.litres
    lowers = product.role == "ph_down"
    target = aim.ph_target if wish.ph_to is None else wish.ph_to
    edge = min(aim.ph_low, target - _BESIDE) if lowers else max(aim.ph_high, target + _BESIDE)
    return Task(
        product=product,
        ph_target=target,
        far_edge=edge,
        near_edge=max(aim.ph_high, target) if lowers else min(aim.ph_low, target),
        caps=caps_for(planted=state.planted),
        lowers=lowers,
        litres=litres,
        day_start=_day_start(state, product, shown),
    )


def _day_start(state: TankState, product: Product, shown: float) -> float:
    """The pH from which this day's shift counts: the one before the first dose of the last 24 hours."""
    lowers = product.role == "ph_down"
    since = state.now - timedelta(hours=24)
    start, before = shown, None
    for happening in state.happenings:
        if isinstance(happening, Read) and happening.ph is not None:
            before = happening.ph
        elif isinstance(happening, Dosed) and happening.role == product.role and happening.at >= since:
            start = _further(start, before, lowers)
    return start


def _further(start: float, before: float | None, lowers: bool) -> float:
    if before is None:
        return start
    return max(start, before) if lowers else min(start, before)


def _foretold(steps: tuple[Step, ...], belief: Beliefs, water: Solution) -> tuple[Step, ...]:
    """The last of these steps with the pH that it leaves."""
    now = span(belief, np.asarray(ph(water)))
    later = span(belief, np.asarray(ph(belief.later(water, DAY_H))))
    last = steps[-1]
    ec = last.predicted.ec_ms_cm if last.predicted else None
    return (*steps[:-1], replace(last, predicted=Predicted(now, later, ec)))
