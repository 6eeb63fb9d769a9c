"""A chart drawn: panels one above another on one time axis, and under them a row for each kind of hand.

Everything carries what it is as its ``gid``: ``panel pH``, ``points pH``, ``aim pH``, ``mark top_up``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon, Rectangle

from bot.rendering.pictures.chart import Chart, Panel
from bot.rendering.pictures.chart_axes import Scale, time_ticks, value_scale, value_ticks
from bot.rendering.pictures.chart_marks import HAND_MARKS, SIZE, hand_patch
from bot.rendering.pictures.lettering import readable, shortened, width, write
from bot.rendering.pictures.palette import AIM, BARE, BORNE, FAINT, GROUND, INK, PAPER, WATER
from bot.rendering.pictures.sheet import WIDTH, new_sheet
from domain.history import HANDS, HandKind

__all__ = ["chart_figure"]

GUTTER, EDGE = 54.0, 9.0
HEAD, TITLE_ROW, GAP, TIMES, LANE, KEY = 27.0, 19.0, 7.0, 18.0, 20.0, 17.0
PANEL = {1: 190.0, 2: 130.0, 3: 104.0, 4: 88.0}
"""How high the plot of a panel is, by how many there are. [units]"""
TITLE, NAME, BODY, LEAST = 13.0, 12.0, 10.0, 9.5
DOT, SMALL_DOT, MANY = 5.6, 3.6, 60
"""Across a reading; smaller from so many on."""
CROWDED = 14
"""From so many marks on only water changes have a line through the panels."""


def chart_figure(data: Mapping[str, Any]) -> Figure:
    """The figure of a chart.

    data : as ``chart.chart_picture`` wrote it. Raises ValueError where the data is none of a chart.
    """
    chart = Chart.from_json(data)
    lanes = [kind for kind in HANDS if any(mark.kind == kind for mark in chart.marks)]
    high = PANEL[min(len(chart.panels), 4)]
    keys = _keys(chart)
    foot_of_panels = HEAD + len(chart.panels) * (TITLE_ROW + high + GAP)
    foot = foot_of_panels + TIMES + LANE * len(lanes) + KEY * -(-len(keys) // 2) + 5.0
    figure, axes = new_sheet(foot)
    times = Scale(chart.start, chart.end, GUTTER, WIDTH - EDGE)
    write(axes, EDGE, 18.5, "The water", TITLE, strong=True)
    write(axes, WIDTH - EDGE, 18.5, readable(chart.heading), BODY, colour=FAINT, align="right")
    frames = []
    for place, panel in enumerate(chart.panels):
        top = HEAD + place * (TITLE_ROW + high + GAP) + TITLE_ROW
        frames.append((top, top + high))
        _draw_panel(axes, chart, panel, times, top, top + high)
    _draw_times(axes, chart, times, frames)
    for place, kind in enumerate(lanes):
        _draw_lane(axes, chart, kind, times, foot_of_panels + TIMES + LANE * (place + 0.5) - 3.0)
    _draw_keys(axes, keys, foot_of_panels + TIMES + LANE * len(lanes))
    return figure


def _draw_panel(axes: Axes, chart: Chart, panel: Panel, times: Scale, top: float, foot: float) -> None:
    values = value_scale(panel, top, foot)
    _write_title(axes, panel, top - 5.0)
    left, right = times.start, times.end
    ground = Rectangle(
        (left, top), right - left, foot - top, facecolor=GROUND, edgecolor="none", gid=f"panel {panel.name}"
    )
    _put(axes, ground)
    _draw_bands(axes, panel, times, values)
    _draw_grid(axes, chart, times, top, foot)
    for value, text in value_ticks(values):
        y = values(value)
        if y - top > BODY / 2:  # else its figure would touch the title
            _line(axes, (left - 3.0, left), (y, y), FAINT, 0.8, f"tick {panel.name}")
            write(axes, left - 5.0, y + 3.4, text, BODY, align="right")
    _draw_forecast(axes, panel, times, values)
    _draw_points(axes, panel, times, values)
    frame = Rectangle((left, top), right - left, foot - top, fill=False, edgecolor=FAINT, linewidth=0.8)
    _put(axes, frame)


def _write_title(axes: Axes, panel: Panel, y: float) -> None:
    unit = f", {panel.unit}" if panel.unit else ""
    name = f"{panel.name}{unit}"
    write(axes, EDGE, y, name, NAME, strong=True)
    begin = EDGE + width(name, NAME, strong=True) + 8.0
    room = WIDTH - EDGE - begin - width(panel.last, NAME, strong=True) - 8.0
    write(axes, begin, y, shortened(panel.keep, room, BODY), BODY, colour=FAINT)
    write(axes, WIDTH - EDGE, y, panel.last, NAME, strong=True, align="right")


def _draw_bands(axes: Axes, panel: Panel, times: Scale, values: Scale) -> None:
    """The bands of the time: what is borne in a light tone with thin edges, the aim in a darker one."""
    for start, end, bears_low, low, high, bears_high in panel.bands:
        x, wide = times.held(start), times.held(end) - times.held(start)
        if wide <= 0:
            continue
        for ends, colour, gid in (((bears_low, bears_high), BORNE, "borne"), ((low, high), AIM, "aim")):
            foot, top = values.held(ends[0]), values.held(ends[1])
            shade = Rectangle(
                (x, top), wide, foot - top, facecolor=colour, edgecolor="none", gid=f"{gid} {panel.name}"
            )
            _put(axes, shade)
        for end_value in (bears_low, bears_high):
            y = values.held(end_value)
            _line(axes, (x, x + wide), (y, y), WATER, 1.0, f"edge {panel.name}")


def _draw_points(axes: Axes, panel: Panel, times: Scale, values: Scale) -> None:
    trusted = [(times(at), values(value)) for at, value, doubted in panel.points if not doubted]
    doubted = [(times(at), values.held(value)) for at, value, is_so in panel.points if is_so]
    size = DOT if len(panel.points) <= MANY else SMALL_DOT
    if trusted:
        xs, ys = zip(*trusted, strict=True)
        _put(
        axes,
            Line2D(
                xs, ys, color=INK, linewidth=1.1, marker="o", markersize=size, markerfacecolor=INK,
                markeredgewidth=0.0, gid=f"points {panel.name}",
            )
        )  # fmt: skip
    if doubted:
        xs, ys = zip(*doubted, strict=True)
        _put(
        axes,
            Line2D(
                xs, ys, linestyle="none", marker="o", markersize=DOT + 1.0, markerfacecolor=GROUND,
                markeredgecolor=INK, markeredgewidth=1.4, gid=f"doubted {panel.name}",
            )
        )  # fmt: skip
    for at, value, is_so in panel.points:
        if is_so and not values.low <= value <= values.high:
            y = values.held(value) + (11.0 if value > values.high else -5.0)
            write(axes, times(at) + 5.0, y, f"{value:g}", LEAST)


def _draw_forecast(axes: Axes, panel: Panel, times: Scale, values: Scale) -> None:
    """The middle in long dashes, the interval between dots."""
    if not panel.forecast:
        return
    xs = [times.held(at) for at, _, _, _ in panel.forecast]
    lows, middles, highs = (
        [values.held(row[column]) for row in panel.forecast] for column in (1, 2, 3)
    )  # fmt: skip
    outline = [*zip(xs, lows, strict=True), *zip(reversed(xs), reversed(highs), strict=True)]
    _put(
        axes,
        Polygon(
            outline, closed=True, facecolor=WATER, alpha=0.14, edgecolor="none", gid=f"inside {panel.name}"
        ),
    )
    for ys in (lows, highs):
        _line(axes, xs, ys, INK, 0.9, f"interval {panel.name}", (0, (1.0, 2.0)))
    _line(axes, xs, middles, INK, 1.5, f"forecast {panel.name}", (0, (5.0, 2.5)))


def _draw_grid(axes: Axes, chart: Chart, times: Scale, top: float, foot: float) -> None:
    """The days, and a thin line for what was done; under the readings."""
    for at, _ in time_ticks(chart):
        _line(axes, (times(at), times(at)), (top, foot), BARE, 0.8, "grid")
    marks = chart.marks
    if len(marks) > CROWDED:
        marks = tuple(mark for mark in marks if mark.kind == "water_change")
    for mark in marks:
        _line(axes, (times(mark.at), times(mark.at)), (top, foot), FAINT, 0.7, "guide", (0, (1.5, 1.5)))


def _draw_times(axes: Axes, chart: Chart, times: Scale, frames: Sequence[tuple[float, float]]) -> None:
    """The figures of the time axis under the last panel, and a line in each panel where ``now`` stands."""
    foot = frames[-1][1]
    free_from = 0.0
    for at, text in time_ticks(chart):
        x, half = times(at), width(text, BODY) / 2
        _line(axes, (x, x), (foot, foot + 3.0), FAINT, 0.8, "time tick")
        if x - half >= max(free_from, GUTTER - 14.0) and x + half <= WIDTH - 2.0:
            write(axes, x, foot + 12.5, text, BODY, align="center")
            free_from = x + half + 5.0
    if any(panel.forecast for panel in chart.panels):
        x = times(chart.now)
        for top, end in frames:
            _line(axes, (x, x), (top, end), INK, 0.9, "now")
        align = "left" if x + 3.0 + width("now", LEAST) < WIDTH - EDGE else "right"
        write(axes, x + (3.0 if align == "left" else -3.0), frames[0][0] + 10.0, "now", LEAST, align=align)


def _draw_lane(axes: Axes, chart: Chart, kind: HandKind, times: Scale, middle: float) -> None:
    """One row of marks. Those that would cover each other are one mark with their number in it."""
    mark = HAND_MARKS[kind]
    write(axes, GUTTER - 9.5, middle + 3.5, mark.word, LEAST, align="right")
    _line(axes, (times.start, times.end), (middle, middle), FAINT, 0.3, "lane")
    for x, count in _apart([times(each.at) for each in chart.marks if each.kind == kind]):
        _put(axes, hand_patch(kind, x, middle))
        y = middle - SIZE * (mark.letter_y - 0.5) + 3.4
        write(
            axes, x, y, mark.letter if count == 1 else str(count), LEAST, strong=True, colour=PAPER,
            align="center",
        )  # fmt: skip


def _apart(xs: Sequence[float]) -> Iterator[tuple[float, int]]:
    """Places at least a mark apart, each with how many stand there."""
    groups: list[list[float]] = []
    for x in sorted(xs):
        if groups and x - groups[-1][0] < SIZE + 1.0:
            groups[-1].append(x)
        else:
            groups.append([x])
    for group in groups:
        yield min(max(sum(group) / len(group), GUTTER), WIDTH - EDGE), len(group)


def _keys(chart: Chart) -> list[str]:
    """What the legend has to tell, of what is drawn."""
    keys = []
    if any(panel.bands for panel in chart.panels):
        keys += ["aim", "borne"]
    if any(panel.forecast for panel in chart.panels):
        keys.append("forecast")
    if any(doubted for panel in chart.panels for _, _, doubted in panel.points):
        keys.append("doubted")
    counts = [len(list(group)) for _, group in groupby(sorted(mark.kind for mark in chart.marks))]
    return [*keys, "number"] if any(count > 1 for count in counts) and _has_numbers(chart) else keys


def _has_numbers(chart: Chart) -> bool:
    times = Scale(chart.start, chart.end, GUTTER, WIDTH - EDGE)
    return any(
        count > 1
        for kind in HANDS
        for _, count in _apart([times(mark.at) for mark in chart.marks if mark.kind == kind])
    )


MEANINGS: Mapping[str, str] = {
    "aim": "where to aim, by date",
    "borne": "still fine",
    "forecast": "forecast, 8 in 10",
    "doubted": "doubted reading",
    "number": "so many close together",
}


def _draw_keys(axes: Axes, keys: Sequence[str], top: float) -> None:
    for place, key in enumerate(keys):
        row, column = divmod(place, 2)
        x, y = EDGE + column * (WIDTH / 2 - 4.0), top + KEY * row + 12.0
        _draw_sample(axes, key, x, y - 3.5)
        write(axes, x + 28.0, y, MEANINGS[key], BODY)


def _draw_sample(axes: Axes, key: str, x: float, middle: float) -> None:
    gid = f"key {key}"
    if key in ("aim", "borne"):
        colour = AIM if key == "aim" else BORNE
        sample = Rectangle((x, middle - 5.0), 22.0, 10.0, facecolor=colour, edgecolor=WATER, linewidth=0.8)
        sample.set_gid(gid)
        _put(axes, sample)
    elif key == "forecast":
        _line(axes, (x, x + 22.0), (middle, middle), INK, 1.5, gid, (0, (5.0, 2.5)))
        for y in (middle - 4.0, middle + 4.0):
            _line(axes, (x, x + 22.0), (y, y), INK, 0.9, gid, (0, (1.0, 2.0)))
    elif key == "doubted":
        _put(
        axes,
            Line2D(
                [x + 11.0], [middle], linestyle="none", marker="o", markersize=DOT + 1.0,
                markerfacecolor=GROUND, markeredgecolor=INK, markeredgewidth=1.4, gid=gid,
            )
        )  # fmt: skip
    else:
        _put(axes, hand_patch("top_up", x + 11.0, middle))
        write(axes, x + 11.0, middle + 3.4, "3", LEAST, strong=True, colour=PAPER, align="center")


def _line(
    axes: Axes,
    xs: Sequence[float],
    ys: Sequence[float],
    colour: str,
    wide: float,
    gid: str,
    style: Any = "-",
) -> None:
    _put(axes, Line2D(xs, ys, color=colour, linewidth=wide, linestyle=style, gid=gid))


def _put(axes: Axes, artist: Artist) -> None:
    """Draws over all that was put before, and under all text."""
    artist.set_zorder(1.0 + len(axes.get_children()) * 1e-4)
    axes.add_artist(artist)
