"""From the inbox to the assistant: households side by side, each household's messages one after another.

The inbox row is the unit of work. The assistant settles the claim in the transaction in which it writes
what the message changed, so a crash at any moment leaves either both or neither.
"""

from __future__ import annotations

import asyncio
import json
import logging
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Protocol

from telegram import Bot, Update
from telegram.error import BadRequest, TelegramError

from bot.assistant.exchange import GENERAL, Answer, ChatRef, Heard, Letter, Pressed
from bot.assistant.lost import chat_lost
from bot.telegram.outcomes import wording
from bot.telegram.translate import PLATFORM, Me, Migration, Presence, envelope, news, translate
from bot.telegram.waiting import Crew, first_of, wait_until_set
from storage.engine import Store, Transaction
from storage.inbox import InboxClaim, LeaseLost

__all__ = ["Hearer", "Workers"]

TOGETHER = 16
"""As many messages as share one commit. More would hold up the first one's answer for little gain."""

GROUPS = 2
"""One group is handled while the other waits for the disk."""

ANSWERS_AT_ONCE = 16
IDLE_S = 2.0
LEASE_S = 30.0
RENEWALS = 3
"""How often a lease is renewed while it lasts: two may fail."""

RETRIES = 3
FIRST_RETRY_S = 2.0
RETRY_GROWTH = 4
ANSWER_CHARACTERS = 200
"""The longest answer to a press (Bot API, answerCallbackQuery)."""

MAY_BRING_FILE = '"document"'
"""What stands in every update that brings a file: fetching and reading it may take seconds, so that it is
handled alone."""

MOST_FETCHED_BYTES = 20 * 1024 * 1024
"""The largest file that the platform hands to bots (Bot API, getFile). [bytes]"""

APOLOGY = (
    "Sorry, that message broke something on my side and nothing of it was kept. Please send it once more."
)

logger = logging.getLogger(__name__)


class Hearer(Protocol):
    """What the workers ask of the assistant."""

    async def hear(
        self, heard: Heard, claim: InboxClaim | None = None, tx: Transaction | None = None
    ) -> object: ...

    async def press(
        self, pressed: Pressed, claim: InboxClaim | None = None, tx: Transaction | None = None
    ) -> Answer: ...

    async def greet(self, place: ChatRef, tx: Transaction, *, hears_all: bool) -> None: ...

    async def receive(self, heard: Heard, claim: InboxClaim | None = None) -> object: ...


