"""Charts by what is drawn where: axes, points, bands, marks, words. Never by their bytes."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import combinations, pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from bot.assistant.chart_replies import ChartPanel, ChartShown
from bot.assistant.exchange import Letter, Picture
from bot.rendering import Voice, render, to_plain
from bot.rendering.pictures import drawn
from bot.rendering.pictures.chart import MOST_POINTS, chart_picture
from bot.rendering.pictures.chart_figure import chart_figure
from bot.rendering.pictures.chart_marks import HAND_MARKS
from bot.rendering.pictures.palette import AIM, BORNE, FAINT, GROUND, INK, PAPER, WATER, contrast
from domain.bands import Verdict
from domain.forecast import Trend, trend
from domain.history import HANDS, QUANTITIES, BandSpan, Hand, HandKind, Point, Quantity

NOW = datetime(2026, 5, 4, 18, 5, tzinfo=UTC)
METRIC = Voice("metric", None, ZoneInfo("Europe/Lisbon"))
US = Voice("us", 500, ZoneInfo("America/New_York"))
USUAL = {"ph": 6.0, "ec_ms_cm": 1.4, "water_temp_c": 20.0, "level_l": 38.0}
ENDS = {"ph": (5.5, 5.6, 6.2, 6.5), "ec_ms_cm": (0.8, 1.0, 1.6, 1.8), "water_temp_c": (16, 18, 21, 23)}


def ago(days: float) -> datetime:
    return NOW - timedelta(days=days)


def panel(what: Quantity, *values: tuple[float, float], doubted: Sequence[float] = ()) -> ChartPanel:
    """A panel of (days ago, value); today's band from the first reading on."""
    points = [Point(ago(days), value, doubted=days in doubted) for days, value in values]
    trusted = [point for point in points if not point.doubted]
    low, ideal_low, ideal_high, high = ENDS.get(what, (0, 0, 0, 0))
    band = BandSpan(points[0].at, NOW, (ideal_low, ideal_high), (low, high))
    return ChartPanel(
        what=what,
        points=tuple(points),
        bands=(band,) if what in ENDS else (),
        last=trusted[-1] if trusted else points[-1],
        verdict=Verdict(what, trusted[-1].value, "in") if what in ENDS and trusted else None,
        trend=trend(points, (), what, NOW),
    )


def chart(*panels: ChartPanel, hands: Sequence[tuple[float, HandKind]] = (), days: float = 10) -> ChartShown:
    done = tuple(Hand(ago(when), kind) for when, kind in hands)
    return ChartShown(panels=panels, hands=done, since=ago(days), until=NOW, now=NOW)


def daily(what: Quantity, days: int = 10) -> ChartPanel:
    rising = ((back, USUAL[what] * (1.05 - 0.004 * back)) for back in range(days, -1, -1))
    return panel(what, *rising)


def everything() -> ChartShown:
    """All panels, every kind of hand, some close together, and a slip."""
    odd = panel(
        "ph", *((back, 6.3 - 0.04 * back) for back in range(10, 3, -1)), (3, 2.1), (1, 6.4), doubted=[3]
    )
    others = [daily(what) for what in QUANTITIES if what != "ph"]
    hands = [(9 - place, kind) for place, kind in enumerate(HANDS)]
    return chart(odd, *others, hands=[*hands, (8.95, "ph_down"), (8.9, "ph_down")])


@dataclass(frozen=True)
class Drawing:
    """A figure and where its parts are. [pixels, y upwards]"""

    figure: Figure

    @classmethod
    def of(cls, shown: ChartShown, voice: Voice = METRIC) -> Drawing:
        picture = render(shown, voice).picture
        assert picture is not None
        figure = chart_figure(picture.data)
        FigureCanvasAgg(figure).draw()
        return cls(figure)

    def all(self, gid: str) -> list[Artist]:
        return list(self.figure.findobj(lambda artist: artist.get_gid() == gid))

    def frame(self, name: str) -> Bbox:
        (ground,) = self.all(f"panel {name}")
        return ground.get_window_extent()

    def places(self, gid: str) -> np.ndarray:
        """Where the points of a line stand."""
        lines = [artist for artist in self.all(gid) if isinstance(artist, Line2D)]
        return np.vstack([line.get_transform().transform(line.get_xydata()) for line in lines])

    def texts(self) -> list[Text]:
        return [text for text in self.figure.findobj(Text) if isinstance(text, Text) and text.get_text()]

    def words(self) -> list[str]:
        return [text.get_text() for text in self.texts()]

    def text(self, words: str) -> Bbox:
        return next(text.get_window_extent() for text in self.texts() if text.get_text() == words)


