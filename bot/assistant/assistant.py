"""The assistant: one message, press or tick in; journal, reminders and letters out, in one transaction."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import datetime
from itertools import chain
from zlib import crc32

from bot.archive.bad_file import BadFile
from bot.assistant import (
    absence,
    amending,
    backlog,
    bringing_in,
    dialogue,
    forgetting,
    household,
    jar,
    kept_photos,
    orders,
    record,
    remind,
    replan,
    schedule,
    settling,
    sharing,
    two_hands,
)
from bot.assistant import press as presses
from bot.assistant.bringing_in import Looked
from bot.assistant.exchange import GENERAL, Answer, ChatRef, Heard, Letter, Pressed
from bot.assistant.fold_memory import FoldMemory
from bot.assistant.replies import Advice, BandsShown, Doubted, EmergencyAdvice, Hint, Logged, Reply
from bot.assistant.scene import Outcome, Scene, open_scene, refreshed
from bot.reader.reminder_orders import reminder_order
from bot.rendering import Voice, parted, render
from bot.rendering.markup import Strong, line, name, to_html
from domain.household import choices
from domain.tanks import is_of_tank
from storage.engine import Store, Transaction
from storage.inbox import InboxClaim, LeaseLost

__all__ = ["Assistant", "Clock"]

KEEP_WORDS = frozenset({"keep", "keep it", "keep everything", "cancel", "stop", "no", "don't", "dont"})
"""What calls off a forgetting that is planned; without one these words mean what they always do."""

Clock = Callable[[], datetime]
"""Gives the present time, aware UTC."""


class Assistant:
    """The use cases over one store; free of any chat platform.

    store : where everything is kept.
    clock : the present time; tests pass their own.
    """

    def __init__(self, store: Store, clock: Clock) -> None:
        self._store = store
        self._clock = clock
        self._folded = FoldMemory()

    async def hear(
        self,
        heard: Heard,
        claim: InboxClaim | None = None,
        tx: Transaction | None = None,
        *,
        looked: Looked | Reply | None = None,
    ) -> Outcome:
        """Takes in one message: keeps what it says and posts the answers.

        claim : the inbox row it came from, settled in the same transaction.
        tx : the write transaction in which all of that is done; ``None``: one of its own.
        looked : what its file holds, or why it cannot be taken.
        The same message again has no effect; an edit supersedes what it said before.
        Raises LeaseLost where another worker has the row by now; nothing is kept then.
        """
        now = self._clock()
        async with self._transaction(tx) as tx:
            at = heard.edited_at or heard.said_at
            scene = await open_scene(tx, heard.chat, heard.person, at=at, now=now)
            scene = self._folded.with_checkpoint(scene)
            outcome = await two_hands.considered(tx, await _respond(tx, scene, heard))
            if heard.photo is not None:
                outcome = await kept_photos.considered(tx, outcome, heard, heard.photo)
            if looked is not None:
                outcome = await _with_offer(tx, outcome, looked)
            outcome = await backlog.considered(tx, outcome, heard, claim)
            if (outcome.facts or heard.addressed) and (scene.chat.thread or GENERAL) != scene.thread:
                await tx.households.set_home(scene.chat.id, scene.thread or None)
            key = f"heard:{scene.chat.id}:{heard.message}:{_stamp(heard)}"
            earlier = None
            if heard.edited_at and not _in_danger(outcome):
                earlier = await tx.outbox.find_reply(scene.chat.id, heard.message)
            await _post(tx, outcome, key, answers=heard.message, earlier=earlier)
            await _settle(tx, claim)
        return outcome

    async def receive(self, heard: Heard, claim: InboxClaim | None = None) -> Outcome:
        """Takes in a message that brings a file; else as ``hear``.

        The file is looked at before any transaction that writes: that may take seconds.
        """
        return await self.hear(heard, claim, looked=await self._looked_at(heard, self._clock()))

    async def _looked_at(self, heard: Heard, now: datetime) -> Looked | Reply:
        if heard.file is None or heard.file.content is None:
            return Hint(code="file_too_big")
        async with self._store.write() as tx:
            scene = await open_scene(tx, heard.chat, heard.person, at=heard.said_at, now=now)
        seen = bringing_in.Seen(scene.zone, scene.reader_settings, now)
        try:
            return await asyncio.to_thread(bringing_in.look_at, heard.file.name, heard.file.content, seen)
        except BadFile as bad:
            return bringing_in.refused(bad)

    async def press(
        self, pressed: Pressed, claim: InboxClaim | None = None, tx: Transaction | None = None
    ) -> Answer:
        """Takes in one press of a button and gives what the presser sees at once; else as ``hear``."""
        now = self._clock()
        async with self._transaction(tx) as tx:
            scene = await open_scene(tx, pressed.chat, pressed.person, at=pressed.pressed_at, now=now)
            scene = self._folded.with_checkpoint(scene)
            effect = await presses.press(tx, scene, pressed)
            if effect.outcome is not None:
                key = f"pressed:{scene.chat.id}:{pressed.press}"
                # What came from a button answers no message of the chat.
                answers = None if (effect.amends or "").startswith("press:") else effect.amends
                earlier = await _rewritten(tx, scene, effect, pressed)
                considered = await two_hands.considered(tx, effect.outcome)
                await _post(tx, considered, key, answers=answers, earlier=earlier)
            await _settle(tx, claim)
        return effect.answer

    async def greet(self, place: ChatRef, tx: Transaction, *, hears_all: bool) -> None:
        """Says in a group that is new to us how to talk to us there.

        hears_all : plain messages reach us; otherwise only commands and replies to what we wrote.
        """
        now = self._clock()
        chat = await tx.households.chat(
            place.platform, place.address, private=place.private, title=place.title, thread=None, now=now
        )
        hint = Hint(code="hello_group" if hears_all else "hello_private_group")
        await tx.outbox.post(
            chat.household_id,
            chat.id,
            render(hint, Voice.of(choices(()))).as_json(),
            dedupe_key=f"greeting:{chat.id}",
            now=now,
        )

    @asynccontextmanager
    async def _transaction(self, tx: Transaction | None) -> AsyncIterator[Transaction]:
        if tx is not None:
            yield tx
            return
        async with self._store.write() as tx:
            yield tx

    async def tick(self, now: datetime, *, household_id: int | None = None) -> int:
        """Moves what is due by ``now`` into the outbox, household by household; gives how many letters.

        household_id : only this household's; ``None``: everybody's.
        """
        await forgetting.carry_out(self._store, now, household_id)
        return await remind.tell(self._store, now, household_id=household_id)


async def _settle(tx: Transaction, claim: InboxClaim | None) -> None:
    """Closes the inbox row in the same transaction. Raises LeaseLost, which rolls everything back."""
    if claim is not None and not await tx.inbox.settle(claim):
        raise LeaseLost(claim.update_id)


async def _with_offer(tx: Transaction, outcome: Outcome, looked: Looked | Reply) -> Outcome:
    """What follows from a message that brings a file. A caption that is no log needs no answer of its own."""
    scene = outcome.scene
    offered = await bringing_in.offer(tx, scene, looked) if isinstance(looked, Looked) else looked
    return replace(outcome, replies=(*(outcome.replies if outcome.facts else ()), offered))


async def _respond(tx: Transaction, scene: Scene, heard: Heard) -> Outcome:
    if heard.edited_at is not None:
        return await _reread(tx, scene, heard)
    if heard.command == "start" and heard.args.strip():
        return await sharing.join(tx, scene, heard.args)
    if heard.command is not None:
        return await _obeyed(tx, scene, heard, heard.command)
    word = heard.text.strip().strip("?!.").lower()
    if word in orders.COMMANDS and word != "start" and (scene.chat.private or heard.addressed):
        return await _obeyed(tx, scene, heard, word)
    if word in KEEP_WORDS and (scene.chat.private or heard.addressed):
        kept = await forgetting.call_off(tx, scene)
        if kept is not None:
            return Outcome(scene, replies=(kept,))
    said_at = heard.said_at.astimezone(scene.zone)
    order = reminder_order(heard.text, now=said_at, zone=scene.zone, settings=scene.reader_settings)
    if order is not None:
        no = await sharing.refused(tx, scene, "remind")
        return Outcome(scene, replies=(no,)) if no else await replan.obey(tx, scene, order)
    about_us = await household.heard(tx, scene, heard)
    if about_us is not None:
        return about_us
    answer = None if jar.is_begun_by(heard.text) else await dialogue.answer(tx, scene, heard)
    if answer is None:
        answer = await jar.unasked(tx, scene, heard)
    if answer is None:
        answer = await amending.amended(tx, scene, heard)
    if answer is None:
        answer = await settling.settled_in_words(tx, scene, heard)
    return answer if answer is not None else await record.take(tx, scene, heard)


async def _obeyed(tx: Transaction, scene: Scene, heard: Heard, command: str) -> Outcome:
    replies = await orders.obey(tx, scene, command, heard.args)
    return Outcome(await refreshed(tx, scene), replies=replies)


async def _reread(tx: Transaction, scene: Scene, heard: Heard) -> Outcome:
    """An edited message: a command in it is not run, the same text changes nothing, else it is read anew."""
    if heard.command is not None:
        return Outcome(scene, replies=(Hint(code="not_by_edit", about=heard.command),))
    was = await tx.journal.last(scene.chat.id, heard.message)
    if was is not None and was.household_id != scene.household_id:
        return Outcome(scene, replies=(Hint(code="other_household"),))
    if was is not None and was.text == heard.text and was.facts:
        return Outcome(scene)
    anew = await dialogue.answered_anew(tx, scene, was, record.Origin.of(heard)) if was is not None else None
    return anew if anew is not None else await record.take(tx, scene, heard)


async def _post(
    tx: Transaction, outcome: Outcome, key: str, *, answers: str | None, earlier: int | None
) -> None:
    """Brings the reminders in step and posts the replies.

    earlier : the letter that the first of the replies rewrites.
    """
    scene = outcome.scene
    await schedule.step_in(tx, scene)
    await absence.handed_over(tx, outcome, key)
    letters = list(_letters(outcome, answers))
    if earlier is not None and letters and letters[0].kind == "reply":
        # A message that stands can get other words, not another picture.
        letters[0] = replace(letters[0], kind="edit", amends=earlier, picture=None)
    for place, letter in enumerate(chain.from_iterable(map(parted, letters))):
        await tx.outbox.post(
            scene.household_id,
            scene.chat.id,
            letter.as_json(),
            dedupe_key=f"{key}:{place}",
            now=scene.now,
        )


async def _rewritten(tx: Transaction, scene: Scene, effect: presses.Effect, pressed: Pressed) -> int | None:
    """The letter that what follows from a press takes the place of; ``None`` where it is a new one: also
    where the platform no longer shows the message, and nobody would see it change."""
    if effect.outcome is None or _in_danger(effect.outcome) or pressed.message is None:
        return None
    if effect.rewrites:
        return await tx.outbox.shown_as(scene.chat.id, pressed.message)
    return await tx.outbox.find_reply(scene.chat.id, effect.amends) if effect.amends else None


def _in_danger(outcome: Outcome) -> bool:
    """First aid never hides in an old message."""
    return any(isinstance(reply, EmergencyAdvice) for reply in outcome.replies)


def _letters(outcome: Outcome, answers: str | None) -> Sequence[Letter]:
    scene = outcome.scene
    if _is_quiet(outcome):
        return (Letter(kind="reaction", html="👌", answers=answers, thread=scene.thread),)
    voice = Voice.of(scene.choices, speaks_ppm=scene.speaks_ppm)
    letters = [
        replace(render(reply, voice), answers=answers, thread=scene.thread) for reply in outcome.replies
    ]
    if not scene.tanks:
        return tuple(letters)
    # Where there are several, what is said of the water says of which.
    tank = to_html([line(Strong(name(scene.tank_name or "")))])
    return tuple(
        replace(letter, html=f"{tank}\n{letter.html}") if _is_of_tank(reply) else letter
        for reply, letter in zip(outcome.replies, letters, strict=True)
    )


def _is_of_tank(reply: Reply) -> bool:
    if isinstance(reply, Logged):
        return any(is_of_tank(fact) for fact in reply.facts)
    return isinstance(reply, Advice | BandsShown | Doubted)


def _is_quiet(outcome: Outcome) -> bool:
    """A plain log in a group that needs no word: a mark on the message is enough."""
    scene = outcome.scene
    if scene.chat.private or scene.choices.replies == "all" or len(outcome.replies) != 1:
        return False
    (reply,) = outcome.replies
    return isinstance(reply, Logged) and not reply.needs_words and not outcome.unclear


def _stamp(heard: Heard) -> str:
    """Tells the versions of a message apart. Edits are dated in whole seconds, hence the text as well."""
    if heard.edited_at is None:
        return "new"
    return f"{int(heard.edited_at.timestamp())}:{crc32(heard.text.encode()):08x}"
