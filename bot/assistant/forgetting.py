"""To be forgotten: asked twice, put off by a day in which anybody may call it off, then carried out.

What is planned stands in the table of reminders, so that it happens whatever is restarted in between; its key
says who is forgotten. Nothing is written to the household afterwards, for there is nobody left to write to.
"""

from __future__ import annotations

import logging
from datetime import UTC, datetime, timedelta

from bot.assistant.data_replies import ForgetAsked, ForgetCalledOff, ForgetPlanned, ForgetSure, Whom
from bot.assistant.replies import Hint, Reply
from bot.assistant.scene import Scene
from bot.assistant.schedule import FORGETTING
from domain.roles import may
from storage.engine import Store, Transaction
from storage.reminders import ReminderRow
from storage.transfer import STAYS

__all__ = ["ask", "ask_again", "call_off", "carry_out", "plan"]

GRACE = timedelta(days=1)
"""How long it can be called off."""

ASKED_FOR = timedelta(hours=1)
"""How long the question under a button is good: nobody is forgotten by a button found months later."""

HOUSEHOLD_KEY = f"{STAYS}household"
PERSON_KEY = f"{STAYS}person:"

logger = logging.getLogger(__name__)


async def ask(tx: Transaction, scene: Scene, _: str) -> tuple[Reply, ...]:
    """What is to be forgotten; where that is planned already, when."""
    planned = await _planned(tx, scene)
    if planned:
        return tuple(_plan_shown(row) for row in planned)
    whoms = await _allowed(tx, scene)
    if not whoms:
        return (Hint(code="forget_keeper"),)
    return (
        ForgetAsked(
            whoms=whoms,
            household=scene.household_id,
            person=scene.person.id,
            asked_at=scene.at,
            entries=len(scene.entries),
        ),
    )


async def ask_again(
    tx: Transaction, scene: Scene, whom: Whom, number: int, asked_at: datetime
) -> ForgetSure | None:
    """The second question; ``None`` where the first was another's, is too old, or may not be asked."""
    if not _is_meant(scene, whom, number, asked_at) or whom not in await _allowed(tx, scene):
        return None
    return ForgetSure(
        whom=whom,
        number=number,
        asked_at=asked_at,
        entries=len(scene.entries),
        at=scene.now + GRACE,
    )


async def plan(
    tx: Transaction, scene: Scene, whom: Whom, number: int, asked_at: datetime
) -> ForgetPlanned | None:
    """Plans it in a day; the same answer where that is so already. ``None`` as with ``ask_again``."""
    key = _key(whom, scene)
    row = next((row for row in await _planned(tx, scene) if row.key == key), None)
    if row is not None:
        return _plan_shown(row)
    if not _is_meant(scene, whom, number, asked_at) or whom not in await _allowed(tx, scene):
        return None
    due_at = scene.now + GRACE
    await tx.reminders.put(
        scene.household_id,
        key,
        chat_id=None,  # it happens whether the chat can still be written to or not
        task="forget",
        text="",
        why="",
        rrule=None,
        due_at=due_at,
        source=FORGETTING,
        now=scene.now,
    )
    return ForgetPlanned(whom=whom, at=due_at)


async def call_off(tx: Transaction, scene: Scene) -> ForgetCalledOff | None:
    """Nothing is forgotten: neither the household nor whoever says so; ``None`` where nothing was planned."""
    planned = await _planned(tx, scene)
    for row in planned:
        await tx.reminders.end(scene.household_id, row.key)
    return ForgetCalledOff() if planned else None


async def carry_out(store: Store, now: datetime, household_id: int | None = None) -> None:
    """Forgets whoever's day of grace is over, each in a transaction of its own.

    household_id : only in this household. Waits for what the household sent before and nobody has read yet:
    it may call this off. Where it fails in one household it is tried again at the next beat, and holds up
    neither the others nor anybody's reminders.
    """
    async with store.read() as tx:
        due = [household_id] if household_id is not None else await tx.reminders.households_due(now)
    happened = False
    for number in due:
        try:
            happened |= await _carried_out(store, now, number)
        except Exception as error:  # whatever it is, it must not hold up everybody else
            logger.error("household %d: forgetting failed: %s", number, type(error).__name__)
    if happened:
        logger.info("somebody was forgotten, as they had asked")
        await store.scrub()


async def _carried_out(store: Store, now: datetime, household_id: int) -> bool:
    """Whether anybody was forgotten in this household."""
    happened = False
    async with store.write() as tx:
        for row in await tx.reminders.due(now, household_id=household_id):
            if row.source == FORGETTING and not await tx.erasure.has_unread(household_id):
                await _forget(tx, row, now)
                happened = True
    return happened


async def _forget(tx: Transaction, row: ReminderRow, now: datetime) -> None:
    await tx.reminders.end(row.household_id, row.key)
    if row.key == HOUSEHOLD_KEY:
        await tx.erasure.household(row.household_id, now)
    else:
        await tx.erasure.person(row.household_id, int(row.key.removeprefix(PERSON_KEY)), now)


async def _planned(tx: Transaction, scene: Scene) -> list[ReminderRow]:
    """What is planned that concerns the speaker."""
    mine = {_key("household", scene), _key("person", scene)}
    return [row for row in await tx.reminders.of(scene.household_id) if row.key in mine]


async def _allowed(tx: Transaction, scene: Scene) -> tuple[Whom, ...]:
    """Whom the speaker may have forgotten. One who is alone in a household is the household."""
    others = [each for each in await tx.households.people(scene.household_id) if each.id != scene.person.id]
    mine: tuple[Whom, ...] = ("person",) if others and scene.person.address is not None else ()
    return (*mine, "household") if may(scene.person.role, "erase") else mine


def _is_meant(scene: Scene, whom: Whom, number: int, asked_at: datetime) -> bool:
    """Whether a button was made for the presser and their household, not long ago."""
    mine = scene.household_id if whom == "household" else scene.person.id
    return number == mine and timedelta() <= scene.now - asked_at + timedelta(minutes=1) <= ASKED_FOR


def _key(whom: Whom, scene: Scene) -> str:
    return HOUSEHOLD_KEY if whom == "household" else f"{PERSON_KEY}{scene.person.id}"


def _plan_shown(row: ReminderRow) -> ForgetPlanned:
    whom: Whom = "household" if row.key == HOUSEHOLD_KEY else "person"
    return ForgetPlanned(whom=whom, at=row.due_at.astimezone(UTC))
