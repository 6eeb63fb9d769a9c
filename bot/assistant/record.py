"""From a text to the journal: what is kept, what is asked back, what is answered."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from bot.assistant import advise, diagnose, garden, orders, sharing
from bot.assistant.absence import planned
from bot.assistant.due import due_shown
from bot.assistant.emergency import emergency_advice
from bot.assistant.exchange import Heard
from bot.assistant.introduced import introduced
from bot.assistant.next_steps import next_steps
from bot.assistant.portions import beside_advice
from bot.assistant.replies import Asked, Choice, Corrected, Doubted, Hint, Logged, Reply, Unread
from bot.assistant.scene import Outcome, Scene, refreshed, stays_in_journal
from bot.assistant.two_hands import SameDose, counted_once
from bot.reader import Found, Read, Unclear, read
from bot.reader.places import zones_named
from domain.doubt import Doubt, agrees, doubt
from domain.facts import Away, Command, Dose, Emergency, Fact, Question, Reading, Setting
from domain.own_crops import own_crops
from domain.rescue import has_slipped
from storage.engine import Transaction
from storage.journal import Action, Recorded, Revision, StoredRevision, message_key

__all__ = ["QUESTION_LIFE", "Origin", "keep", "read_in", "take"]

QUESTION_LIFE = timedelta(hours=12)
"""How long a question of ours can be answered; a number from yesterday is not worth asking about."""

_REPLIES = re.compile(r"(?:set )?replies:? (all|needed)", re.IGNORECASE)
_PPM_SCALES = (Choice(label="Meter: 500 scale", text="500"), Choice(label="Meter: 700 scale", text="700"))
_GROUPS = (
    Choice(label="Leafy green", text="leafy"),
    Choice(label="Herb", text="herb"),
    Choice(label="Fruiting", text="fruiting"),
    Choice(label="Root", text="root"),
    Choice(label="Flower", text="flower"),
)
_ONE_OR_TWO = (Choice(label="One dose", text="one"), Choice(label="Two doses", text="two"))
_STRENGTH_UNITS = (Choice(label="ppm", text="ppm"), Choice(label="µS/cm", text="us_cm"))


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a revision comes from: the message it belongs to and what was done to it.

    said_at : when the message was sent; ``None``: now. Its words are read as of then, while what is advised
        counts from the edit or the press, with all that happened in between.
    by : number and name of whose entry it is; ``None``: the speaker's.
    """

    message: str
    text: str
    action: Action = "said"
    edited_at: datetime | None = None
    said_at: datetime | None = None
    by: tuple[int | None, str] | None = None

    @classmethod
    def of(cls, heard: Heard) -> Origin:
        return cls(
            message=heard.message,
            text=heard.text,
            action="edited" if heard.edited_at else "said",
            edited_at=heard.edited_at,
            said_at=heard.said_at,
        )

    @classmethod
    def over(cls, standing: StoredRevision, text: str, action: Action, at: datetime) -> Origin:
        """What takes the place of a revision that stands: its message's time and author stay."""
        return cls(
            message=standing.message,
            text=text,
            action=action,
            edited_at=at,
            said_at=standing.said_at,
            by=(standing.person_id, standing.author),
        )


def read_in(scene: Scene, text: str, said_at: datetime | None = None) -> Read:
    """What a text says, read in the household's own units and names, as of when it was sent."""
    at = (said_at or scene.at).astimezone(scene.zone)
    return read(text, now=at, zone=scene.zone, settings=scene.reader_settings)


async def take(tx: Transaction, scene: Scene, heard: Heard) -> Outcome:
    """Keeps what a message says and answers it. In a group, talk is met with silence."""
    taken = _about_replies(scene, heard.text) or read_in(scene, heard.text, heard.said_at)
    if not taken.facts and not taken.unclear:
        meant_for_us = scene.chat.private or heard.addressed
        told = introduced(heard.text, scene.choices, at=heard.said_at) if meant_for_us else None
        if told is not None and told.facts:
            return await keep(tx, scene, told.read(heard.text), Origin.of(heard))
        was = await tx.journal.last(scene.chat.id, heard.message)
        if was is not None:
            return await _emptied(tx, scene, Origin.of(heard))
        if told is not None:
            return Outcome(scene, replies=(Hint(code="say_it_so", about=told.step),))
        replies = (Hint(code="not_understood", about=heard.text),) if meant_for_us else ()
        return Outcome(scene, replies=replies)
    return await keep(tx, scene, taken, Origin.of(heard))


