"""What saves a tank after a slip: how much to drain and refill after too large a dose, how long roots last.

An overdose is thinned with water, never countered with the other concentrate: two bottles in one tank are
twice the guess, and acid beside base neat is a danger to the person. Words and first aid are in
``domain.safety``.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from types import MappingProxyType

import numpy as np

from domain.chemistry.mixing import after_swaps
from domain.chemistry.solution import Solution, mixed, ph, with_nutrient
from domain.dosing.measures import measurable
from domain.dosing.shapes import Aim, Plan, Predicted, Span, Step
from domain.dosing.strength import MIX_MINUTES, feed_gain
from domain.facts import Dose, Emergency, Product, ProductRole
from domain.happenings import Read, Watered, dose_amount
from domain.journal import Entry
from domain.response import Beliefs, beliefs
from domain.safety import caps_for, cautions_for
from domain.tank import TankState

__all__ = [
    "HARMFUL_PH",
    "ROOTS_LAST_H",
    "Rescue",
    "RootsLast",
    "Swap",
    "has_slipped",
    "mended",
    "overdose_rescue",
    "roots_last",
    "system_named",
]

ROOTS_LAST_H: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "mist": (0.5, 1.0),
        "film": (1.0, 3.0),
        "tower": (1.0, 3.0),
        "medium": (6.0, 24.0),
        "deep_water": (12.0, 24.0),
    }
)
"""Hours until roots suffer without flow or air, by system, at room temperature; half as long above 28 degC.
Common practice. In deep water oxygen runs out rather than water."""

_HOT_C = 28.0
_HOT_SHARE = 0.5
_SYSTEMS: tuple[tuple[str, str], ...] = (
    ("mist", r"aero\w*|mist\w*|fog\w*"),
    ("film", r"nft|film|gutters?|channels?|pipes?|rails?"),
    ("tower", r"towers?|columns?|walls?"),
    ("medium", r"dutch|ebb|flood|drip\w*|media|medium|clay|pebbles?|coco|perlite|rockwool"),
    ("deep_water", r"dwc|deep water|rafts?|kratky|buckets?|pond"),
)
"""Words in the name of a system that tell what its roots hang in: common practice."""

SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Shares of the water that a household can drain without a scale on the tank."""
HARMFUL_PH = (5.0, 7.5)
"""Beyond it after an adjuster the water is swapped: what ``EMERGENCY`` says of a dose that was too large."""
_DAY_H = 24.0
_SURE = 0.9
"""How sure the water must be to stand inside the limits for a share to be enough."""
_SLIP_COUNTS_FOR = timedelta(hours=24)
"""After a day a reading speaks for itself: our own design rule."""
_BLIND_SHARE = 0.5
"""What is drained where the water's state is not known: common practice."""


@dataclass(frozen=True, slots=True)
class Swap:
    """Water to drain and refill with plain water. ``predicted``: what it then shows; ``None`` if unknown."""

    share: float
    litres: float
    predicted: Predicted | None


@dataclass(frozen=True, slots=True)
class Rescue:
    """What to do about a dose that was too large.

    predicted : what the water shows with the dose in it; ``None`` where that cannot be said.
    swap : how much to drain and refill; ``None`` where the water stays inside the limits by itself.
    read_after : when to read again; at once is the first thing to do in any case.
    is_blind : no reading or no strength to reckon with: the share is a rule of thumb.
    """

    predicted: Predicted | None
    swap: Swap | None
    read_after: timedelta
    is_blind: bool


@dataclass(frozen=True, slots=True)
class RootsLast:
    """How long roots bear it without flow or air. [h]

    system : a key of ``ROOTS_LAST_H``; ``None`` where it is not known: the hours are then those of a thin
        film, the first to act for.
    temperature_c : of the water; ``None`` where it was not read.
    """

    system: str | None
    low_h: float
    high_h: float
    temperature_c: float | None


def roots_last(system: str | None, temperature_c: float | None) -> RootsLast:
    """Hours until roots suffer. system : a key of ``ROOTS_LAST_H``. Source: see there."""
    low, high = ROOTS_LAST_H[system or "film"]
    share = _HOT_SHARE if temperature_c is not None and temperature_c > _HOT_C else 1.0
    return RootsLast(system, low * share, high * share, temperature_c)


def system_named(name: str | None) -> str | None:
    """The kind of system that a household's name for it tells of: a key of ``ROOTS_LAST_H``, or ``None``."""
    said = (name or "").casefold()
    return next((kind for kind, words in _SYSTEMS if re.search(rf"\b(?:{words})\b", said)), None)


