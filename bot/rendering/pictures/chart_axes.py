"""Where things stand on a chart: the two scales and the figures written along them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from matplotlib.ticker import MaxNLocator

from bot.rendering.pictures.chart import Chart, Panel

__all__ = ["Scale", "time_ticks", "value_scale", "value_ticks"]

_DAY_S = 86_400
_HOURS = (1, 3, 6, 12)
_DAYS = (1, 2, 4, 7, 14)
MOST_TIMES, MOST_VALUES = 6, 4


@dataclass(frozen=True, slots=True)
class Scale:
    """Maps ``low`` to ``start`` and ``high`` to ``end``, in units of the sheet."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)

    def held(self, value: float) -> float:
        """The place of the value, or of the nearer end where it lies beyond."""
        return self(min(max(value, self.low), self.high))


def value_scale(panel: Panel, top: float, foot: float) -> Scale:
    """The scale of a panel between two heights of the sheet.

    All that was read and the bands are in it; what is doubted or foretold may lie beyond: it is held at the
    rim.
    """
    trusted = [value for _, value, doubted in panel.points if not doubted]
    values = trusted or [value for _, value, _ in panel.points]
    values += [end for band in panel.bands for end in band[2:]]
    values += [middle for _, _, middle, _ in panel.forecast]
    low, high = min(values), max(values)
    least = max(abs(high), 1.0) * 0.05
    room = max(0.08 * (high - low), (least - (high - low)) / 2)
    return Scale(low - room, high + room, foot, top)


def value_ticks(scale: Scale) -> list[tuple[float, str]]:
    """Round values inside the scale, each as it is written."""
    found = MaxNLocator(nbins=MOST_VALUES, steps=[1, 2, 2.5, 5, 10]).tick_values(scale.low, scale.high)
    inside = [float(value) for value in found if scale.low <= value <= scale.high]
    for decimals in range(4):
        texts = [f"{value:.{decimals}f}" for value in inside]
        if len(set(texts)) == len(texts) and all(
            abs(float(text) - value) < 1e-9 for text, value in zip(texts, inside, strict=True)
        ):
            break
    return [(value, text.replace("-", "−")) for value, text in zip(inside, texts, strict=True)]


def time_ticks(chart: Chart) -> list[tuple[float, str]]:
    """Moments along the time axis by the household's clock: hours, midnights or first days of months."""
    zone = ZoneInfo(chart.zone)
    span = chart.end - chart.start
    start, end = (datetime.fromtimestamp(at, zone) for at in (chart.start, chart.end))
    if span / 3600 <= _HOURS[-1] * MOST_TIMES:
        step = next(hours for hours in _HOURS if span / 3600 <= hours * MOST_TIMES)
        return _hour_ticks(start, end, step)
    if span / _DAY_S <= _DAYS[-1] * MOST_TIMES:
        step = next(days for days in _DAYS if span / _DAY_S <= days * MOST_TIMES)
        return _day_ticks(start, end, step)
    return _month_ticks(start, end)


def _hour_ticks(start: datetime, end: datetime, step: int) -> list[tuple[float, str]]:
    ticks = []
    day = start.replace(hour=0, minute=0, second=0, microsecond=0)
    while day <= end:
        for hour in range(0, 24, step):
            at = day.replace(hour=hour)
            if start <= at <= end:
                ticks.append((at.timestamp(), f"{at.day} {at:%b}" if hour == 0 else f"{at:%H:%M}"))
        day += timedelta(days=1)
    return ticks


def _day_ticks(start: datetime, end: datetime, step: int) -> list[tuple[float, str]]:
    ticks = []
    day = start.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=1)
    while day <= end:
        ticks.append((day.timestamp(), f"{day.day} {day:%b}"))
        day += timedelta(days=step)
    return ticks


def _month_ticks(start: datetime, end: datetime) -> list[tuple[float, str]]:
    months = (end.year - start.year) * 12 + end.month - start.month
    step = max(1, -(-months // MOST_TIMES))
    ticks = []
    for count in range(1, months + 1, step):
        year, month = divmod(start.year * 12 + start.month - 1 + count, 12)
        at = datetime(year, month + 1, 1, tzinfo=start.tzinfo)
        ticks.append((at.timestamp(), f"{at:%b}" if months < 12 else f"{at:%b} {at:%y}"))
    return ticks
