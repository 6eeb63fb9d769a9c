"""What one sowing has at one site, and what of a told fact does not fit: the data of ``domain.bed``."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from typing import Literal

from domain.journal import Entry
from domain.stages import Stage

__all__ = [
    "Conflict",
    "ConflictCode",
    "Emergence",
    "End",
    "Loose",
    "Pick",
    "Plot",
    "Sowing",
    "is_nursery",
    "labels",
    "shares",
    "spoken",
]

End = Literal["lost", "removed", "resown", "harvested", "told anew"]

ConflictCode = Literal[
    "site_taken",  # something else still stands where this was sown or moved
    "nothing_there",  # nothing stands at the site
    "other_crop",  # another crop stands at the site
    "no_such_crop",  # none of this crop stands anywhere
    "which_one",  # several sowings could be meant
    "which_crop",  # neither the fact nor the site says what was sown
    "too_many",  # more than there are
    "sites_differ",  # not as many sites to move to as from
    "rest_unsaid",  # some were moved; of the others nothing was said
]


@dataclass(frozen=True, slots=True)
class Conflict:
    """A fact that does not fit what stands.

    What it would have changed is left as it was; ``site_taken`` and ``rest_unsaid`` tell of a change that was
    made and may need a word more.

    candidates : the plots it could mean, as (crop, site).
    """

    code: ConflictCode
    entry_id: int
    message_key: str
    crop: str | None = None
    sites: tuple[str, ...] = ()
    candidates: tuple[tuple[str, str | None], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """What one sowing has at one site.

    entry_id : the entry that told of it; plots of one sowing share it.
    count : how many stand there now. sown : how many were sown or found standing.
    is_count_said : the count was told, not taken to be one.
    was_sown : it was sown; otherwise it was found growing.
    started_at, said_at : when that was, and when the household said so.
    up : how many have come up; ``None`` where nobody has said.
    seen : stages that were seen, with when.
    grams : all that was picked. [g]
    end, ended_at, ended_in : what became of the last one, when, and in which message; ``None`` while
        any stands.
    """

    entry_id: int
    message_key: str
    crop: str
    site: str | None
    tank: str | None
    lot: str | None
    count: int
    sown: int
    is_count_said: bool
    was_sown: bool
    started_at: datetime
    said_at: datetime
    up: int | None = None
    up_at: datetime | None = None
    seen: tuple[tuple[Stage, datetime], ...] = ()
    moved_at: datetime | None = None
    tended_at: datetime | None = None
    harvested_at: datetime | None = None
    grams: float = 0.0
    end: End | None = None
    ended_at: datetime | None = None
    ended_in: str | None = None

    @property
    def stands(self) -> bool:
        return self.end is None

    @property
    def shows_growth(self) -> bool:
        """Something was seen or done that only a grown plant allows."""
        return bool(self.seen) or self.tended_at is not None or self.harvested_at is not None

    def gone(self, end: End, told: Entry) -> Plot:
        """The plot once nothing of it stands any more."""
        return replace(self, count=0, end=end, ended_at=told.happened_at, ended_in=told.message_key)

    def is_at(self, named: str) -> bool:
        """Whether it stands at the site that was named, or in the row that was (``B*``)."""
        if self.site is None or not named.endswith("*"):
            return self.site == named
        return self.site.startswith(named[:-1])

    @property
    def in_nursery(self) -> bool:
        return self.site is not None and is_nursery(self.site)

    @property
    def to_come_up(self) -> int:
        """How many nobody has seen up."""
        return self.count - (self.up or 0)


@dataclass(frozen=True, slots=True)
class Loose:
    """Of one sowing at several sites: what came up, since when, and what is gone, at sites nobody named."""

    up: int = 0
    up_at: datetime | None = None
    gone: int = 0


@dataclass(frozen=True, slots=True)
class Pick:
    """What was harvested at one site at one time.

    site : ``None`` where none was told.
    grams : its share of what was picked with it; ``None`` where nobody weighed it. [g]
    """

    at: datetime
    crop: str
    site: str | None
    grams: float | None
    entry_id: int


@dataclass(frozen=True, slots=True)
class Emergence:
    """So many of one sowing were told to be up. at : when, UTC."""

    at: datetime
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Sowing:
    """One sowing and how its seeds came up, wherever they went afterwards.

    is_counted : how many were sown is known: it was told, or follows from the sites.
    came : what was told of its coming up, in order.
    waiting : seeds that stand and of which nothing was told. waiting_sites : where.
    failed : seeds that were given up or sown over before they came up.
    picked : something of it was picked, so that it had come up whether that was told or not.
    """

    entry_id: int
    crop: str
    lot: str | None
    sown_at: datetime
    said_at: datetime
    sown: int
    is_counted: bool
    sites: tuple[str, ...]
    came: tuple[Emergence, ...]
    waiting: int
    waiting_sites: tuple[str, ...]
    failed: int
    picked: bool

    @property
    def up(self) -> int:
        """How many are told to have come up."""
        return sum(each.count for each in self.came)


_NURSERY = re.compile(
    r"(?:(?:SEED|SEEDLINGS?|NURSERY|GERMINATION) )?((?:TRAY|DOME|NURSERY|PROPAGATOR|INCUBATOR)(?: \d+)?)"
)
"""A place beside the tank where seedlings stand together, by any of its names."""


@lru_cache(maxsize=1024)
def is_nursery(label: str) -> bool:
    """Whether a site's label names a tray, a dome or the like: many stand there, none of them on the tank."""
    return _NURSERY.fullmatch(label) is not None


def labels(sites: Sequence[str] | None) -> tuple[str, ...]:
    """Site labels as they are kept: in capitals, each once; a seed tray is the tray."""
    return tuple(dict.fromkeys(_label(site) for site in sites or ()))


def spoken(label: str) -> str:
    """A site as it is shown: ``A1``, ``the tray``."""
    return f"the {_label(label).lower()}" if is_nursery(_label(label)) else label


@lru_cache(maxsize=1024)
def _label(site: str) -> str:
    label = " ".join(site.upper().split())
    nursery = _NURSERY.fullmatch(label) if len(label) > 3 else None
    return nursery[1] if nursery is not None else label


def shares(count: int, places: int) -> list[int]:
    """``count`` plants over so many places, the first ones one more where it does not come out even."""
    each, more = divmod(count, places)
    return [each + (place < more) for place in range(places)]
