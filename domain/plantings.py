"""What stands on the tank and how it came there, folded from the journal.

Where each sowing stands is folded in ``domain.bed``; here plots of one sowing that fare alike become one
planting with its stage. Sites are never needed: a household may count plants alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from domain.bands import Standing
from domain.bed import Bed
from domain.crops import CropGroup, crops
from domain.facts import Sow
from domain.folds import Start, folded
from domain.journal import Entry
from domain.own_crops import like_its_group
from domain.plots import Conflict, ConflictCode, Emergence, End, Loose, Pick, Plot, Sowing, is_nursery, labels
from domain.stages import Seen, Stage, stage_of

__all__ = [
    "Conflict",
    "ConflictCode",
    "End",
    "Garden",
    "Planting",
    "Emergence",
    "Pick",
    "Plot",
    "Sowing",
    "garden",
    "plantings",
    "settled",
    "standing_on_tank",
]

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Planting:
    """Plants of one sowing that fare alike.

    key : the sowing's entry, with what sets these plants apart from the rest of it; no two share one.
    crop : its canonical name, or the household's own word for one that is not in the table.
    count : how many stand.
    is_count_said : the count was told, not taken to be one for each site.
    sites : where they stand; empty where no site was told. site_counts : how many at each of them, before
        what is gone from sites that nobody named.
    lot : the seed packet as named; ``None`` where it was not, or for what was found growing.
    sown_at : UTC; ``None`` for what was found growing. said_at : when the household told of it, UTC.
    days : whole days from seed; ``None`` for what was found growing. [days]
    stage : how far along they are.
    up_count, up_at : how many have come up and since when; ``None`` where nobody has said.
    on_tank : they draw from the tank. What stands in a nursery (``domain.nursery``) does not; nor does a
        sowing without a site in a household that otherwise names sites: nobody says so, it is taken to be so
        until it is moved to a site.
    """

    key: str
    crop: str
    count: int
    is_count_said: bool
    sites: tuple[str, ...]
    tank: str | None
    lot: str | None
    sown_at: datetime | None
    said_at: datetime
    days: int | None
    stage: Stage
    up_count: int | None
    up_at: datetime | None
    tended_at: datetime | None
    harvested_at: datetime | None
    harvested_g: float
    on_tank: bool
    site_counts: tuple[int, ...] = ()

    def count_at(self, site: str) -> int:
        """How many stand at one of its sites."""
        return self.site_counts[self.sites.index(site)]

    @property
    def drawing_count(self) -> int:
        """How many draw on the solution: those that came up where that was told, else all that stand."""
        return self.count if self.up_count is None else self.up_count


@dataclass(frozen=True, slots=True)
class Garden:
    """Everything that was ever sown or found growing.

    plantings : what stands now. ended : what became of the rest. conflicts : facts that did not fit.
    sowings : everything that was ever sown, in order, and how it came up.
    picks : everything that was ever harvested, in order.
    """

    plantings: tuple[Planting, ...]
    ended: tuple[Plot, ...]
    conflicts: tuple[Conflict, ...]
    sowings: tuple[Sowing, ...] = ()
    picks: tuple[Pick, ...] = ()


def plantings(entries: Sequence[Entry], now: datetime) -> tuple[Planting, ...]:
    """What stands now, in the order in which it came; see ``garden``."""
    return garden(entries, now).plantings


def garden(entries: Sequence[Entry], now: datetime, start: Start[Bed] | None = None) -> Garden:
    """What the journal says of plants.

    entries : the net journal, in the order in which things happened; doubted ones do not count.
    now : aware; ages are counted to it.
    start : of the first of these entries, where they were folded before.
    """
    bed = folded(Bed(), entries, start)
    names_sites = any(plot.site is not None and not plot.in_nursery for plot in bed.plots)
    alike: dict[tuple[object, ...], list[Plot]] = {}
    for plot in bed.ground.plots:
        place = plot.site if plot.site is None or plot.in_nursery else ""
        fares = (plot.entry_id, plot.crop, place, plot.seen, bool(plot.up))
        alike.setdefault(fares, []).append(plot)
    groups = list(alike.values())
    return Garden(
        plantings=tuple(
            planting
            for group, its_loose in zip(groups, _loose_of(groups, bed.loose), strict=True)
            if (planting := _planting(group, its_loose, now, names_sites, bed)).count > 0
        ),
        ended=tuple(bed.ground.ended),
        conflicts=tuple(bed.conflicts),
        sowings=_sowings(bed),
        picks=tuple(bed.picks),
    )


def settled(bed: Bed) -> Bed:
    """A copy of the bed that has reckoned the sowings of which nothing stands: they stay as they are."""
    copy = bed.copy()
    standing = {plot.entry_id for plot in bed.ground.plots}
    copy.settled = {each.entry_id: each for each in _sowings(bed) if each.entry_id not in standing}
    return copy


def _sowings(bed: Bed) -> tuple[Sowing, ...]:
    by_entry: dict[int, list[Plot]] = {}
    for plot in bed.plots:
        if plot.was_sown and plot.entry_id not in bed.settled:
            by_entry.setdefault(plot.entry_id, []).append(plot)
    found = [
        _sowing(plots, bed.loose.get(number, Loose()), bed.came.get(number, ()), bed.told[number])
        for number, plots in by_entry.items()
    ]
    return tuple(sorted((*bed.settled.values(), *found), key=lambda each: (each.sown_at, each.entry_id)))


def _sowing(plots: Sequence[Plot], loose: Loose, came: Sequence[Emergence], entry: Entry) -> Sowing:
    """What became of the seeds: those that did not come up and no longer stand have failed. Seed that was
    taken out (``removed``) or is known to have grown all the same tells nothing."""
    fact = entry.fact
    assert isinstance(fact, Sow)  # noqa: S101  # the plots of a sowing come from such a fact alone
    sites = tuple(dict.fromkeys(plot.site for plot in plots if plot.site is not None))
    many = any(site.endswith("*") or is_nursery(site) for site in labels(fact.sites))
    counted = fact.count is not None or (bool(fact.sites) and not many)
    sown = fact.count or len(fact.sites or ()) or 1
    standing = [plot for plot in plots if plot.stands]
    picked = any(plot.harvested_at is not None for plot in plots)
    up = sum(each.count for each in came)
    unseen = [plot for plot in standing if not plot.shows_growth and plot.to_come_up]
    waiting = max(0, sum(plot.to_come_up for plot in unseen) - loose.up - loose.gone)
    untold = sum(
        plot.sown for plot in plots if plot.up is None and (plot.end == "removed" or plot.shows_growth)
    )
    return Sowing(
        entry_id=entry.id,
        crop=plots[0].crop,
        lot=plots[0].lot,
        sown_at=plots[0].started_at,
        said_at=plots[0].said_at,
        sown=sown,
        is_counted=counted,
        sites=sites,
        came=tuple(came),
        waiting=waiting,
        waiting_sites=tuple(plot.site for plot in unseen if plot.site is not None) if waiting else (),
        failed=max(0, sown - up - waiting - untold) if counted else 0,
        picked=picked,
    )


def standing_on_tank(
    plantings: Iterable[Planting], now: datetime, tank: str | None = None
) -> tuple[Standing, ...]:
    """The plants that the tank's bands are for.

    now : the moment that ``plantings`` were folded for; their ages stand for themselves.
    tank : its name as the household gave it; ``None`` for a household with one tank.
    Germinating plugs are among them; they have no vote in ``domain.bands``.
    """
    return tuple(
        Standing(planting.crop, planting.stage, planting.drawing_count, _age(planting, now))
        for planting in plantings
        if planting.on_tank and tank in (None, planting.tank) and planting.drawing_count > 0
    )


def _planting(
    group: Sequence[Plot],
    loose: Loose,
    now: datetime,
    names_sites: bool,
    bed: Bed,
) -> Planting:
    first = group[0]
    kind = bed.groups.get(first.crop.casefold())
    count = max(0, sum(plot.count for plot in group) - loose.gone)
    told_up = [plot.up for plot in group if plot.up is not None] + ([loose.up] if loose.up else [])
    up_count = min(count, sum(told_up)) if told_up else None
    up_at = min((at for at in (loose.up_at, *(plot.up_at for plot in group)) if at is not None), default=None)
    age = (now - first.started_at) / _DAY
    lags = up_at is None and first.entry_id in bed.came and _still_waits(group, age, kind)
    at: dict[str, int] = {}
    for plot in group:
        if plot.site is not None:
            at[plot.site] = at.get(plot.site, 0) + plot.count
    return Planting(
        key=_key(group),
        crop=first.crop,
        count=count,
        is_count_said=first.is_count_said,
        sites=tuple(at),
        site_counts=tuple(at.values()),
        tank=first.tank,
        lot=first.lot,
        sown_at=first.started_at if first.was_sown else None,
        said_at=first.said_at,
        days=max(0, int(age)) if first.was_sown else None,
        stage="germinating"
        if lags
        else stage_of(first.crop, max(0.0, age) if first.was_sown else None, _seen(first, up_at, now), kind),
        up_count=up_count,
        up_at=up_at,
        tended_at=_latest(plot.tended_at for plot in group),
        harvested_at=_latest(plot.harvested_at for plot in group),
        harvested_g=sum(plot.grams for plot in group),
        on_tank=not first.in_nursery and (first.site is not None or not first.was_sown or not names_sites),
    )


def _still_waits(group: Sequence[Plot], age_days: float, kind: CropGroup | None) -> bool:
    """Whether plants that nobody has seen may still be seeds, where others of their sowing were told up.

    So for twice the usual wait (common practice); after that they were up and nobody said so.
    """
    crop = crops().get(group[0].crop) or (like_its_group(kind) if kind is not None else None)
    longest = crop.days_to_emergence.high if crop is not None else None
    seeds = all(plot.was_sown and not plot.shows_growth for plot in group)
    return seeds and longest is not None and age_days <= 2 * longest


def _seen(plot: Plot, up_at: datetime | None, now: datetime) -> list[Seen]:
    sights = list(plot.seen)
    if up_at is not None:
        sights.append(("seedling", up_at))
    return [Seen(stage, max(0.0, (now - at) / _DAY)) for stage, at in sights]


def _loose_of(groups: Sequence[Sequence[Plot]], loose: Mapping[int, Loose]) -> list[Loose]:
    """What is loose of a sowing, given to that of its groups which can hold it: emergence to one that nobody
    has seen up, losses to the largest."""
    shares = [Loose() for _ in groups]
    for sowing, amount in loose.items():
        own = [place for place, group in enumerate(groups) if group[0].entry_id == sowing]
        if not own:
            continue
        waiting = next((place for place in own if not groups[place][0].up), own[0])
        largest = max(own, key=lambda place: sum(plot.count for plot in groups[place]))
        shares[waiting] = replace(shares[waiting], up=amount.up, up_at=amount.up_at)
        shares[largest] = replace(shares[largest], gone=amount.gone)
    return shares


def _key(group: Sequence[Plot]) -> str:
    first = group[0]
    marks = [
        first.site or "",
        "up" if first.up else "",
        *(f"{stage}@{at.timestamp():.0f}" for stage, at in first.seen),
    ]
    return ":".join([str(first.entry_id), *filter(None, marks)])


def _age(planting: Planting, now: datetime) -> float | None:
    return None if planting.sown_at is None else max(0.0, (now - planting.sown_at) / _DAY)


def _latest(moments: Iterable[datetime | None]) -> datetime | None:
    return max((moment for moment in moments if moment is not None), default=None)
