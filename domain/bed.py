"""Folds the journal into plots: where each sowing stands and what became of it.

A fact that could mean more than one sowing changes nothing and is reported as a conflict: what is not known
is not guessed. Where only some of one sowing came up or died and nobody said at which sites, the number is
kept beside its plots (``Loose``) rather than given to some of them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from domain.crops import crop_names, crops
from domain.facts import (
    Emerged,
    Fact,
    Growing,
    Harvest,
    Lost,
    Moved,
    Removed,
    Reseed,
    Sow,
    StageSeen,
    Tended,
)
from domain.journal import Entry
from domain.plots import Conflict, ConflictCode, Emergence, End, Loose, Pick, Plot, labels, shares
from domain.stages import stage_named

__all__ = ["Folded", "folded_bed"]


class Folded(NamedTuple):
    """plots : every plot there ever was. loose, emergences : by the number of the sowing's entry.
    picks : what was harvested. conflicts : what did not fit."""

    plots: tuple[Plot, ...]
    loose: Mapping[int, Loose]
    emergences: Mapping[int, Sequence[Emergence]]
    picks: Sequence[Pick]
    conflicts: tuple[Conflict, ...]


def folded_bed(entries: Sequence[Entry]) -> Folded:
    """What the journal says of plants.

    entries : the net journal, in the order in which things happened; doubted ones do not count.
    """
    bed = _Bed()
    for entry in entries:
        if not entry.doubted:
            bed.take(entry)
    return Folded((*bed.ended, *bed.plots), dict(bed.loose), dict(bed.came), bed.picks, tuple(bed.conflicts))


class _Mismatch(Exception):
    """A fact does not fit; carries what to report."""

    def __init__(self, code: ConflictCode, candidates: Iterable[Plot] = ()) -> None:
        super().__init__(code)
        self.code: ConflictCode = code
        self.candidates = tuple(candidates)


@dataclass
class _Bed:
    """The plots so far; lives for one fold.

    What stands is kept apart from what has ended: a fact looks through the plants of today, not of all years.
    """

    plots: list[Plot] = field(default_factory=list)
    ended: list[Plot] = field(default_factory=list)
    last_crop_at: dict[str, str] = field(default_factory=dict)
    loose: dict[int, Loose] = field(default_factory=lambda: defaultdict(Loose))
    came: dict[int, list[Emergence]] = field(default_factory=lambda: defaultdict(list))
    picks: list[Pick] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)

    def take(self, entry: Entry) -> None:
        act = _ACTS.get(type(entry.fact))
        if act is None:
            return
        try:
            act(self, entry, entry.fact)
        except _Mismatch as mismatch:
            self.report(entry, mismatch.code, mismatch.candidates)

    def report(self, entry: Entry, code: ConflictCode, candidates: Iterable[Plot] = ()) -> None:
        crop = getattr(entry.fact, "crop", None)
        sites = getattr(entry.fact, "sites", None) or getattr(entry.fact, "to_sites", None)
        self.conflicts.append(
            Conflict(
                code=code,
                entry_id=entry.id,
                message_key=entry.message_key,
                crop=_canonical(crop),
                sites=labels(sites),
                candidates=tuple((plot.crop, plot.site) for plot in candidates),
            )
        )

    # --- finding what is meant ---

    def standing(self, tank: str | None) -> list[Plot]:
        """What stands on a tank, and what nobody gave to any tank by name."""
        if tank is None:
            return self.plots
        return [plot for plot in self.plots if plot.tank in (None, tank)]

    def at(self, site: str, tank: str | None) -> list[Plot]:
        """What stands at a site, or at any site of a row (``B*``)."""
        standing = self.standing(tank)
        if site.endswith("*"):
            return [plot for plot in standing if plot.is_at(site)]
        return [plot for plot in standing if plot.site == site]

    def meant(
        self,
        fact: Fact,
        crop: str | None,
        sites: Sequence[str] | None,
        fits: Callable[[Plot], bool] = lambda plot: True,
    ) -> list[Plot]:
        """The plots that a fact is about; with sites, those there; without, those of one single sowing."""
        crop = _canonical(crop)
        if sites:
            found = [plot for site in labels(sites) for plot in self._at_one(site, fact.tank, crop)]
            return list({id(plot): plot for plot in found}.values())
        found = [plot for plot in self.standing(fact.tank) if crop in (None, plot.crop)]
        if not found:
            raise _Mismatch("no_such_crop")
        found = [plot for plot in found if fits(plot)] or found
        if len({plot.entry_id for plot in found}) > 1:
            raise _Mismatch("which_one", found)
        return found

    def _at_any(self, sites: Sequence[str], tank: str | None) -> list[Plot]:
        """What stands at any of some sites, each plot once, also where a row and a site of it are named."""
        return list({id(plot): plot for site in sites for plot in self.at(site, tank)}.values())

    def _at_one(self, site: str, tank: str | None, crop: str | None) -> list[Plot]:
        there = self.at(site, tank)
        if of_crop := [plot for plot in there if crop in (None, plot.crop)]:
            return of_crop
        raise _Mismatch("other_crop" if there else "nothing_there", there)

    def change(self, plot: Plot, *into: Plot) -> None:
        """Puts what became of a plot in its place."""
        place = next(place for place, each in enumerate(self.plots) if each is plot)
        self.plots[place : place + 1] = [each for each in into if each.stands]
        self.ended += [each for each in into if not each.stands]
        self._note_sites(into)

    def add(self, plot: Plot) -> None:
        self.plots.append(plot)
        self._note_sites([plot])

    def _note_sites(self, plots: Iterable[Plot]) -> None:
        self.last_crop_at |= {plot.site: plot.crop for plot in plots if plot.site}

    # --- what the facts do ---

    def sow(self, entry: Entry, fact: Sow) -> None:
        sites = labels(fact.sites)
        if (crop := _canonical(fact.crop)) is None:
            raise _Mismatch("which_crop")
        taken = self._at_any(sites, fact.tank)
        self._plant(entry, fact, crop, sites)
        if taken:
            self.report(entry, "site_taken", taken)

    def reseed(self, entry: Entry, fact: Reseed) -> None:
        """What stood there gives way; without a crop, the same is sown again."""
        sites = labels(fact.sites)
        before = self._at_any(sites, fact.tank)
        earlier = {plot.crop for plot in before} or {
            self.last_crop_at[site] for site in sites if site in self.last_crop_at
        }
        crop = _canonical(fact.crop) or (earlier.pop() if len(earlier) == 1 else None)
        if crop is None:
            raise _Mismatch("which_crop", before)
        for plot in before:
            self.change(plot, plot.gone("resown", entry))
        self._plant(entry, fact, crop, _sites_in(sites, before))

    def _plant(self, entry: Entry, fact: Sow, crop: str, sites: tuple[str, ...]) -> None:
        places: Sequence[str | None] = sites or (None,)
        for site, count in zip(places, shares(fact.count or len(places), len(places)), strict=True):
            if count:
                self.add(
                    Plot(
                        entry_id=entry.id,
                        message_key=entry.message_key,
                        crop=crop,
                        site=site,
                        tank=fact.tank,
                        lot=fact.lot,
                        count=count,
                        sown=count,
                        is_count_said=fact.count is not None,
                        was_sown=True,
                        started_at=entry.happened_at,
                    )
                )

    def growing(self, entry: Entry, fact: Growing) -> None:
        """What was found growing replaces what an earlier message said of the same crop."""
        crop = _canonical(fact.crop) or fact.crop
        for plot in tuple(self.standing(fact.tank)):
            told_before = not plot.was_sown and plot.message_key != entry.message_key
            if told_before and plot.crop == crop and plot.tank == fact.tank:
                self.change(
                    plot,
                    plot.gone("told anew", entry),
                )
        stage = stage_named(fact.stage or "")
        count = fact.count or 1
        self.add(
            Plot(
                entry_id=entry.id,
                message_key=entry.message_key,
                crop=crop,
                site=None,
                tank=fact.tank,
                lot=None,
                count=count,
                sown=count,
                is_count_said=fact.count is not None,
                was_sown=False,
                started_at=entry.happened_at,
                seen=((stage, entry.happened_at),) if stage else (),
            )
        )

    def emerged(self, entry: Entry, fact: Emerged) -> None:
        plots = self.meant(fact, fact.crop, fact.sites, fits=lambda plot: plot.to_come_up > 0)
        waiting = sum(plot.to_come_up for plot in plots)
        came = waiting if fact.count is None else fact.count
        sowing, is_loose = plots[0].entry_id, not fact.sites and len(plots) > 1
        if came > waiting - (self.loose[sowing].up if is_loose else 0):
            raise _Mismatch("too_many", plots)
        if is_loose:
            self.came[sowing].append(
                Emergence(entry.happened_at, came - (fact.count is None) * self.loose[sowing].up)
            )
        if is_loose and came < waiting:
            loose = self.loose[sowing]
            up_at = loose.up_at or entry.happened_at
            self.loose[sowing] = replace(loose, up=loose.up + came, up_at=up_at)
            return
        for plot in plots:
            here = min(came, plot.to_come_up)
            came -= here
            if here:
                if not is_loose:
                    self.came[plot.entry_id].append(Emergence(entry.happened_at, here))
                up_at = plot.up_at or entry.happened_at
                self.change(plot, replace(plot, up=(plot.up or 0) + here, up_at=up_at))

    def lost(self, entry: Entry, fact: Lost) -> None:
        plots = self.meant(fact, fact.crop, fact.sites)
        self._take_away(plots, fact.count, "lost", entry, at_sites=bool(fact.sites))

    def removed(self, entry: Entry, fact: Removed) -> None:
        plots = self.meant(fact, fact.crop, fact.sites)
        self._take_away(plots, None, "removed", entry, at_sites=True)

    def harvest(self, entry: Entry, fact: Harvest) -> None:
        """A root is gone once it is pulled; everything else grows on until it is removed. What was picked
        counts also where nobody knows of which sowing."""
        try:
            plots = self.meant(fact, fact.crop, fact.sites)
        except _Mismatch:
            if (crop := _canonical(fact.crop)) is not None:
                self.picks.append(Pick(entry.happened_at, crop, None, fact.grams, entry.id))
            raise
        is_pulled = all(_is_root(plot.crop) for plot in plots)
        if is_pulled:
            self._how_many(plots, fact.count, at_sites=bool(fact.sites))
        grams = (fact.grams or 0.0) / len(plots)
        picked = [replace(plot, harvested_at=entry.happened_at, grams=plot.grams + grams) for plot in plots]
        for plot, changed in zip(plots, picked, strict=True):
            self.change(plot, changed)
            self.picks.append(Pick(entry.happened_at, plot.crop, plot.site, fact.grams and grams, entry.id))
        if is_pulled:
            self._take_away(picked, fact.count, "harvested", entry, at_sites=bool(fact.sites))

    def tended(self, entry: Entry, fact: Tended) -> None:
        for plot in self.meant(fact, fact.crop, fact.sites):
            self.change(plot, replace(plot, tended_at=entry.happened_at))

    def stage_seen(self, entry: Entry, fact: StageSeen) -> None:
        stage = stage_named(fact.stage)
        if stage is None:
            return
        for plot in self.meant(fact, fact.crop, fact.sites):
            self.change(plot, replace(plot, seen=(*plot.seen, (stage, entry.happened_at))))

    def moved(self, entry: Entry, fact: Moved) -> None:
        to_sites = labels(fact.to_sites)
        plots = self.meant(fact, fact.crop, fact.from_sites, fits=lambda plot: plot.site is None)
        pairs, rest = _destinations(plots, to_sites)
        taken = [
            plot for _, site, _ in pairs if site for plot in self.at(site, fact.tank) if plot not in plots
        ]
        for plot in plots:
            there = [
                replace(
                    plot,
                    site=site,
                    count=count,
                    sown=count,
                    up=None if plot.up is None else min(plot.up, count),
                    moved_at=entry.happened_at,
                )
                for moved, site, count in pairs
                if moved is plot
            ]
            self.change(plot, *there, *(left for left in rest if left.entry_id == plot.entry_id))
        if taken:
            self.report(entry, "site_taken", taken)
        if rest:
            self.report(entry, "rest_unsaid", rest)

    def _take_away(
        self, plots: Sequence[Plot], count: int | None, end: End, by: Entry, *, at_sites: bool
    ) -> None:
        """Takes so many away, ``None`` for all; loose where several sites have more than that."""
        left, is_loose = self._how_many(plots, count, at_sites=at_sites)
        if is_loose:
            loose = self.loose[plots[0].entry_id]
            self.loose[plots[0].entry_id] = replace(loose, gone=loose.gone + left)
            return
        for plot in plots:
            gone = min(left, plot.count)
            left -= gone
            if gone == plot.count:
                self.change(plot, plot.gone(end, by))
            elif gone:
                up = None if plot.up is None else min(plot.up, plot.count - gone)
                self.change(plot, replace(plot, count=plot.count - gone, up=up))

    def _how_many(self, plots: Sequence[Plot], count: int | None, *, at_sites: bool) -> tuple[int, bool]:
        """How many to take away, and whether nobody knows from which of the plots.

        Raises _Mismatch for more than there are.
        """
        standing = sum(plot.count for plot in plots)
        if count is None:
            return standing, False
        unnamed = not at_sites and len(plots) > 1
        left = standing - (self.loose[plots[0].entry_id].gone if unnamed else 0)
        if count > left:
            raise _Mismatch("too_many", plots)
        return (count, True) if unnamed and count < left else (standing if unnamed else count, False)


_ACTS: dict[type[Fact], Callable[..., None]] = {
    Sow: _Bed.sow,
    Reseed: _Bed.reseed,
    Growing: _Bed.growing,
    Emerged: _Bed.emerged,
    Lost: _Bed.lost,
    Removed: _Bed.removed,
    Harvest: _Bed.harvest,
    Tended: _Bed.tended,
    StageSeen: _Bed.stage_seen,
    Moved: _Bed.moved,
}


def _destinations(
    plots: Sequence[Plot], to_sites: tuple[str, ...]
) -> tuple[list[tuple[Plot, str | None, int]], list[Plot]]:
    """Which plot goes where with how many, and what stays behind where fewer sites than plants were named."""
    if len(to_sites) <= 1:
        site = to_sites[0] if to_sites else None
        return [(plot, site, plot.count) for plot in plots], []
    if len(plots) == len(to_sites):
        return [(plot, site, plot.count) for plot, site in zip(plots, to_sites, strict=True)], []
    if len(plots) > 1:
        raise _Mismatch("sites_differ", plots)
    (plot,) = plots
    if not plot.is_count_said:
        return [(plot, site, 1) for site in to_sites], []
    if plot.count < len(to_sites):
        raise _Mismatch("sites_differ", plots)
    left = plot.count - len(to_sites)
    rest = [replace(plot, count=left, sown=left, up=None if plot.up is None else min(plot.up, left))]
    return [(plot, site, 1) for site in to_sites], rest if left else []


def _sites_in(named: Sequence[str], standing: Sequence[Plot]) -> tuple[str, ...]:
    """The sites that were named, each row (``B*``) as the sites of it where something stands, each once."""
    rows = {name: [plot.site for plot in standing if plot.site and plot.is_at(name)] for name in named}
    return tuple(dict.fromkeys(site for name in named for site in rows[name] or [name]))


def _canonical(crop: str | None) -> str | None:
    return None if crop is None else crop_names().get(crop.lower(), crop)


def _is_root(crop: str) -> bool:
    return crop in crops() and crops()[crop].group == "root"