def overdose_rescue(
    state: TankState, emergency: Emergency, aim: Aim, *, is_noted: bool = False, is_read: bool = False
) -> Rescue:
    """How much of the water to swap after ``put in 50 ml instead of 5``.

    emergency : about an overdose, with product, amount and unit where they were said.
    is_noted : the dose stands in the journal already, so that the state holds it.
    is_read : a reading has shown since what it did; then the amount need not be known.
    """
    read_after = timedelta(minutes=MIX_MINUTES)
    product = (state.product(emergency.product) if emergency.product else None) or (
        Product(role=emergency.product) if emergency.product else None
    )
    belief = beliefs(state, products=(product,) if product else ())
    unknown = emergency.amount is None and not is_read
    if belief is None or product is None or unknown or product.role == "other":
        litres = measurable(_BLIND_SHARE * state.level_l.value, "l")
        return Rescue(None, Swap(_BLIND_SHARE, litres, None), read_after, True)
    water, rise = belief.water, 0.0
    if not is_read:
        dosed, rise = _dosed(state, belief, product, _amount(emergency))
        water = belief.water if is_noted else dosed
    foretold = [(share, *_thinned(state, belief, water, rise, share)) for share in SHARES]
    holds = [share for share, sure, _ in foretold if _is_safe(state, aim, product, sure)]
    share = min(holds, default=SHARES[-1])
    by_share = {share: predicted for share, _, predicted in foretold}
    if share == 0.0:
        return Rescue(by_share[0.0], None, read_after, False)
    litres = measurable(share * state.level_l.value, "l")
    return Rescue(by_share[0.0], Swap(share, litres, by_share[share]), read_after, False)


def mended(state: TankState, aim: Aim, entries: Sequence[Entry]) -> Plan | None:
    """What to do on the first reading after too large a dose: swap water, never the other adjuster.

    state, entries : with that reading and that dose in them.
    ``None`` where there was no such dose of late, water was swapped since, or the reading calls for none.
    """
    if state.fish:
        return None
    slip = _told_slip(state, aim, entries) or _overdosed(state, aim)
    rescue = overdose_rescue(state, slip, aim, is_noted=True, is_read=True) if slip is not None else None
    if slip is None or rescue is None or slip.product == "other":
        return None
    swap = rescue.swap
    if swap is None and slip.product in ("ph_down", "ph_up") and slip.product == _role_shown(state, aim):
        # What will right itself is thinned a little all the same: the other bottle is no way back.
        swap = Swap(SHARES[1], measurable(SHARES[1] * state.level_l.value, "l"), None)
    if swap is None:
        return None
    step = Step(
        "drain_refill",
        unit="l",
        first=swap.litres,
        predicted=swap.predicted,
        wait_minutes=MIX_MINUTES,
    )
    return Plan(
        "steps",
        reason="overdose",
        steps=(step, Step("read")),
        retest_after=rescue.read_after,
        cautions=cautions_for((step,)),
    )


def _told_slip(state: TankState, aim: Aim, entries: Sequence[Entry]) -> Emergency | None:
    """The slip that somebody told of within the last day, once a reading has shown what it did."""
    late = reversed(entries[bisect_left(entries, state.now - _SLIP_COUNTS_FOR, key=_moment) :])
    slip = next(
        (entry for entry in late if _is_slip(entry) and not _is_swapped(entry.happened_at, state)), None
    )
    if slip is None or not isinstance(slip.fact, Emergency):
        return None
    role = slip.fact.product or _role_shown(state, aim)
    read = state.ec_ms_cm if role == "nutrient" else state.ph
    is_read = read is not None and read.at is not None and read.at > slip.happened_at
    return replace(slip.fact, product=role) if role is not None and is_read else None


