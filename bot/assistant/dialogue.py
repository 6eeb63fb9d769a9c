"""Answers to questions that the assistant has asked: set-up steps, corrections, unclear numbers."""

from __future__ import annotations

import math
import re
from dataclasses import fields, replace
from datetime import datetime

from bot.assistant import jar, orders, setup
from bot.assistant.exchange import Heard
from bot.assistant.introduced import introduced
from bot.assistant.record import Origin, keep, read_in, revision
from bot.assistant.replies import Hint, Reply, SettingsShown, SetupEnded
from bot.assistant.scene import Outcome, Scene, refreshed
from bot.assistant.tanks import told_tanks
from bot.assistant.told import told
from bot.reader import Found, Read
from domain.facts import Emergency, Fact, Question, Reading, Setting
from domain.roles import Deed, may
from storage.engine import Transaction
from storage.journal import Revision, StoredRevision, message_key
from storage.questions import Asked

__all__ = ["answer", "answered_anew", "deed_of_choice", "pick", "put_right", "skip_step"]

_SETTINGS = {
    "zone": "time_zone",
    "strength_unit": "strength_unit",
    "ppm_scale": "ppm_scale",
    "crop_group": "crop_group",
}
"""Questions whose answer is a setting, by topic."""
_SKIP = frozenset({"skip", "next", "pass", "no idea", "later"})
_ENOUGH = frozenset({"enough", "stop", "cancel", "quit", "done"})
_NUMBER = re.compile(r"\d{1,4}(?:[.,]\d{1,2})?")
LONGEST_ANSWER = 4
"""A text of more words that is no answer is taken for what it says, not asked about again."""
NEAR_ENOUGH = 0.7
"""A bare correction is taken for a value that it is at most about double or half of (natural logarithm)."""


async def answer(tx: Transaction, scene: Scene, heard: Heard) -> Outcome | None:
    """What a text says as an answer to a question of ours; ``None`` where it speaks for itself.

    Somebody in trouble is never taken for an answer, and a log is kept whatever was asked.
    """
    waiting = await tx.questions.newest_open(scene.chat.id, scene.now)
    if not waiting:
        return None
    taken = read_in(scene, heard.text)
    if any(isinstance(found.fact, Emergency) for found in taken.facts):
        return None
    correction = waiting.get("correct")
    if correction is not None and correction.person_id == scene.person.id:
        corrected = await _corrected(tx, scene, heard, correction)
        if corrected is not None:
            return corrected
    in_jar = await jar.answered(tx, scene, heard, waiting.get(jar.TOPIC))
    if in_jar is not None:
        return in_jar
    asked = waiting.get("setup")
    if asked is None or not (scene.chat.private or heard.addressed):
        return None
    return await _step_answered(tx, scene, heard, asked, taken)


async def _step_answered(
    tx: Transaction, scene: Scene, heard: Heard, asked: Asked, taken: Read
) -> Outcome | None:
    step = setup.step_named(asked.payload["step"])
    if step is None or not may(scene.person.role, "settings"):
        return None
    if step.name == "name" and _names_nothing(scene, heard):
        return None
    says_more = any(not isinstance(found.fact, Setting | Question) for found in taken.facts)
    if says_more and not step.own_words:
        return None
    word = heard.text.strip().strip(".!").lower()
    if word in _ENOUGH:
        await tx.questions.drop(scene.chat.id, "setup")
        return Outcome(scene, replies=(SetupEnded(choices=scene.choices),))
    if word in _SKIP:
        facts: tuple[Fact, ...] | None = (setup.skipped(step),)
    else:
        facts = setup.answered(step, heard.text, scene.choices, now=scene.at)
    if facts is None and (taken.facts or taken.unclear):
        return None
    alone = bool(asked.payload.get("alone"))
    if facts is None:
        if len(heard.text.split()) > LONGEST_ANSWER or _is_told(scene, heard):
            return None
        again = await orders.ask_step(tx, scene, step, again=True, alone=alone)
        return Outcome(scene, replies=(again,))
    if await tx.questions.take(asked.id, scene.now) is None:
        return Outcome(scene)
    origin = Origin(heard.message, heard.text, "answered")
    return await _kept_and_next(tx, scene, origin, facts, alone=alone)


def _is_told(scene: Scene, heard: Heard) -> bool:
    """Whether a text is a sentence about the household that is understood whatever was asked."""
    met = introduced(heard.text, scene.choices, at=heard.said_at)
    if met is not None and met.facts:
        return True
    return told(heard.text, heard.said_at) is not None or told_tanks(scene, heard.text) is not None


def _names_nothing(scene: Scene, heard: Heard) -> bool:
    """Whether a text that came to the question of a name tells of something else."""
    return _is_told(scene, heard) or introduced(heard.text, scene.choices, at=heard.said_at) is not None


