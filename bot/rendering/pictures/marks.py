"""A small drawn mark for each state of a site: told apart by shape, in one ink, on a sun-lit phone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from matplotlib.patches import PathPatch
from matplotlib.path import Path

from bot.rendering.pictures.palette import INK, LEAF, LOST, RIPE
from domain.sites import SpotState

__all__ = ["MARKS", "Mark", "mark_patches"]

Point = tuple[float, float]

_STROKE = 0.09
"""Of a mark's lines. [of its size]"""

_ROUND = 0.5523
"""Where the handles of four Bézier curves stand that make a circle: 4/3 (sqrt 2 - 1)."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A drawing in a square of side 1, its foot at y = 0.

    lines : open strokes. leaves : each from its foot to its tip.
    rounds, rings : centre and radius, filled or not.
    """

    colour: str
    lines: Sequence[Sequence[Point]] = ()
    leaves: Sequence[tuple[Point, Point]] = ()
    rounds: Sequence[tuple[Point, float]] = ()
    rings: Sequence[tuple[Point, float]] = ()


_STEM: Sequence[Point] = ((0.5, 0.0), (0.5, 0.62))
_LOW_LEAVES = (((0.5, 0.12), (0.05, 0.38)), ((0.5, 0.12), (0.95, 0.38)))
_HIGH_LEAVES = (((0.5, 0.42), (0.1, 0.78)), ((0.5, 0.42), (0.9, 0.78)))
_PETALS = tuple(
    ((0.5 + 0.21 * x, 0.74 + 0.21 * y), 0.125)
    for x, y in ((0.0, 1.0), (0.95, 0.31), (0.59, -0.81), (-0.59, -0.81), (-0.95, 0.31))
)

MARKS: Mapping[SpotState, Mark] = MappingProxyType(
    {
        "germinating": Mark(LEAF, lines=[((0.0, 0.55), (1.0, 0.55))], rounds=[((0.5, 0.27), 0.17)]),
        "seedling": Mark(
            LEAF,
            lines=[((0.5, 0.0), (0.5, 0.4))],
            leaves=[((0.5, 0.36), (0.12, 0.7)), ((0.5, 0.36), (0.88, 0.7))],
        ),
        "vegetative": Mark(
            LEAF, lines=[_STEM], leaves=[*_LOW_LEAVES, *_HIGH_LEAVES, ((0.5, 0.55), (0.5, 1.05))]
        ),
        "flowering": Mark(
            LEAF,
            lines=[((0.5, 0.0), (0.5, 0.55))],
            leaves=_LOW_LEAVES,
            rounds=_PETALS,
            rings=[((0.5, 0.74), 0.1)],
        ),
        "fruiting": Mark(
            RIPE,
            lines=[((0.2, 0.4), (0.5, 0.95)), ((0.8, 0.3), (0.5, 0.95))],
            leaves=[((0.5, 0.92), (1.0, 0.86))],
            rounds=[((0.2, 0.26), 0.2), ((0.78, 0.2), 0.2)],
        ),
        "past": Mark(
            INK,
            lines=[((0.3, 0.0), (0.3, 0.6), (0.42, 0.85), (0.62, 0.88), (0.74, 0.7))],
            leaves=[((0.74, 0.72), (0.8, 0.2)), ((0.3, 0.3), (0.0, 0.02))],
        ),
        "empty": Mark(INK, rings=[((0.5, 0.4), 0.3)]),
        "lost": Mark(LOST, lines=[((0.12, 0.05), (0.88, 0.81)), ((0.12, 0.81), (0.88, 0.05))]),
    }
)


def mark_patches(state: SpotState, x: float, foot: float, size: float) -> list[PathPatch]:
    """The mark of a state, its lower left corner at (x, foot) on a sheet whose y runs downwards."""
    mark = MARKS[state]

    def at(point: Point) -> Point:
        return x + size * point[0], foot - size * point[1]

    strokes = [Path([at(point) for point in line]) for line in mark.lines]
    strokes += [_circle(at(centre), size * radius) for centre, radius in mark.rings]
    filled = [_leaf(at(base), at(tip)) for base, tip in mark.leaves]
    filled += [_circle(at(centre), size * radius) for centre, radius in mark.rounds]
    patches = []
    if filled:
        whole = Path.make_compound_path(*filled)
        patches.append(PathPatch(whole, facecolor=mark.colour, edgecolor="none", linewidth=0))
    if strokes:
        drawn = Path.make_compound_path(*strokes)
        wide = size * _STROKE * (1.6 if state == "lost" else 1.0)
        patches.append(
            PathPatch(
                drawn, fill=False, edgecolor=mark.colour, linewidth=wide, capstyle="round", joinstyle="round"
            )
        )
    return patches


def _leaf(base: Point, tip: Point) -> Path:
    """A pointed leaf; as wide as a little under half its length."""
    (x0, y0), (x1, y1) = base, tip
    middle_x, middle_y = (x0 + x1) / 2, (y0 + y1) / 2
    out_x, out_y = (y1 - y0) * 0.45, (x0 - x1) * 0.45
    return Path(
        [
            base,
            (middle_x + out_x, middle_y + out_y),
            tip,
            (middle_x - out_x, middle_y - out_y),
            base,
        ],
        [Path.MOVETO, Path.CURVE3, Path.CURVE3, Path.CURVE3, Path.CURVE3],
    )


def _circle(centre: Point, radius: float) -> Path:
    x, y, handle = centre[0], centre[1], radius * _ROUND
    points = [
        (x + radius, y),
        (x + radius, y + handle), (x + handle, y + radius), (x, y + radius),
        (x - handle, y + radius), (x - radius, y + handle), (x - radius, y),
        (x - radius, y - handle), (x - handle, y - radius), (x, y - radius),
        (x + handle, y - radius), (x + radius, y - handle), (x + radius, y),
    ]  # fmt: skip
    return Path(points, [Path.MOVETO] + [Path.CURVE4] * 12)
