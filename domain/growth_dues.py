"""What growing plants make due: to thin them, and to step the feed up when they enter a hungrier stage.

Every date follows from when they were sown and came up, and stays where it is while nothing new is logged.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from domain.bands import Standing, tank_bands
from domain.crops import crop_names, crops
from domain.due import Due, dated, dated_key, evening, once_due, where
from domain.facts import Setting
from domain.plantings import Garden, Planting
from domain.stages import Stage, start_days

__all__ = ["growth_dues", "thin_from"]

THIN_AFTER = timedelta(days=10)
"""From when they came up until the first true leaves tell the strongest seedling: common practice."""
STEPS: tuple[Stage, ...] = ("vegetative", "flowering", "fruiting")
"""Stages that may want more than the one before."""
WANTS_MORE = 1.1
"""A step worth telling: the middle of the tank's band rises by this factor; a home meter shows no less."""
STEP_AHEAD = timedelta(days=60)
"""How far ahead a step is told of in the plan."""
MISSED = timedelta(days=7)


class _Step(NamedTuple):
    at: datetime
    planting: Planting
    stage: Stage


def growth_dues(
    grown: Garden,
    bands: Sequence[Setting],
    now: datetime,
    zone: ZoneInfo,
) -> Iterable[Due]:
    """To thin, and to feed more.

    bands : the household's own bands, which the table's do not move.
    What was past when the household told of the plants is not told back.
    """
    yield from _thinnings(grown, zone)
    yield from _feed_steps(grown, bands, now, zone)


def thin_from(planting: Planting) -> datetime | None:
    """From when more than one to a site is to be thinned; ``None`` where that is not so, or not known."""
    crowded = planting.is_count_said and planting.on_tank and planting.count > len(planting.sites) > 0
    if not crowded or planting.up_at is None or planting.stage == "germinating":
        return None
    if planting.tended_at is not None and planting.tended_at >= planting.up_at:
        return None
    return planting.up_at + THIN_AFTER


def _thinnings(grown: Garden, zone: ZoneInfo) -> Iterable[Due]:
    groups: dict[str, list[Planting]] = {}
    for planting in grown.plantings:
        from_at = thin_from(planting)
        if from_at is None:
            continue
        due_at = evening(from_at, zone)
        if due_at >= planting.said_at:
            groups.setdefault(f"thin:{planting.crop}:{dated_key(due_at, zone)}", []).append(planting)
    for key, group in groups.items():
        sites = [site for planting in group for site in planting.sites]
        count, first = sum(planting.count for planting in group), group[0]
        if first.up_at is None:
            continue
        text = f"thin the {first.crop} to one a site{where(sites)}"
        why = f"{count} stand in {len(set(sites))}, up since {dated(first.up_at, zone)}; the strongest stays"
        yield once_due(key, "thin", text, why, evening(first.up_at + THIN_AFTER, zone))


def _feed_steps(
    grown: Garden,
    bands: Sequence[Setting],
    now: datetime,
    zone: ZoneInfo,
) -> Iterable[Due]:
    """The next day on which what stands together wants distinctly more than the day before."""
    drawing = [each for each in grown.plantings if each.on_tank and each.drawing_count > 0]
    steps = sorted((step for each in drawing for step in _steps_of(each)), key=lambda step: step.at)
    for step in steps:
        due_at = evening(step.at, zone)
        if not now - MISSED <= due_at <= now + STEP_AHEAD or due_at < step.planting.said_at:
            continue
        before = _middle(drawing, steps, step.at - timedelta(seconds=1), bands)
        after = _middle(drawing, steps, step.at, bands)
        if after >= WANTS_MORE * before:
            crop = step.planting.crop
            why = f"the {crop} is {step.stage} from about now; in steps, over some days"
            key = f"feed_step:{crop}:{dated_key(due_at, zone)}"
            yield once_due(key, "feed_step", f"step the feed up for the {crop}", why, due_at)
            return


def _steps_of(planting: Planting) -> Iterable[_Step]:
    """When a sown planting enters each stage: by its age, or counted from when it was seen to come up."""
    crop = crops().get(crop_names().get(planting.crop.lower(), ""))
    seedling = start_days(crop, "seedling") if crop is not None else None
    if crop is None or planting.sown_at is None:
        return
    for stage in STEPS:
        start = start_days(crop, stage)
        if start is None:
            continue
        if planting.up_at is not None and seedling is not None:
            yield _Step(planting.up_at + timedelta(days=start - seedling), planting, stage)
        else:
            yield _Step(planting.sown_at + timedelta(days=start), planting, stage)


def _middle(
    drawing: Sequence[Planting], steps: Sequence[_Step], at: datetime, bands: Sequence[Setting]
) -> float:
    """The middle of the strength that suits all at a time. [mS/cm]"""
    standing = []
    for planting in drawing:
        reached = [step.stage for step in steps if step.planting is planting and step.at <= at]
        stage = reached[-1] if reached else "seedling" if planting.sown_at else planting.stage
        standing.append(Standing(planting.crop, stage, planting.drawing_count))
    band = tank_bands(standing, bands).ec
    return (band.ideal_low + band.ideal_high) / 2
