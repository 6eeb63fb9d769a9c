"""The site map by what is drawn where: boxes, marks, words. Never by its bytes."""

from __future__ import annotations

import json
import struct
import subprocess
import sys
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Any

import matplotlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.patches import FancyBboxPatch, Patch
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from bot.assistant.exchange import Letter, Picture
from bot.rendering.pictures import UnknownPicture, drawn
from bot.rendering.pictures.lettering import CUT, UNSHOWN, readable
from bot.rendering.pictures.marks import MARKS
from bot.rendering.pictures.palette import PAPER, contrast
from bot.rendering.pictures.site_map import MOST_SPOTS, arranged, site_map_picture
from bot.rendering.pictures.site_map_figure import MEANINGS, OUTLINES, TASKS, site_map_figure
from domain.site_tasks import SITE_TASKS
from domain.sites import SPOT_STATES, Spot, SpotState

LONG = "purple sprouting perennial broccoli of grandmother"
CROPS = ("basil", "butterhead lettuce", LONG, "supercalifragilistic", "cherry tomato")


def spot(label: str, state: SpotState = "vegetative", crop: str | None = "basil", **more: Any) -> Spot:
    return Spot(label=label, state=state, crop=crop, **more)


def tower(rows: str, columns: int) -> list[Spot]:
    """A full tower, every state and many lengths of name in it."""
    labels = [f"{row}{column}" for row in rows for column in range(1, columns + 1)]
    return [some_spot(label, place) for place, label in enumerate(labels)]


def some_spot(label: str, place: int) -> Spot:
    state = SPOT_STATES[place % len(SPOT_STATES)]
    if state == "empty":
        return Spot(label=label, state=state)
    crop = CROPS[place % len(CROPS)]
    days = None if state == "lost" else place * 3
    task = (*SITE_TASKS, None)[place % (len(SITE_TASKS) + 1)]
    return Spot(label=label, state=state, crop=crop, days=days, others=int(place % 7 == 0), task=task)


@dataclass(frozen=True)
class Drawing:
    """A figure, and where its parts are. [pixels, y upwards]"""

    figure: Figure

    @classmethod
    def of(cls, spots: Iterable[Spot]) -> Drawing:
        figure = site_map_figure(site_map_picture(list(spots), "Mon 4 May").data)
        FigureCanvasAgg(figure).draw()
        return cls(figure)

    def parts(self, gid: str) -> list[Patch]:
        found = self.figure.findobj(lambda artist: isinstance(artist, Patch) and artist.get_gid() == gid)
        return [part for part in found if isinstance(part, Patch)]

    def box(self, label: str) -> Bbox:
        return self.parts(f"box {label}")[0].get_window_extent()

    def texts(self) -> list[Text]:
        return [text for text in self.figure.findobj(Text) if isinstance(text, Text) and text.get_text()]

    def texts_in(self, frame: Bbox) -> list[str]:
        """What stands in a frame, from the top."""
        inside = [text for text in self.texts() if frame.fully_contains(*_middle(text.get_window_extent()))]
        return [text.get_text() for text in sorted(inside, key=lambda text: -text.get_window_extent().y0)]

    def ground_under(self, text: Text) -> str:
        at = _middle(text.get_window_extent())
        boxes = [box for box in self.figure.findobj(FancyBboxPatch) if isinstance(box, Patch)]
        under = [box for box in boxes if box.get_window_extent().fully_contains(*at)]
        return to_hex(under[-1].get_facecolor()) if under else PAPER


def _middle(frame: Bbox) -> tuple[float, float]:
    return (frame.x0 + frame.x1) / 2, (frame.y0 + frame.y1) / 2


def test_each_box_says_its_site_crop_age_and_state() -> None:
    drawing = Drawing.of(
        [
            spot("A1", "germinating", days=3),
            spot("A2", "fruiting", "cherry tomato", days=81),
            spot("A3", "empty", None),
            spot("B1", "lost", "dill"),
            spot("B2", "vegetative", "mint"),
        ]
    )
    assert drawing.texts_in(drawing.box("A1")) == ["A1", "basil", "day 3", "germinating"]
    assert drawing.texts_in(drawing.box("A2")) == ["A2", "cherry tomato", "day 81", "fruiting"]
    assert drawing.texts_in(drawing.box("A3")) == ["A3", "empty"]
    assert drawing.texts_in(drawing.box("B1")) == ["B1", "dill", "lost"]
    assert drawing.texts_in(drawing.box("B2")) == ["B2", "mint", "vegetative"]


