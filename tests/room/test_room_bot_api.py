"""The library's own client against the room: what is good is taken, what is bad comes back as its error."""

from __future__ import annotations

import struct
import zlib

import pytest
from telegram import Bot, InlineKeyboardButton, InlineKeyboardMarkup, ReplyParameters
from telegram.error import BadRequest, ChatMigrated, Forbidden, NetworkError, RetryAfter, TimedOut

from demo.room.platform import Fault, Platform


def png(width: int, height: int) -> bytes:
    """A white picture, built from its parts (PNG specification, section 5)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    rows = b"".join(b"\0" + b"\xff" * (3 * width) for _ in range(height))
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(rows))
        + chunk(b"IEND", b"")
    )


async def test_it_introduces_itself(platform: Platform, bot: Bot) -> None:
    me = await bot.get_me()
    assert (me.username, me.is_bot, me.can_read_all_group_messages) == ("lab_bot", True, False)


async def test_a_message_goes_out_with_mark_up_and_buttons(platform: Platform, bot: Bot) -> None:
    wren = platform.person(5, "Wren")
    chat = platform.private_chat(wren)
    said = platform.say(chat, wren, "ph 5.9")
    keys = InlineKeyboardMarkup([[InlineKeyboardButton("Undo", callback_data="v1:u:8")]])
    message = await bot.send_message(
        5, "<b>Saved</b> 5.9 &lt; 6", parse_mode="HTML", reply_markup=keys,
        reply_parameters=ReplyParameters(said["message_id"]),
    )  # fmt: skip
    assert message.text == "Saved 5.9 < 6"
    assert message.parse_entity(message.entities[0]) == "Saved"
    assert message.reply_to_message is not None
    assert message.reply_to_message.text == "ph 5.9"
    (sent,) = platform.sent
    assert (sent.html, sent.labels, sent.reply_to) == (
        "<b>Saved</b> 5.9 &lt; 6",
        ["Undo"],
        said["message_id"],
    )


async def test_a_picture_goes_up_and_comes_down(platform: Platform, bot: Bot) -> None:
    platform.private_chat(platform.person(5, "Wren"))
    picture = png(30, 20)
    message = await bot.send_photo(5, picture, caption="pH, <i>7 days</i>", parse_mode="HTML")
    assert message.caption == "pH, 7 days"
    assert (message.photo[-1].width, message.photo[-1].height) == (30, 20)
    file = await bot.get_file(message.photo[-1].file_id)
    assert bytes(await file.download_as_bytearray()) == picture
    again = await bot.send_photo(5, message.photo[-1].file_id)
    assert again.photo[-1].file_id == message.photo[-1].file_id


async def test_a_document_keeps_its_name(platform: Platform, bot: Bot) -> None:
    platform.private_chat(platform.person(5, "Wren"))
    message = await bot.send_document(5, b"a,b\n1,2\n", filename="journal.csv")
    assert message.document is not None
    assert (message.document.file_name, message.document.file_size) == ("journal.csv", 8)
    assert platform.sent[0].file == b"a,b\n1,2\n"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "message text is empty"),
        ("\u200b \n", "text must be non-empty"),
        ("x" * 4097, "message is too long"),
        ("<b>open", "can't parse entities: can't find end tag"),
        ("<p>x</p>", 'can\'t parse entities: unsupported start tag "p"'),
        ("5 < 6", "can't parse entities: unsupported start tag"),
        ("<b>x</i>", "can't parse entities: unmatched end tag"),
    ],
)
async def test_bad_text_is_refused(platform: Platform, bot: Bot, text: str, words: str) -> None:
    platform.private_chat(platform.person(5, "Wren"))
    with pytest.raises(BadRequest) as refused:
        await bot.send_message(5, text, parse_mode="HTML")
    assert words in str(refused.value).lower()
    assert platform.sent == []


async def test_a_text_is_counted_after_its_mark_up(platform: Platform, bot: Bot) -> None:
    platform.private_chat(platform.person(5, "Wren"))
    longest = "&amp;<b>" + "\U0001f331" * 4095 + "</b>"
    message = await bot.send_message(5, longest, parse_mode="HTML")
    assert message.text == "&" + "\U0001f331" * 4095
    assert message.entities[0].length == 2 * 4095


@pytest.mark.parametrize(
    ("fault", "error"),
    [
        (Fault.blocked(), Forbidden),
        (Fault.too_many(3), RetryAfter),
        (Fault.migrated(-1001), ChatMigrated),
        (Fault.bad_gateway(), NetworkError),
        (Fault.server_error(), NetworkError),
        (Fault.closed_before(), NetworkError),
        (Fault.silent(accepts=False), TimedOut),
    ],
    ids=lambda value: "" if isinstance(value, Fault) else value.__name__,
)
async def test_a_fault_arrives_as_the_right_error_and_sends_nothing(
    platform: Platform, bot: Bot, fault: Fault, error: type[Exception]
) -> None:
    platform.private_chat(platform.person(5, "Wren"))
    platform.fail("sendMessage", fault)
    with pytest.raises(error):
        await bot.send_message(5, "hello", read_timeout=0.3)
    assert platform.sent == []
    await bot.send_message(5, "hello")
    assert len(platform.sent) == 1


@pytest.mark.parametrize(
    ("fault", "error"),
    [
        (Fault.closed_after(), NetworkError),
        (Fault.silent(accepts=True), TimedOut),
        (Fault.slow(0.6), TimedOut),
    ],
)
async def test_a_call_may_be_carried_out_though_its_caller_cannot_know(
    platform: Platform, bot: Bot, fault: Fault, error: type[Exception]
) -> None:
    platform.private_chat(platform.person(5, "Wren"))
    platform.fail("sendMessage", fault)
    with pytest.raises(error):
        await bot.send_message(5, "hello", read_timeout=0.3)
    (sent,) = await platform.wait_for_sent(1)
    assert sent.text == "hello"
