"""Answers to questions that the assistant has asked: set-up steps, corrections, unclear numbers."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import datetime

from bot.assistant import jar, orders, setup
from bot.assistant.exchange import Heard
from bot.assistant.record import Origin, keep, read_in, revision
from bot.assistant.replies import Hint, Reply, SetupEnded
from bot.assistant.scene import Outcome, Scene
from bot.reader import Found, Read
from domain.facts import Fact, Reading, Setting
from storage.engine import Transaction
from storage.journal import message_key
from storage.questions import Asked

__all__ = ["answer", "pick", "skip_step"]

_SETTINGS = {"zone": "time_zone", "strength_unit": "strength_unit", "ppm_scale": "ppm_scale"}
"""Questions whose answer is a setting, by topic."""


async def answer(tx: Transaction, scene: Scene, heard: Heard) -> Outcome | None:
    """What a text says as an answer to a question of ours; ``None`` where it speaks for itself."""
    correction = await tx.questions.open_in(scene.chat.id, scene.now, "correct")
    if correction is not None and correction.person_id == scene.person.id:
        return await _corrected(tx, scene, heard, correction)
    in_jar = await jar.answered(tx, scene, heard)
    if in_jar is not None:
        return in_jar
    asked = await tx.questions.open_in(scene.chat.id, scene.now, "setup")
    if asked is None or not (scene.chat.private or heard.addressed):
        return None
    return await _step_answered(tx, scene, heard, asked)


async def _step_answered(tx: Transaction, scene: Scene, heard: Heard, asked: Asked) -> Outcome | None:
    step = setup.step_named(asked.payload["step"])
    if step is None:
        return None
    facts = setup.answered(step, heard.text, scene.choices, now=scene.at)
    if facts is None:
        taken = read_in(scene, heard.text)
        if taken.facts or taken.unclear:
            return None
        return Outcome(scene, replies=(await orders.ask_step(tx, scene, step, again=True),))
    if await tx.questions.take(asked.id, scene.now) is None:
        return Outcome(scene)
    return await _kept_and_next(tx, scene, Origin(heard.message, heard.text, "answered"), facts)


async def _kept_and_next(tx: Transaction, scene: Scene, origin: Origin, facts: tuple[Fact, ...]) -> Outcome:
    """Keeps the facts of a set-up answer and asks the next step."""
    found = tuple(Found(fact=fact, span=(0, len(origin.text))) for fact in facts)
    number = await tx.journal.append(revision(scene, origin, found))
    if number is None:
        return Outcome(scene)
    after = scene.after(await tx.journal.entries_of(number), message_key(scene.chat.id, origin.message))
    step = setup.next_step(after.choices)
    said = setup.shown(facts)
    reply: Reply = (
        SetupEnded(choices=after.choices, kept=said)
        if step is None
        else await orders.ask_step(tx, after, step, kept=said)
    )
    return Outcome(after, facts=facts, replies=(reply,))


async def skip_step(tx: Transaction, scene: Scene, asked: Asked, press: str) -> Outcome:
    """Passes over a step for good and asks the next."""
    step = setup.step_named(asked.payload["step"])
    if step is None:
        return Outcome(scene)
    return await _kept_and_next(tx, scene, Origin(f"press:{press}", "", "answered"), (setup.skipped(step),))


async def _corrected(tx: Transaction, scene: Scene, heard: Heard, asked: Asked) -> Outcome | None:
    """The values of a text take the place of those of the message that is being corrected."""
    taken = read_in(scene, heard.text)
    standing = await tx.journal.revision(asked.payload["revision"])
    if standing is not None:
        origin = Origin(standing.message, heard.text, "edited", edited_at=scene.at)
        in_jar = await jar.corrected(tx, replace(scene, at=standing.said_at), standing, origin)
        if in_jar is not None:
            await tx.questions.take(asked.id, scene.now)
            return in_jar
    if not taken.facts or standing is None:
        return None
    await tx.questions.take(asked.id, scene.now)
    before = tuple(recorded.fact for recorded in standing.facts)
    merged = _merged(before, taken)
    origin = Origin(standing.message, heard.text, "edited", edited_at=scene.at)
    at_first = replace(scene, at=standing.said_at)
    return await keep(tx, at_first, merged, origin)


def _merged(before: tuple[Fact, ...], taken: Read) -> Read:
    """The corrected message: each new fact replaces the one of its kind; a reading keeps its other values."""
    found: list[Found] = []
    left = list(before)
    for item in taken.facts:
        old = next((fact for fact in left if type(fact) is type(item.fact)), None)
        if old is not None:
            left.remove(old)
            item = replace(item, fact=_over(old, item.fact))
        found.append(item)
    kept = [Found(fact=fact, span=(0, 0)) for fact in left]
    return replace(taken, facts=(*found, *kept))


def _over(old: Fact, new: Fact) -> Fact:
    """``new`` at the time of ``old``; of a reading, the values that ``new`` does not give stay."""
    if not isinstance(old, Reading) or not isinstance(new, Reading):
        return replace(new, when=old.when)
    given = {f.name: v for f in fields(new) if (v := getattr(new, f.name)) is not None}
    if "ec_ms_cm" in given:
        old = replace(old, ppm=None, ppm_scale=None)
    return replace(old, **{**given, "when": old.when})


async def pick(tx: Transaction, scene: Scene, asked: Asked, chosen: str, press: str) -> Outcome:
    """A choice among those that a question of ours offered, as if it had been typed."""
    if asked.topic == "setup":
        step = setup.step_named(asked.payload["step"])
        facts = setup.answered(step, chosen, scene.choices, now=scene.at) if step else None
        if facts is None:
            return Outcome(scene)
        return await _kept_and_next(tx, scene, Origin(f"press:{press}", chosen, "answered"), facts)
    if asked.topic in _SETTINGS:
        name = _SETTINGS[asked.topic]
        setting = Found(fact=Setting(name=name, value=chosen, when=scene.at), span=(0, len(chosen)))
        outcome = await keep(
            tx, scene, Read(facts=(setting,), unclear=()), Origin(f"press:{press}", chosen, "pressed")
        )
        return outcome if "text" not in asked.payload else await _completed(tx, outcome.scene, asked, None)
    if asked.topic == "unclear":
        return await _completed(tx, scene, asked, chosen)
    return Outcome(scene, replies=(Hint(code="old_button"),))


async def _completed(tx: Transaction, scene: Scene, asked: Asked, text: str | None) -> Outcome:
    """The unclear message read again: as completed by the choice, or with what is known now."""
    said_at = datetime.fromisoformat(asked.payload["said_at"])
    then = replace(scene, at=said_at)
    text = text or asked.payload["text"]
    origin = Origin(asked.payload["message"], text, "answered", edited_at=scene.now)
    outcome = await keep(tx, then, read_in(then, text), origin)
    return replace(outcome, scene=replace(outcome.scene, at=scene.at))
