"""The site map drawn: boxes in rows on a rill of water, each with what stands there and how it is."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import FancyBboxPatch, PathPatch, Polygon
from matplotlib.path import Path

from bot.rendering.pictures.lettering import readable, shortened, width, wrapped, write
from bot.rendering.pictures.marks import mark_patches
from bot.rendering.pictures.palette import BARE, FAINT, GROUND, INK, LOST, WATER
from bot.rendering.pictures.sheet import WIDTH, new_sheet
from bot.rendering.pictures.site_map import Block, SiteMap, arranged
from domain.plots import spoken
from domain.site_tasks import SITE_TASKS, SiteTask
from domain.sites import SPOT_STATES, Spot, SpotState

__all__ = ["MEANINGS", "OUTLINES", "TASKS", "Outline", "site_map_figure"]

MARGIN = 7.0
GAP = 4.0
PAD = 4.5
WIDEST_BOX = 112.0
HEAD = 28.0
BLOCK_GAP = 8.0
LEGEND_LINE = 21.0
MARK, KEY_MARK = 15.0, 10.5
FLAG = 15.0
"""Height of the bar that says what there is to do."""
RILL = 6.0
"""Height of the water under a row."""

MANY = 40
"""From so many sites on a crop gets one line instead of two, so that the map still fits a phone."""

TITLE, LABEL, BODY, SMALL, LEAST = 13.0, 12.0, 10.5, 10.0, 9.0
"""Sizes of letters; ``LEAST`` is the smallest that is read with ease on a phone (common practice: 9)."""


@dataclass(frozen=True, slots=True)
class Outline:
    """How a box is drawn round. ``dashes``: on and off, in widths of the line; empty for a full line."""

    wide: float
    dashes: tuple[float, ...] = ()
    doubled: bool = False


OUTLINES: Mapping[SpotState, Outline] = MappingProxyType(
    {
        "germinating": Outline(1.4, (0.5, 1.4)),
        "seedling": Outline(1.3, (3.0, 1.7)),
        "vegetative": Outline(1.1),
        "flowering": Outline(0.9, doubled=True),
        "fruiting": Outline(2.4),
        "past": Outline(1.2, (5.0, 1.6, 1.0, 1.6)),
        "empty": Outline(0.7),
        "lost": Outline(1.3, (1.7, 3.4)),
    }
)

MEANINGS: Mapping[SpotState, str] = MappingProxyType(
    {
        "germinating": "sown, not up yet",
        "seedling": "up, first leaves",
        "vegetative": "growing leaves",
        "flowering": "in flower or bolting",
        "fruiting": "bears fruit",
        "past": "past its harvest",
        "empty": "nothing stands here",
        "lost": "what stood here died",
    }
)
"""The legend: every state in words."""


TASKS: Mapping[SiteTask, str] = MappingProxyType(
    {
        "sow again": "not up in time",
        "thin": "leave the strongest one",
        "move": "big enough for the tank",
        "pick": "the first harvest is due",
        "look": "should be coming up",
    }
)
"""The legend of what there is to do."""


@dataclass(frozen=True, slots=True)
class _Box:
    """Where one site is drawn: its upper left corner and its size."""

    x: float
    y: float
    wide: float
    high: float

    @property
    def room(self) -> float:
        return self.wide - 2 * PAD


@dataclass(frozen=True, slots=True)
class _Size:
    """Of the boxes of one map. ``flagged``: some say what there is to do, below all else."""

    crop_lines: int
    flagged: bool

    @property
    def box_high(self) -> float:
        return 48.0 + 12.0 * self.crop_lines + (FLAG if self.flagged else 0)

    def of(self, block: Block) -> float:
        """The height of a block."""
        return block.rows * (self.box_high + RILL + GAP)


def site_map_figure(data: Mapping[str, Any]) -> Figure:
    """The figure of a site map.

    data : as ``site_map.site_map_picture`` wrote it.
    Boxes, marks and outlines carry what they are of as their ``gid``: ``box A1``, ``mark A1``.
    Raises ValueError where the data is none of a site map.
    """
    shown = SiteMap.from_json(data)
    blocks = arranged(shown.spots)
    crop_lines = _crop_lines(shown, blocks)
    states = [state for state in SPOT_STATES if any(spot.state == state for spot in shown.spots)]
    notes = _notes(shown)
    tasks = [task for task in SITE_TASKS if any(spot.task == task for spot in shown.spots)]
    size = _Size(crop_lines, flagged=bool(tasks))
    height = HEAD + sum(size.of(block) + BLOCK_GAP for block in blocks)
    figure, axes = new_sheet(height + LEGEND_LINE * (len(tasks) + len(states) + len(notes)) + MARGIN)
    write(axes, MARGIN, 19.0, "What stands where", TITLE, strong=True)
    write(axes, WIDTH - MARGIN, 19.0, readable(shown.day), SMALL, colour=FAINT, align="right")
    top = HEAD
    for block in blocks:
        _draw_block(axes, block, top, size)
        top += size.of(block) + BLOCK_GAP
    _draw_tasks(axes, tasks, top)
    _draw_legend(axes, states, notes, top + LEGEND_LINE * len(tasks))
    return figure


def _draw_block(axes: Axes, block: Block, top: float, size: _Size) -> None:
    wide, high = _box_width(block), size.box_high
    for row in range(block.rows):
        _draw_rill(axes, top + row * (high + RILL + GAP) + high)
    for place in block.places:
        x = MARGIN + place.column * (wide + GAP)
        box = _Box(x, top + place.row * (high + RILL + GAP), wide, high)
        _draw_outline(axes, box, place.spot.state, f"box {place.spot.label}")
        _fill_box(axes, box, place.spot, size)
        if place.spot.task is not None:
            flag = _Box(x, box.y + high - FLAG, wide, FLAG)
            _draw_flag(axes, flag, place.spot.task, f"flag {place.spot.label}")


def _draw_outline(axes: Axes, box: _Box, state: SpotState, gid: str) -> None:
    outline = OUTLINES[state]
    ground = BARE if state in ("empty", "lost") else GROUND
    edge = LOST if state == "lost" else INK
    # The line lies inside the box, so that neighbours keep their distance however bold they are.
    for inset in (outline.wide / 2, outline.wide / 2 + 1.9) if outline.doubled else (outline.wide / 2,):
        drawn = FancyBboxPatch(
            (box.x + inset, box.y + inset),
            box.wide - 2 * inset,
            box.high - 2 * inset,
            boxstyle="round,pad=0,rounding_size=5",
            facecolor=ground,
            edgecolor=edge,
            linewidth=outline.wide,
            linestyle=(0, outline.dashes) if outline.dashes else "solid",
            capstyle="round" if outline.dashes else "butt",
            gid=gid,
        )
        axes.add_artist(drawn)


def _draw_flag(axes: Axes, box: _Box, task: SiteTask, gid: str) -> None:
    """A dark bar with a pointer and what there is to do."""
    bar = FancyBboxPatch(
        (box.x, box.y),
        box.wide,
        box.high,
        boxstyle="round,pad=0,rounding_size=4",
        facecolor=INK,
        edgecolor=INK,
        linewidth=0.0,
        gid=gid,
    )
    axes.add_artist(bar)
    left, middle = box.x + PAD, box.y + box.high / 2
    pointer = [(left, middle - 3.6), (left + 5.5, middle), (left, middle + 3.6)]
    axes.add_artist(Polygon(pointer, closed=True, facecolor=GROUND, edgecolor=GROUND, linewidth=0.0))
    room = box.room - 9
    _write_fitted(axes, left + 9, box.y + box.high - 4, task, room, BODY, colour=GROUND, strong=True)


def _fill_box(axes: Axes, box: _Box, spot: Spot, size: _Size) -> None:
    left, bare = box.x + PAD, spot.state == "empty"
    label = f"row {spot.label[:-1]}" if spot.label.endswith("*") else spoken(spot.label)
    label = shortened(readable(label), box.room - MARK - 2, LABEL, strong=True)
    write(axes, left, box.y + 15, label, LABEL, strong=True)
    _draw_mark(axes, spot.state, box.x + box.wide - PAD - MARK, box.y + 18, f"mark {spot.label}")
    foot = box.y + box.high - 7 - (FLAG if size.flagged else 0)
    _write_fitted(axes, left, foot, spot.state, box.room, colour=FAINT if bare else INK)
    # Without an age its line is the crop's.
    lines = size.crop_lines + (spot.days is None)
    others = f"+{spot.others}" if spot.others else ""
    if spot.days is not None:
        age = f"day {spot.days}, {others}" if others and lines == 1 else f"day {spot.days}"
        _write_fitted(axes, left, foot - 12, age, box.room)
    own_line = [f"{others} more"] if others and lines > 1 else []
    crop = (
        wrapped(readable(spot.crop), box.room, BODY, lines - len(own_line), least=LEAST) if spot.crop else ()
    )
    for at, text in enumerate([*crop, *own_line]):
        _write_fitted(axes, left, box.y + 29 + 12 * at, text, box.room, BODY)


def _draw_mark(axes: Axes, state: SpotState, x: float, foot: float, gid: str, size: float = MARK) -> None:
    for patch in mark_patches(state, x, foot, size):
        patch.set_gid(gid)
        axes.add_artist(patch)


def _draw_rill(axes: Axes, y: float) -> None:
    """A line of small waves under a row."""
    middle, wave = y + RILL / 2 + 0.5, 12.0
    points = [(0.0, middle)]
    for at in range(math.ceil(WIDTH / wave)):
        side = -1 if at % 2 else 1
        points += [(wave * (at + 0.5), middle + side * 3.0), (wave * (at + 1), middle)]
    codes = [Path.MOVETO] + [Path.CURVE3] * (len(points) - 1)
    axes.add_artist(PathPatch(Path(points, codes), fill=False, edgecolor=WATER, linewidth=1.1, gid="rill"))


def _draw_tasks(axes: Axes, tasks: list[SiteTask], top: float) -> None:
    """What there is to do, in words, before what the states mean."""
    for at, task in enumerate(tasks):
        y = top + LEGEND_LINE * at
        wide = width(task, BODY, strong=True) + 2 * PAD + 9
        _draw_flag(axes, _Box(MARGIN, y + 1, wide, FLAG), task, f"key {task}")
        write(axes, MARGIN + wide + 6, y + 13.5, TASKS[task], BODY, colour=FAINT)


def _draw_legend(axes: Axes, states: list[SpotState], notes: list[str], top: float) -> None:
    for at, state in enumerate(states):
        y = top + LEGEND_LINE * at
        _draw_outline(axes, _Box(MARGIN, y, 26.0, LEGEND_LINE - 2), state, f"key {state}")
        _draw_mark(axes, state, MARGIN + 7.5, y + 13.5, f"key {state}", KEY_MARK)
        write(axes, MARGIN + 34, y + 13.5, state, BODY, strong=True)
        past = width(state, BODY, strong=True) + 6
        write(axes, MARGIN + 34 + past, y + 13.5, MEANINGS[state], BODY, colour=FAINT)
    for at, note in enumerate(notes):
        write(axes, MARGIN, top + LEGEND_LINE * (len(states) + at) + 13, note, BODY, colour=FAINT)


def _notes(shown: SiteMap) -> list[str]:
    notes = ["Days count from seed."] if any(spot.days is not None for spot in shown.spots) else []
    if shown.left_out:
        notes.append(f"{shown.left_out} more sites are not drawn.")
    return notes


def _write_fitted(
    axes: Axes,
    x: float,
    y: float,
    text: str,
    room: float,
    size: float = SMALL,
    *,
    colour: str = INK,
    strong: bool = False,
) -> None:
    """Text a little smaller where that makes it fit, and shortened where it must be."""
    size = min(size, max(LEAST, size * room / width(text, size, strong=strong)))
    write(axes, x, y, shortened(text, room, size, strong=strong), size, colour=colour, strong=strong)


def _box_width(block: Block) -> float:
    return min(WIDEST_BOX, (WIDTH - 2 * MARGIN - GAP * (block.columns - 1)) / block.columns)


def _crop_lines(shown: SiteMap, blocks: tuple[Block, ...]) -> int:
    """Two where a crop needs them and there is room."""
    if len(shown.spots) > MANY:
        return 1
    return 2 if any(_needs_two(block) for block in blocks) else 1


def _needs_two(block: Block) -> bool:
    room = _box_width(block) - 2 * PAD
    return any(spot.others or width(readable(spot.crop), BODY) > room for spot in _with_crop(block))


def _with_crop(block: Block) -> Iterator[Any]:
    return (place.spot for place in block.places if place.spot.crop is not None)
