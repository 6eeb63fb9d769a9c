"""What says how much to pour: the plan, two rules that growers use, and somebody who knows everything.

Each rule sees the tank as the household's journal leaves it; the one who knows everything is there to show
what the caps on a dose alone leave possible.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from benchmarks.simulated_tank import AIM, Tank
from domain.bottles import bottle_of
from domain.chemistry.solution import mol_to_reach, source_water, with_nutrient
from domain.dosing import plan
from domain.safety import caps_for
from domain.tank import DEFAULTS, TankState

__all__ = ["PLAN", "RULES", "Advice", "Rule"]


@dataclass(frozen=True)
class Advice:
    """Which bottle and how much of it; nothing of either where it is only to wait and read again.

    bound_by : the limit that kept the amount below the whole; ``None`` where it reaches the aim.
    """

    read_after: timedelta
    role: str = ""
    amount_ml: float = 0.0
    bound_by: str | None = None


Rule = Callable[[TankState, Tank, datetime], Advice | None]
"""``None``: nothing to add."""


def by_plan(state: TankState, tank: Tank, now: datetime) -> Advice | None:
    """What the assistant says, followed by the letter."""
    found = plan(state, AIM, now=now)
    again = found.retest_after or timedelta(hours=4)
    dose = next(
        (s for s in found.steps if s.action in ("add", "test_portion") and s.role != "nutrient"), None
    )
    if dose is not None and dose.first is not None:
        return Advice(again, str(dose.role), dose.first / dose.dilution, dose.bound_by)
    return None if found.outcome == "nothing" else Advice(again)


def by_fixed_rate(state: TankState, tank: Tank, now: datetime) -> Advice | None:
    """1 ml of bottle per 10 L for each half pH off."""
    if _is_in_band(state) or state.ph is None:
        return None
    off = abs(state.ph.value - AIM.ph_target)
    return Advice(timedelta(hours=1), _side(state), 0.1 * state.volume_l.value * off / 0.5)


def by_whole_dose(state: TankState, tank: Tank, now: datetime) -> Advice | None:
    """The dose that brings the aired water to the aim, worked out for usual water, given at once."""
    if _is_in_band(state):
        return None
    role = _side(state)
    bottle = bottle_of(tank.bottles[role].product)
    water = source_water(
        ph=DEFAULTS.source_ph, alkalinity_eq_l=state.source.alkalinity_eq_l.value, temperature_c=20.0
    )
    fed = with_nutrient(water, ec_ms_cm=1.2)
    # Half a millimole a litre of base: what lifts usual feed from 5 to the target.
    whole = 0.5e-3 if role == "ph_up" else float(mol_to_reach(fed, bottle.reagent, AIM.ph_target, aired=True))
    return Advice(timedelta(hours=1), role, whole * state.volume_l.value / bottle.middle)


def by_all_knowing(state: TankState, tank: Tank, now: datetime) -> Advice | None:
    """The amount that PHREEQC itself says brings this very tank to the aim in a day, within every cap."""
    shown, settled = tank.true_ph(), tank.ph_in_a_day()
    if AIM.ph_low <= shown <= AIM.ph_high:
        is_done = AIM.ph_low <= settled <= AIM.ph_high
        return None if is_done else Advice(timedelta(hours=24))
    role = "ph_down" if shown > AIM.ph_high else "ph_up"
    low, high, bound_by = 0.0, caps_for(planted=True).concentrate_ml_per_l * tank.said_volume_l, "per_litre"
    if (limit := _passed(tank, role, high, shown)) is not None:
        bound_by = limit
        for _ in range(10):
            middle = (low + high) / 2
            limit = _passed(tank, role, middle, shown)
            low, high, bound_by = (middle, high, bound_by) if limit is None else (low, middle, limit)
        high = low
    return Advice(timedelta(hours=24), role, high, None if bound_by == "target" else bound_by)


def _passed(tank: Tank, role: str, amount_ml: float, shown: float) -> str | None:
    """Which limit this amount passes; ``target`` where it goes beyond the aim."""
    caps, sign = caps_for(planted=True), 1.0 if role == "ph_down" else -1.0
    edge = caps.lowest_ph_just_after if role == "ph_down" else caps.highest_ph_just_after
    just_after, settled = tank.supposed(role, amount_ml)
    if sign * (just_after - edge) < _MARGIN_PH:
        return "just_after"
    if sign * (shown - settled) > caps.settled_shift_per_day:
        return "settled_shift"
    return "target" if sign * (settled - AIM.ph_target) < 0 else None


_MARGIN_PH = 0.05
"""Even who knows everything pours by a syringe."""


def _is_in_band(state: TankState) -> bool:
    return state.ph is None or AIM.ph_low <= state.ph.value <= AIM.ph_high


def _side(state: TankState) -> str:
    return "ph_down" if state.ph is not None and state.ph.value > AIM.ph_target else "ph_up"


PLAN = "plan"
RULES: dict[str, Rule] = {
    PLAN: by_plan,
    "fixed rate": by_fixed_rate,
    "whole dose": by_whole_dose,
    "all-knowing": by_all_knowing,
}
