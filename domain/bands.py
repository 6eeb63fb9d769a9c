"""What one tank can give to all that stands on it, and what a reading means beside that.

What a single crop wants is weighed in ``domain.wants``; here many wants become one band.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from domain.compromise import Wish, compromise
from domain.facts import Setting
from domain.sources import YOURS, SourceLine
from domain.stages import Stage
from domain.wants import (
    HOLDABLE,
    UNITS,
    Edge,
    Published,
    Want,
    What,
    critical_ends,
    given_room,
    published,
    set_by_household,
    want,
)

__all__ = [
    "Band",
    "Edge",
    "Misfit",
    "Place",
    "Published",
    "SourceLine",
    "Standing",
    "TankBands",
    "Verdict",
    "What",
    "crop_band",
    "published",
    "tank_bands",
    "verdict",
]

Place = Literal["in", "near_low", "near_high", "low", "high"]

SHARED_TANK = ""
"""Stands for a crop where none is known: any tank."""

ABOVE_COSTS: dict[What, float] = {"ec_ms_cm": 2.0}
"""Too strong burns, too weak only slows: strength above what a plant wants counts double. Common practice
goes by the more sensitive of clashing crops. Everything else counts alike both ways."""

_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Band:
    """Where one quantity should be.

    ideal_low, ideal_high : where to aim. [unit]
    tolerable_low, tolerable_high : beyond which to act; never inside the ideal range. [unit]
    unit : ready to show; empty for pH.
    set_by_low, set_by_high : who asks for that end of the ideal range, ready to show.
    sources : what stands behind the four ends, each once.
    critical_low, critical_high : beyond which it is urgent; ``None`` where no source says.
    """

    what: What
    ideal_low: float
    ideal_high: float
    tolerable_low: float
    tolerable_high: float
    unit: str
    set_by_low: str
    set_by_high: str
    sources: tuple[SourceLine, ...]
    critical_low: float | None = None
    critical_high: float | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a value means beside its band.

    place : ``in`` the ideal range; ``near_low`` or ``near_high``: outside it, nothing to add; ``low`` or
        ``high``: outside the tolerable range, act.
    is_urgent : beyond the critical end as well.
    """

    what: What
    value: float
    place: Place
    is_urgent: bool = False

    @property
    def needs_action(self) -> bool:
        return self.place in ("low", "high")


@dataclass(frozen=True, slots=True)
class Standing:
    """Plants of one crop and stage on the tank.

    days : their age, ``None`` where it is not known. [days]
    """

    crop: str
    stage: Stage
    count: int
    days: float | None = None


@dataclass(frozen=True, slots=True)
class Misfit:
    """Plants that the tank's ideal range does not suit, by more than a home tester can tell.

    by : how far the middle of the range lies above (positive) or below what they want. [unit of ``what``]
    is_beyond_tolerable : it lies outside what they bear, not only outside what they like.
    """

    crop: str
    stage: Stage
    count: int
    what: What
    by: float
    is_beyond_tolerable: bool


@dataclass(frozen=True, slots=True)
class TankBands:
    """The bands of one tank.

    assumed : nothing that has a vote is known to stand on it, so that the bands are those of any shared tank.
    voters : whose wants were counted.
    misfits : whom the compromise does not suit, the worst served first for each quantity.
    """

    ph: Band
    ec: Band
    water_temp: Band
    dissolved_oxygen: Band
    assumed: bool
    voters: tuple[Standing, ...] = ()
    misfits: tuple[Misfit, ...] = ()

    def of(self, what: What) -> Band:
        """The band of one quantity."""
        return {
            "ph": self.ph,
            "ec_ms_cm": self.ec,
            "water_temp_c": self.water_temp,
            "dissolved_oxygen_mg_l": self.dissolved_oxygen,
        }[what]


def verdict(value: float, band: Band) -> Verdict:
    """Where a value lies. The ends of a range belong to it."""
    if value < band.tolerable_low - _SAME:
        place: Place = "low"
    elif value > band.tolerable_high + _SAME:
        place = "high"
    elif value < band.ideal_low - _SAME:
        place = "near_low"
    elif value > band.ideal_high + _SAME:
        place = "near_high"
    else:
        place = "in"
    too_low = place == "low" and band.critical_low is not None and value < band.critical_low
    too_high = place == "high" and band.critical_high is not None and value > band.critical_high
    return Verdict(band.what, value, place, is_urgent=too_low or too_high)


def crop_band(
    crop: str, what: What, stage: Stage | None = "vegetative", settings: Sequence[Setting] = ()
) -> Band:
    """What one crop would have to itself; arguments as in ``domain.wants.want``."""
    return _band([(want(crop, what, stage, settings), 1)], ())


