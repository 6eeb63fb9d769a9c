"""What a household says of its plants: the part of the journal's vocabulary that ``domain.bed`` folds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from domain.fact import Fact
from domain.vocabulary import GrowthStage, TendTask

__all__ = [
    "Emerged",
    "Growing",
    "Harvest",
    "Lost",
    "Moved",
    "Removed",
    "Reseed",
    "Sow",
    "StageSeen",
    "Tended",
]

_Sites = tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Sow(Fact):
    kind: ClassVar[str] = "sow"
    crop: str | None = None
    sites: _Sites | None = None
    count: int | None = None
    lot: str | None = None


@dataclass(frozen=True, kw_only=True)
class Reseed(Sow):
    kind: ClassVar[str] = "reseed"


@dataclass(frozen=True, kw_only=True)
class Emerged(Fact):
    kind: ClassVar[str] = "emerged"
    crop: str | None = None
    sites: _Sites | None = None
    count: int | None = None


@dataclass(frozen=True, kw_only=True)
class Lost(Fact):
    kind: ClassVar[str] = "lost"
    crop: str | None = None
    sites: _Sites | None = None
    count: int | None = None
    reason: str | None = None


@dataclass(frozen=True, kw_only=True)
class Moved(Fact):
    kind: ClassVar[str] = "moved"
    crop: str | None = None
    from_sites: _Sites | None = None
    to_sites: _Sites | None = None


@dataclass(frozen=True, kw_only=True)
class Tended(Fact):
    kind: ClassVar[str] = "tended"
    crop: str | None = None
    sites: _Sites | None = None
    task: TendTask


@dataclass(frozen=True, kw_only=True)
class Harvest(Fact):
    kind: ClassVar[str] = "harvest"
    crop: str | None = None
    sites: _Sites | None = None
    grams: float | None = None
    count: int | None = None


@dataclass(frozen=True, kw_only=True)
class Removed(Fact):
    kind: ClassVar[str] = "removed"
    crop: str | None = None
    sites: _Sites | None = None


@dataclass(frozen=True, kw_only=True)
class StageSeen(Fact):
    kind: ClassVar[str] = "stage"
    crop: str | None = None
    sites: _Sites | None = None
    stage: GrowthStage


@dataclass(frozen=True, kw_only=True)
class Growing(Fact):
    """A crop that stands on the tank and whose sowing was never told (the set-up asks what is growing).

    stage : one of the stages of ``domain.stages``; ``None`` where not said.
    """

    kind: ClassVar[str] = "growing"
    crop: str
    count: int | None = None
    stage: str | None = None