def _about_replies(scene: Scene, text: str) -> Read | None:
    """``replies all`` or ``replies needed``: how much the assistant says in a group."""
    said = _REPLIES.fullmatch(text.strip())
    if said is None:
        return None
    setting = Setting(name="replies", value=said[1].lower(), when=scene.at)
    return Read(facts=(Found(fact=setting, span=(0, len(text))),), unclear=())


async def keep(tx: Transaction, scene: Scene, taken: Read, origin: Origin) -> Outcome:
    """Appends what was read and puts the answers together.

    A revision that is there already, or is older than the one that stands, gets no answer.
    """
    taken, no = await sharing.permitted(tx, scene, taken)
    facts = tuple(found.fact for found in taken.facts)
    kept, doubtful_zone = _with_zone(found for found in taken.facts if stays_in_journal(found.fact))
    key = message_key(scene.chat.id, origin.message)
    kept, of_mix, times = _beside_advice(scene, origin, kept)
    told_twice: tuple[tuple[Found, SameDose], ...] = ()
    if origin.action in ("said", "edited"):
        kept, told_twice = await counted_once(tx, scene.after((), key), kept)
    replies: list[Reply] = [
        emergency_advice(scene, fact, key, origin.text) for fact in facts if isinstance(fact, Emergency)
    ]
    new_crops: list[str] = []
    if kept or (no is None and await tx.journal.last(scene.chat.id, origin.message) is not None):
        doubted = None if origin.action == "confirmed" else _doubted(scene, origin, kept)
        number = await tx.journal.append(revision(scene, origin, kept, doubted=doubted is not None))
        if number is None:
            return Outcome(scene, facts=facts)
        entries = await tx.journal.entries_of(number)
        known_crops = own_crops(scene.choices.bands)
        scene = scene.after(entries, key)
        new_crops = [crop for crop in own_crops(scene.choices.bands) if crop not in known_crops]
        logged = tuple(found.fact for found in kept if not isinstance(found.fact, Emergency))
        if doubted is not None:
            replies.append(Doubted(revision=number, facts=logged, doubt=doubted))
        elif logged:
            changed = origin.edited_at is not None and origin.action != "confirmed"
            reply = advise.logged(scene, number, key, logged, edited=changed)
            reply = diagnose.noticed(scene, reply, key)
            if reply.plan is None and (ahead := next_steps(scene, logged)) is not None:
                reply = replace(reply, plan=ahead, assumed=scene.assumed)
            replies.append(replace(reply, times_advised=times))
    replies += [plan for f in facts if isinstance(f, Away) and (plan := await planned(tx, scene, f))]
    replies += [no] if no is not None else []
    replies += [await _ask_group(tx, scene, crop) for crop in new_crops]
    if await _may_ask_scale(tx, scene, facts):
        asked = await _ask_scale(tx, scene)
        last = replies[-1] if replies else None
        replies[-1:] = [replace(last, asked=asked)] if isinstance(last, Logged) else [*replies[-1:], asked]
    for fact in facts:
        if isinstance(fact, Question) and fact.about == "due":
            about_plants = garden.answer(scene, fact, origin.text)
            replies.append(about_plants or await due_shown(tx, scene))
        elif isinstance(fact, Question):
            replies.append(advise.answer(scene, fact, origin.text))
        elif isinstance(fact, Command) and origin.action == "edited":
            replies.append(Hint(code="not_by_edit", about=fact.name))
        elif isinstance(fact, Command):
            replies += await orders.obey(tx, scene, fact.name, fact.args or "")
            scene = await refreshed(tx, scene)
    replies += [await _ask_if_mix(tx, scene, origin, found, parts) for found, parts in of_mix]
    replies += [await _ask_if_one(tx, scene, origin, found, same) for found, same in told_twice]
    replies += [await _ask_zone(tx, scene, setting) for setting in doubtful_zone]
    replies += [await _ask_back(tx, scene, origin, unclear) for unclear in taken.unclear]
    return Outcome(
        scene,
        facts=facts,
        unclear=tuple((unclear.text, unclear.reason) for unclear in taken.unclear),
        replies=tuple(replies),
    )