def _overdosed(state: TankState, aim: Aim) -> Emergency | None:
    """The adjuster of which too much went in, though nobody called it a slip: by the water and the dose.

    Too much is more than one step may hold, or what left the water beyond ``HARMFUL_PH``. It counts until
    water is swapped or a reading stands in the band again.
    """
    read = state.ph
    if read is None or read.at is None or aim.ph_low <= read.value <= aim.ph_high:
        return None
    role: ProductRole = "ph_down" if read.value < aim.ph_low else "ph_up"
    borne = [h.at for h in state.happenings if isinstance(h, Read) and _is_borne(h, aim)]
    since = max(borne, default=None)
    doses = [dose for dose in state.doses_since(None, role) if dose.at <= read.at]
    late = [dose for dose in doses if (since is None or dose.at >= since) and not _is_swapped(dose.at, state)]
    is_harmful = not HARMFUL_PH[0] <= read.value <= HARMFUL_PH[1]
    most = caps_for(planted=state.planted).concentrate_ml_per_l * state.level_l.value
    if not late or not (is_harmful or any(dose.amount > most for dose in late)):
        return None
    return Emergency(about="overdose", product=role)


def _is_borne(read: Read, aim: Aim) -> bool:
    return read.ph is not None and aim.ph_low <= read.ph <= aim.ph_high


def has_slipped(entries: Sequence[Entry], at: datetime) -> bool:
    """Too large a dose was told of within the last day: any reading may be true."""
    first = bisect_left(entries, at - _SLIP_COUNTS_FOR, key=_moment)
    return any(_is_slip(entry) for entry in entries[first : bisect_right(entries, at, key=_moment)])


def _is_slip(entry: Entry) -> bool:
    return isinstance(entry.fact, Emergency) and entry.fact.about == "overdose"


def _is_swapped(at: datetime, state: TankState) -> bool:
    """Whether water was taken out since."""
    return any(isinstance(h, Watered) and h.removed_l > 0 and h.at > at for h in state.happenings)


def _moment(entry: Entry) -> datetime:
    return entry.happened_at


def _role_shown(state: TankState, aim: Aim) -> ProductRole | None:
    """What it must have been, by the side on which the water stands; ``None`` where it stands well."""
    if state.ph is not None and state.ph.value < aim.ph_low:
        return "ph_down"
    if state.ph is not None and state.ph.value > aim.ph_high:
        return "ph_up"
    strong = state.ec_ms_cm is not None and aim.ec_high is not None and state.ec_ms_cm.value > aim.ec_high
    return "nutrient" if strong else None


def _amount(emergency: Emergency) -> float:
    dose = Dose(
        product=emergency.product or "other", amount=emergency.amount or 0.0, unit=emergency.unit or "ml"
    )
    return dose_amount(dose)[0]


def _dosed(state: TankState, belief: Beliefs, product: Product, amount: float) -> tuple[Solution, float]:
    """The water with the dose in it, and by how much its strength rose. [mS/cm]"""
    if product.role == "nutrient":
        rise = amount * feed_gain(state, product).gain / state.level_l.value
        return with_nutrient(belief.water, ec_ms_cm=rise), rise
    return belief.with_dose(belief.water, product, amount), 0.0


def _thinned(
    state: TankState, belief: Beliefs, water: Solution, rise: float, share: float
) -> tuple[dict[str, float], Predicted]:
    """The edges of what this water shows after a swap, and the prediction as a whole."""
    after = np.asarray(ph(mixed(water, belief.source, share)))
    shown = Span(*(belief.quantile(after, quantile) for quantile in (0.5, 0.1, 0.9)))
    known, source = state.ec_ms_cm, state.source.ec_ms_cm.value
    ec = None
    if known is not None:
        middle = after_swaps(known.value + rise, source, share)
        ec = Span(middle, 0.95 * middle, 1.05 * middle)
    settled = np.asarray(ph(belief.later(mixed(water, belief.source, share), _DAY_H)))
    later = Span(*(belief.quantile(settled, quantile) for quantile in (0.5, 0.1, 0.9)))
    edges = {
        "ph_low": belief.quantile(after, 1 - _SURE),
        "ph_high": belief.quantile(after, _SURE),
        "settled": later.middle,
    }
    if ec is not None:
        edges["ec_high"] = ec.high
    return edges, Predicted(ph_now=shown, ph_later=later, ec_ms_cm=ec)


def _is_safe(state: TankState, aim: Aim, product: Product, edges: dict[str, float]) -> bool:
    """Roots can stand this water until the next reading: the side that the dose pushed to is inside."""
    caps = caps_for(planted=state.planted)
    if product.role == "ph_down":
        return edges["ph_low"] >= caps.lowest_ph_just_after and edges["settled"] >= aim.ph_low
    if product.role == "ph_up":
        return edges["ph_high"] <= max(caps.highest_ph_just_after, state.source.ph.value)
    return aim.ec_high is None or "ec_high" not in edges or edges["ec_high"] <= aim.ec_high
