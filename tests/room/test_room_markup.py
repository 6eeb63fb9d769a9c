"""The small HTML of the platform, and the pictures: form, and properties that hold for any text."""

from __future__ import annotations

import html
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demo.room.markup import entities_in, read_html, read_plain, utf16_length
from demo.room.pictures import picture_size
from demo.room.wire import BadRequest

# What the platform keeps as it is; what it cleans away or trims has tests of its own.
TEXT = st.text(
    st.characters(exclude_categories=("Cs", "Cc", "Cf", "Zl", "Zp", "Zs", "Mn", "Me")),
    min_size=1,
    max_size=60,
)
STYLES = {
    "b": "bold",
    "i": "italic",
    "u": "underline",
    "s": "strikethrough",
    "code": "code",
    "tg-spoiler": "spoiler",
}


@given(TEXT)
def test_escaped_text_comes_back_as_it_was(text: str) -> None:
    assert read_html(html.escape(text, quote=False)).text == text
    assert read_plain(text).text == text


@given(st.lists(st.tuples(TEXT, st.sampled_from(sorted(STYLES))), min_size=1, max_size=6))
def test_marks_cover_their_own_words(parts: list[tuple[str, str]]) -> None:
    marked = read_html("".join(f"<{tag}>{html.escape(text)}</{tag}>" for text, tag in parts))
    words = marked.text.encode("utf-16-le")
    found = [
        (words[2 * mark["offset"] : 2 * (mark["offset"] + mark["length"])].decode("utf-16-le"), mark["type"])
        for mark in marked.entities
        if mark["type"] not in {"mention", "bot_command"}
    ]
    assert found == [(text, STYLES[tag]) for text, tag in parts]


@given(st.text(max_size=80))
def test_what_a_browser_gets_holds_harmless_tags_only(text: str) -> None:
    for read in (read_html, read_plain):
        try:
            shown = read(text).html
        except BadRequest:
            continue
        tags = {name.lower() for name in re.findall(r"</?([a-zA-Z-]+)", shown)}
        assert tags <= {"strong", "em", "u", "s", "code", "pre", "blockquote", "mark", "time", "a"}


@given(st.text(max_size=80))
def test_any_text_is_taken_or_refused_but_never_breaks(text: str) -> None:
    try:
        taken = read_html(text)
    except BadRequest:
        return
    assert taken.text == taken.text.strip()
    assert all(mark["offset"] + mark["length"] <= utf16_length(taken.text) for mark in taken.entities)


# As td cleans (misc.cpp, clean_input_string): controls become spaces, \r and U+2028 to U+202E go; ends too.
@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("  a\tb\x07c \n", "a b c"),
        ("a\r\nb", "a\nb"),
        ("a\u202eb\u2028c", "abc"),
        ("<b> a </b> ", "a"),
        ("&lt;&gt;&amp;&quot;&#65;&copy;", '<>&"A&copy;'),
        ("a & b", "a & b"),
    ],
)
def test_cleaning(typed: str, kept: str) -> None:
    assert read_html(typed).text == kept


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("/log 6.1", [("bot_command", 0, 4)]),
        ("/log@lab_bot 6.1", [("bot_command", 0, 12)]),
        ("\U0001f331 @lab_bot ph 6.1", [("mention", 3, 8)]),
        ("a/b 5/7 me@home.example", []),
        ("see /due, @lab_bot", [("bot_command", 4, 4), ("mention", 10, 8)]),
    ],
)
def test_commands_and_mentions_are_marked_as_clients_do(
    text: str, expected: list[tuple[str, int, int]]
) -> None:
    assert [(mark["type"], mark["offset"], mark["length"]) for mark in entities_in(text)] == expected


def test_nested_marks_open_and_close_in_order_for_a_browser() -> None:
    marked = read_html('<b>one <i>two</i></b> <a href="https://example.invalid/?a=1&amp;b=2">three</a>')
    assert marked.html == (
        "<strong>one <em>two</em></strong> "
        '<a href="https://example.invalid/?a=1&amp;b=2" rel="noreferrer">three</a>'
    )
    assert marked.entities[-1]["url"] == "https://example.invalid/?a=1&b=2"


# JFIF header, one table segment, then a baseline frame of 300 x 200 (ITU-T T.81, B.2.2: height before width).
JPEG = bytes.fromhex(
    "ffd8 ffe0 0004 0000 ffdb 0003 00 ffc0 0011 08 00c8 012c 03 012200 021101 031101".replace(" ", "")
)


def test_sizes_of_pictures() -> None:
    assert picture_size(JPEG) == (300, 200)
    assert picture_size(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x5a\0\0\0\x28") == (90, 40)
    assert picture_size(b"GIF89a") is None
    assert picture_size(JPEG[:20]) is None
    assert picture_size(b"") is None
