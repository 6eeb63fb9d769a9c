"""When nothing is dosed, and what to do instead."""

from __future__ import annotations

from datetime import datetime, timedelta

from domain.dosing.shapes import Hold
from domain.dosing.strength import MIX_MINUTES
from domain.response import FAR
from domain.safety import caps_for
from domain.stretches import is_plausible_ph
from domain.tank import SETTLED_AFTER, UNLABELLED, Dosed, Figure, TankState

__all__ = [
    "hold_on_bottle",
    "hold_on_ph",
    "hold_on_settling",
    "hold_on_strength",
    "hold_on_tank",
    "hold_on_target",
    "is_before_fill",
]

TRUSTED_FOR = timedelta(days=1)
"""A tank can move half a pH in a day; an older reading is taken again: our own design rule."""
MIXED_AFTER = timedelta(minutes=10)
"""The least that a small pump takes to bring a dose everywhere: three turns of the tank (common practice)."""
PLAUSIBLE_EC_MS_CM = 6.0


def hold_on_tank(state: TankState) -> Hold | None:
    """Animals in the water: limits for fish are other ones, and a mistake kills."""
    return Hold("fish") if state.fish else None


def hold_on_ph(
    state: TankState, surprise: float | None, now: datetime, *, insist: bool, is_said: bool
) -> Hold | None:
    """What speaks against dosing adjuster on the last pH reading.

    surprise : see ``Beliefs.surprise``.
    insist : the person wants a second dose before the first was tested.
    is_said : the pH comes from the question itself, not from the journal.
    """
    reading = state.ph
    if reading is None:
        return Hold("no_ph_reading")
    if not is_plausible_ph(reading.value):
        return Hold("reading_implausible", {"ph": reading.value})
    if is_said:
        return None
    if is_before_fill(state, reading):
        return Hold("no_ph_reading")
    if _is_old(reading, now):
        return Hold("reading_old", {"ph": reading.value, "at": reading.at})
    fed = state.doses_since(reading.at, "nutrient")
    if fed and not insist:  # feed moves pH
        return _await_retest(fed[-1])
    untested = state.unanswered[-1] if state.unanswered else _just_poured(state, reading)
    if untested is not None and not insist:
        return _await_retest(untested)
    if surprise is not None and surprise > FAR:
        return Hold("reading_far_from_model", {"ph": reading.value, "deviations": surprise})
    return None


def hold_on_settling(state: TankState, now: datetime) -> Hold | None:
    """The last adjuster was tested, but its CO2 is still on the way out."""
    given = state.doses_since(now - SETTLED_AFTER, "ph_down", "ph_up")
    return _await_retest(given[-1], SETTLED_AFTER) if given else None


def hold_on_strength(state: TankState, now: datetime, *, insist: bool, is_said: bool) -> Hold | None:
    """What speaks against feeding or diluting on the last EC reading."""
    reading = state.ec_ms_cm
    if reading is None:
        return Hold("no_ec_reading")
    if not 0.0 <= reading.value <= PLAUSIBLE_EC_MS_CM:
        return Hold("reading_implausible", {"ec_ms_cm": reading.value})
    if is_said:
        return None
    fed = state.doses_since(reading.at, "nutrient")
    if fed and not insist:
        return _await_retest(fed[-1])
    if is_before_fill(state, reading):
        return Hold("no_ec_reading")
    if _is_old(reading, now):
        return Hold("reading_old", {"ec_ms_cm": reading.value, "at": reading.at})
    return None


def hold_on_target(ph_to: float, *, planted: bool) -> Hold | None:
    """A wish that no plant stands."""
    caps = caps_for(planted=planted)
    low, high = caps.lowest_ph_just_after, caps.highest_ph_just_after
    if not low < ph_to < high:
        return Hold("target_unsafe", {"ph_to": ph_to, "low": low, "high": high})
    return None


def hold_on_bottle(name: str | None) -> Hold | None:
    """A bottle without any label is not dosed from at all."""
    if name is not None and name.casefold() == UNLABELLED:
        return Hold("unlabelled_bottle")
    return None


def is_before_fill(state: TankState, reading: Figure) -> bool:
    """The whole water has been changed since: the reading is of water that is gone."""
    return state.filled_at is not None and reading.at is not None and reading.at < state.filled_at


def _is_old(reading: Figure, now: datetime) -> bool:
    return reading.at is not None and now - reading.at > TRUSTED_FOR


def _just_poured(state: TankState, reading: Figure) -> Dosed | None:
    """The adjuster that went in minutes before the reading: it was not everywhere yet.

    A dose and a reading of one message carry one time; their order alone is known, and that is enough.
    """
    before = [d for d in state.doses_since(None, "ph_down", "ph_up") if reading.at and d.at < reading.at]
    if before and reading.at and reading.at - before[-1].at < MIXED_AFTER:
        return before[-1]
    return None


def _await_retest(dose: Dosed, after: timedelta = timedelta(minutes=MIX_MINUTES)) -> Hold:
    return Hold(
        "await_retest",
        {
            "role": dose.role,
            "amount": dose.amount,
            "unit": dose.unit,
            "at": dose.at,
            "read_at": dose.at + after,
        },
    )
