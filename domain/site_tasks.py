"""What each site asks for today: to look, sow again, thin, move or pick."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Literal, get_args

from domain.germination import outlooks
from domain.growth_dues import thin_from
from domain.harvest import first_harvests
from domain.journal import Entry
from domain.nursery import ready_to_move
from domain.plantings import Garden, Planting

__all__ = ["SITE_TASKS", "SiteTask", "site_tasks"]

SiteTask = Literal["sow again", "thin", "move", "pick", "look"]

SITE_TASKS: tuple[SiteTask, ...] = get_args(SiteTask)
"""The most pressing first: of two at one site the first is told."""


def site_tasks(grown: Garden, entries: Sequence[Entry], now: datetime) -> dict[str, SiteTask]:
    """What there is to do now, by the label of the site; sites that ask for nothing are left out.

    grown : what the entries say of plants at ``now``. entries : the net journal, without doubted entries.
    """
    found: dict[str, SiteTask] = {}
    for label, task in _all(grown, entries, now):
        known = found.get(label)
        if known is None or SITE_TASKS.index(task) < SITE_TASKS.index(known):
            found[label] = task
    return found


def _all(grown: Garden, entries: Sequence[Entry], now: datetime) -> Iterator[tuple[str, SiteTask]]:
    for outlook in outlooks(grown.sowings, entries, now):
        if now >= outlook.opens_at:
            late = now >= outlook.give_up_at
            yield from ((site, "sow again" if late else "look") for site in outlook.sowing.waiting_sites)
    for planting in grown.plantings:
        from_at = thin_from(planting)
        if from_at is not None and from_at <= now:
            yield from ((site, "thin") for site in planting.sites)
    for ready in ready_to_move(grown.plantings):
        if ready.at <= now and ready.planting.stage != "germinating":
            yield from ((site, "move") for site in ready.planting.sites)
    for ahead in first_harvests(grown.plantings, now):
        is_open = ahead.state in ("open", "over") and not _picked_somewhere(grown, ahead.planting)
        if is_open and ahead.planting.on_tank and ahead.planting.drawing_count:
            yield from ((site, "pick") for site in ahead.planting.sites)


def _picked_somewhere(grown: Garden, planting: Planting) -> bool:
    """Whether its crop was picked since it was sown, and nobody said of which site."""
    since = planting.sown_at
    return any(
        pick.crop == planting.crop and pick.site is None and (since is None or pick.at >= since)
        for pick in grown.picks
    )
