"""What each site of the household shows: what stands there, how old and how far along, or that it is free."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Literal

from domain.plantings import Garden, Planting
from domain.plots import Plot
from domain.site_tasks import SITE_TASKS, SiteTask
from domain.stages import STAGES, Stage

__all__ = ["SPOT_STATES", "Spot", "SpotState", "label_parts", "spots"]

SpotState = Stage | Literal["empty", "lost"]

SPOT_STATES: tuple[SpotState, ...] = (*STAGES, "empty", "lost")
"""Every state of a site, the stages first, in the order in which a plant passes through them."""

_GRID_LABEL = re.compile(r"([A-Z]{1,2})([0-9]{1,3})")


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One site.

    label : its name, in capitals; a row whose sites nobody counted is ``B*``.
    state : the stage of what stands there; ``lost`` where what last stood there died; else ``empty``.
    crop : what stands there, or what was lost; ``None`` for an empty one.
    days : whole days from seed; ``None`` where nothing stands or the sowing was never told. [days]
    others : how many more plantings share the site.
    task : what there is to do; ``None`` where nothing is.
    """

    label: str
    state: SpotState
    crop: str | None = None
    days: int | None = None
    others: int = 0
    task: SiteTask | None = None

    def __post_init__(self) -> None:
        if self.task is not None and self.task not in SITE_TASKS:
            raise ValueError(f"nothing to do at a site: {self.task!r}")
        if self.state not in SPOT_STATES:
            raise ValueError(f"no state of a site: {self.state!r}")


def spots(
    garden: Garden, named: Iterable[str] = (), tasks: Mapping[str, SiteTask] = MappingProxyType({})
) -> tuple[Spot, ...]:
    """All sites, in the order of their labels.

    named : the sites that the household says it has. A site where something stands is among the result
        whether it was named or not; one where something only stood once, where none were named.
    tasks : what there is to do, by the label of the site.
    """
    said = [label.strip().upper() for label in named]
    labels = {label for label in said if label and not label.endswith("*")}
    known = bool(labels)
    standing: dict[str, list[Planting]] = {}
    for planting in garden.plantings:
        for site in planting.sites:
            standing.setdefault(site, []).append(planting)
    ended: dict[str, list[Plot]] = {}
    for plot in garden.ended:
        if plot.site is not None and (plot.site in labels or not known):
            ended.setdefault(plot.site, []).append(plot)
    return tuple(
        replace(_spot(label, standing.get(label, ()), ended.get(label, ())), task=tasks.get(label))
        for label in sorted(labels | standing.keys() | ended.keys(), key=_order)
    )


def label_parts(label: str) -> tuple[str, int] | None:
    """``("A", 3)`` of ``A3``; ``None`` for a label that names no place in a grid."""
    found = _GRID_LABEL.fullmatch(label)
    return (found[1], int(found[2])) if found else None


def _spot(label: str, standing: Sequence[Planting], ended: Sequence[Plot]) -> Spot:
    if standing:
        newest = standing[-1]
        return Spot(
            label=label,
            state=newest.stage,
            crop=newest.crop,
            days=newest.days,
            others=len(standing) - 1,
        )
    last = max(ended, key=lambda plot: plot.ended_at or plot.started_at, default=None)
    if last is not None and last.end == "lost":
        return Spot(label=label, state="lost", crop=last.crop)
    return Spot(label=label, state="empty")


def _order(label: str) -> tuple[int, str, int]:
    parts = label_parts(label)
    return (1, label, 0) if parts is None else (0, *parts)
