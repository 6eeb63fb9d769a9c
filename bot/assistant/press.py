"""Buttons: what a press does. Each has its effect once, whoever of the household presses it and how often."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from bot.assistant import (
    bringing_in,
    dialogue,
    forgetting,
    jar,
    kept_photos,
    looking_back,
    orders,
    remind,
    replan,
    schedule,
    setup,
    sharing,
    take_out,
    tanks,
    two_hands,
)
from bot.assistant.amending import CORRECT_WITHIN
from bot.assistant.buttons import Pushed, pushed
from bot.assistant.data_replies import ForgetCalledOff, Whom
from bot.assistant.deeds import deed_of_press
from bot.assistant.exchange import Answer, Pressed
from bot.assistant.record import Origin, keep
from bot.assistant.replies import Explained, Hint, SetupEnded, Undone
from bot.assistant.scene import Outcome, Scene, refreshed
from bot.reader import Found, Read
from bot.rendering.markup import to_html, to_plain
from bot.rendering.people import household_lines
from bot.rendering.voice import Voice
from domain.digest import DIGEST
from domain.facts import ProductRole, names_of
from domain.routine import habits
from storage.engine import Transaction
from storage.reminders import ReminderRow

__all__ = ["Effect", "press"]

LONGEST_SHIFT_DAYS = 31
"""The longest step by which a button moves a reminder."""

LATEST_UNIX_S = 2**33
"""A time beyond this one (the year 2242) was never on a button of ours. [s]"""

OLD = Answer("This button is old. Send /help for what works now.")


@dataclass(frozen=True, slots=True)
class Effect:
    """What a press came to.

    answer : what the presser sees at once.
    outcome : what follows in the chat; ``None`` where nothing does.
    amends : the message whose confirmation is rewritten instead of a new letter being sent.
    rewrites : the message under which the button stands is rewritten, where it can still be.
    """

    answer: Answer
    outcome: Outcome | None = None
    amends: str | None = None
    rewrites: bool = False


async def press(tx: Transaction, scene: Scene, pressed: Pressed) -> Effect:
    """Does what a button says. Data that is not ours, or not this household's, has no effect."""
    push = pushed(pressed.data)
    if push is None:
        return Effect(OLD)
    no = await sharing.refused(tx, scene, await deed_of_press(tx, scene, push))
    if no is not None:
        return Effect(Answer(to_plain(to_html(household_lines(no, Voice.of(scene.choices)))), alert=True))
    return await _ACTIONS[push.verb](tx, scene, pressed, push)


async def _why(tx: Transaction, scene: Scene, pressed: Pressed, _: Pushed) -> Effect:
    details = None
    if pressed.message is not None:
        home = scene.household_id
        details = await tx.outbox.details_of(scene.chat.id, pressed.message, household_id=home)
    if details is None:
        return Effect(Answer("The working of this message is no longer kept. Ask again, or send /why."))
    return Effect(Answer(), Outcome(scene, replies=(Explained(html=details),)))