def test_a_panel_for_each_value_one_above_another_on_one_time_axis() -> None:
    drawing = Drawing.of(chart(*(daily(what) for what in QUANTITIES)))
    frames = [drawing.frame(name) for name in ("pH", "Strength", "Water", "Level")]
    assert len({(frame.x0, frame.x1) for frame in frames}) == 1
    for above, below in pairwise(frames):
        assert above.y0 > below.y1
    for words in ("pH", "Strength, mS/cm", "Water, °C", "Level, L"):
        assert words in drawing.words()


def test_readings_stand_where_the_figures_of_the_axes_say() -> None:
    """Interpolated between the figures that are written along the axes."""
    drawing = Drawing.of(chart(panel("ph", (10, 5.7), (5, 6.1), (3, 6.2), (0, 6.4))))
    rows = [(_middle(drawing.text(text))[1], float(text)) for text in ("5.5", "6.0", "6.5")]
    columns = [
        (_middle(drawing.text(f"{day} Apr"))[0], datetime(2026, 4, day, tzinfo=ZoneInfo("Europe/Lisbon")))
        for day in (25, 29)
    ]
    frame = drawing.frame("pH")
    per_day = (columns[-1][0] - columns[0][0]) / 4
    for (x, y), (days, value) in zip(
        drawing.places("points pH"), ((10, 5.7), (5, 6.1), (3, 6.2), (0, 6.4)), strict=True
    ):
        across = columns[0][0] + per_day * ((ago(days) - columns[0][1]) / timedelta(days=1))
        assert x == pytest.approx(across, abs=4)
        height = np.interp(value, [each for _, each in rows], [place for place, _ in rows])
        assert y == pytest.approx(height, abs=4)
        assert frame.contains(x, y)


def test_bands_lie_where_their_ends_are_and_only_over_their_time() -> None:
    early, late = (
        BandSpan(ago(10), ago(5), (5.8, 6.0), (5.6, 6.4)),
        BandSpan(ago(5), NOW, (6.0, 6.2), (5.8, 6.6)),
    )
    shown = panel("ph", (10, 5.7), (5, 6.1), (0, 6.4))
    drawing = Drawing.of(chart(ChartPanel(**{**_fields(shown), "bands": (early, late)})))
    aims = [shade.get_window_extent() for shade in drawing.all("aim pH")]
    borne = [shade.get_window_extent() for shade in drawing.all("borne pH")]
    first, middle, last = drawing.places("points pH")
    assert [round(shade.x0) for shade in aims] == [round(first[0]), round(middle[0])]
    assert [round(shade.x1) for shade in aims] == [round(middle[0]), round(last[0])]
    for aim, wide in zip(aims, borne, strict=True):
        assert wide.y0 < aim.y0 < aim.y1 < wide.y1
    assert aims[1].y0 == pytest.approx(aims[0].y1, abs=1)  # both at 6.0
    assert len({round(y) for _, y in drawing.places("edge pH")}) == 4


def test_what_is_doubted_is_hollow_and_stands_apart() -> None:
    drawing = Drawing.of(chart(panel("ph", (4, 6.0), (3, 2.1), (2, 6.1), (0, 6.2), doubted=[3])))
    (hollow,) = drawing.all("doubted pH")
    (full,) = drawing.all("points pH")
    assert isinstance(hollow, Line2D)
    assert isinstance(full, Line2D)
    assert (hollow.get_linestyle(), to_hex(hollow.get_markerfacecolor())) == ("None", GROUND)
    assert len(full.get_xydata()) == 3
    frame = drawing.frame("pH")
    ((_, y),) = drawing.places("doubted pH")
    assert y == pytest.approx(frame.y0, abs=1)  # far off: held at the rim, with its figure
    assert {"2.1", "doubted reading"} <= set(drawing.words())


