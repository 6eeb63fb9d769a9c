"""Letters and colours of every picture: measured, cut, wrapped, and dark enough to be read."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from bot.rendering.pictures.lettering import CUT, readable, shortened, width, wrapped
from bot.rendering.pictures.marks import MARKS
from bot.rendering.pictures.palette import BARE, GROUND, contrast
from domain.sites import SPOT_STATES, SpotState


@given(st.text(max_size=40).map(readable), st.floats(20, 200))
@settings(max_examples=60, deadline=None)
def test_shortened_text_fits_and_begins_alike(text: str, room: float) -> None:
    cut = shortened(text, room, 10.0)
    assert width(cut, 10.0) <= max(room, width(CUT, 10.0))
    assert cut == text or text.startswith(cut.removesuffix(CUT))


def test_wrapped_text_keeps_its_words() -> None:
    lines = wrapped("purple sprouting broccoli", 60.0, 10.0, 3)
    assert list(lines) == ["purple", "sprouting", "broccoli"]
    assert list(wrapped("swiss chard", 200.0, 10.0, 2)) == ["swiss chard"]


@pytest.mark.parametrize("word", ["germinating", "butterhead lettuce", "AVA", "rúcola…"])
def test_measure_is_that_of_the_drawing(word: str) -> None:
    """Beside the width that the drawing library lays out; kerning may make it a little narrower."""
    figure = Figure(dpi=216)
    text = figure.text(0.1, 0.5, word, fontsize=10, parse_math=False)
    FigureCanvasAgg(figure).draw()
    laid_out = text.get_window_extent().width / 3
    assert laid_out - 0.5 <= width(word, 10.0) <= laid_out * 1.12 + 0.5


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [("#000000", "#ffffff", 21.0), ("#767676", "#ffffff", 4.54), ("#777777", "#ffffff", 4.48)],
)
def test_contrast_by_its_definition(one: str, other: str, ratio: float) -> None:
    """WCAG 2.2: 21 at most; #767676 is the lightest grey that passes on white (from memory)."""
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)
    assert contrast(other, one) == contrast(one, other)


@pytest.mark.parametrize("state", SPOT_STATES)
def test_marks_stand_out_from_their_ground(state: SpotState) -> None:
    """3 to 1 for what is drawn and means something (WCAG 2.2, 1.4.11)."""
    assert min(contrast(MARKS[state].colour, ground) for ground in (GROUND, BARE)) >= 3
