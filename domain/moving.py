"""Which plant goes where, and what stays behind, when a household moves some."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from domain.ground import Mismatch
from domain.plots import Plot, is_nursery

__all__ = ["Moving", "moving"]


@dataclass(frozen=True, slots=True)
class Moving:
    """What a move makes of plots.

    into : each plot that is moved, with the plots that take its place.
    unsaid : those left behind of which nobody said whether they stay.
    """

    into: tuple[tuple[Plot, tuple[Plot, ...]], ...]
    unsaid: tuple[Plot, ...] = ()

    @property
    def sites(self) -> tuple[str, ...]:
        """Where something came to stand."""
        moved = [there for plot, into in self.into for there in into if there.site != plot.site]
        return tuple(dict.fromkeys(there.site for there in moved if there.site is not None))


def moving(plots: Sequence[Plot], to_sites: Sequence[str], at: datetime) -> Moving:
    """What becomes of plots that are moved.

    plots : at least one, the earliest sown first. to_sites : where to, in capitals; none: nowhere known.
    Out of a nursery one seedling goes to each site and the others stay, as everybody does it; elsewhere all
    of one place go to one site, or each place to a site of its own.
    Raises Mismatch where the numbers do not come out even.
    """
    if _pricks_out(plots, to_sites):
        return _pricked_out(plots, to_sites, at)
    if len(to_sites) <= 1:
        site = to_sites[0] if to_sites else None
        return Moving(tuple((plot, (_at(plot, site, plot.count, at),)) for plot in plots))
    if len(plots) == len(to_sites):
        pairs = zip(plots, to_sites, strict=True)
        return Moving(tuple((plot, (_at(plot, site, plot.count, at),)) for plot, site in pairs))
    if len(plots) > 1:
        raise Mismatch("sites_differ", plots)
    (plot,) = plots
    if plot.is_count_said and plot.count < len(to_sites):
        raise Mismatch("sites_differ", plots)
    there = tuple(_at(plot, site, 1, at) for site in to_sites)
    left = plot.count - len(to_sites) if plot.is_count_said else 0
    rest = (_left(plot, left),) if left else ()
    return Moving(((plot, (*there, *rest)),), unsaid=rest)


def _pricks_out(plots: Sequence[Plot], to_sites: Sequence[str]) -> bool:
    """Seedlings that were counted leave a nursery for sites of their own."""
    out = bool(to_sites) and not any(site.endswith("*") or is_nursery(site) for site in to_sites)
    return out and all(plot.in_nursery and plot.is_count_said for plot in plots)


def _pricked_out(plots: Sequence[Plot], to_sites: Sequence[str], at: datetime) -> Moving:
    if sum(plot.count for plot in plots) < len(to_sites):
        raise Mismatch("sites_differ", plots)
    free = list(to_sites)
    into = []
    for plot in plots:
        own, free = free[: plot.count], free[plot.count :]
        if not own:
            break
        there = tuple(_at(plot, site, 1, at) for site in own)
        left = plot.count - len(own)
        up = None if plot.up is None else max(0, min(plot.up - len(own), left))
        rest = (replace(_left(plot, left), up=up),) if left else ()
        into.append((plot, (*there, *rest)))
    return Moving(tuple(into))


def _at(plot: Plot, site: str | None, count: int, at: datetime) -> Plot:
    up = None if plot.up is None else min(plot.up, count)
    return replace(plot, site=site, count=count, sown=count, up=up, moved_at=at)


def _left(plot: Plot, count: int) -> Plot:
    return replace(plot, count=count, sown=count, up=None if plot.up is None else min(plot.up, count))
