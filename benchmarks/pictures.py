"""What a picture costs: site map and chart as PNG, beside the same drawn the plain way in the same run.

    python -m benchmarks.pictures

Times are the best of a few warm runs, for everybody uses the machine. The plain way to a site map is a table
of the drawing library's own with one cell for each site; to a chart, one line plot for each value, without
bands, marks or forecast. Both are written as the library does by default; nobody could read them on a phone.
"""

from __future__ import annotations

import io
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from bot.assistant.chart_replies import ChartPanel, ChartShown
from bot.rendering import Voice, render
from bot.rendering.pictures import drawn
from bot.rendering.pictures.site_map import site_map_picture
from domain.forecast import trend
from domain.history import QUANTITIES, BandSpan, Hand, Point, Quantity
from domain.sites import SPOT_STATES, Spot

__all__ = ["measure"]

RUNS = 5
CROPS = ("basil", "butterhead lettuce", "pak choi", "cherry tomato")
COLUMNS = 5
KIB = 1024.0
NOW = datetime(2026, 5, 4, 18, 5, tzinfo=UTC)
VOICE = Voice("metric", 500, ZoneInfo("Europe/Lisbon"))


def measure() -> list[tuple[str, float, float, str]]:
    """The figures: what is measured, ours, the plain table's, unit."""
    figures = []
    for count in (30, 60):
        spots = _tower(count)
        picture = site_map_picture(spots, "Mon 4 May")
        ours, plain = _best(lambda picture=picture: drawn(picture)), _best(lambda spots=spots: _table(spots))  # type: ignore[misc]
        figures += [
            (f"site map of {count}", ours * 1000.0, plain * 1000.0, "ms"),
            (f"site map of {count}", len(drawn(picture)) / KIB, len(_table(spots)) / KIB, "KiB"),
        ]
    return figures + _charts()


def _charts() -> list[tuple[str, float, float, str]]:
    figures = []
    for what, days in ((("ph",), 30), (QUANTITIES, 30), (QUANTITIES, 365)):
        shown = _season(what, days)
        picture = render(shown, VOICE).picture
        assert picture is not None
        name = f"chart of {len(what)}, {days} d"
        ours, plain = _best(lambda picture=picture: drawn(picture)), _best(lambda shown=shown: _plots(shown))  # type: ignore[misc]
        figures += [
            (name, ours * 1000.0, plain * 1000.0, "ms"),
            (name, len(drawn(picture)) / KIB, len(_plots(shown)) / KIB, "KiB"),
        ]
    return figures


def _season(whats: Sequence[Quantity], days: int) -> ChartShown:
    """A year or a month of daily readings, a change every two weeks, a top-up every three days."""
    start = NOW - timedelta(days=days)
    panels = []
    for what in whats:
        usual = {"ph": 6.0, "ec_ms_cm": 1.4, "water_temp_c": 20.0, "level_l": 38.0}[what]
        points = tuple(
            Point(start + timedelta(days=day), usual * (1.0 + 0.01 * (day % 7))) for day in range(days + 1)
        )
        band = BandSpan(start, NOW, (0.97 * usual, 1.02 * usual), (0.9 * usual, 1.06 * usual))
        moves = trend(points, (), what, NOW)
        panels.append(ChartPanel(what=what, points=points, bands=(band,), last=points[-1], trend=moves))
    hands = [Hand(start + timedelta(days=day), "top_up") for day in range(0, days, 3)]
    hands += [Hand(start + timedelta(days=day), "water_change") for day in range(0, days, 14)]
    return ChartShown(panels=tuple(panels), hands=tuple(hands), since=start, until=NOW, now=NOW)


def _plots(shown: ChartShown) -> bytes:
    figure = Figure(figsize=(5.0, 1.5 * len(shown.panels) + 1.0), dpi=216)
    for axes, panel in zip(
        figure.subplots(len(shown.panels), squeeze=False)[:, 0], shown.panels, strict=True
    ):
        axes.plot([point.at for point in panel.points], [point.value for point in panel.points], marker="o")
        axes.set_title(panel.what)
    written = io.BytesIO()
    FigureCanvasAgg(figure).print_png(written)
    return written.getvalue()


def _tower(count: int) -> list[Spot]:
    spots = []
    for place in range(count):
        label = f"{'ABCDEFGHIJKL'[place // COLUMNS]}{place % COLUMNS + 1}"
        state = SPOT_STATES[place % len(SPOT_STATES)]
        crop = None if state == "empty" else CROPS[place % len(CROPS)]
        spots.append(Spot(label=label, state=state, crop=crop, days=place if crop else None))
    return spots


def _table(spots: Sequence[Spot]) -> bytes:
    rows = [spots[at : at + COLUMNS] for at in range(0, len(spots), COLUMNS)]
    figure = Figure(figsize=(5.0, len(rows) * 82.0 / 72.0), dpi=216)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    cells = [[f"{s.label}\n{s.crop or ''}\nday {s.days}\n{s.state}" for s in row] for row in rows]
    table = axes.table(cells, loc="center", cellLoc="left")
    table.scale(1.0, 4.0)
    written = io.BytesIO()
    FigureCanvasAgg(figure).print_png(written)
    return written.getvalue()


def _best(run: Callable[[], object], runs: int = RUNS) -> float:
    """Seconds of the quickest run, after one to warm up."""
    run()
    taken = []
    for _ in range(runs):
        start = time.perf_counter()
        run()
        taken.append(time.perf_counter() - start)
    return min(taken)


if __name__ == "__main__":
    for what, ours, plain, unit in measure():
        print(f"{what:20} {ours:8.4g} {plain:8.4g} {unit}")
