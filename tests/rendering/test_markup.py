"""Text is escaped in one place, whatever somebody calls themselves."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.assistant.buttons import VERBS, button, pushed
from bot.rendering.markup import MOST, Code, Strong, line, name, narrow, to_html, to_plain
from bot.rendering.voice import Voice
from domain.household import Choices

IN_BAND = "In band: pH 5.9, 720 ppm and 19 °C."
RUNS_ON = "a line that runs on and on until there"
TAGS = re.compile(r"<(?!/?(?:b|code)>)")

anything = st.text(max_size=200)


@given(anything, anything, anything)
def test_only_our_own_tags_come_out_and_the_text_comes_back(a: str, b: str, c: str) -> None:
    html = to_html([line(a, Strong(b), Code(c))])
    assert not TAGS.search(html)
    assert to_plain(html) == a + b + c


@pytest.mark.parametrize("text", ["<b>&</a><script>", "_*[x](y)", "a<b", "&amp;", "Zoë & Ana"])
def test_a_name_is_shown_literally(text: str) -> None:
    assert to_plain(to_html([line(name(text))])).strip("\u2068\u2069") == text


@given(anything)
def test_a_name_keeps_to_one_line_and_turns_nothing_around(text: str) -> None:
    shown = name(text)
    assert "\n" not in shown
    assert "\u202e" not in shown
    if not shown.isascii():
        assert (shown[0], shown[-1]) == ("\u2068", "\u2069")


@pytest.mark.parametrize(
    ("parts", "rows"),
    [
        (("short",), ["short"]),
        (
            ("In band", ": pH 5.9, 720 ppm and 19 °C.", " Nothing to add."),
            ["In band: pH 5.9, 720 ppm and 19 °C.", "Nothing to add."],
        ),
        (
            ("a word that runs on and on until there are 12 ml of it left",),
            ["a word that runs on and on until there", "are 12 ml of it left"],
        ),
        (("x" * 60,), ["x" * 60]),
    ],
)
def test_a_long_line_is_broken_between_words(parts: tuple[str, ...], rows: list[str]) -> None:
    assert ["".join(row) for row in narrow([line(*parts)])] == rows


@given(anything, anything)
def test_breaking_lines_loses_nothing_but_blanks(a: str, b: str) -> None:
    broken = narrow([line(a, Strong(b))])
    assert "".join("".join(map("".join, broken)).split()) == "".join((a + b).split())


@given(st.lists(anything, max_size=60))
def test_a_letter_is_never_longer_than_a_message(texts: list[str]) -> None:
    assert len(to_plain(to_html(line(text) for text in texts))) <= MOST


@given(st.sampled_from(sorted(VERBS)), st.integers(0, 2**53), st.integers(0, 2**40))
def test_button_data_fits_and_comes_back(verb: str, first: int, second: int) -> None:
    made = button("Any label, in any script: Ζωή", verb, first, second)
    assert len(made.data.encode()) <= 64
    push = pushed(made.data)
    assert push is not None
    assert (push.verb, push.number(), push.number(1)) == (verb, first, second)


@pytest.mark.parametrize("data", ["", "v0:undo:1", "v1:launch:1", "\x00" * 64, "v1", "undo:1"])
def test_data_that_is_not_ours_is_nothing(data: str) -> None:
    assert pushed(data) is None


@given(st.text(max_size=64))
def test_a_number_in_button_data_is_a_row_or_nothing(part: str) -> None:
    push = pushed(f"v1:undo:{part}")
    assert push is not None
    number = push.number()
    assert number is None or 0 <= number < 10**18


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (0.25, "ml", "0.25 ml"),
        (3.0, "ml", "3 ml"),
        (12.5, "ml", "12.5 ml"),
        (33.0, "ml", "33 ml"),
        (2.0, "g", "2 g"),
    ],
)
def test_amounts_as_a_syringe_shows_them(value: float, unit: str, shown: str) -> None:
    assert Voice.of(Choices()).amount(value, unit) == shown


@pytest.mark.parametrize(
    ("units", "litres", "shown"),
    [("metric", 40, "40 L"), ("metric", 3.785, "3.8 L"), ("us", 37.85, "10 gal"), ("us", 3.785, "1 gal")],
)
def test_volumes_in_the_households_units(units: str, litres: float, shown: str) -> None:
    assert Voice.of(Choices(units=units)).volume(litres) == shown


def test_strength_on_the_households_own_scale() -> None:
    assert Voice.of(Choices(strength_unit="ppm", ppm_scale=700)).strength(1.0) == "700 ppm"
    assert Voice.of(Choices(strength_unit="us_cm")).strength(1.44) == "EC 1.4"