async def answered_anew(tx: Transaction, scene: Scene, was: StoredRevision, origin: Origin) -> Outcome | None:
    """An edited answer to a question of ours; ``None`` where the message was none, or is none any more."""
    in_jar = await jar.corrected(tx, scene, was, origin)
    if in_jar is not None or was.action not in ("answered", "edited"):
        return in_jar
    kinds = {_subject(recorded.fact) for recorded in was.facts}
    for step in setup.STEPS:
        before = setup.answered(step, was.text, scene.choices, now=was.said_at)
        facts = setup.answered(step, origin.text, scene.choices, now=was.said_at) if before else None
        if (
            before
            and facts
            and {(f.kind, getattr(f, "name", None) or getattr(f, "role", None)) for f in before} == kinds
        ):
            found = tuple(Found(fact=fact, span=(0, len(origin.text))) for fact in facts)
            return await keep(tx, scene, Read(facts=found, unclear=()), origin)
    return None


def _subject(fact: Fact) -> tuple[str, str | None]:
    """What a set-up fact is about: a setting by its name, a product by its role."""
    return fact.kind, fact.name if isinstance(fact, Setting) else getattr(fact, "role", None)


async def _kept_and_next(
    tx: Transaction, scene: Scene, origin: Origin, facts: tuple[Fact, ...], *, alone: bool = False
) -> Outcome:
    """Keeps the facts of a set-up answer and asks the next step. alone : only this one was wanted."""
    found = tuple(Found(fact=fact, span=(0, len(origin.text))) for fact in facts)
    if alone and setup.shown(facts):
        return await keep(tx, scene, Read(facts=found, unclear=()), origin)
    number = await tx.journal.append(revision(scene, origin, found))
    if number is None:
        return Outcome(scene)
    after = scene.after(await tx.journal.entries_of(number), message_key(scene.chat.id, origin.message))
    step = setup.next_step(after.choices)
    said = setup.shown(facts)
    reply: Reply = (
        SettingsShown(choices=after.choices)
        if alone
        else SetupEnded(choices=after.choices, kept=said)
        if step is None
        else await orders.ask_step(tx, after, step, kept=said)
    )
    return Outcome(after, facts=facts, replies=(reply,))


async def skip_step(tx: Transaction, scene: Scene, asked: Asked, press: str) -> Outcome:
    """Passes over a step for good and asks the next."""
    step = setup.step_named(asked.payload["step"])
    if step is None:
        return Outcome(scene)
    origin = Origin(f"press:{press}", "", "answered")
    alone = bool(asked.payload.get("alone"))
    return await _kept_and_next(tx, scene, origin, (setup.skipped(step),), alone=alone)


async def _corrected(tx: Transaction, scene: Scene, heard: Heard, asked: Asked) -> Outcome | None:
    """The values of a text take the place of those of the message that is being corrected.

    ``None`` for a text about something else, and where that message has been changed or taken back since.
    """
    said = await tx.journal.revision(asked.payload["revision"], household_id=scene.household_id)
    standing = await tx.journal.last(said.chat_id, said.message) if said is not None else None
    if said is None or standing is None or standing.id != said.id:
        await tx.questions.drop(scene.chat.id, "correct")
        return None
    origin = Origin.over(standing, heard.text, "edited", scene.at)
    in_jar = await jar.corrected(tx, scene, standing, origin)
    if in_jar is not None:
        await tx.questions.take(asked.id, scene.now)
        return in_jar
    corrected = await put_right(tx, scene, standing, heard.text)
    if corrected is not None:
        await tx.questions.take(asked.id, scene.now)
    return corrected


async def put_right(
    tx: Transaction, scene: Scene, standing: StoredRevision, text: str, *, bare: bool = True
) -> Outcome | None:
    """The values of a text in place of those of a message; ``None`` for a text about something else.

    bare : a number alone is taken for the value that it is nearest to.
    """
    before = tuple(recorded.fact for recorded in standing.facts)
    taken = read_in(scene, text)
    if bare and not taken.facts and (named := _bare_value(text, before)):
        taken = read_in(scene, named)
    kinds = {type(fact) for fact in before}
    if not taken.facts or any(type(found.fact) not in kinds for found in taken.facts):
        return None
    origin = Origin.over(standing, text, "edited", scene.at)
    return await keep(tx, scene, _merged(before, taken), origin)


def _bare_value(text: str, before: tuple[Fact, ...]) -> str | None:
    """``6.1`` as a correction of ``ph 6.9 ec 1.2``: the value with the name of the one it is nearest to."""
    number = _NUMBER.fullmatch(text.strip())
    reading = next((fact for fact in before if isinstance(fact, Reading)), None)
    if number is None or reading is None:
        return None
    new = float(number[0].replace(",", "."))
    shown = {
        "ph": reading.ph,
        "ppm": reading.ppm,
        "ec": reading.ec_ms_cm if reading.ppm is None else None,
        "temp": reading.water_temp_c,
    }
    far = {name: abs(math.log(new / old)) for name, old in shown.items() if old and new > 0}
    near = [name for name, distance in far.items() if distance < NEAR_ENOUGH]
    return f"{near[0]} {number[0]}" if len(near) == 1 else None


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


