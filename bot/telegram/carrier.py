"""Carries one letter to the platform and says what became of it."""

from __future__ import annotations

import asyncio
import html
import logging
import re
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass, replace

from telegram import (
    Bot,
    InlineKeyboardButton,
    InlineKeyboardMarkup,
    LinkPreviewOptions,
    Message,
    ReplyParameters,
)
from telegram.constants import ParseMode
from telegram.error import BadRequest, TelegramError

from bot.assistant.exchange import KEPT_PHOTO, Button, Document, Letter, LetterKind, Picture
from bot.rendering.markup import MOST_CAPTION
from bot.rendering.pictures import drawn
from bot.telegram.outcomes import Failed, NotSent, Outcome, Sent, outcome_of, wording
from storage.households import Chat
from storage.outbox import OutboxClaim

__all__ = ["Carrier", "Parcel", "as_plain_text", "parcel", "shortened"]

REPEATED = "<i>Sent again: the first may not have reached you.</i>\n"
"""What a reminder says first when it may already have arrived."""

LONGEST_TEXT = 4096
"""In characters, mark-up not counted (Bot API, sendMessage)."""

REMAKE_S = 30.0
"""The pause before a document that could not be made is tried again. [s]"""

MAKINGS = 4
"""How often it is tried before it is given up."""

CUT = "\n…"
TAG = re.compile(r"<[^<>]*>")
NO_PREVIEW = LinkPreviewOptions(is_disabled=True)

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Parcel:
    """A letter in the platform's own terms.

    thread : the topic to send it to.
    answers : the message that it is shown as a reply to, or that it reacts to.
    amends : the message to rewrite. captioned : that message is a picture, and its caption is rewritten.
    picture : what to draw; photo : the drawing, a PNG, whose caption ``text`` is, or the
        platform's reference to a photo.
    document : what file to make; file : its bytes, or the platform's reference, whose caption
        ``text`` is.
    """

    kind: LetterKind
    chat: int
    text: str
    markup: InlineKeyboardMarkup | None
    thread: int | None
    answers: int | None
    amends: int | None
    silent: bool
    parse_mode: str | None = ParseMode.HTML
    picture: Picture | None = None
    photo: bytes | str | None = None
    document: Document | None = None
    file: bytes | str | None = None
    captioned: bool = False


class Carrier:
    """Sends through ``bot``.

    draw : makes the PNG of a picture; called in a thread of its own.
    make : makes the bytes of a document; ``None`` where letters carry none.
    """

    def __init__(
        self,
        bot: Bot,
        draw: Callable[[Picture], bytes] = drawn,
        make: Callable[[Document], Awaitable[bytes]] | None = None,
    ) -> None:
        self._bot = bot
        self._draw = draw
        self._make = make

    async def carry(self, claim: OutboxClaim) -> Outcome:
        """Sends the letter. Never raises for what the platform or the line may do."""
        sending = await self._with_photo(parcel(claim, username=self._bot.username))
        document = sending.document
        if document is not None:
            try:
                sending = replace(sending, file=await self._made(document))
            except Exception:
                # Nothing was sent; a database that is busy or away may be there again later.
                logger.exception("a document (%s) cannot be made", document.kind)
                return NotSent(REMAKE_S, "document") if claim.attempts < MAKINGS else Failed("document")
        asked_for = sending.thread
        while True:
            try:
                sent = await self._send(sending)
                return Sent(sent, lost_topic=None if sending.thread == asked_for else str(asked_for))
            except BadRequest as error:
                if sending.kind == "edit" and wording(error) == "not_modified":
                    return Sent(str(sending.amends))
                changed = _mended(sending, error)
                if changed is None:
                    return _logged(outcome_of(error, claim.attempts), claim)
                sending = changed
            except TelegramError as error:
                return _logged(outcome_of(error, claim.attempts), claim)

    async def _with_photo(self, sending: Parcel) -> Parcel:
        """Draws what is to be shown. Where that fails the words still go, for they say the same."""
        if sending.picture is None or sending.amends is not None:
            return sending
        if sending.picture.kind == KEPT_PHOTO:
            kept: str = sending.picture.data["reference"]
            return (
                replace(sending, file=kept)
                if sending.picture.data["is_file"]
                else replace(sending, photo=kept)
            )
        try:
            return replace(sending, photo=await asyncio.to_thread(self._draw, sending.picture))
        except Exception:
            logger.exception("a picture (%s) cannot be drawn; its text goes alone", sending.picture.kind)
            return sending

    async def _made(self, document: Document) -> bytes:
        if self._make is None:
            raise LookupError(document.kind)
        return await self._make(document)

    async def _send(self, sending: Parcel) -> str | None:
        if sending.kind == "reaction":
            if sending.answers is not None:
                await self._bot.set_message_reaction(sending.chat, sending.answers, sending.text)
            return None
        if sending.kind == "edit" and sending.amends is not None:
            return await self._rewrite(sending, sending.amends)
        if sending.photo is not None:
            return await self._show(sending, sending.photo)
        if sending.file is not None:
            return await self._enclose(sending, sending.file)
        sent = await self._bot.send_message(
            sending.chat,
            sending.text,
            parse_mode=sending.parse_mode,
            reply_markup=sending.markup,
            link_preview_options=NO_PREVIEW,
            disable_notification=sending.silent,
            message_thread_id=sending.thread,
            reply_parameters=_quoting(sending),
        )
        return str(sent.message_id)

    async def _rewrite(self, sending: Parcel, message: int) -> str:
        if sending.captioned:
            edited = await self._bot.edit_message_caption(
                sending.chat,
                message,
                caption=sending.text,
                parse_mode=sending.parse_mode,
                reply_markup=sending.markup,
            )
        else:
            edited = await self._bot.edit_message_text(
                sending.text,
                chat_id=sending.chat,
                message_id=message,
                parse_mode=sending.parse_mode,
                reply_markup=sending.markup,
                link_preview_options=NO_PREVIEW,
            )
        return str(edited.message_id) if isinstance(edited, Message) else str(message)

    async def _show(self, sending: Parcel, photo: bytes | str) -> str:
        sent = await self._bot.send_photo(
            sending.chat,
            photo,
            caption=sending.text,
            parse_mode=sending.parse_mode,
            reply_markup=sending.markup,
            disable_notification=sending.silent,
            message_thread_id=sending.thread,
            reply_parameters=_quoting(sending),
            filename=f"{sending.picture.kind}.png" if sending.picture else None,
        )
        return str(sent.message_id)

    async def _enclose(self, sending: Parcel, file: bytes | str) -> str:
        sent = await self._bot.send_document(
            sending.chat,
            file,
            caption=sending.text,
            parse_mode=sending.parse_mode,
            reply_markup=sending.markup,
            disable_notification=sending.silent,
            message_thread_id=sending.thread,
            reply_parameters=_quoting(sending),
            filename=sending.document.name if sending.document else None,
        )
        return str(sent.message_id)


