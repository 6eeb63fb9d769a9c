"""What a picture costs: the site map as PNG, beside the same words drawn the plain way in the same run.

    python -m benchmarks.pictures

Times are the best of a few warm runs, for everybody uses the machine. The plain way is a table of the drawing
library's own with one cell for each site, written as it writes by default; nobody could read that on a phone.
"""

from __future__ import annotations

import io
import time
from collections.abc import Callable, Sequence

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from bot.rendering.pictures import drawn
from bot.rendering.pictures.site_map import site_map_picture
from domain.sites import SPOT_STATES, Spot

__all__ = ["measure"]

RUNS = 5
CROPS = ("basil", "butterhead lettuce", "pak choi", "cherry tomato")
COLUMNS = 5
KIB = 1024.0


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
    return figures


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