def test_each_kind_of_hand_has_a_row_a_shape_and_a_letter_of_its_own() -> None:
    hands = [(9.0 - place, kind) for place, kind in enumerate(HANDS)]
    drawing = Drawing.of(chart(daily("ph"), hands=hands))
    heights = {}
    for place, kind in enumerate(HANDS):
        (mark,) = drawing.all(f"mark {kind}")
        assert isinstance(mark, Patch)
        box = mark.get_window_extent()
        letter = [text for text in drawing.texts() if text.get_text() == HAND_MARKS[kind].letter]
        assert any(box.contains(*_middle(text.get_window_extent())) for text in letter), kind
        word = drawing.text(HAND_MARKS[kind].word)
        assert word.y0 < _middle(box)[1] < word.y1
        guide = drawing.places("guide")[2 * place]
        assert _middle(box)[0] == pytest.approx(guide[0], abs=2)
        heights[kind] = round(_middle(word)[1])
    assert len(set(heights.values())) == len(HANDS)
    assert len({HAND_MARKS[kind].letter for kind in HANDS}) == len(HANDS)
    outlines = {tuple(HAND_MARKS[kind].outline) for kind in HANDS}
    assert len(outlines) == len(HANDS)


def test_hands_close_together_are_one_mark_with_their_number() -> None:
    drawing = Drawing.of(
        chart(daily("ph"), hands=[(5, "top_up"), (4.95, "top_up"), (4.9, "top_up"), (1, "top_up")])
    )
    marks = [mark.get_window_extent() for mark in drawing.all("mark top_up")]
    assert len(marks) == 3  # two in the row, one in the legend
    inside = [
        text.get_text()
        for text in drawing.texts()
        if any(box.contains(*_middle(text.get_window_extent())) for box in marks)
    ]
    assert sorted(inside) == ["3", "3", "T"]
    assert "so many close together" in drawing.words()


def test_the_forecast_goes_on_in_dashes_between_dots() -> None:
    shown = chart(daily("ph"))
    drawing = Drawing.of(shown)
    assert isinstance(shown.panels[0].trend, Trend)
    (middle,) = drawing.all("forecast pH")
    assert isinstance(middle, Line2D)
    assert middle.is_dashed()
    line, bounds = drawing.places("forecast pH"), drawing.places("interval pH")
    last = drawing.places("points pH")[-1]
    assert line[0][0] == pytest.approx(last[0], abs=1)
    assert line[-1][0] == pytest.approx(drawing.frame("pH").x1, abs=1)
    assert bounds[:, 1].min() < line[-1][1] < bounds[:, 1].max()
    assert {"now", "forecast, 8 in 10"} <= set(drawing.words())


def test_without_a_trend_nothing_is_foretold() -> None:
    drawing = Drawing.of(chart(panel("ph", (3, 6.0), (1, 6.1))))
    assert not drawing.all("forecast pH")
    assert not {"now", "forecast, 8 in 10"} & set(drawing.words())


@pytest.mark.parametrize(
    "shown",
    [
        everything(),
        chart(daily("ph")),
        chart(panel("level_l", (0.01, 40.0)), days=0.1),
        chart(daily("ph", 700), days=700),
    ],
    ids=["everything", "one", "an hour", "two years"],
)
@pytest.mark.parametrize("voice", [METRIC, US], ids=["metric", "us"])
def test_letters_are_large_dark_and_nowhere_over_each_other(shown: ChartShown, voice: Voice) -> None:
    """At least 9 of the 360 units of a phone's width (common practice); all inside the sheet."""
    drawing = Drawing.of(shown, voice)
    sheet = drawing.figure.bbox
    frames = [(text.get_text(), text.get_window_extent()) for text in drawing.texts()]
    for text in drawing.texts():
        assert text.get_fontsize() >= 9, text.get_text()
        assert to_hex(text.get_color()) in (INK, FAINT, PAPER)
    for said, frame in frames:
        assert sheet.x0 <= frame.x0 < frame.x1 <= sheet.x1, said
        assert sheet.y0 <= frame.y0 < frame.y1 <= sheet.y1, said
    for (one, a), (other, b) in combinations(frames, 2):
        across, along = min(a.x1, b.x1) - max(a.x0, b.x0), min(a.y1, b.y1) - max(a.y0, b.y0)
        assert across <= 0 or along < 0.3 * min(a.height, b.height), (one, other)