def test_what_there_is_to_do_is_said_in_a_bar_below_the_state_and_in_the_legend() -> None:
    drawing = Drawing.of(
        [spot("A1", days=30, task="thin"), spot("A2", "germinating", days=9, task="sow again"), spot("A3")]
    )
    assert drawing.texts_in(drawing.box("A1")) == ["A1", "basil", "day 30", "vegetative", "thin"]
    assert drawing.texts_in(drawing.parts("flag A2")[0].get_window_extent()) == ["sow again"]
    assert drawing.parts("flag A3") == []
    said = {text.get_text() for text in drawing.texts()}
    assert {TASKS["thin"], TASKS["sow again"]} <= said
    assert TASKS["pick"] not in said


def test_a_map_without_anything_to_do_needs_no_room_for_it() -> None:
    plain, flagged = (Drawing.of([spot("A1", task=task)]) for task in (None, "pick"))
    assert flagged.box("A1").height > plain.box("A1").height
    assert set(TASKS) == set(SITE_TASKS)


def test_a_tray_is_named_as_one_says_it() -> None:
    drawing = Drawing.of([spot("TRAY", "seedling", days=9, task="move"), spot("A1", "empty", None)])
    assert drawing.texts_in(drawing.box("TRAY"))[0] == "the tray"


def test_a_letter_that_waited_without_tasks_is_still_drawn() -> None:
    data = {"day": "Mon 4 May", "spots": [["A1", "seedling", "basil", 9, 0]], "left_out": 0}
    assert isinstance(site_map_figure(data), Figure)


def test_several_plantings_at_one_site_are_counted() -> None:
    drawing = Drawing.of([spot("A1", days=9, others=2)])
    assert drawing.texts_in(drawing.box("A1")) == ["A1", "basil", "+2 more", "day 9", "vegetative"]


def test_on_a_crowded_map_the_others_are_counted_beside_the_age() -> None:
    crowd = [spot(f"{row}{column}", days=9, others=2) for row in "ABCDEFGHI" for column in range(1, 6)]
    drawing = Drawing.of(crowd)
    assert drawing.texts_in(drawing.box("A1")) == ["A1", "basil", "day 9, +2", "vegetative"]


def test_without_an_age_the_crop_has_its_line() -> None:
    crowd = [spot(f"{row}{column}", crop="mustard greens") for row in "ABCDEFGHI" for column in range(1, 6)]
    drawing = Drawing.of(crowd)
    assert drawing.texts_in(drawing.box("A1")) == ["A1", "mustard", "greens", "vegetative"]


def test_sites_stand_as_they_stand_in_the_tower() -> None:
    drawing = Drawing.of(tower("ABCDEF", 5))
    for row in "ABCDEF":
        boxes = [drawing.box(f"{row}{column}") for column in range(1, 6)]
        assert len({round(_middle(box)[1]) for box in boxes}) == 1
        assert all(left.x1 < right.x0 for left, right in pairwise(boxes))
    tops = [drawing.box(f"{row}1").y1 for row in "ABCDEF"]
    assert tops == sorted(tops, reverse=True)


@pytest.mark.parametrize(
    ("labels", "rows", "columns"),
    [
        (["A1"], 1, 1),
        ([f"{r}{c}" for r in "ABCDEF" for c in range(1, 6)], 6, 5),
        ([f"{r}{c}" for r in "ABCD" for c in range(1, 13)], 12, 4),
        ([f"A{c}" for c in range(1, 13)], 3, 4),
        ([f"{r}{c}" for r in "AB" for c in range(1, 9)], 4, 4),
        ([f"{r}{c}" for r in "ABCDEF" for c in range(1, 11)], 12, 5),
        (["A1", "B7", "C12", "D40", "E3", "F9"], 2, 5),
    ],
    ids=["one", "as named", "turned", "one long row", "two long rows", "sixty", "scattered"],
)
def test_rows_and_columns(labels: list[str], rows: int, columns: int) -> None:
    (block,) = arranged([spot(label) for label in labels])
    assert (block.rows, block.columns) == (rows, columns)
    assert {place.spot.label for place in block.places} == set(labels)
    taken = {(place.row, place.column) for place in block.places}
    assert len(taken) == len(labels)
    assert all(0 <= column < columns for _, column in taken)


def test_a_gap_in_the_tower_stays_a_gap() -> None:
    (block,) = arranged([spot(label) for label in ("A1", "A3", "B2", "B3")])
    assert {place.spot.label: (place.row, place.column) for place in block.places} == {
        "A1": (0, 0), "A3": (0, 2), "B2": (1, 1), "B3": (1, 2),
    }  # fmt: skip