def tank_bands(standing: Sequence[Standing], settings: Sequence[Setting] = ()) -> TankBands:
    """What one tank can give to all that stands on it.

    standing : all plants on the tank; germinating ones have no vote, their plugs hold their own water.
    settings : the household's ``band`` settings, newest last. One that names a crop speaks for that crop; one
        that names none is the tank's own band and wins over every plant.

    For each quantity the tolerable range is what suits all or, where nothing does, the values that make least
    the sum over all plants of how far they lie outside what each bears. The ideal range is the same for what
    each likes, sought inside the tolerable one if that is wide enough to hold (``domain.compromise``;
    strength: ``ABOVE_COSTS``). An ideal range too narrow to hold becomes a set point with its room
    (``domain.wants.HOLDABLE``), unless the household itself set it.
    """
    voters = tuple(each for each in standing if each.stage != "germinating" and each.count > 0)
    counted = voters or (Standing(SHARED_TANK, "vegetative", 1),)
    votes = tuple((each.crop, each.stage, each.count) for each in counted)
    said = tuple(setting for setting in settings if setting.name == "band")

    def wanted(what: What) -> list[tuple[Want, int]]:
        return [(want(each.crop, what, each.stage, settings), each.count) for each in counted]

    bands: dict[What, Band] = {what: _band_for(what, votes, said) for what in UNITS}
    return TankBands(
        ph=bands["ph"],
        ec=bands["ec_ms_cm"],
        water_temp=bands["water_temp_c"],
        dissolved_oxygen=bands["dissolved_oxygen_mg_l"],
        assumed=not voters,
        voters=voters,
        misfits=tuple(
            misfit
            for what, band in bands.items()
            for misfit in _misfits(voters, band, [each for each, _ in wanted(what)] if voters else [])
        ),
    )


@lru_cache(maxsize=4096)  # what stands, and what was set, changes by the day; readings come by the hour
def _band_for(
    what: What, votes: tuple[tuple[str, Stage | None, int], ...], settings: tuple[Setting, ...]
) -> Band:
    own = tuple(setting for setting in settings if not setting.crop)
    return _band([(want(crop, what, stage, settings), count) for crop, stage, count in votes], own)


def _band(wanted: Sequence[tuple[Want, int]], own: Sequence[Setting]) -> Band:
    what = wanted[0][0].what
    bears_low, bears_high = _agreed(what, [(each.tolerable, count) for each, count in wanted])
    low, high = _agreed(what, [(each.ideal, count) for each, count in wanted])
    if bears_high - bears_low >= HOLDABLE[what]:
        low, high = (min(max(end, bears_low), bears_high) for end in (low, high))
    edges = [edge for each, _ in wanted for edge in (*each.ideal, *each.tolerable)]
    low_edge, high_edge = _edge_at(low, edges), _edge_at(high, edges)
    if YOURS not in (*low_edge.sources, *high_edge.sources):
        low, high = given_room(low, high, what)
    joint = Want(
        SHARED_TANK,
        what,
        ideal=(replace(low_edge, value=low), replace(high_edge, value=high)),
        tolerable=(
            replace(_edge_at(bears_low, edges), value=min(bears_low, low)),
            replace(_edge_at(bears_high, edges), value=max(bears_high, high)),
        ),
    )
    for setting in own:
        joint = set_by_household(joint, setting)
    return _shown(joint, *_critical([each for each, _ in wanted]))


def _agreed(what: What, ranges: Sequence[tuple[tuple[Edge, Edge], int]]) -> tuple[float, float]:
    wishes = [Wish(low.value, high.value, count) for (low, high), count in ranges]
    return compromise(wishes, above_costs=ABOVE_COSTS.get(what, 1.0))


def _edge_at(value: float, edges: Iterable[Edge]) -> Edge:
    """The edges that lie at ``value``, as one: whoever asks for it, on all their sources."""
    there = [edge for edge in edges if abs(edge.value - value) <= _SAME]
    return Edge(
        value,
        ", ".join(dict.fromkeys(edge.who for edge in there)),
        tuple(dict.fromkeys(line for edge in there for line in edge.sources)),
    )


def _critical(wanted: Iterable[Want]) -> tuple[float | None, float | None]:
    """The first critical end that any of the plants meets on either side."""
    ends = [critical_ends(each.crop, each.what) for each in wanted]
    lows = [low for low, _ in ends if low is not None]
    highs = [high for _, high in ends if high is not None]
    return max(lows, default=None), min(highs, default=None)


def _shown(joint: Want, critical_low: float | None, critical_high: float | None) -> Band:
    (low, high), (bears_low, bears_high) = joint.ideal, joint.tolerable
    return Band(
        what=joint.what,
        ideal_low=low.value,
        ideal_high=high.value,
        tolerable_low=bears_low.value,
        tolerable_high=bears_high.value,
        unit=UNITS[joint.what],
        set_by_low=low.who,
        set_by_high=high.who,
        sources=tuple(
            dict.fromkeys(line for edge in (*joint.ideal, *joint.tolerable) for line in edge.sources)
        ),
        critical_low=critical_low,
        critical_high=critical_high,
    )


def _misfits(voters: Sequence[Standing], band: Band, wanted: Sequence[Want]) -> list[Misfit]:
    middle = (band.ideal_low + band.ideal_high) / 2
    found = [
        Misfit(
            crop=each.crop,
            stage=each.stage,
            count=each.count,
            what=band.what,
            by=by,
            is_beyond_tolerable=abs(_outside(middle, wants.tolerable)) > _SAME,
        )
        for each, wants in zip(voters, wanted, strict=True)
        if abs(by := _outside(middle, wants.ideal)) > HOLDABLE[band.what] / 2
    ]
    return sorted(found, key=lambda misfit: -abs(misfit.by))


def _outside(value: float, ends: tuple[Edge, Edge]) -> float:
    """How far a value lies above (positive) or below a range; 0 inside."""
    low, high = ends
    return value - min(max(value, low.value), high.value)
