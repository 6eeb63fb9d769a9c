"""Two hands in the water: who has just added what, who is at it now, and what was told of twice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from bot.assistant.household_replies import InWater, StepTaken
from bot.assistant.replies import Advice, Logged, Reply
from bot.assistant.scene import Outcome, Scene
from bot.reader import Found
from domain.dosing import Hold, Plan
from domain.facts import Dose, Sow, TopUp
from domain.happenings import dose_amount
from domain.journal import Entry
from domain.routine import RETEST_AFTER
from storage.engine import Transaction

__all__ = [
    "ANYTHING",
    "SameDose",
    "considered",
    "counted_once",
    "ended_by",
    "same_dose",
    "take_step",
    "told_of_others",
]

SAME_AMOUNT = 0.1
"""Two amounts that differ by no more than this share are one and the same: a syringe is read that well."""
ANYTHING = "any"
"""What is being put in, where somebody only says that they are dosing."""
_ADDED = frozenset({"ph_down", "ph_up", "nutrient"})


Thing = Literal["dose", "top-up", "sowing"]


@dataclass(frozen=True, slots=True)
class SameDose:
    """A dose, top-up or sowing that has been told of already. ``at``: when that one went in."""

    who: str
    at: datetime
    thing: Thing = "dose"


async def considered(tx: Transaction, outcome: Outcome) -> Outcome:
    """What a message came to, with what others have in hand: a logged dose ends the hand that was at it."""
    await ended_by(tx, outcome)
    replies = [await told_of_others(tx, outcome.scene, reply) for reply in outcome.replies]
    return replace(outcome, replies=tuple(replies))


async def told_of_others(tx: Transaction, scene: Scene, reply: Reply) -> Reply:
    """The reply with what others have in hand: who added what and when to test, or who is at it now.

    Where another member says that they are adding something, no dose is given to a second one.
    """
    if not isinstance(reply, Advice | Logged) or (isinstance(reply, Logged) and not reply.verdicts):
        return reply
    is_shared = len(await tx.households.people(scene.household_id)) > 1
    if not is_shared:
        return reply
    added = await _added_by_others(tx, scene)
    open_now = await tx.hands.open(scene.household_id, scene.now, tank=scene.tank_name)
    at_it = next((hand for hand in open_now if hand.person_id != scene.person.id), None)
    plan = reply.plan
    if at_it is not None and plan is not None and plan.outcome == "steps":
        data = {"who": at_it.name, "what": at_it.what, "at": at_it.taken_at, "until": at_it.until}
        plan = Plan("hold", reason="under_way", hold=Hold("under_way", data))
    if isinstance(reply, Advice):
        return replace(reply, plan=plan or reply.plan, others=added, is_shared=True)
    return replace(reply, plan=plan, others=added, is_shared=True)


async def _added_by_others(tx: Transaction, scene: Scene) -> tuple[InWater, ...]:
    """Doses by others that have not mixed through yet; a test before that says little."""
    found = []
    for entry in reversed(scene.trusted):
        fact = entry.fact
        if scene.at - entry.happened_at > RETEST_AFTER:
            break
        if isinstance(fact, Dose) and fact.product in _ADDED and await _by_another(tx, scene, entry):
            test_at = entry.happened_at + RETEST_AFTER
            amount = (fact.amount, fact.unit, entry.happened_at, test_at)
            found.append(InWater(entry.author, fact.product, *amount))
    return tuple(reversed(found))


async def _by_another(tx: Transaction, scene: Scene, entry: Entry) -> bool:
    chat_id, _, message = entry.message_key.partition(":")
    said = await tx.journal.last(int(chat_id), message)
    return said is not None and said.person_id != scene.person.id


async def counted_once(
    tx: Transaction, before: Scene, kept: Sequence[Found]
) -> tuple[tuple[Found, ...], tuple[tuple[Found, SameDose], ...]]:
    """The facts without those that may have been told of already, and these: doses and top-ups by somebody
    else, and sowings by anybody.

    before : the household without the message that holds the facts.
    """
    twice: list[tuple[Found, SameDose]] = []
    for found in kept:
        fact, same = found.fact, None
        if isinstance(fact, Dose):
            same = await same_dose(tx, before, fact)
        elif isinstance(fact, TopUp | Sow):
            same = await _told_before(tx, before, fact)
        if same is not None:
            twice.append((found, same))
    asked = {id(found) for found, _ in twice}
    return tuple(found for found in kept if id(found) not in asked), tuple(twice)


async def same_dose(tx: Transaction, before: Scene, dose: Dose) -> SameDose | None:
    """A dose that may be the one which somebody else has logged, from whichever chat, within the settling
    time; ``None`` where it is plainly another one.

    before : the household without the message that tells of it.
    """
    at = dose.when or before.at
    if dose.product not in _ADDED:
        return None
    amount, unit, _ = dose_amount(dose)
    for entry in reversed(before.trusted):
        if abs(at - entry.happened_at) > RETEST_AFTER:
            if entry.happened_at < at:
                return None
            continue
        fact = entry.fact
        if isinstance(fact, Dose) and fact.product == dose.product and fact.name == dose.name:
            other, other_unit, _ = dose_amount(fact)
            is_like = other_unit == unit and abs(other - amount) <= SAME_AMOUNT * max(other, amount)
            if is_like and await _by_another(tx, before, entry):
                return SameDose(entry.author, entry.happened_at)
    return None


async def _told_before(tx: Transaction, before: Scene, fact: TopUp | Sow) -> SameDose | None:
    """The like top-up by somebody else, or the very sowing by anybody, logged within the settling time."""
    at = fact.when or before.at
    for entry in reversed(before.trusted):
        if abs(at - entry.happened_at) > RETEST_AFTER:
            if entry.happened_at < at:
                return None
            continue
        other = entry.fact
        if isinstance(fact, Sow) and isinstance(other, Sow) and replace(other, when=fact.when) == fact:
            return SameDose(entry.author, entry.happened_at, "sowing")
        is_like = isinstance(fact, TopUp) and isinstance(other, TopUp) and _like_top_ups(fact, other)
        if is_like and await _by_another(tx, before, entry):
            return SameDose(entry.author, entry.happened_at, "top-up")
    return None


def _like_top_ups(one: TopUp, other: TopUp) -> bool:
    if one.tank != other.tank:
        return False
    if one.litres is None or other.litres is None:
        return one.litres == other.litres and one.to_mark == other.to_mark
    return abs(one.litres - other.litres) <= SAME_AMOUNT * max(one.litres, other.litres)


async def take_step(tx: Transaction, scene: Scene, what: str) -> StepTaken:
    """Says that the speaker is putting it in, or who is at it already."""
    until = scene.now + RETEST_AFTER
    home, me = scene.household_id, scene.person
    there = await tx.hands.take(home, me.id, what, tank=scene.tank_name, now=scene.now, until=until)
    if there is not None:
        return StepTaken(who=there.name, what=what, at=there.taken_at, until=there.until, by_you=False)
    return StepTaken(who=me.name, what=what, at=scene.now, until=until, by_you=True)


async def ended_by(tx: Transaction, outcome: Outcome) -> None:
    """A dose that is logged ends the hand that was in the water for it."""
    scene = outcome.scene
    for fact in outcome.facts:
        if isinstance(fact, Dose) and timedelta(0) <= scene.at - (fact.when or scene.at) <= RETEST_AFTER:
            for what in (fact.product, ANYTHING):
                await tx.hands.end(scene.household_id, what, scene.now, tank=scene.tank_name)