def test_sites_with_names_of_their_own_follow_the_grid() -> None:
    grid, named = arranged([spot("A1"), spot("A2"), spot("WINDOW"), spot("C*")])
    assert [place.spot.label for place in grid.places] == ["A1", "A2"]
    assert [place.spot.label for place in named.places] == ["WINDOW", "C*"]
    drawing = Drawing.of([spot("A1"), spot("C*")])
    assert drawing.texts_in(drawing.box("C*"))[0] == "row C"


def test_states_differ_in_outline_and_mark_and_not_only_in_colour() -> None:
    drawing = Drawing.of([spot(f"A{at}", state) for at, state in enumerate(SPOT_STATES, 1)])
    outlines, marks = {}, {}
    for at, state in enumerate(SPOT_STATES, 1):
        lines = drawing.parts(f"box A{at}")
        outlines[state] = (len(lines), lines[0].get_linewidth(), str(lines[0].get_linestyle()))
        shapes = drawing.parts(f"mark A{at}")
        frame = Bbox.union([shape.get_path().get_extents() for shape in shapes])
        marks[state] = tuple(
            tuple(point) for shape in shapes for point in (shape.get_path().vertices - frame.min).round(2)
        )
        assert drawing.box(f"A{at}").fully_containsx(shapes[0].get_window_extent().x0)
    assert len(set(outlines.values())) == len(SPOT_STATES)
    assert len(set(marks.values())) == len(SPOT_STATES)


def test_every_state_has_outline_mark_and_meaning() -> None:
    assert set(OUTLINES) == set(MARKS) == set(MEANINGS) == set(SPOT_STATES)


def test_legend_tells_in_words_what_is_drawn_and_nothing_else() -> None:
    drawing = Drawing.of([spot("A1", "seedling", days=9), spot("A2", "lost")])
    lowest = drawing.box("A1").y0
    below = [text.get_text() for text in drawing.texts() if text.get_window_extent().y1 < lowest]
    assert below == [
        "seedling", MEANINGS["seedling"], "lost", MEANINGS["lost"], "Days count from seed.",
    ]  # fmt: skip
    assert drawing.parts("key seedling")
    assert not drawing.parts("key fruiting")


EVERYTHING = [
    tower("A", 1),
    tower("AB", 4),
    tower("ABCDEF", 5),
    tower("ABCD", 10),
    tower("ABCDEF", 10),
    [some_spot(label, at) for at, label in enumerate(("WINDOW SILL TO THE SOUTH", "B*", "SHELF 2", "X"))],
]


@pytest.mark.parametrize("spots", EVERYTHING, ids=lambda spots: str(len(spots)))
def test_letters_are_large_and_dark_enough(spots: list[Spot]) -> None:
    """At least 9 of the 360 units of a phone's width (common practice); 4.5 to 1 (WCAG 2.2, 1.4.3)."""
    drawing = Drawing.of(spots)
    for text in drawing.texts():
        assert text.get_fontsize() >= 9, text.get_text()
        assert contrast(to_hex(text.get_color()), drawing.ground_under(text)) >= 4.5, text.get_text()


@pytest.mark.parametrize("spots", EVERYTHING, ids=lambda spots: str(len(spots)))
def test_nothing_leaves_its_box_or_lies_over_another(spots: list[Spot]) -> None:
    drawing = Drawing.of(spots)
    sheet = drawing.figure.bbox
    frames = [(text.get_text(), text.get_window_extent()) for text in drawing.texts()]
    for said, frame in frames:
        assert sheet.x0 < frame.x0 < frame.x1 < sheet.x1, said
        assert sheet.y0 < frame.y0 < frame.y1 < sheet.y1, said
    boxes = [drawing.box(each.label) for each in spots]
    for box in boxes:
        inside = [(said, frame) for said, frame in frames if box.fully_contains(*_middle(frame))]
        assert len(inside) >= 2
        assert all(box.x0 < frame.x0 and frame.x1 < box.x1 for _, frame in inside), inside
        for (one, a), (other, b) in combinations(inside, 2):
            # Lines may touch with what hangs below and stands above, not with their letters.
            assert min(a.y1, b.y1) - max(a.y0, b.y0) < 0.25 * min(a.height, b.height), (one, other)
    for a, b in combinations(boxes, 2):
        assert not a.overlaps(b)


