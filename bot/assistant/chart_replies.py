"""Replies that look back on the water, as data: no words for people, numbers in canonical units."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from domain.bands import Verdict
from domain.diagnosis import Finding, Way
from domain.digest import Week
from domain.forecast import Leaves, TooLittle, Trend
from domain.history import BandSpan, Hand, Point, Quantity
from domain.past import Moved

__all__ = ["ChartPanel", "ChartShown", "ChartReply", "DigestShown", "NothingDrawn", "TrendShown", "WhyShown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartPanel:
    """One value over a time.

    points : at least one, in order. bands : where it should have been; empty where nothing says.
    last : the newest value that is not doubted; the newest of all where all are.
    verdict : what that means beside today's band; ``None`` for a level or where it is doubted.
    trend : how it moves since the last hand in the water; ``None`` where the time ends before now.
    leaves : when it leaves its band.
    """

    what: Quantity
    points: tuple[Point, ...]
    bands: tuple[BandSpan, ...]
    last: Point
    verdict: Verdict | None = None
    trend: Trend | TooLittle | None = None
    leaves: Leaves | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartShown:
    """The water over a time.

    since, until : the ends of what was looked at. now : the moment of the asking.
    hands : what was done in that time. missing : values that were asked for and never read in it.
    """

    panels: tuple[ChartPanel, ...]
    hands: tuple[Hand, ...]
    since: datetime
    until: datetime
    now: datetime
    missing: tuple[Quantity, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendShown:
    """Where values go, for a question about it; each panel has its trend or why there is none."""

    panels: tuple[ChartPanel, ...]
    now: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyShown:
    """Why a value moves.

    way : which way the question says; ``None`` where it does not. moved : how the log says it moved.
    findings : possible causes, the tester first where it is the likelier; may be empty.
    verdict : what the newest value means.
    """

    what: Quantity
    way: Way | None
    moved: Moved
    findings: tuple[Finding, ...]
    verdict: Verdict
    now: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class DigestShown:
    """A week in a picture and a few lines.

    chart : its picture; ``None`` where no water was read. reminder, planned_at : what its button carries;
        ``None`` where it was asked for.
    """

    week: Week
    chart: ChartShown | None
    now: datetime
    reminder: int | None = None
    planned_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NothingDrawn:
    """There is nothing to draw.

    whats : what was asked for; empty for all. since, until : the time.
    latest : the newest reading of any of them outside that time; ``None`` where there is none at all.
    """

    whats: tuple[Quantity, ...]
    since: datetime
    until: datetime
    now: datetime
    latest: datetime | None


ChartReply = ChartShown | TrendShown | WhyShown | DigestShown | NothingDrawn
