"""Replies about plants as data: no words for people, numbers in canonical units."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from domain.germination import Outlook
from domain.harvest import Ahead, Yield, YieldBy
from domain.nursery import Care, Ready
from domain.plantings import Conflict, Planting, Plot
from domain.seeds import Record
from domain.supplies import Supply
from domain.troubles import Trouble

__all__ = [
    "CameUp",
    "CameUpShown",
    "HarvestShown",
    "LampNote",
    "LotsShown",
    "PlantNotes",
    "PumpNote",
    "SiteSeen",
    "SitesShown",
    "StockShown",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class LampNote:
    """What a lamp gives in so many hours a day.

    ppfd_umol_m2_s, dli_mol_m2 : at the leaves; ``None`` where the note gives no brightness.
    from_lux : reckoned from lux, which is rough.
    wanted_dli : what all that stands can share. hours_wanted : until its low end; ``None`` where a day is too
        short or nothing is known.
    bolting : crops that such a day sends to flower, with the hours from which it does.
    """

    hours: float
    ppfd_umol_m2_s: float | None
    from_lux: bool
    dli_mol_m2: float | None
    wanted_dli: tuple[float, float] | None
    hours_wanted: float | None
    bolting: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpNote:
    """What a pump does. ``dry_min``: the longest wait between its runs. [min] ``needs_volume``: the turnovers
    cannot be told while nobody has said what the tank holds."""

    turnovers_per_hour: float | None
    dry_min: float | None
    needs_volume: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantNotes:
    """What a message about plants calls for, beside that it was kept.

    named : the plantings that it is about, as they stand now.
    gone : what stands no longer because of it.
    troubles : what a sign that was noted may mean. conflicts : what of the message does not fit.
    outlooks : when what was sown should come up. low : supplies that it made low.
    lamp_cm : how far the lamp should hang above them, where a sign may come from the lamp. [cm]
    lamp, pump : what a note about them means.
    not_taken : how many were said to be moved and how many were, where these differ.
    """

    named: tuple[Planting, ...] = ()
    gone: tuple[Plot, ...] = ()
    troubles: tuple[Trouble, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    outlooks: tuple[Outlook, ...] = ()
    low: tuple[Supply, ...] = ()
    lamp_cm: tuple[float, float] | None = None
    lamp: LampNote | None = None
    pump: PumpNote | None = None
    not_taken: tuple[int, int] | None = None

    @property
    def needs_words(self) -> bool:
        calls = self.troubles or self.conflicts or self.low or self.lamp or self.pump or self.not_taken
        return bool(calls)


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteSeen:
    """One site that was asked about. ``last`` : what stood there before, where nothing stands now."""

    label: str
    plantings: tuple[Planting, ...]
    last: Plot | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SitesShown:
    """What stands at the sites that were asked about.

    ahead : the first harvest of what stands there. nursery : where it is one alone: what its plants want.
    ready : when they can be moved.
    """

    sites: tuple[SiteSeen, ...]
    ahead: tuple[Ahead, ...]
    now: datetime
    nursery: Care | None = None
    ready: tuple[Ready, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CameUp:
    """What came up of one sowing. ``days`` : from seed until the last of it was told. [days]"""

    crop: str
    sites: tuple[str, ...]
    lot: str | None
    count: int
    days: int
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class CameUpShown:
    """What came up since a moment, and what is still expected.

    since : ``None`` where only what is to come was asked for. viable : assumed share of good seed.
    """

    since: datetime | None
    came: tuple[CameUp, ...]
    coming: tuple[Outlook, ...]
    viable: float
    now: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class LotsShown:
    """How packets came up.

    asked : the name that was asked for; ``None`` for all.
    best : the one that is surely better than each other of its crop, by crop; crops that cannot be told apart
        are in ``level``.
    """

    asked: str | None
    records: tuple[Record, ...]
    best: tuple[Record, ...]
    level: tuple[str, ...]
    now: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class StockShown:
    """What is left of plugs, seeds and bottles."""

    supplies: tuple[Supply, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HarvestShown:
    """When what was asked about can be picked, and what it has given so far.

    by : whether ``given`` is by crop, by site, or by week; of sites and weeks that is all that was asked for.
    is_so_far : only what was picked was asked for.
    """

    crop: str | None
    ahead: tuple[Ahead, ...]
    given: tuple[Yield, ...]
    now: datetime
    by: YieldBy = "crop"
    is_so_far: bool = False