def test_sixty_sites_are_drawn_and_the_rest_is_counted() -> None:
    drawing = Drawing.of(tower("ABCDEFG", 10))
    boxes = {str(part.get_gid()) for part in drawing.figure.findobj(FancyBboxPatch)}
    assert sum(gid.startswith("box ") for gid in boxes) == MOST_SPOTS
    assert "10 more sites are not drawn." in [text.get_text() for text in drawing.texts()]


def test_long_names_are_cut_with_a_mark() -> None:
    drawing = Drawing.of([spot(f"A{at}", crop=LONG, days=9) for at in range(1, 6)])
    _, first, second, _, _ = drawing.texts_in(drawing.box("A1"))
    assert LONG.startswith(first.rstrip(CUT))
    assert second.endswith(CUT)


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("pak choi", "pak choi"),
        ("wasabi $x^2$ _y_", "wasabi $x^2$ _y_"),
        ("<b>mint</b>", "<b>mint</b>"),
        ("two\nlines\tof", "two lines of"),
        ("\u202eevil\u2069 leek", "evil leek"),
        ("rúcola", "rúcola"),
        ("basil \U0001f331", "basil"),
        ("香菜", UNSHOWN),
        ("\U0001f331", UNSHOWN),
    ],
)
def test_whatever_a_household_calls_it(typed: str, shown: str) -> None:
    """Mark-up is text, marks that turn the text go, and what the font lacks sends to the list."""
    assert readable(typed) == shown
    drawing = Drawing.of([spot("A1", crop=typed)])
    assert " ".join(drawing.texts_in(drawing.box("A1"))[1:-1]) == shown


@given(st.text(max_size=80), st.text(max_size=20))
@settings(max_examples=25, deadline=None)
def test_any_text_at_all_can_be_drawn(crop: str, label: str) -> None:
    drawing = Drawing.of([spot(label, crop=crop)])
    assert any(text.get_text() == "vegetative" for text in drawing.texts())


def test_specification_is_small_and_survives_the_outbox() -> None:
    picture = site_map_picture([some_spot(LONG, place) for place in range(60)], "Mon 4 May")
    letter = Letter("reply", "A1: basil", picture=picture)
    kept = json.dumps(letter.as_json())
    assert len(kept) < 12_000
    assert Letter.from_json(json.loads(kept)) == letter


def test_letter_from_before_there_were_pictures() -> None:
    kept = Letter("reply", "Saved").as_json()
    del kept["picture"]
    assert Letter.from_json(kept).picture is None


def test_png_is_as_wide_as_a_phone_three_times_over() -> None:
    png = drawn(site_map_picture(tower("ABCDEF", 10), "Mon 4 May"))
    assert png.startswith(b"\x89PNG\r\n\x1a\n")
    wide, high = struct.unpack(">II", png[16:24])
    assert wide == 1080
    # The platform takes photos whose sides add up to 10,000 and are at most 20 to 1 (Bot API, sendPhoto).
    assert wide + high < 10_000
    assert len(png) < 1_000_000


def test_drawing_side_by_side_gives_the_same_and_leaves_no_trace() -> None:
    before = dict(matplotlib.rcParams)
    pictures = [site_map_picture(tower("AB", count), "Mon 4 May") for count in (2, 3, 4)]
    alone = [drawn(picture) for picture in pictures]
    with ThreadPoolExecutor(3) as threads:
        together = list(threads.map(drawn, pictures * 2))
    assert together == alone * 2
    assert dict(matplotlib.rcParams) == before


def test_drawing_library_is_loaded_only_to_draw() -> None:
    code = (
        "import sys, bot.telegram.carrier, bot.terminal;"
        "from bot.rendering.pictures import drawn;"
        "from bot.rendering.pictures.site_map import site_map_picture;"
        "from domain.sites import Spot;"
        "assert 'matplotlib' not in sys.modules;"
        "drawn(site_map_picture([Spot(label='A1', state='empty')], 'today'));"
        "assert 'matplotlib' in sys.modules and 'matplotlib.pyplot' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=50)


@pytest.mark.parametrize(
    "data",
    [
        {},
        {"day": "x", "spots": [["A1", "thriving", None, None, 0]], "left_out": 0},
        {"day": "x", "spots": [["A1"]], "left_out": 0},
    ],
    ids=["nothing", "no such state", "too little"],
)
def test_data_that_is_no_site_map(data: dict[str, object]) -> None:
    with pytest.raises(ValueError, match="no site map"):
        site_map_figure(data)


def test_kind_that_nobody_draws() -> None:
    with pytest.raises(UnknownPicture):
        drawn(Picture("portrait", {}))