def _beside_advice(
    scene: Scene, origin: Origin, kept: Sequence[Found]
) -> tuple[tuple[Found, ...], tuple[tuple[Found, int], ...], float | None]:
    """The facts without doses that may be of an advised mix; those doses, with its parts; and how many times
    the advised portion another dose was, where that is far too much."""
    if origin.action not in ("said", "edited"):
        return tuple(kept), (), None
    before = scene.after((), message_key(scene.chat.id, origin.message))
    of_mix: list[tuple[Found, int]] = []
    times: float | None = None
    for found in kept:
        fact = found.fact
        if isinstance(fact, Dose) and scene.is_recent(fact.when or scene.at):
            portioned = beside_advice(before, fact)
            if portioned is not None and portioned.may_be_mix:
                of_mix.append((found, portioned.parts))
            elif portioned is not None and portioned.is_far_too_much:
                times = portioned.times or math.inf
    asked = {id(found) for found, _ in of_mix}
    return tuple(found for found in kept if id(found) not in asked), tuple(of_mix), times


async def _ask_if_one(tx: Transaction, scene: Scene, origin: Origin, found: Found, same: SameDose) -> Asked:
    """Whether a dose is the one that somebody else has told of; until that is known it counts once."""
    dose = found.fact
    assert isinstance(dose, Dose)  # noqa: S101 — only doses are asked about
    start, end = found.span
    payload = {
        **_source(scene, origin),
        "bit": origin.text[start:end],
        "choices": [choice.text for choice in _ONE_OR_TWO],
        "by": [scene.person.id, scene.person.name],
    }
    number = await ask(tx, scene, "twice", payload)
    return Asked(
        topic="twice",
        question=number,
        choices=_ONE_OR_TWO,
        about=f"{dose.amount:g} {dose.unit}",
        who=same.who,
        at=same.at,
        asked_at=scene.at,
    )


async def _ask_if_mix(tx: Transaction, scene: Scene, origin: Origin, found: Found, parts: int) -> Asked:
    """Whether a dose was of the mix or neat: ten times between them is no small matter."""
    dose = found.fact
    assert isinstance(dose, Dose)  # noqa: S101 — only doses are asked about
    start, end = found.span
    role = "ph down" if dose.product == "ph_down" else "ph up"
    choices = (
        Choice(label=f"{dose.amount:g} ml of the mix", text=f"added {dose.amount / parts:.4g} ml {role}"),
        Choice(label=f"{dose.amount:g} ml neat", text=f"added {dose.amount:g} ml {role}"),
    )
    payload = {
        **_source(scene, origin),
        "bit": origin.text[start:end],
        "choices": [choice.text for choice in choices],
    }
    number = await ask(tx, scene, "unclear", payload)
    return Asked(topic="portion", question=number, choices=choices, about=f"{dose.amount:g} ml")


def _doubted(scene: Scene, origin: Origin, kept: Sequence[Found]) -> Doubt | None:
    """What is hard to believe of the message's reading, beside what the tank should show without it."""
    if not kept or not isinstance(kept[0].fact, Reading):
        return None
    without = scene.after((), message_key(scene.chat.id, origin.message))
    reading = kept[0].fact
    at = reading.when or origin.said_at or scene.at
    latest = without.latest_reading()
    if latest is None or at < latest.happened_at or has_slipped(without.trusted, at):
        return None
    doubted = [e.fact for e in without.entries if e.doubted and latest.happened_at <= e.happened_at <= at]
    if any(isinstance(fact, Reading) and agrees(reading, fact) for fact in doubted):
        # Twice the same is no slip: then it is the log that is wrong.
        return None
    return doubt(reading, without.as_of(at).tank)


def revision(scene: Scene, origin: Origin, kept: Iterable[Found], *, doubted: bool = False) -> Revision:
    """What the journal stores of one message at one time. ``doubted``: its readings wait to be confirmed."""
    said_at = origin.said_at or scene.at
    person_id, author = origin.by or (scene.person.id, scene.person.name)
    return Revision(
        household_id=scene.household_id,
        chat_id=scene.chat.id,
        message=origin.message,
        edited_at=origin.edited_at,
        person_id=person_id,
        author=author,
        said_at=said_at,
        recorded_at=scene.now,
        action=origin.action,
        text=origin.text,
        facts=tuple(
            Recorded(
                fact=found.fact,
                happened_at=found.fact.when or said_at,
                span=found.span,
                doubted=doubted and isinstance(found.fact, Reading),
            )
            for found in kept
        ),
    )


async def _emptied(tx: Transaction, scene: Scene, origin: Origin) -> Outcome:
    """A message that said something and, edited, says nothing any more."""
    no = await sharing.refused(tx, scene, "undo_own")
    if no is not None:
        return Outcome(scene, replies=(no,))
    before = await tx.journal.last(scene.chat.id, origin.message)
    number = await tx.journal.append(revision(scene, origin, ()))
    if number is None or before is None:
        return Outcome(scene)
    gone = tuple(recorded.fact for recorded in before.facts)
    scene = scene.after((), message_key(scene.chat.id, origin.message))
    return Outcome(scene, replies=(Corrected(before=gone),) if gone else ())


