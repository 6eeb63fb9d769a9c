"""Folds the journal into plots: where each sowing stands and what became of it.

A fact that could mean more than one sowing changes nothing and is reported as a conflict: what is not known
is not guessed. Where only some of one sowing came up or died and nobody said at which sites, the number is
kept beside its plots (``Loose``) rather than given to some of them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace

from domain.crops import CropGroup, crops
from domain.facts import (
    Emerged,
    Fact,
    Growing,
    Harvest,
    Lost,
    Moved,
    Removed,
    Reseed,
    Setting,
    Sow,
    StageSeen,
    Tended,
)
from domain.ground import Ground, Mismatch, canonical
from domain.journal import Entry
from domain.moving import moving
from domain.own_crops import group_named
from domain.plots import (
    Conflict,
    ConflictCode,
    Emergence,
    End,
    Loose,
    Pick,
    Plot,
    Sowing,
    is_nursery,
    labels,
    shares,
)
from domain.stages import stage_named

__all__ = ["PLANT_FACTS", "Bed"]


@dataclass
class Bed:
    """What the journal says of plants; a ``domain.folds.Fold``.

    ground : every plot there ever was. loose, came : by the number of the sowing's entry. told : the entry of
    each sowing. picks : what was harvested. conflicts : what did not fit.
    groups : what the household says its own crops are grown for, by their names.
    settled : sowings of which nothing stands, as they ended; kept so that nobody reckons them again.
    """

    ground: Ground = field(default_factory=Ground)
    loose: dict[int, Loose] = field(default_factory=lambda: defaultdict(Loose))
    came: dict[int, tuple[Emergence, ...]] = field(default_factory=lambda: defaultdict(tuple))
    told: dict[int, Entry] = field(default_factory=dict)
    picks: list[Pick] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    groups: dict[str, CropGroup] = field(default_factory=dict)
    settled: dict[int, Sowing] = field(default_factory=dict)

    @property
    def plots(self) -> tuple[Plot, ...]:
        """All of them, those that ended first."""
        return (*self.ground.ended, *self.ground.plots)

    def copy(self) -> Bed:
        return Bed(
            ground=self.ground.copy(),
            loose=defaultdict(Loose, self.loose),
            came=defaultdict(tuple, self.came),
            told=dict(self.told),
            picks=list(self.picks),
            conflicts=list(self.conflicts),
            groups=dict(self.groups),
            settled=dict(self.settled),
        )

    def take(self, entry: Entry) -> None:
        act = _ACTS.get(type(entry.fact))
        if act is None:
            return
        try:
            act(self, entry, entry.fact)
        except Mismatch as mismatch:
            self.report(entry, mismatch.code, mismatch.candidates)

    def report(self, entry: Entry, code: ConflictCode, candidates: Iterable[Plot] = ()) -> None:
        crop = getattr(entry.fact, "crop", None)
        sites = getattr(entry.fact, "sites", None) or getattr(entry.fact, "to_sites", None)
        self.conflicts.append(
            Conflict(
                code=code,
                entry_id=entry.id,
                message_key=entry.message_key,
                crop=canonical(crop),
                sites=labels(sites),
                candidates=tuple((plot.crop, plot.site) for plot in candidates),
            )
        )

    def sow(self, entry: Entry, fact: Sow) -> None:
        sites = labels(fact.sites)
        if (crop := canonical(fact.crop)) is None:
            raise Mismatch("which_crop")
        taken = self.ground.at_any([site for site in sites if not is_nursery(site)], fact.tank)
        self._plant(entry, fact, crop, sites)
        if taken:
            self.report(entry, "site_taken", taken)

    def reseed(self, entry: Entry, fact: Reseed) -> None:
        """What stood there gives way; without a crop, the same is sown again."""
        sites = labels(fact.sites)
        before = [
            plot
            for plot in self.ground.at_any(sites, fact.tank)
            if not plot.in_nursery or canonical(fact.crop) in (None, plot.crop)
        ]
        earlier = {plot.crop for plot in before} or {
            self.ground.last_crop_at[site] for site in sites if site in self.ground.last_crop_at
        }
        crop = canonical(fact.crop) or (earlier.pop() if len(earlier) == 1 else None)
        if crop is None:
            raise Mismatch("which_crop", before)
        for plot in before:
            self.ground.change(plot, plot.gone("resown", entry))
        self._plant(entry, fact, crop, _sites_in(sites, before))

    def _plant(self, entry: Entry, fact: Sow, crop: str, sites: tuple[str, ...]) -> None:
        self.told[entry.id] = entry
        if any(not is_nursery(site) for site in sites):
            self._told_in_sites(entry, fact, crop)
        places: Sequence[str | None] = sites or (None,)
        for site, count in zip(places, shares(fact.count or len(places), len(places)), strict=True):
            if count:
                self.ground.add(
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
                        said_at=entry.said_at,
                    )
                )

    def _told_in_sites(self, entry: Entry, fact: Sow, crop: str) -> None:
        """That a crop is grown at all, with no number, stage or site, gives way to where it is sown."""
        for plot in tuple(self.ground.standing(fact.tank)):
            is_mere = not plot.was_sown and plot.site is None and not plot.is_count_said and not plot.seen
            if is_mere and plot.crop == crop and plot.tank == fact.tank:
                self.ground.change(plot, plot.gone("told anew", entry))

    def growing(self, entry: Entry, fact: Growing) -> None:
        """What was found growing replaces what an earlier message said of the same crop."""
        crop = canonical(fact.crop) or fact.crop
        for plot in tuple(self.ground.standing(fact.tank)):
            told_before = not plot.was_sown and plot.message_key != entry.message_key
            if told_before and plot.crop == crop and plot.tank == fact.tank:
                self.ground.change(plot, plot.gone("told anew", entry))
        stage = stage_named(fact.stage or "")
        count = fact.count or 1
        self.ground.add(
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
                said_at=entry.said_at,
                seen=((stage, entry.happened_at),) if stage else (),
            )
        )

    def emerged(self, entry: Entry, fact: Emerged) -> None:
        plots = self.ground.meant(fact, fact.crop, fact.sites, fits=lambda plot: plot.to_come_up > 0)
        waiting = sum(plot.to_come_up for plot in plots)
        came = waiting if fact.count is None else fact.count
        sowing, is_loose = plots[0].entry_id, not fact.sites and len(plots) > 1
        if came > waiting - (self.loose[sowing].up if is_loose else 0):
            raise Mismatch("too_many", plots)
        if is_loose:
            told = came - (fact.count is None) * self.loose[sowing].up
            self.came[sowing] += (Emergence(entry.happened_at, told),)
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
                    self.came[plot.entry_id] += (Emergence(entry.happened_at, here),)
                up_at = plot.up_at or entry.happened_at
                self.ground.change(plot, replace(plot, up=(plot.up or 0) + here, up_at=up_at))

    def lost(self, entry: Entry, fact: Lost) -> None:
        plots = self.ground.meant(fact, fact.crop, fact.sites)
        self._take_away(plots, fact.count, "lost", entry, at_sites=bool(fact.sites))

    def removed(self, entry: Entry, fact: Removed) -> None:
        plots = self.ground.meant(fact, fact.crop, fact.sites)
        self._take_away(plots, None, "removed", entry, at_sites=True)

    def harvest(self, entry: Entry, fact: Harvest) -> None:
        """A root is gone once it is pulled; everything else grows on until it is removed. What was picked
        counts also where nobody knows of which sowing."""
        try:
            plots = self.ground.meant(fact, fact.crop, fact.sites)
        except Mismatch:
            if (crop := canonical(fact.crop)) is not None:
                self.picks.append(Pick(entry.happened_at, crop, None, fact.grams, entry.id))
            raise
        is_pulled = all(self._group(plot.crop) == "root" for plot in plots)
        if is_pulled:
            self._how_many(plots, fact.count, at_sites=bool(fact.sites))
        grams = (fact.grams or 0.0) / len(plots)
        picked = [replace(plot, harvested_at=entry.happened_at, grams=plot.grams + grams) for plot in plots]
        for plot, changed in zip(plots, picked, strict=True):
            self.ground.change(plot, changed)
            self.picks.append(Pick(entry.happened_at, plot.crop, plot.site, fact.grams and grams, entry.id))
        if is_pulled:
            self._take_away(picked, fact.count, "harvested", entry, at_sites=bool(fact.sites))

    def grouped(self, entry: Entry, fact: Setting) -> None:
        group = group_named(fact.value or "")
        if fact.name == "crop_group" and fact.crop and group is not None:
            self.groups[fact.crop.casefold()] = group

    def tended(self, entry: Entry, fact: Tended) -> None:
        for plot in self.ground.meant(fact, fact.crop, fact.sites):
            self.ground.change(plot, replace(plot, tended_at=entry.happened_at))

    def stage_seen(self, entry: Entry, fact: StageSeen) -> None:
        stage = stage_named(fact.stage)
        if stage is None:
            return
        for plot in self.ground.meant(fact, fact.crop, fact.sites):
            self.ground.change(plot, replace(plot, seen=(*plot.seen, (stage, entry.happened_at))))

    def moved(self, entry: Entry, fact: Moved) -> None:
        plots = self.ground.meant(
            fact, fact.crop, fact.from_sites, fits=lambda plot: plot.site is None or plot.in_nursery
        )
        made = moving(plots, labels(fact.to_sites), entry.happened_at)
        to_sites = [site for site in made.sites if not is_nursery(site)]
        taken = [plot for plot in self.ground.at_any(to_sites, fact.tank) if plot not in plots]
        for plot, into in made.into:
            self.ground.change(plot, *into)
        if taken:
            self.report(entry, "site_taken", taken)
        if made.unsaid:
            self.report(entry, "rest_unsaid", made.unsaid)

    def _group(self, crop: str) -> CropGroup | None:
        return crops()[crop].group if crop in crops() else self.groups.get(crop.casefold())

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
                self.ground.change(plot, plot.gone(end, by))
            elif gone:
                up = None if plot.up is None else min(plot.up, plot.count - gone)
                self.ground.change(plot, replace(plot, count=plot.count - gone, up=up))

    def _how_many(self, plots: Sequence[Plot], count: int | None, *, at_sites: bool) -> tuple[int, bool]:
        """How many to take away, and whether nobody knows from which of the plots.

        Raises Mismatch for more than there are.
        """
        standing = sum(plot.count for plot in plots)
        if count is None:
            return standing, False
        unnamed = not at_sites and len(plots) > 1
        left = standing - (self.loose[plots[0].entry_id].gone if unnamed else 0)
        if count > left:
            raise Mismatch("too_many", plots)
        return (count, True) if unnamed and count < left else (standing if unnamed else count, False)


_ACTS: dict[type[Fact], Callable[..., None]] = {
    Sow: Bed.sow,
    Reseed: Bed.reseed,
    Growing: Bed.growing,
    Emerged: Bed.emerged,
    Lost: Bed.lost,
    Removed: Bed.removed,
    Harvest: Bed.harvest,
    Tended: Bed.tended,
    StageSeen: Bed.stage_seen,
    Moved: Bed.moved,
    Setting: Bed.grouped,
}

PLANT_FACTS = tuple(_ACTS)
"""The kinds of fact that change what stands."""


def _sites_in(named: Sequence[str], standing: Sequence[Plot]) -> tuple[str, ...]:
    """The sites that were named, each row (``B*``) as the sites of it where something stands, each once."""
    rows = {name: [plot.site for plot in standing if plot.site and plot.is_at(name)] for name in named}
    return tuple(dict.fromkeys(site for name in named for site in rows[name] or [name]))
