"""A sheet to draw on: 360 units wide, y downwards, as wide as a phone; and the sheet as PNG."""

from __future__ import annotations

import io

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image

from bot.rendering.pictures.palette import PAPER

__all__ = ["SCALE", "WIDTH", "new_sheet", "png_of"]

WIDTH = 360.0
"""Of every picture. [units: points of a phone's screen]"""

SCALE = 3
"""Pixels for each unit: phones have two to three."""

_UNITS_PER_INCH = 72.0
"""So that a font size is in units too."""

_COLOURS = 64
"""Enough for a few inks and the edges between them; a third of the bytes of full colour in half the time."""

_COMPRESSION = 3
"""Of zlib's 1 to 9; 6 saves a sixth of the bytes and takes twice the time (measured)."""


def new_sheet(height: float) -> tuple[Figure, Axes]:
    """Empty paper and the axes to draw on, in units from the upper left corner."""
    figure = Figure(
        figsize=(WIDTH / _UNITS_PER_INCH, height / _UNITS_PER_INCH),
        dpi=_UNITS_PER_INCH * SCALE,
        facecolor=PAPER,
    )
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0.0, WIDTH)
    axes.set_ylim(height, 0.0)
    return figure, axes


def png_of(figure: Figure) -> bytes:
    """The figure as PNG. The figure is used up."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()  # type: ignore[no-untyped-call]
    size, buffer = canvas.get_width_height(), canvas.buffer_rgba()  # type: ignore[no-untyped-call]
    pixels = Image.frombuffer("RGBA", size, buffer, "raw", "RGBA", 0, 1).convert("RGB")
    few = pixels.quantize(_COLOURS, method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    written = io.BytesIO()
    few.save(written, "PNG", compress_level=_COMPRESSION)
    figure.clear()
    return written.getvalue()