def parcel(claim: OutboxClaim, *, username: str = "") -> Parcel:
    """The letter of a claim, as it is to be sent. Pure.

    username : of the assistant's own account, without the ``@``.

    In a group it is shown as a reply to what it answers, so that it is plain whom it is for; alone with one
    person that would only take room.
    """
    letter = Letter.from_json(claim.letter)
    shown_as_reply = letter.kind == "reaction" or not claim.chat.private
    return Parcel(
        kind=letter.kind,
        chat=int(claim.chat.address),
        text=(REPEATED if claim.repeated else "") + letter.html + _way_in(letter, username),
        markup=_keyboard(letter.buttons),
        thread=_thread(letter, claim.chat),
        answers=int(letter.answers) if letter.answers and shown_as_reply else None,
        amends=int(claim.amends_message) if claim.amends_message else None,
        silent=letter.silent,
        picture=letter.picture,
        document=letter.document,
    )


def _way_in(letter: Letter, username: str) -> str:
    """The link that brings somebody into the household: it starts a chat with the bot, token and all."""
    return f"\nhttps://t.me/{username}?start={letter.joins}" if letter.joins and username else ""


def _thread(letter: Letter, chat: Chat) -> int | None:
    """The topic's number; the general one has none."""
    thread = chat.thread if letter.thread is None else letter.thread
    return int(thread) if thread else None


def as_plain_text(text_html: str) -> str:
    """The text without its mark-up, for the case that the platform cannot read the mark-up."""
    return html.unescape(TAG.sub("", text_html))


def shortened(text: str, most: int = LONGEST_TEXT) -> str:
    """As much of a plain text as one message holds, cut at the end of a line where there is one."""
    if len(text) <= most:
        return text
    kept = text[: most - len(CUT)]
    return (kept[: kept.rfind("\n")] if "\n" in kept else kept) + CUT


def _mended(sending: Parcel, error: BadRequest) -> Parcel | None:
    """What to send instead after a refusal, or ``None``. Each mend is made once, so this comes to an end."""
    why = wording(error)
    if why == "cannot_parse" and sending.parse_mode is not None:
        logger.error("the platform cannot read our mark-up; sent as plain text")
        return replace(sending, text=as_plain_text(sending.text), parse_mode=None)
    if why == "no_text" and sending.amends is not None and not sending.captioned:
        return replace(sending, captioned=True)
    if why in ("other", "too_long") and (sending.photo or isinstance(sending.file, str)):
        logger.warning("the platform does not take the picture; its text goes alone")
        return replace(sending, photo=None, file=None)
    most = MOST_CAPTION if sending.captioned else LONGEST_TEXT
    if why == "too_long" and len(sending.text) > most:
        logger.error("a text of %d characters was cut", len(sending.text))
        return replace(sending, text=shortened(as_plain_text(sending.text), most), parse_mode=None)
    if why == "nothing_to_edit" and sending.kind == "edit" and sending.amends is not None:
        return replace(sending, amends=None)
    if why == "no_thread" and sending.thread is not None:
        return replace(sending, thread=None)
    return None


def _logged(outcome: Outcome, claim: OutboxClaim) -> Outcome:
    if not isinstance(outcome, Sent):
        level = logging.ERROR if isinstance(outcome, Failed) and not outcome.shut_out else logging.WARNING
        logger.log(level, "letter %d: %s (%s)", claim.id, type(outcome).__name__, outcome.code)
    return outcome


def _quoting(sending: Parcel) -> ReplyParameters | None:
    if sending.answers is None:
        return None
    return ReplyParameters(
        sending.answers, allow_sending_without_reply=True
    )  # it may have been deleted meanwhile


def _keyboard(rows: Sequence[Sequence[Button]]) -> InlineKeyboardMarkup | None:
    keys = [[InlineKeyboardButton(button.label, callback_data=button.data) for button in row] for row in rows]
    return InlineKeyboardMarkup(keys) if keys else None