def test_everything_drawn_stands_out_from_its_ground() -> None:
    """WCAG 2.2: 4.5 to 1 for writing (1.4.3), 3 to 1 for what is drawn and means something (1.4.11)."""
    for ground in (PAPER, GROUND, AIM, BORNE):
        assert contrast(INK, ground) >= 4.5
        assert contrast(WATER, ground) >= 3
        assert contrast(FAINT, ground) >= 3
    for ground in (PAPER, GROUND):
        assert contrast(FAINT, ground) >= 4.5


def test_figures_are_in_the_units_and_on_the_clock_of_the_household() -> None:
    letter = render(chart(*(daily(what) for what in QUANTITIES)), US)
    assert letter.picture is not None
    strength, warmth, level = letter.picture.data["panels"][1:]
    assert (strength["unit"], strength["points"][-1][1]) == ("ppm", pytest.approx(1.4 * 1.05 * 500))
    assert (warmth["unit"], warmth["points"][-1][1]) == ("°F", pytest.approx(21 * 1.8 + 32))
    assert (level["unit"], level["points"][-1][1]) == (
        "gal",
        pytest.approx(38 * 1.05 / 3.785411784, abs=1e-3),
    )
    assert letter.picture.data["zone"] == "America/New_York"


def test_midnights_are_the_households_own() -> None:
    drawing = Drawing.of(chart(panel("ph", (0.5, 6.0), (0.25, 6.1), (0, 6.2)), days=0.5), US)
    # 18:05 in UTC is 14:05 in New York, and the forecast looks three hours ahead.
    clocks = [word for word in drawing.words() if word.endswith(":00")]
    assert clocks == ["03:00", "06:00", "09:00", "12:00", "15:00"]


def test_the_caption_says_the_same_in_words() -> None:
    text = to_plain(render(everything(), METRIC).html)
    first, ph, strength, water, level, *rest = text.splitlines()
    assert first == "Fri 24 Apr to Mon 4 May."
    assert ph.startswith("pH 6.4, in band. Up 0.04 a day.")
    assert strength.startswith("EC 1.5, in band.")
    assert water.startswith("21 °C, in band.")
    assert level.startswith("40 L.")
    assert len(rest) <= 2


def test_of_a_long_time_the_extremes_are_drawn() -> None:
    values = [(back / 24, 6.0 + 0.1 * np.sin(back)) for back in range(2000, 0, -1)]
    values[777] = (values[777][0], 6.9)
    values[1200] = (values[1200][0], 5.1)
    picture = render(chart(panel("ph", *values), days=90), METRIC).picture
    assert picture is not None
    kept = [value for _, value, _ in picture.data["panels"][0]["points"]]
    assert len(kept) <= MOST_POINTS + 4
    assert (min(kept), max(kept)) == (5.1, 6.9)


def test_specification_is_small_and_survives_the_outbox() -> None:
    letter = render(everything(), METRIC)
    kept = json.dumps(letter.as_json())
    assert len(kept) < 12_000
    assert Letter.from_json(json.loads(kept)) == letter


@pytest.mark.parametrize("data", [{}, {"panels": []}, {"panels": [{"name": "pH"}], "marks": []}])
def test_data_that_is_no_chart_is_refused(data: dict) -> None:
    with pytest.raises(ValueError, match="chart"):
        drawn(Picture("chart", data))


def test_a_chart_is_a_png_of_a_phones_width() -> None:
    shown = chart(daily("ph"))
    picture = chart_picture(shown, METRIC, "ten days", {"ph": ("pH", "keep 5.5–6.5", "6.3")})
    png = drawn(picture)
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    assert int.from_bytes(png[16:20]) == 1080


def _fields(shown: ChartPanel) -> dict:
    return {name: getattr(shown, name) for name in ChartPanel.__dataclass_fields__}


def _middle(frame: Bbox) -> tuple[float, float]:
    return (frame.x0 + frame.x1) / 2, (frame.y0 + frame.y1) / 2
