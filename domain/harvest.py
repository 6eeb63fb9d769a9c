"""What can be picked when, and what was picked so far."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from domain.crops import crops
from domain.plantings import Planting
from domain.plots import Pick

__all__ = ["Ahead", "Yield", "YieldBy", "first_harvests", "yields"]

YieldBy = Literal["crop", "site", "week"]

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """When a planting can first be picked.

    from_at, to_at : the span of the first harvest, UTC; ``None`` where age or crop is not known.
    state : ``picked``: it was picked before; ``early``: the span is ahead; ``open``: it is now;
        ``over``: it has passed without a harvest; ``unknown``.
    sources : keys of ``data/sources.csv`` behind the days.
    """

    planting: Planting
    from_at: datetime | None
    to_at: datetime | None
    state: Literal["picked", "early", "open", "over", "unknown"]
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Yield:
    """What one key (a crop, a site, a week's Monday) has given.

    grams : of the picks that were weighed. [g]
    picks, unweighed : how often it was picked, and how often nobody weighed it.
    """

    key: str | date
    grams: float
    picks: int
    unweighed: int


def first_harvests(plantings: Iterable[Planting], now: datetime) -> tuple[Ahead, ...]:
    """The first harvest of every planting, the soonest first; what is not known stands at the end.

    plantings : as folded for ``now``.
    """
    found = [_ahead(planting, now) for planting in plantings]
    return tuple(
        sorted(found, key=lambda each: (each.from_at is None, each.from_at or now, each.planting.key))
    )


def yields(
    picks: Sequence[Pick], by: YieldBy, zone: ZoneInfo, since: datetime | None = None
) -> tuple[Yield, ...]:
    """What was picked, summed by crop, by site, or by the Monday of its week on the household's clock.

    picks : of ``domain.plantings.garden``. since : leaves out what was picked before.
    One harvest over several sites of one crop or week is one pick.
    What was picked where no site was told has the site ``""``.
    """
    grams: dict[str | date, float] = {}
    told: dict[str | date, set[int]] = {}
    unweighed: dict[str | date, set[int]] = {}
    for pick in picks:
        if since is not None and pick.at < since:
            continue
        key = _key(pick, by, zone)
        grams[key] = grams.get(key, 0.0) + (pick.grams or 0.0)
        told.setdefault(key, set()).add(pick.entry_id)
        if pick.grams is None:
            unweighed.setdefault(key, set()).add(pick.entry_id)
    return tuple(
        Yield(key, grams[key], len(entries), len(unweighed.get(key, ())))
        for key, entries in sorted(told.items(), key=lambda item: str(item[0]))
    )


def _key(pick: Pick, by: YieldBy, zone: ZoneInfo) -> str | date:
    if by == "crop":
        return pick.crop
    if by == "site":
        return pick.site or ""
    day = pick.at.astimezone(zone).date()
    return day - timedelta(days=day.weekday())


def _ahead(planting: Planting, now: datetime) -> Ahead:
    crop = crops().get(planting.crop)
    span = crop.days_to_first_harvest if crop is not None else None
    picked = planting.harvested_at is not None
    if crop is None or span is None or span.low is None or span.high is None or planting.sown_at is None:
        return Ahead(planting=planting, from_at=None, to_at=None, state="picked" if picked else "unknown")
    from_at, to_at = planting.sown_at + span.low * _DAY, planting.sown_at + span.high * _DAY
    state: Literal["picked", "early", "open", "over"] = (
        "picked" if picked else "early" if now < from_at else "open" if now <= to_at else "over"
    )
    sources = crop.sources.get("maturity", ())
    return Ahead(planting=planting, from_at=from_at, to_at=to_at, state=state, sources=sources)
