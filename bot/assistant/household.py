"""Orders about the household in plain words: roles, leaving, handing over, who did what."""

from __future__ import annotations

from bot.assistant import sharing, tanks
from bot.assistant.exchange import Heard
from bot.assistant.replies import Hint, Reply
from bot.assistant.scene import Outcome, Scene
from bot.assistant.two_hands import ANYTHING, take_step
from bot.assistant.who_did import who_did
from bot.reader.household_orders import HouseholdOrder, household_order
from storage.engine import Transaction

__all__ = ["heard"]


async def heard(tx: Transaction, scene: Scene, said: Heard) -> Outcome | None:
    """What follows from words about the household; ``None`` where they are about something else.

    In a group they are heard where they were meant for the assistant, or can mean nothing else: so are a role
    that is given to a member, and a tank of the household's, by name.
    """
    order = household_order(said.text)
    if order is None:
        return None
    to_us = scene.chat.private or said.addressed or order.certain
    if not to_us and order.action not in ("role", "tank"):
        return None
    if order.action == "leave":
        return await sharing.leave(tx, scene, sure=False)
    if order.action == "tank":
        known = any(tank.casefold() == order.name.casefold() for tank in scene.tanks)
        return await tanks.chosen(tx, scene, order.name) if known else None
    reply = await _reply(tx, scene, order)
    return None if reply is None else Outcome(scene, replies=(reply,))


async def _reply(tx: Transaction, scene: Scene, order: HouseholdOrder) -> Reply | None:
    if order.action in ("members", "who_did"):
        no = await sharing.refused(tx, scene, "see")
        if no is not None or order.action == "members":
            return no or await sharing.household_shown(tx, scene)
        return who_did(scene, order.days)
    if order.action == "dosing":
        return await sharing.refused(tx, scene, "log") or await take_step(tx, scene, ANYTHING)
    if order.action == "invite":
        return await sharing.invited(tx, scene, order.role)
    if order.action not in ("role", "remove", "hand_over"):
        return None
    person = await sharing.member_named(tx, scene, order.name)
    if person is None:
        return Hint(code="no_such_member", about=order.name) if order.certain else None
    if order.action == "role":
        return await sharing.role_given(tx, scene, person, order.role)
    if order.action == "remove":
        return await sharing.removed(tx, scene, person)
    return await sharing.handed_over(tx, scene, person)
