"""From a text to the journal: what is kept, what is asked back, what is answered."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from bot.assistant import advise, asking, diagnose, garden, moved_counts, orders, sharing
from bot.assistant.absence import planned
from bot.assistant.digest import about_digest
from bot.assistant.due import due_shown
from bot.assistant.emergency import caution, emergency_advice
from bot.assistant.everyday import everyday
from bot.assistant.exchange import Heard
from bot.assistant.household_replies import TanksShown
from bot.assistant.impossible import possible
from bot.assistant.introduced import introduced
from bot.assistant.next_steps import next_steps
from bot.assistant.noticed import sign_noticed
from bot.assistant.origin import Origin
from bot.assistant.portions import beside_advice
from bot.assistant.replies import Corrected, Doubted, Hint, Logged, Reply
from bot.assistant.scene import Outcome, Scene, refreshed, stays_in_journal
from bot.assistant.tanks import in_its_tank, told_tanks, unknown_tank
from bot.assistant.told import is_soft_water, told
from bot.assistant.two_hands import SameDose, counted_once
from bot.reader import Found, Read, read
from bot.reader.places import zones_named
from domain.doubt import Doubt, agrees, doubt
from domain.facts import Away, Command, Dose, Emerged, Emergency, Question, Reading, Setting
from domain.own_crops import own_crops
from domain.rescue import has_slipped
from storage.engine import Transaction
from storage.journal import Recorded, Revision, message_key

__all__ = ["Origin", "keep", "read_in", "revision", "take"]

_REPLIES = re.compile(r"(?:set )?replies:? (all|needed)", re.IGNORECASE)


def read_in(scene: Scene, text: str, said_at: datetime | None = None) -> Read:
    """What a text says, read in the household's own units and names, as of when it was sent."""
    at = (said_at or scene.at).astimezone(scene.zone)
    return read(text, now=at, zone=scene.zone, settings=scene.reader_settings)


async def take(tx: Transaction, scene: Scene, heard: Heard) -> Outcome:
    """Keeps what a message says and answers it. In a group, talk is met with silence."""
    taken = _about_replies(scene, heard.text) or about_digest(heard.text, scene.at)
    told_so = told(heard.text, heard.said_at)
    if told_so == "hardness":
        return Outcome(scene, replies=(Hint(code="hardness"),))
    named = told_tanks(scene, heard.text)
    if isinstance(named, TanksShown):
        return Outcome(scene, replies=(named,))
    taken = taken or named or told_so or read_in(scene, heard.text, heard.said_at)
    if not any(isinstance(found.fact, Emergency) for found in taken.facts):
        where = unknown_tank(scene, heard.text, taken)
        taken = taken if where is None else Read(facts=(), unclear=(where,))
        said_first = caution(scene, heard.text)
        if said_first is not None:
            records = tuple(found for found in taken.facts if not isinstance(found.fact, Question))
            outcome = await keep(tx, scene, replace(taken, facts=records), Origin.of(heard))
            return replace(outcome, replies=(said_first, *outcome.replies))
    if not taken.facts and not taken.unclear:
        meant_for_us = scene.chat.private or heard.addressed
        sign = sign_noticed(heard.text) if meant_for_us else None
        if sign is not None:
            return await keep(tx, scene, Read(facts=(sign,), unclear=()), Origin.of(heard))
        met = introduced(heard.text, scene.choices, at=heard.said_at)
        if met is not None and met.facts:
            return await keep(tx, scene, met.read(heard.text), Origin.of(heard))
        plain = await everyday(tx, scene, heard.text) if meant_for_us and heard.edited_at is None else ()
        if plain:
            return Outcome(scene, replies=plain)
        was = await tx.journal.last(scene.chat.id, heard.message)
        if was is not None:
            return await _emptied(tx, scene, Origin.of(heard))
        if met is not None and meant_for_us:
            return Outcome(scene, replies=(Hint(code="say_it_so", about=met.step),))
        replies = (Hint(code="not_understood", about=heard.text),) if meant_for_us else ()
        return Outcome(scene, replies=replies)
    outcome = await keep(tx, scene, taken, Origin.of(heard))
    if is_soft_water(heard.text) and outcome.facts:
        return replace(outcome, replies=(*outcome.replies, Hint(code="soft_water")))
    return outcome


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
    scene, taken = in_its_tank(scene, taken)
    can_be, no_such = possible(taken.facts, origin.text)
    taken = replace(taken, facts=can_be)
    facts = tuple(found.fact for found in taken.facts)
    kept, doubtful_zone = _with_zone(found for found in taken.facts if stays_in_journal(found.fact))
    key = message_key(scene.chat.id, origin.message)
    kept, of_mix, times = _beside_advice(scene, origin, kept)
    told_twice: tuple[tuple[Found, SameDose], ...] = ()
    if origin.action in ("said", "edited"):
        kept, told_twice = await counted_once(tx, scene.after((), key), kept)
    kept, already_up = _newly_up(scene.after((), key), kept)
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
            reply = moved_counts.told(scene, reply, kept, origin.text)
            reply = diagnose.noticed(scene, reply, key)
            if reply.plan is None and (ahead := next_steps(scene, logged)) is not None:
                reply = replace(reply, plan=ahead, assumed=scene.assumed)
            replies.append(replace(reply, times_advised=times))
    replies += [plan for f in facts if isinstance(f, Away) and (plan := await planned(tx, scene, f))]
    replies += [no] if no is not None else []
    replies += no_such
    replies += [await asking.ask_group(tx, scene, crop) for crop in new_crops]
    if await asking.may_ask_scale(tx, scene, facts):
        asked = await asking.ask_scale(tx, scene)
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
    replies += [await asking.ask_if_mix(tx, scene, origin, found, parts) for found, parts in of_mix]
    replies += [Hint(code="already_up", about=already_up)] if already_up else []
    replies += [await asking.ask_if_one(tx, scene, origin, found, same) for found, same in told_twice]
    replies += [await asking.ask_zone(tx, scene, setting) for setting in doubtful_zone]
    replies += [await asking.ask_back(tx, scene, origin, unclear) for unclear in taken.unclear]
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


def _newly_up(before: Scene, kept: Sequence[Found]) -> tuple[tuple[Found, ...], str]:
    """The facts without what is up already by the log, and the sites of these."""
    again = [found for found in kept if isinstance(found.fact, Emerged) and garden.all_up(before, found.fact)]
    sites = [site for found in again for site in getattr(found.fact, "sites", None) or ()]
    known = {id(found) for found in again}
    return tuple(found for found in kept if id(found) not in known), ", ".join(sites)


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
