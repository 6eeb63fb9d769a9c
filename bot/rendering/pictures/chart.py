"""A chart as data: what a letter keeps of it, in the household's own units. No drawing here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any

from bot.assistant.chart_replies import ChartPanel, ChartShown
from bot.assistant.exchange import Picture
from bot.rendering.voice import Voice
from domain.forecast import Trend
from domain.history import Quantity

__all__ = ["CHART", "MOST_POINTS", "Chart", "Marked", "Panel", "chart_picture"]

CHART = "chart"
"""The kind of this picture in a letter."""

MOST_POINTS = 150
"""More of one value cannot be told apart on 300 units; of a longer time the extremes are kept."""

MOST_MARKS = 200
LOOKS_AHEAD = 0.25
"""Of the time looked back on; so far the forecast is drawn."""
FARTHEST = timedelta(days=10)
FORECAST_STEPS = 8
DIGITS = 4
_ROWS = ("points", "bands", "forecast")


@dataclass(frozen=True, slots=True)
class Panel:
    """One value. Times are seconds since 1970 UTC, values in the unit that is shown.

    points : time, value, and 1 where it is doubted.
    bands : from, to, and the ends: tolerable low, ideal low, ideal high, tolerable high.
    forecast : time, low, middle, high; empty where there is none.
    keep : where it should be now, and last : its newest value; ready to show.
    """

    name: str
    unit: str
    keep: str
    last: str
    points: tuple[tuple[float, float, int], ...]
    bands: tuple[tuple[float, float, float, float, float, float], ...]
    forecast: tuple[tuple[float, float, float, float], ...]


@dataclass(frozen=True, slots=True)
class Marked:
    """Something that was done to the water. kind : of ``domain.history.HANDS``. at : seconds since 1970."""

    kind: str
    at: float


@dataclass(frozen=True, slots=True)
class Chart:
    """What a chart shows.

    heading : the time, as the household writes it. zone : whose clock the time axis goes by.
    start, end : of the time axis; now : where it stands on it. [s since 1970]
    """

    heading: str
    zone: str
    start: float
    now: float
    end: float
    panels: tuple[Panel, ...]
    marks: tuple[Marked, ...]

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Chart:
        """The chart that ``chart_picture`` wrote. Raises ValueError where the data is none."""
        try:
            panels = tuple(
                Panel(**{**panel, **{key: _rows(panel[key]) for key in _ROWS}}) for panel in data["panels"]
            )
            marks = tuple(Marked(kind, at) for kind, at in data["marks"])
            chart = cls(**{**data, "panels": panels, "marks": marks})
        except (KeyError, TypeError, ValueError) as error:
            raise ValueError("no chart") from error
        if not panels or not chart.start < chart.end:
            raise ValueError("an empty chart")
        return chart


def chart_picture(
    shown: ChartShown, voice: Voice, heading: str, titles: Mapping[Quantity, tuple[str, str, str]]
) -> Picture:
    """The specification of a chart, small enough for a letter.

    heading : the time, ready to show. titles : for each quantity its name, what to keep it at and its newest
        value, ready to show.
    """
    start, until = shown.since.timestamp(), shown.until.timestamp()
    foretold = any(isinstance(panel.trend, Trend) for panel in shown.panels)
    room = max(until - start, 3600.0)
    end = until + (min(LOOKS_AHEAD * room, FARTHEST.total_seconds()) if foretold else 0.03 * room)
    panels = tuple(_panel(panel, voice, titles[panel.what], until, end) for panel in shown.panels)
    chart = Chart(
        heading=heading,
        zone=voice.zone.key,
        start=start - 0.03 * room,
        now=until,
        end=end,
        panels=panels,
        marks=(),
    )
    marks = [[hand.kind, hand.at.timestamp()] for hand in shown.hands[-MOST_MARKS:]]
    return Picture(CHART, {**asdict(chart), "panels": [_kept(panel) for panel in panels], "marks": marks})


def _kept(panel: Panel) -> dict[str, Any]:
    """The panel as JSON gives it back."""
    rows = {key: [list(row) for row in getattr(panel, key)] for key in _ROWS}
    return {**asdict(panel), **rows}


def _panel(panel: ChartPanel, voice: Voice, title: tuple[str, str, str], until: float, end: float) -> Panel:
    what = panel.what
    name, keep, last = title

    def said(value: float) -> float:
        return round(voice.figure(what, value), DIGITS)

    return Panel(
        name=name,
        unit=voice.unit(what),
        keep=keep,
        last=last,
        points=tuple(
            (point.at.timestamp(), said(point.value), int(point.doubted)) for point in _thinned(panel)
        ),
        bands=tuple(
            (
                span.start.timestamp(),
                min(span.end.timestamp(), until),
                said(span.tolerable[0]),
                said(span.ideal[0]),
                said(span.ideal[1]),
                said(span.tolerable[1]),
            )
            for span in panel.bands
        ),
        forecast=_forecast(panel, end, said) if isinstance(panel.trend, Trend) else (),
    )


def _forecast(panel: ChartPanel, end: float, said: Any) -> tuple[tuple[float, float, float, float], ...]:
    assert isinstance(panel.trend, Trend)  # noqa: S101 — asked for only where there is one
    begins = panel.trend.last_at.timestamp()
    steps = [begins + (end - begins) * step / FORECAST_STEPS for step in range(FORECAST_STEPS + 1)]
    zone = panel.trend.last_at.tzinfo
    foretold = [panel.trend.expected(datetime.fromtimestamp(at, zone)) for at in steps]
    return tuple(
        (at, said(each.low), said(each.middle), said(each.high))
        for at, each in zip(steps, foretold, strict=True)
    )


def _thinned(panel: ChartPanel) -> Sequence[Any]:
    """The points, or of each stretch of a long time its lowest and its highest; doubted ones always."""
    points = panel.points
    if len(points) <= MOST_POINTS:
        return points
    stretch = -(-2 * len(points) // MOST_POINTS)
    kept: set[int] = {0, len(points) - 1, *(i for i, point in enumerate(points) if point.doubted)}
    for begin in range(0, len(points), stretch):
        places = range(begin, min(begin + stretch, len(points)))
        kept |= {min(places, key=lambda i: points[i].value), max(places, key=lambda i: points[i].value)}
    return [points[i] for i in sorted(kept)]


def _rows(rows: Iterable[Iterable[Any]]) -> tuple[tuple[Any, ...], ...]:
    return tuple(tuple(row) for row in rows)
