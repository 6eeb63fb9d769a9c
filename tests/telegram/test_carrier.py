"""How a letter looks in the platform's terms. That it arrives is shown in tests/end_to_end."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bot.assistant.exchange import Button, Letter, Picture
from bot.telegram.carrier import REPEATED, as_plain_text, parcel, shortened
from storage.households import Chat
from storage.outbox import OutboxClaim

HOME = Chat(1, 1, "telegram", "5", private=True, title="Ana", thread=None, active=True)
GROUP = Chat(2, 1, "telegram", "-1001", private=False, title="Balcony", thread="77", active=True)


def claim(
    letter: Letter, chat: Chat = HOME, *, repeated: bool = False, amends: str | None = None
) -> OutboxClaim:
    return OutboxClaim(3, "token", chat, letter.as_json(), None, 1, repeated, amends)


def test_reply_alone_with_one_person_quotes_nothing() -> None:
    sending = parcel(claim(Letter("reply", "<b>Saved</b>", answers="7", silent=True)))
    assert (sending.chat, sending.text, sending.answers, sending.thread) == (5, "<b>Saved</b>", None, None)
    assert sending.silent


def test_reply_in_a_group_quotes_its_message_and_stays_in_its_topic() -> None:
    sending = parcel(claim(Letter("reply", "Saved", answers="7"), GROUP))
    assert (sending.chat, sending.answers, sending.thread) == (-1001, 7, 77)


def test_reaction_needs_its_message_everywhere() -> None:
    assert parcel(claim(Letter("reaction", "👌", answers="7"))).answers == 7


def test_edit_names_the_message_to_rewrite() -> None:
    assert parcel(claim(Letter("edit", "Saved", amends=2), amends="12")).amends == 12


def test_picture_is_drawn_later() -> None:
    picture = Picture("site_map", {"day": "Mon 4 May"})
    sending = parcel(claim(Letter("reply", "A1: basil", picture=picture)))
    assert (sending.picture, sending.photo, sending.text) == (picture, None, "A1: basil")


def test_repeated_reminder_says_so() -> None:
    letter = Letter("reminder", "Change the water")
    assert parcel(claim(letter)).text == "Change the water"
    assert parcel(claim(letter, repeated=True)).text == REPEATED + "Change the water"


def test_buttons_keep_their_rows() -> None:
    rows = ((Button("Why", "v1:why:3"), Button("Undo", "v1:undo:3")), (Button("Done", "v1:done:3"),))
    markup = parcel(claim(Letter("reply", "Saved", buttons=rows))).markup
    assert markup is not None
    shown = [[(button.text, button.callback_data) for button in row] for row in markup.inline_keyboard]
    assert shown == [[(button.label, button.data) for button in row] for row in rows]


def test_no_buttons_is_no_keyboard() -> None:
    assert parcel(claim(Letter("reply", "Saved"))).markup is None


@pytest.mark.parametrize(
    ("text_html", "plain"),
    [
        ("<b>pH 6.9</b> is high", "pH 6.9 is high"),
        ("a &lt; b &amp; c", "a < b & c"),
        ('<a href="tg://user?id=5">Ana</a>', "Ana"),
        ("&lt;script&gt;", "<script>"),
        ("5 > 4 < 6", "5 > 4 < 6"),
    ],
)
def test_plain_text_is_the_same_words_without_mark_up(text_html: str, plain: str) -> None:
    assert as_plain_text(text_html) == plain


@pytest.mark.parametrize(
    ("text", "length", "end"),
    [
        ("x" * 4096, 4096, "x"),
        ("x" * 4097, 4096, "x\n…"),
        ("🌱" * 5000, 4096, "🌱\n…"),
        ("x" * 4000 + "\n" + "y" * 500, 4002, "x\n…"),
    ],
    ids=["just fits", "one line", "counted in characters", "at the end of a line"],
)
def test_text_that_is_too_long_is_cut(text: str, length: int, end: str) -> None:
    """Cases 61, 62: 4096 characters, an astral one counted once, cut on a character and line border."""
    kept = shortened(text)
    assert len(kept) == length
    assert kept.endswith(end)


def test_a_letter_for_an_address_that_is_no_number_is_no_parcel() -> None:
    with pytest.raises(ValueError, match="invalid literal"):
        parcel(claim(Letter("reply", "Saved"), replace(HOME, address="ana")))