class Workers:
    """Takes updates from the inbox and gives them to the assistant.

    on_letters : called when the assistant may have posted letters.
    idle_s : how long to wait for news at most. [s]
    lease_s : how long an update is ours alone. [s]
    retry_s : the pause before the first retry; grows fourfold with each. [s]
    together : how many updates are handled in one transaction at most, each of another household.
    """

    def __init__(
        self,
        store: Store,
        assistant: Hearer,
        bot: Bot,
        *,
        clock: Callable[[], datetime],
        on_letters: Callable[[], None],
        idle_s: float = IDLE_S,
        lease_s: float = LEASE_S,
        retry_s: float = FIRST_RETRY_S,
        together: int = TOGETHER,
    ) -> None:
        self._store = store
        self._assistant = assistant
        self._bot = bot
        self._me = Me(bot.id, bot.username)
        self._clock = clock
        self._on_letters = on_letters
        self._idle_s = idle_s
        self._lease = timedelta(seconds=lease_s)
        self._retry_s = retry_s
        self._together = together
        self._woken = asyncio.Event()
        self._crew = Crew(GROUPS, self._woken.set)
        # Apart, so that a slow line holds up no message: an answer waits for the platform, the rest does not.
        self._answering = Crew(ANSWERS_AT_ONCE, self._woken.set)

    def wake(self) -> None:
        """There may be new updates."""
        self._woken.set()

    async def run(self, stop: asyncio.Event) -> None:
        """Works until ``stop`` is set (call ``wake`` after setting it), then ends what is under way.

        What still waits in the inbox is taken up at the next start.
        """
        while not (stop.is_set() and self._crew.is_idle and self._answering.is_idle):
            claims: list[InboxClaim] = []
            try:
                if not stop.is_set() and self._crew.room:
                    async with self._store.note() as tx:
                        claims = await tx.inbox.claim(self._clock(), limit=self._together, lease=self._lease)
            except Exception:
                logger.exception("the inbox cannot be reached; next try in %.0f s", self._idle_s)
            if claims:
                self._crew.start(self.handle(claims))
            if len(claims) < self._together or not self._crew.room:
                await wait_until_set(self._woken, self._idle_s)

    async def handle(self, claims: Sequence[InboxClaim]) -> None:
        """Handles updates of different households in one transaction, which costs the disk once.

        Where anything goes wrong in it nothing of it is kept, and each update is handled alone.
        """
        alone = [claim for claim in claims if MAY_BRING_FILE in claim.raw]
        together = [claim for claim in claims if claim not in alone]
        if len(together) > 1:
            try:
                await self._handle(together)
            except Exception as error:
                logger.warning("%d updates are handled one by one (%s)", len(claims), type(error).__name__)
            else:
                together = []
        for claim in [*together, *alone]:
            await self._handle_alone(claim)

    async def _handle_alone(self, claim: InboxClaim) -> None:
        try:
            asked = self._understood(claim) if MAY_BRING_FILE in claim.raw else None
            if isinstance(asked, Heard) and asked.file is not None and asked.addressed:
                async with self._held(claim):
                    await self._assistant.receive(await self._with_file(asked), claim)
                self._on_letters()
            else:
                await self._handle([claim])
        except LeaseLost:
            logger.warning("update %s was taken up by somebody else", claim.update_id)
        except Exception:
            logger.exception("update %s: try %d went wrong", claim.update_id, claim.attempts)
            try:
                await self._try_later(claim)
            except Exception:
                # The lease runs out by itself, and then the update is taken up again.
                logger.exception("update %s: the retry could not be written down", claim.update_id)

    @asynccontextmanager
    async def _held(self, claim: InboxClaim) -> AsyncIterator[None]:
        """Renews the lease meanwhile: otherwise a file that takes longer to read is begun again for ever."""
        done = asyncio.Event()
        holding = asyncio.ensure_future(self._hold(claim, done))
        try:
            yield
        finally:
            done.set()
            await holding

    async def _hold(self, claim: InboxClaim, done: asyncio.Event) -> None:
        while True:
            await first_of(asyncio.sleep(self._lease.total_seconds() / RENEWALS), done)
            if done.is_set():
                return
            try:
                async with self._store.note() as tx:
                    await tx.inbox.hold(claim, self._clock() + self._lease)
            except Exception:
                logger.exception("update %s: the lease is not renewed", claim.update_id)

    async def _handle(self, claims: Sequence[InboxClaim]) -> None:
        understood = [(claim, self._understood(claim)) for claim in claims]
        answers: list[tuple[Pressed, Answer]] = []
        async with self._store.write() as tx:
            for claim, asked in understood:
                match asked:
                    case Heard():
                        await self._assistant.hear(asked, claim, tx)
                    case Pressed():
                        answers.append((asked, await self._assistant.press(asked, claim, tx)))
                    case Update():
                        await self._take_note(tx, asked)
                        await _settle(tx, claim)
                    case None:
                        await tx.inbox.fail(claim, retry_at=None, code="unreadable")
        self._on_letters()
        for pressed, answer in answers:
            self._answering.start(self._answer(pressed, answer))

    def _understood(self, claim: InboxClaim) -> Heard | Pressed | Update | None:
        """What was said or pressed, else the update itself; ``None`` for one that cannot be parsed."""
        try:
            update = Update.de_json(json.loads(claim.raw), self._bot)
            return translate(update, self._me, received_at=self._clock()) or update
        except Exception:
            logger.exception("update %s cannot be parsed and is set aside", claim.update_id)
            return None

    async def _with_file(self, heard: Heard) -> Heard:
        """The message with the file that came with it, where the platform gives it."""
        file = heard.file
        if file is None or file.size > MOST_FETCHED_BYTES:
            return heard
        try:
            reference = await self._bot.get_file(file.id)
            content = bytes(await reference.download_as_bytearray())
        except BadRequest as error:
            logger.warning("a file cannot be fetched (%s)", wording(error))
            return heard
        return replace(heard, file=replace(file, content=content))

    async def _take_note(self, tx: Transaction, update: Update) -> None:
        match news(update):
            case Migration(old, new):
                await tx.households.readdress(PLATFORM, old, new, self._clock())
            case Presence(place, is_welcome, rules):
                chat = await tx.households.find_chat(PLATFORM, place.address)
                if chat is not None and is_welcome:
                    await tx.households.set_active(chat.id, True, self._clock())
                elif chat is not None:
                    await chat_lost(tx, chat, self._clock())
                elif is_welcome and not place.private:
                    hears_all = rules or self._bot.can_read_all_group_messages
                    await self._assistant.greet(place, tx, hears_all=hears_all)

    async def _try_later(self, claim: InboxClaim) -> None:
        if claim.attempts > RETRIES:
            await self._give_up(claim)
            return
        after_s = self._retry_s * RETRY_GROWTH ** (claim.attempts - 1)
        async with self._store.write() as tx:
            retry_at = self._clock() + timedelta(seconds=after_s)
            await tx.inbox.fail(claim, retry_at=retry_at, code="retry")
        asyncio.get_running_loop().call_later(after_s, self.wake)

    async def _give_up(self, claim: InboxClaim) -> None:
        """Sets the update aside for good and says so in its chat, in one transaction and therefore once."""
        outside = envelope(json.loads(claim.raw))
        async with self._store.write() as tx:
            await tx.inbox.fail(claim, retry_at=None, code="gave_up")
            chat = await tx.households.find_chat(PLATFORM, outside.chat) if outside and outside.chat else None
            if outside is not None and chat is not None:
                await tx.outbox.post(
                    chat.household_id,
                    chat.id,
                    Letter("reply", APOLOGY, thread=outside.thread or GENERAL).as_json(),
                    dedupe_key=f"apology:{claim.update_id}",
                    now=self._clock(),
                )
        self._on_letters()

    async def _answer(self, pressed: Pressed, answer: Answer) -> None:
        """Ends the spinner on the button. Late or twice is no harm: the effect of the press stands."""
        try:
            await self._bot.answer_callback_query(
                pressed.press, answer.text[:ANSWER_CHARACTERS] or None, show_alert=answer.alert
            )
        except BadRequest as error:
            logger.info("a press could not be answered (%s)", wording(error))
        except TelegramError as error:
            logger.warning("a press could not be answered (%s)", type(error).__name__)


async def _settle(tx: Transaction, claim: InboxClaim) -> None:
    if not await tx.inbox.settle(claim):
        raise LeaseLost(claim.update_id)
