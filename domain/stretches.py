"""The stretches of a journal in which a tank has answered doses, for ``domain.response`` to learn from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from domain.bottles import Bottle
from domain.guesses import BottleKey, bottle_key
from domain.happenings import Dosed, Happening, Jarred, Read, Watered
from domain.tank import TankState

__all__ = ["PLAUSIBLE_PH", "READINGS", "episodes", "is_plausible_ph", "readings_in"]

READINGS = 5
"""Readings looked back on; older ones teach little of the water that is in the tank now."""
EPISODES = 2
"""Earlier stretches with answers of an unknown bottle that are looked back on."""
PLAUSIBLE_PH = (3.5, 9.5)
"""Tap water and feeds stay inside; beyond it the meter is asked first (common practice)."""


def readings_in(state: TankState) -> list[Read]:
    """The readings of pH in the water that is in the tank now, the oldest first.

    Of a fill from a tap that nobody told of, those before it was fed are left out once it was read after: a
    feed brings acid or base of its own, so that what it did to pH is no measure of the tap's alkalinity.
    """
    happened = state.since_fill
    if state.filled_at is not None and state.source.alkalinity_eq_l.is_assumed:
        happened = _since_fed(happened)
    return [h for h in happened if isinstance(h, Read) and is_plausible_ph(h.ph)]


def _since_fed(happened: tuple[Happening, ...]) -> tuple[Happening, ...]:
    """What followed the feeds that went in before any adjuster; all of it where no reading followed them."""
    fed = 0
    for index, happening in enumerate(happened):
        if isinstance(happening, Dosed) and happening.role in ("ph_down", "ph_up"):
            break
        if isinstance(happening, Dosed) and happening.role == "nutrient":
            fed = index
    later = happened[fed:]
    return later if any(isinstance(h, Read) and is_plausible_ph(h.ph) for h in later) else happened


def episodes(state: TankState, bottles: Mapping[BottleKey, Bottle]) -> list[TankState]:
    """Earlier stretches in which a bottle of unknown strength was dosed from and answered, the newest last.

    A household measures its bottle once; neither a water change nor a week of readings makes it unknown
    again.
    """
    unknown = {key for key, bottle in bottles.items() if not bottle.is_known}
    readings = readings_in(state)
    closing = readings[-READINGS] if len(readings) > READINGS else state.since_fill[0] if readings else None
    stretches: list[list[Happening]] = [[]]
    if not unknown or closing is None:
        return []
    for happening in state.happenings[: state.happenings.index(closing) + 1]:
        if isinstance(happening, Watered) and happening.whole:
            stretches.append([])
        stretches[-1].append(happening)
        if isinstance(happening, Read) and sum(isinstance(h, Read) for h in stretches[-1]) >= READINGS:
            stretches.append([happening])
    told = [stretch for stretch in stretches if _has_answer(stretch, unknown)]
    return [_as_state(state, stretch) for stretch in told[-EPISODES:]]


def _has_answer(stretch: Sequence[Happening], unknown: set[BottleKey]) -> bool:
    """A reading, then a dose of one of these bottles and a reading, or one of them tried in a jar."""
    is_read = dosed = False
    for happening in stretch:
        if isinstance(happening, Read) and is_plausible_ph(happening.ph):
            if dosed:
                return True
            is_read = True
        elif isinstance(happening, Jarred) and is_read and bottle_key(happening.product) in unknown:
            return True
        elif isinstance(happening, Dosed) and is_read and bottle_key(happening.product) in unknown:
            dosed = True
    return False


def _as_state(state: TankState, stretch: Sequence[Happening]) -> TankState:
    """The tank as it was at the end of this stretch."""
    begins = stretch[0]
    filled_at = begins.at if isinstance(begins, Watered) and begins.whole else None
    return replace(state, now=stretch[-1].at, happenings=tuple(stretch), filled_at=filled_at)


def is_plausible_ph(value: float | None) -> bool:
    """A pH that a tank can have: it is learned from and dosed on."""
    return value is not None and PLAUSIBLE_PH[0] <= value <= PLAUSIBLE_PH[1]
