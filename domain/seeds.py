"""How the household's seed came up, by packet and by shop.

Only sowings that somebody followed count: of one where nothing was told of coming up or of failing, nothing
is known. What still waits counts neither way until it is far too late for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median
from typing import Literal

from domain.crops import crops
from domain.plots import Sowing
from domain.proportions import Interval, difference, jeffreys

__all__ = ["Record", "best_of", "is_better", "lots_named", "packed_year", "records", "shop_of"]

_DAY = timedelta(days=1)
TOO_LATE_FACTOR = 2.0
"""After so many times the longest usual wait, a seed beside others that came has failed: common practice."""
TOO_LATE_DAYS = 42.0
"""The same for a crop whose wait nobody knows: from memory, of slow herbs. [days]"""

_CODE = re.compile(r"[\s,;:#(-]*\b(?:lot|batch|no|nr|packet|pack)?\.?\s*#?[\w/-]*\d[\w/-]*\)?\s*$", re.I)
_YEAR = re.compile(r"(?<!\d)(?:19|20)\d\d(?!\d)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """How one crop came up out of one packet, or of all packets of one shop.

    name : the packet or the shop as named; ``None`` for seed of which nobody said where it was from.
    tried : seeds of which it is known whether they came up. came : how many of them did.
    waiting : seeds that may still come.
    likely : where the packet's share lies, 95 % (Jeffreys); ``None`` while nothing is known.
    days : until each told emergence, shortest, middle, longest; they were up by then. [days]
    packed : the year that the packet's name gives; ``None`` where it gives none.
    """

    name: str | None
    crop: str
    sowings: int
    tried: int
    came: int
    waiting: int
    likely: Interval | None
    days: tuple[float, float, float] | None
    packed: int | None
    last_sown_at: datetime

    @property
    def share(self) -> float | None:
        return self.came / self.tried if self.tried else None


def records(
    sowings: Iterable[Sowing], now: datetime, by: Literal["lot", "shop"] = "lot"
) -> tuple[Record, ...]:
    """Every packet's or shop's record for each crop, in the order in which they were first sown.

    sowings : of ``domain.plantings.garden``. now : aware.
    """
    alike: dict[tuple[str | None, str], list[Sowing]] = {}
    for sowing in sowings:
        name = shop_of(sowing.lot) if by == "shop" else sowing.lot
        alike.setdefault((_folded(name) if name else None, sowing.crop), []).append(sowing)
    return tuple(_record(group, now, by) for group in alike.values())


def is_better(first: Record, second: Record) -> bool | None:
    """Whether the first came up better; ``None`` where what was told cannot tell them apart."""
    if not first.tried or not second.tried:
        return None
    gap = difference((first.came, first.tried), (second.came, second.tried))
    return None if 0.0 in gap else gap.low > 0.0


def best_of(of_one_crop: Sequence[Record]) -> Record | None:
    """The record that is better than each other one of its crop; ``None`` where none surely is."""
    tried = [record for record in of_one_crop if record.tried]
    if len(tried) < 2:
        return None
    top = max(tried, key=lambda record: record.share or 0.0)
    return top if all(is_better(top, other) for other in tried if other is not top) else None


def lots_named(name: str, sowings: Iterable[Sowing]) -> tuple[Sowing, ...]:
    """The sowings from packets whose name holds every word of ``name``."""
    wanted = set(_folded(name).split())
    return tuple(s for s in sowings if s.lot and wanted and wanted <= set(_folded(s.lot).split()))


def shop_of(lot: str | None) -> str | None:
    """A packet's name without the number or year at its end: ``Corner Shop`` of ``Corner Shop 24``."""
    if lot is None:
        return None
    return _CODE.sub("", lot).strip(" ,;:#(-") or lot


def packed_year(lot: str | None) -> int | None:
    """The year in a packet's name; two digits may be anything, so they are none."""
    found = _YEAR.findall(lot or "")
    return int(found[-1]) if found else None


def _record(group: Sequence[Sowing], now: datetime, by: Literal["lot", "shop"]) -> Record:
    first = group[0]
    tried = came = waiting = 0
    for sowing in group:
        of_it = _trials(sowing, now)
        came, tried, waiting = came + of_it[0], tried + of_it[1], waiting + of_it[2]
    days = [
        max(0.0, (each.at - sowing.sown_at) / _DAY)
        for sowing in group
        for each in sowing.came
        for _ in range(each.count)
    ]
    return Record(
        name=shop_of(first.lot) if by == "shop" else first.lot,
        crop=first.crop,
        sowings=len(group),
        tried=tried,
        came=came,
        waiting=waiting,
        likely=jeffreys(came, tried) if tried else None,
        days=(min(days), median(days), max(days)) if days else None,
        packed=packed_year(first.lot) if by == "lot" else None,
        last_sown_at=max(sowing.sown_at for sowing in group),
    )


def _trials(sowing: Sowing, now: datetime) -> tuple[int, int, int]:
    """What came, of how many it is known, and what still waits."""
    if not sowing.is_counted:
        return 0, 0, sowing.waiting
    came = min(sowing.up, sowing.sown)
    late = came > 0 and (now - sowing.sown_at) / _DAY > _too_late_days(sowing.crop)
    failed = sowing.failed + (sowing.waiting if late else 0)
    return came, min(came + failed, sowing.sown), 0 if late else sowing.waiting


def _too_late_days(crop: str) -> float:
    known = crops().get(crop)
    longest = known.days_to_emergence.high if known else None
    return TOO_LATE_DAYS if longest is None else TOO_LATE_FACTOR * longest


def _folded(name: str) -> str:
    return " ".join(re.sub(r"[^\w\s]", " ", name.casefold()).split())