def deed_of_choice(topic: str) -> Deed:
    """What a member does who chooses among what a question offers."""
    return "settings" if topic == "setup" or topic in _SETTINGS else "see"


async def pick(tx: Transaction, scene: Scene, asked: Asked, chosen: str, press: str) -> Outcome:
    """A choice among those that a question of ours offered, as if it had been typed."""
    if asked.topic == "setup":
        step = setup.step_named(asked.payload["step"])
        facts = setup.answered(step, chosen, scene.choices, now=scene.at) if step else None
        if facts is None:
            return Outcome(scene)
        origin = Origin(f"press:{press}", chosen, "answered")
        return await _kept_and_next(tx, scene, origin, facts, alone=bool(asked.payload.get("alone")))
    if asked.topic in _SETTINGS:
        return await _chosen(tx, scene, asked, chosen, press)
    if asked.topic == "twice" and chosen == "one":
        return Outcome(scene, replies=(Hint(code="one_dose", about=asked.payload.get("thing", "dose")),))
    if asked.topic == "twice":
        return await _completed(tx, scene, asked, asked.payload["bit"])
    if asked.topic == "unclear":
        return await _completed(tx, scene, asked, chosen)
    return Outcome(scene, replies=(Hint(code="old_button"),))


async def _chosen(tx: Transaction, scene: Scene, asked: Asked, chosen: str, press: str) -> Outcome:
    """A setting that was asked for by buttons, and what it changes of what was said before."""
    name = _SETTINGS[asked.topic]
    fact = Setting(name=name, value=chosen, crop=asked.payload.get("crop"), when=scene.at)
    setting = Found(fact=fact, span=(0, len(chosen)))
    only = Read(facts=(setting,), unclear=())
    outcome = await keep(tx, scene, only, Origin(f"press:{press}", chosen, "pressed"))
    if asked.topic == "ppm_scale":
        return await _rescaled(tx, outcome, int(chosen))
    if "text" not in asked.payload:
        return outcome
    message = asked.payload["message"]
    if await tx.journal.last(scene.chat.id, message) is not None:
        return outcome
    said_at = datetime.fromisoformat(asked.payload["said_at"])
    text = asked.payload["text"]
    by = _writer(asked, scene)
    origin = Origin(message, text, "answered", edited_at=scene.now, said_at=said_at, by=by)
    return await keep(tx, outcome.scene, read_in(outcome.scene, text, said_at), origin)


async def _rescaled(tx: Transaction, outcome: Outcome, scale: int) -> Outcome:
    """The household's readings in ppm on the scale that its meter really has."""
    scene = outcome.scene
    for entry in scene.entries:
        fact = entry.fact
        if isinstance(fact, Reading) and fact.ppm is not None and fact.ppm_scale != scale:
            chat_id, _, message = entry.message_key.partition(":")
            standing = await tx.journal.last(int(chat_id), message)
            if standing is not None:
                facts = tuple(replace(r, fact=_on_scale(r.fact, scale)) for r in standing.facts)
                await tx.journal.append(
                    Revision(
                        household_id=standing.household_id,
                        chat_id=standing.chat_id,
                        message=standing.message,
                        edited_at=scene.now,
                        person_id=standing.person_id,
                        author=standing.author,
                        said_at=standing.said_at,
                        recorded_at=scene.now,
                        action="answered",
                        text=standing.text,
                        facts=facts,
                    )
                )
    return replace(outcome, scene=await refreshed(tx, scene))


def _on_scale(fact: Fact, scale: int) -> Fact:
    if not isinstance(fact, Reading) or fact.ppm is None:
        return fact
    return replace(fact, ppm_scale=scale, ec_ms_cm=fact.ppm / scale)


async def _completed(tx: Transaction, scene: Scene, asked: Asked, chosen: str) -> Outcome:
    """The unclear message read again with the chosen words, unless somebody has changed it since."""
    message = asked.payload["message"]
    standing = await tx.journal.last(scene.chat.id, message)
    text = asked.payload["text"] if standing is None else standing.text
    bit = asked.payload["bit"]
    if bit not in text or (standing is not None and standing.action == "undone"):
        return Outcome(scene, replies=(Hint(code="changed_since"),))
    text = text.replace(bit, chosen, 1)
    if standing is not None:
        origin = Origin.over(standing, text, "answered", scene.now)
    else:
        said_at = datetime.fromisoformat(asked.payload["said_at"])
        by = _writer(asked, scene)
        origin = Origin(message, text, "answered", edited_at=scene.now, said_at=said_at, by=by)
    return await keep(tx, scene, read_in(scene, text, origin.said_at), origin)


def _writer(asked: Asked, scene: Scene) -> tuple[int | None, str]:
    """Whose words a question is about, whoever answers it."""
    number, author = asked.payload.get("by", (scene.person.id, scene.person.name))
    return number, author