def _with_zone(found: Iterable[Found]) -> tuple[tuple[Found, ...], tuple[Setting, ...]]:
    """Facts with a time zone in its canonical name, and the zone settings that name no single zone."""
    kept: list[Found] = []
    doubtful: list[Setting] = []
    for item in found:
        fact = item.fact
        if isinstance(fact, Setting) and fact.name == "time_zone":
            zones = zones_named(fact.value or "")
            if len(zones) != 1:
                doubtful.append(fact)
                continue
            item = replace(item, fact=replace(fact, value=zones[0]))
        kept.append(item)
    return tuple(kept), tuple(doubtful)


async def _may_ask_scale(tx: Transaction, scene: Scene, facts: Iterable[Fact]) -> bool:
    """Whether a household that speaks in ppm has never been asked on which scale."""
    in_ppm = any(isinstance(fact, Reading) and fact.ppm is not None for fact in facts)
    if not in_ppm or scene.choices.ppm_scale is not None or "meter" in scene.choices.skipped:
        return False
    return not await tx.questions.was_asked(scene.household_id, "ppm_scale")


async def _ask_scale(tx: Transaction, scene: Scene) -> Asked:
    payload: dict[str, object] = {"choices": [choice.text for choice in _PPM_SCALES]}
    number = await ask(tx, scene, "ppm_scale", payload)
    return Asked(topic="ppm_scale", question=number, choices=_PPM_SCALES)


async def _ask_group(tx: Transaction, scene: Scene, crop: str) -> Asked:
    payload: dict[str, object] = {"crop": crop, "choices": [choice.text for choice in _GROUPS]}
    number = await ask(tx, scene, "crop_group", payload)
    return Asked(topic="crop_group", question=number, choices=_GROUPS, about=crop)


def _source(scene: Scene, origin: Origin) -> dict[str, object]:
    """What is needed to read the message again once a question about it is answered."""
    said_at = origin.said_at or scene.at
    return {"message": origin.message, "text": origin.text, "said_at": said_at.isoformat()}


async def _ask_zone(tx: Transaction, scene: Scene, setting: Setting) -> Asked:
    options = tuple(Choice(label=zone, text=zone) for zone in zones_named(setting.value or ""))
    number = await ask(tx, scene, "zone", {"choices": [c.text for c in options]})
    return Asked(topic="zone", question=number, choices=options, about=setting.value or "")


async def _ask_back(tx: Transaction, scene: Scene, origin: Origin, unclear: Unclear) -> Reply:
    """Asks about one unclear thing; its buttons complete the message as if it had been typed so."""
    source = _source(scene, origin)
    if _lacks_strength_unit(scene, unclear):
        payload = {**source, "choices": [choice.text for choice in _STRENGTH_UNITS]}
        number = await ask(tx, scene, "strength_unit", payload)
        return Asked(topic="strength_unit", question=number, choices=_STRENGTH_UNITS, about=unclear.text)
    choices = tuple(Choice(label=text, text=text) for text in unclear.suggestions[:4])
    if not choices:
        return Unread(text=unclear.text, reason=unclear.reason)
    start, end = unclear.span
    payload = {**source, "bit": origin.text[start:end], "choices": [choice.text for choice in choices]}
    number = await ask(tx, scene, "unclear", payload)
    return Unread(text=unclear.text, reason=unclear.reason, choices=choices, question=number)


def _lacks_strength_unit(scene: Scene, unclear: Unclear) -> bool:
    """Whether the text would be clear once we know what the household's meter shows."""
    if scene.choices.strength_unit is not None or unclear.reason != "ambiguous":
        return False
    known = replace(scene.reader_settings, strength_unit="ppm")
    again = read(unclear.text, now=scene.at.astimezone(scene.zone), zone=scene.zone, settings=known)
    return bool(again.facts) and not again.unclear


async def ask(tx: Transaction, scene: Scene, topic: str, payload: dict[str, object]) -> int:
    """Opens a question of ours in this chat."""
    return await tx.questions.ask(
        scene.household_id,
        scene.chat.id,
        scene.person.id,
        topic,
        payload,
        scene.now,
        scene.now + QUESTION_LIFE,
    )