async def _undo(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    number = push.number()
    said = await tx.journal.revision(number) if number is not None else None
    if said is None or said.household_id != scene.household_id:
        return Effect(OLD)
    standing = await tx.journal.last(said.chat_id, said.message)
    reply = await orders.take_back(tx, scene, standing or said)
    if not isinstance(reply, Undone):
        return Effect(Answer("Already taken back."))
    after = scene.after((), f"{said.chat_id}:{said.message}")
    return Effect(Answer("Taken back."), Outcome(after, replies=(reply,)), amends=said.message)


async def _correct(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    number = push.number()
    said = await tx.journal.revision(number) if number is not None else None
    if said is None or said.household_id != scene.household_id:
        return Effect(OLD)
    standing = await tx.journal.last(said.chat_id, said.message)
    if standing is None or not standing.facts:
        return Effect(Answer("This was taken back; just send the right values."))
    await tx.questions.drop(scene.chat.id, "correct")
    await tx.questions.ask(
        scene.household_id,
        scene.chat.id,
        scene.person.id,
        "correct",
        {"revision": standing.id},
        scene.now,
        scene.now + CORRECT_WITHIN,
    )
    return Effect(
        Answer("Send the right value."),
        Outcome(scene, replies=(Hint(code="send_correction", about=said.text),)),
    )


async def _confirm(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    """A doubted reading is right after all: it counts from now on."""
    number = push.number()
    said = await tx.journal.revision(number, household_id=scene.household_id) if number is not None else None
    if said is None:
        return Effect(OLD)
    standing = await tx.journal.last(said.chat_id, said.message)
    if standing is None or standing.id != said.id or not any(fact.doubted for fact in said.facts):
        return Effect(Answer("This was settled already."))
    found = tuple(Found(fact=recorded.fact, span=recorded.span or (0, 0)) for recorded in said.facts)
    origin = Origin.over(said, said.text, "confirmed", scene.now)
    return Effect(Answer("It counts."), await keep(tx, scene, Read(facts=found, unclear=()), origin))


async def _pick(tx: Transaction, scene: Scene, pressed: Pressed, push: Pushed) -> Effect:
    question, option = push.number(), push.number(1)
    if question is None or option is None:
        return Effect(OLD)
    asked = await tx.questions.get(question, household_id=scene.household_id)
    here = asked is not None and asked.chat_id == scene.chat.id
    if asked is None or not here or option >= len(asked.payload.get("choices", ())):
        return Effect(OLD)
    if await tx.questions.take(question, scene.now, household_id=scene.household_id) is None:
        return Effect(Answer("This was answered already, or is too old."))
    chosen = asked.payload.get("choices", ())[option]
    return Effect(Answer(), await dialogue.pick(tx, scene, asked, chosen, pressed.press))


async def _step(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    step = setup.step_named(push.parts[0]) if push.parts else None
    if step is None:
        return Effect(OLD)
    return Effect(Answer(), Outcome(scene, replies=(await orders.ask_step(tx, scene, step, alone=True),)))


async def _skip(tx: Transaction, scene: Scene, pressed: Pressed, push: Pushed) -> Effect:
    number = push.number()
    asked = None
    if number is not None:
        asked = await tx.questions.take(number, scene.now, household_id=scene.household_id)
    if asked is None or asked.topic != "setup":
        return Effect(Answer("This was answered already, or is too old."))
    return Effect(Answer("Skipped."), await dialogue.skip_step(tx, scene, asked, pressed.press))


async def _stop(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    await tx.questions.drop(scene.chat.id, "setup")
    return Effect(Answer(), Outcome(scene, replies=(SetupEnded(choices=scene.choices),)))


async def _done(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    row = await _reminder(tx, scene, push)
    if row is None:
        return Effect(Answer("This is settled already."))
    return Effect(Answer("Noted."), await remind.done(tx, scene, row))


async def _later(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    row = await _reminder(tx, scene, push)
    if row is None or not schedule.still_due(scene, row):
        return Effect(Answer("This is settled already."))
    at = (await remind.later(tx, scene, row)).astimezone(scene.zone)
    is_today = at.date() == scene.now.astimezone(scene.zone).date()
    day = "" if is_today else f" on {at:%a} {at.day} {at:%b}"
    return Effect(Answer(f"I will ask again{day} at {at:%H:%M}."))


async def _pass(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    row = await _reminder(tx, scene, push)
    if row is None or not schedule.still_due(scene, row):
        return Effect(Answer("This is settled already."))
    at = await remind.passed_over(tx, scene, row)
    when = f" Next: {at.astimezone(scene.zone):%a %d %b}." if at else ""
    return Effect(Answer(f"Left out this time.{when}"))


async def _off(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    row = await _reminder(tx, scene, push)
    outcome = await remind.stopped(tx, scene, row) if row is not None else None
    if row is None or outcome is None:
        return Effect(Answer("This is settled already."))
    again = f" Say: {remind.said_again(row.task)}." if row.task in habits() or row.task == DIGEST else ""
    return Effect(Answer(f"I will not remind you of this any more.{again}"), outcome)


async def _paused(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    row = await _reminder(tx, scene, push)
    if row is None or not schedule.still_due(scene, row):
        return Effect(Answer("This is settled already."))
    paused = push.verb == "pause"
    await replan.set_paused(tx, scene, row, paused)
    return Effect(Answer("Paused. Press Resume when it may go on." if paused else "It goes on."))


async def _shift(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    row, days = await _reminder(tx, scene, push), push.number(2)
    if row is None or not schedule.still_due(scene, row):
        return Effect(Answer("This is settled already."))
    if days is None or not 1 <= days <= LONGEST_SHIFT_DAYS:
        return Effect(OLD)
    return Effect(Answer(), await replan.moved_by(tx, scene, row, days))


async def _reminder(tx: Transaction, scene: Scene, push: Pushed) -> ReminderRow | None:
    """The reminder that a button is about, where it is this household's and still planned for that date."""
    number, planned = push.number(), push.number(1)
    if number is None or planned is None:
        return None
    row = await tx.reminders.get(number, household_id=scene.household_id)
    return row if row is not None and int(row.planned_at.timestamp()) == planned else None


async def _dosing(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    what = push.parts[0] if push.parts else ""
    if what not in names_of(ProductRole):
        return Effect(OLD)
    taken = await two_hands.take_step(tx, scene, what)
    if not taken.by_you:
        since = f"{taken.at.astimezone(scene.zone):%H:%M}"
        return Effect(Answer(f"{taken.who} is at it since {since}. Add nothing now.", alert=True))
    # In a group everybody reads it; alone with one person the answer to the press is enough.
    outcome = None if scene.chat.private else Outcome(scene, replies=(replace(taken, by_you=False),))
    return Effect(Answer("Noted: I tell whoever asks. Log it when it is in."), outcome)


async def _invite(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    reply = await sharing.invited(tx, scene, push.parts[0] if push.parts else "")
    return Effect(Answer(), Outcome(scene, replies=(reply,)))


async def _revoke(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    number = push.number()
    was_open = number is not None and await sharing.revoked(tx, scene, number)
    return Effect(Answer("Revoked: nobody can join with it." if was_open else "It was closed already."))


async def _home(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    number = push.number()
    outcome = await sharing.use_here(tx, scene, number) if number is not None else None
    return Effect(Answer(), outcome) if outcome is not None else Effect(OLD)


async def _tank(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    place = push.number()
    if place is None or place >= len(scene.tanks):
        return Effect(OLD)
    return Effect(Answer(), await tanks.chosen(tx, scene, scene.tanks[place]))


async def _leave(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    return Effect(Answer(), await sharing.leave(tx, scene, sure=push.parts[:1] == ("sure",)))


async def _jar(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    return Effect(Answer(), await jar.begin(tx, scene, push.parts[0] if push.parts else None))


async def _turn(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    question, end = push.number(), push.number(1)
    if question is None or end is None:
        return Effect(OLD)
    page = await looking_back.turned(tx, scene, question, end)
    return Effect(OLD) if page is None else Effect(Answer(), Outcome(scene, replies=(page,)), rewrites=True)


async def _hand(tx: Transaction, scene: Scene, pressed: Pressed, push: Pushed) -> Effect:
    if not await take_out.hand_over(tx, scene, push.parts[0] if push.parts else "", pressed.press):
        return Effect(Answer("Write to me in private first (Start), then press again.", alert=True))
    return Effect(Answer("Sent to you in private."))


async def _forget(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    stage = push.parts[0] if push.parts else ""
    if stage == "keep":
        await forgetting.call_off(tx, scene)
        return Effect(Answer(), Outcome(scene, replies=(ForgetCalledOff(),)), rewrites=True)
    number, asked = push.number(2), push.number(3)
    whom: Whom = "household" if push.parts[1:2] == ("household",) else "person"
    if number is None or asked is None or stage not in ("ask", "yes"):
        return Effect(OLD)
    step = forgetting.ask_again if stage == "ask" else forgetting.plan
    reply = await step(tx, scene, whom, number, datetime.fromtimestamp(min(asked, LATEST_UNIX_S), UTC))
    if reply is None:
        return Effect(Answer("That was not asked of you, or too long ago. Send /forget anew.", alert=True))
    return Effect(Answer(), Outcome(scene, replies=(reply,)), rewrites=True)


async def _bring(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    number = push.number(1)
    if number is None:
        return Effect(OLD)
    if push.parts[0] != "keep":
        asked = await tx.questions.get(number, household_id=scene.household_id)
        if asked is not None and asked.topic == bringing_in.TOPIC:
            await tx.questions.put_away(number)
        return Effect(Answer("Left out; nothing was kept."), None)
    reply = await bringing_in.keep(tx, scene, number)
    if reply is None:
        return Effect(Answer("That file is done with. Send it again to have it looked at."))
    return Effect(Answer(), Outcome(await refreshed(tx, scene), replies=(reply,)), rewrites=True)


async def _photo(tx: Transaction, scene: Scene, _: Pressed, push: Pushed) -> Effect:
    replies = await kept_photos.shown(tx, scene, push.number())
    return Effect(Answer(), Outcome(scene, replies=replies)) if replies else Effect(OLD)


_ACTIONS: dict[str, Callable[[Transaction, Scene, Pressed, Pushed], Awaitable[Effect]]] = {
    "why": _why,
    "undo": _undo,
    "correct": _correct,
    "pick": _pick,
    "step": _step,
    "skip": _skip,
    "stop": _stop,
    "done": _done,
    "later": _later,
    "pass": _pass,
    "off": _off,
    "pause": _paused,
    "resume": _paused,
    "shift": _shift,
    "jar": _jar,
    "dosing": _dosing,
    "invite": _invite,
    "revoke": _revoke,
    "home": _home,
    "leave": _leave,
    "tank": _tank,
    "confirm": _confirm,
    "turn": _turn,
    "hand": _hand,
    "forget": _forget,
    "bring": _bring,
    "photo": _photo,
}
