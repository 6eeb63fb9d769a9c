"""What is left of plugs, baskets, seeds and bottles: counted down from what the household last said it has.

A count that was told is what there is from then on, so that a wrong one is mended by telling it again.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import NamedTuple

from domain.facts import Dose, Fact, ProductRole, Removed, Reseed, Sow, Stock
from domain.folds import Start, folded
from domain.happenings import dose_amount
from domain.journal import Entry

__all__ = ["Shelves", "Supply", "low_supplies", "seed_item", "supplies"]

_WEEK = timedelta(weeks=1)
LOW_COUNT = 6
"""From so few plugs, baskets or seeds on it is time to get more: common practice, one sowing of a row."""
LOW_SHARE = 0.2
"""From this part of a bottle on: common practice."""
LOW_WEEKS = 2.0
"""Also what would last no longer than this at the pace of the last weeks: common practice, a delivery."""
PACE_OVER = timedelta(weeks=8)
"""How far back the pace is counted."""

_BOTTLES: Mapping[str, ProductRole] = MappingProxyType(
    {
        **dict.fromkeys(("ph down", "down", "acid", "ph minus"), "ph_down"),
        **dict.fromkeys(("ph up", "up", "base", "ph plus"), "ph_up"),
        **dict.fromkeys(
            ("nutrient", "nutrients", "feed", "food", "plant food", "nutes", "fertilizer"), "nutrient"
        ),
    }
)
_TO_ML_OR_G = MappingProxyType(
    {
        "ml": ("ml", 1.0),
        "l": ("ml", 1000.0),
        "litre": ("ml", 1000.0),
        "litres": ("ml", 1000.0),
        "g": ("g", 1.0),
        "kg": ("g", 1000.0),
    }
)
_USING = (Sow, Removed, Dose)
_SEED = re.compile(r"(?!packets? of )(?P<crop>.+?) seeds?(?:,? lot (?P<lot>.+))?")
_SOWN_WITH = ("plug", "cube", "sponge", "pod")
_BASKETS = ("basket", "net pot", "cup")


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """What is left of one thing.

    item : as the household named it. unit : ``ml``, ``g``, or ``""`` for pieces.
    told, told_at : what there was when it was last said. left : what that leaves now, never below 0.
    a_week : how much went in a week lately; 0 where nothing did.
    low_since, low_by : when it became low, UTC, and the entry that made it so; ``None`` while there is
        enough, and for what nothing uses up.
    """

    item: str
    unit: str
    told: float
    told_at: datetime
    left: float
    a_week: float
    low_since: datetime | None
    low_by: int | None

    @property
    def lasts_weeks(self) -> float | None:
        """How long it lasts at that pace; ``None`` where nothing was used. [weeks]"""
        return self.left / self.a_week if self.a_week else None


class _Use(NamedTuple):
    at: datetime
    amount: float
    entry_id: int


@dataclass
class _Shelf:
    """One supply while the journal is folded."""

    item: str
    unit: str
    told: float
    told_at: datetime
    uses: list[_Use] = field(default_factory=list)

    def use(self, entry: Entry, amount: float) -> None:
        if amount:
            self.uses.append(_Use(entry.happened_at, amount, entry.id))

    def left_after(self, uses: Sequence[_Use]) -> float:
        return max(0.0, self.told - sum(use.amount for use in uses))


@dataclass
class Shelves:
    """All supplies by name while the journal is folded; a ``domain.folds.Fold``."""

    shelves: dict[str, _Shelf] = field(default_factory=dict)

    def copy(self) -> Shelves:
        return Shelves({item: replace(shelf, uses=list(shelf.uses)) for item, shelf in self.shelves.items()})

    def take(self, entry: Entry) -> None:
        fact = entry.fact
        if isinstance(fact, Stock):
            _put(self.shelves, fact, entry.happened_at)
        elif self.shelves and isinstance(fact, _USING):
            for shelf in self.shelves.values():
                shelf.use(entry, _used(shelf, fact))
            if isinstance(fact, Sow) and (packet := self._packet(fact)) is not None:
                packet.use(entry, float(fact.count or len(fact.sites or ()) or 1))

    def _packet(self, sow: Sow) -> _Shelf | None:
        """The seeds that a sowing was taken from: those of its packet; else those of its crop that no packet
        was named for, or that are all of one packet; else seeds of whatever kind."""
        of_crop = {
            seed.lot: shelf
            for shelf in self.shelves.values()
            if (seed := _seed_of(shelf.item)) is not None and seed.crop == (sow.crop or "").casefold()
        }
        named = of_crop.get(" ".join((sow.lot or "").casefold().split()))
        alone = next(iter(of_crop.values())) if len(of_crop) == 1 and not sow.lot else None
        loose = (self.shelves.get(item) for item in ("seeds", "seed"))
        return named or of_crop.get("") or alone or next((each for each in loose if each is not None), None)


def supplies(
    entries: Sequence[Entry], now: datetime, start: Start[Shelves] | None = None
) -> tuple[Supply, ...]:
    """Everything that the household said it has, in the order of its names.

    entries : the net journal, in the order in which things happened; doubted ones do not count. now : aware.
    start : of the first of these entries, where they were folded before.
    Sowing takes one plug and one basket for each site (without sites, for each seed) and its seeds; pulling a
    plant gives its basket back; a dose takes from its bottle, household measures as in ``domain.happenings``.
    A packet of which nobody said how many seeds it holds is kept as told.
    """
    shelves = folded(Shelves(), entries, start).shelves
    return tuple(_supply(shelf, now) for _, shelf in sorted(shelves.items()))


def low_supplies(found: Sequence[Supply]) -> tuple[Supply, ...]:
    """Those of which there should be more, the longest low first."""
    low = [supply for supply in found if supply.low_since is not None]
    return tuple(sorted(low, key=lambda supply: (supply.low_since or supply.told_at, supply.item)))


def seed_item(crop: str, lot: str | None) -> str:
    """Seed of a crop among the supplies: ``basil seeds``, ``basil seeds, lot Green Gate 7``."""
    return f"{crop} seeds, lot {lot}" if lot else f"{crop} seeds"


class _Seed(NamedTuple):
    """``lot``: as folded; empty where no packet was named."""

    crop: str
    lot: str


def _seed_of(item: str) -> _Seed | None:
    found = _SEED.fullmatch(" ".join(item.casefold().split()))
    return _Seed(found["crop"], found["lot"] or "") if found is not None else None


def _is_seed(item: str) -> bool:
    return item in ("seed", "seeds") or _seed_of(item) is not None


def _put(shelves: dict[str, _Shelf], stock: Stock, at: datetime) -> None:
    item = " ".join(stock.item.casefold().split())
    if stock.amount is not None and (stock.unit or "") in _TO_ML_OR_G:
        unit, factor = _TO_ML_OR_G[stock.unit or ""]
        shelves[item] = _Shelf(stock.item, unit, stock.amount * factor, at)
    elif stock.count is not None:
        shelves[item] = _Shelf(stock.item, "", float(stock.count), at)


def _used(shelf: _Shelf, fact: Fact) -> float:
    item = shelf.item.casefold()
    if shelf.unit:
        return _poured(item, shelf.unit, fact) if isinstance(fact, Dose) else 0.0
    if isinstance(fact, Removed) and _names(item, _BASKETS):
        return -float(len(fact.sites or ()))
    if not isinstance(fact, Sow):
        return 0.0
    places = len(fact.sites or ()) or fact.count or 1
    if _names(item, _SOWN_WITH):
        return float(places)
    if _names(item, _BASKETS):
        return 0.0 if isinstance(fact, Reseed) else float(places)
    return 0.0


def _poured(item: str, unit: str, dose: Dose) -> float:
    named = dose.name is not None and dose.name.casefold() == item
    if not named and _BOTTLES.get(item) != dose.product:
        return 0.0
    amount, measured_in, _ = dose_amount(dose)
    return amount if measured_in == unit else 0.0


def _names(item: str, words: Sequence[str]) -> bool:
    return any(word in item for word in words)


def _is_used_up(shelf: _Shelf) -> bool:
    item = shelf.item.casefold()
    return bool(shelf.unit) or _names(item, (*_SOWN_WITH, *_BASKETS)) or _is_seed(item)


def _supply(shelf: _Shelf, now: datetime) -> Supply:
    low = _low_use(shelf) if _is_used_up(shelf) else None
    since = max(shelf.told_at, now - PACE_OVER)
    weeks = max(1.0, (now - since) / _WEEK)
    return Supply(
        item=shelf.item,
        unit=shelf.unit,
        told=shelf.told,
        told_at=shelf.told_at,
        left=shelf.left_after(shelf.uses),
        a_week=max(0.0, sum(use.amount for use in shelf.uses if use.at >= since)) / weeks,
        low_since=low.at if low else None,
        low_by=low.entry_id if low else None,
    )


def _low_use(shelf: _Shelf) -> _Use | None:
    """The use that brought it to the limit; it depends on the journal alone, not on the day it is asked."""
    first: _Use | None = None
    left = shelf.told
    for use in shelf.uses:
        left -= use.amount
        weeks = max(1.0, (use.at - shelf.told_at) / _WEEK)
        pace = max(0.0, shelf.told - left) / weeks
        limit = LOW_SHARE * shelf.told if shelf.unit else float(LOW_COUNT)
        is_low = left <= max(limit, LOW_WEEKS * pace if weeks > LOW_WEEKS else 0.0)
        first = (first or use) if is_low else None
    return first
