"""A dose as it was logged beside the portion that was advised: neat or of the mix, and far too much."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from bot.assistant.advise import aim_of
from bot.assistant.scene import Scene
from domain.dosing import Step, plan
from domain.facts import Dose
from domain.safety import CAPS

__all__ = ["Portioned", "beside_advice"]

MOST_ML = 500.0
"""No adjuster dose beyond this is plausible at all; nothing is worked out for it. [ml]"""
ADVICE_LASTS = timedelta(hours=6)
"""How long after a reading its portion may still be what somebody pours."""
LIKE = 2.0
"""An amount within this factor of the advised one may be just that, measured by eye."""
TOO_MUCH = 4.0
"""From this many times the advised portion on a dose is called far too much: our own design rule."""


@dataclass(frozen=True, slots=True)
class Portioned:
    """What a logged dose is beside the advice it follows.

    parts : the advised mix has one part of adjuster in so many, and the amount may be of it; 1 otherwise.
    times : how many times the advised portion went in, if neat; ``None`` where none was advised.
    over_cap : it is more than is ever poured at once, whatever was advised.
    """

    parts: int = 1
    times: float | None = None
    over_cap: bool = False

    @property
    def may_be_mix(self) -> bool:
        return self.parts > 1

    @property
    def is_far_too_much(self) -> bool:
        return self.over_cap or (self.times is not None and self.times >= TOO_MUCH)


def beside_advice(before: Scene, dose: Dose) -> Portioned | None:
    """How a dose compares with what was advised and with the cap; ``None`` where neither tells anything.

    before : the household as it stood when the dose went in, without it.
    """
    is_adjuster = dose.product in ("ph_down", "ph_up") and dose.unit == "ml"
    cap_ml = CAPS["concentrate_ml_per_l"].value * before.tank.level_l.value
    over_cap = is_adjuster and dose.amount > cap_ml
    step = None if over_cap else _advised(before, dose)
    if step is None or step.first is None or step.first <= 0:
        return Portioned(over_cap=True) if over_cap else None
    neat_ml = step.first / step.dilution
    is_like = step.first / LIKE <= dose.amount <= step.first * LIKE
    parts = step.dilution if step.dilution > 1 and is_like else 1
    most_ml = max(neat_ml, (step.high or 0.0) / TOO_MUCH)
    return Portioned(parts=parts, times=dose.amount / most_ml)


def _advised(before: Scene, dose: Dose) -> Step | None:
    """The step of the plan that this dose may be."""
    is_adjuster = dose.product in ("ph_down", "ph_up") and dose.unit == "ml" and dose.name is None
    latest = before.latest_reading()
    if not is_adjuster or dose.amount > MOST_ML or latest is None:
        return None
    if before.at - latest.happened_at > ADVICE_LASTS:
        return None
    planned = plan(before.tank, aim_of(before.bands), now=before.at)
    return next(
        (s for s in planned.steps if s.role == dose.product and s.action in ("add", "test_portion")), None
    )
