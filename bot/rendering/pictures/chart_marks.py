"""A shape and a letter for each thing that is done to the water: told apart without any colour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from matplotlib.patches import Polygon

from bot.rendering.pictures.palette import INK
from domain.history import HandKind

__all__ = ["HAND_MARKS", "SIZE", "HandMark", "hand_patch"]

SIZE = 16.0
"""Of a mark, across. [units of the sheet]"""

_ROUND = tuple(
    (0.5 + 0.5 * x, 0.5 + 0.5 * y)
    for x, y in (
        (1.0, 0.0), (0.92, 0.38), (0.71, 0.71), (0.38, 0.92), (0.0, 1.0), (-0.38, 0.92), (-0.71, 0.71),
        (-0.92, 0.38), (-1.0, 0.0), (-0.92, -0.38), (-0.71, -0.71), (-0.38, -0.92), (0.0, -1.0),
        (0.38, -0.92), (0.71, -0.71), (0.92, -0.38),
    )
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class HandMark:
    """How one kind is drawn.

    outline : in a square of side 1, y upwards.
    letter, letter_y : what stands in it, and how high its middle is.
    word : what its row is called.
    """

    outline: tuple[tuple[float, float], ...]
    letter: str
    letter_y: float
    word: str


HAND_MARKS: Mapping[HandKind, HandMark] = MappingProxyType(
    {
        "ph_down": HandMark(((-0.08, 0.98), (1.08, 0.98), (0.5, -0.08)), "D", 0.62, "pH down"),
        "ph_up": HandMark(((-0.08, 0.02), (1.08, 0.02), (0.5, 1.08)), "U", 0.33, "pH up"),
        "nutrient": HandMark(((0.06, 0.06), (0.94, 0.06), (0.94, 0.94), (0.06, 0.94)), "F", 0.5, "feed"),
        "other": HandMark(
            ((0.25, 0.0), (0.75, 0.0), (1.0, 0.5), (0.75, 1.0), (0.25, 1.0), (0.0, 0.5)), "O", 0.5, "other"
        ),
        "top_up": HandMark(_ROUND, "T", 0.5, "top-up"),
        "water_change": HandMark(((0.5, -0.12), (1.12, 0.5), (0.5, 1.12), (-0.12, 0.5)), "W", 0.5, "change"),
    }
)


def hand_patch(kind: HandKind, x: float, middle: float) -> Polygon:
    """The shape of one kind, its middle at (x, middle) on a sheet whose y runs downwards."""
    outline = [
        (x + SIZE * (across - 0.5), middle - SIZE * (up - 0.5)) for across, up in HAND_MARKS[kind].outline
    ]
    return Polygon(outline, closed=True, facecolor=INK, edgecolor="none", gid=f"mark {kind}")
