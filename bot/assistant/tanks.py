"""Several tanks in one household: named, chosen for a chat, and meant by a message."""

from __future__ import annotations

import re
from dataclasses import replace

from bot.assistant import sharing
from bot.assistant.household_replies import TanksShown
from bot.assistant.replies import Hint, Reply
from bot.assistant.scene import Outcome, Scene
from bot.reader import Found, Read
from domain.facts import Setting
from domain.tanks import MOST_TANKS, TANKS, is_of_tank
from storage.engine import Transaction

__all__ = ["chosen", "in_its_tank", "tanks_shown", "told_tanks"]

_TOLD = re.compile(
    r"(?:(?:set )?(?:our )?tanks(?: are)?:?|we have (?:two|three|four|several|\d) tanks:?)\s+"
    r"(?P<names>.+?)[.!]?",
    re.IGNORECASE,
)
_NAME = re.compile(r"[^\W\d_][\w' -]{0,28}")


def told_tanks(scene: Scene, text: str) -> Read | None:
    """``tanks: kitchen, balcony``: the names of the household's tanks, the one it always had first."""
    said = _TOLD.fullmatch(" ".join(text.split()))
    if said is None:
        return None
    names = [name.strip() for name in re.split(r",|\band\b|&", said["names"]) if name.strip()]
    whole = all(_NAME.fullmatch(name) for name in names)
    if not whole or not 2 <= len({name.casefold() for name in names}) == len(names) <= MOST_TANKS:
        return None
    setting = Setting(name=TANKS, value=", ".join(names), when=scene.at)
    return Read(facts=(Found(fact=setting, span=(0, len(text))),), unclear=())


def in_its_tank(scene: Scene, taken: Read) -> tuple[Scene, Read]:
    """The scene about the tank that a message names, and its facts with the tank that they are about.

    What is about the first tank names none, as everything did before there was another.
    """
    if len(scene.tanks) < 2:
        return scene, taken
    named = {found.fact.tank for found in taken.facts if found.fact.tank is not None}
    if len(named) == 1:
        scene = replace(scene, about=named.pop())
    tank = scene.other_tank
    facts = tuple(
        replace(found, fact=replace(found.fact, tank=tank))
        if tank is not None and found.fact.tank is None and is_of_tank(found.fact)
        else found
        for found in taken.facts
    )
    return scene, replace(taken, facts=facts)


def tanks_shown(scene: Scene) -> TanksShown:
    """The household's tanks and the one that this chat is about."""
    return TanksShown(tanks=scene.tanks, current=scene.tank_name)


async def chosen(tx: Transaction, scene: Scene, name: str) -> Outcome:
    """Makes this chat about another tank of the household.

    In a group that decides where the others' logs go, so that an onlooker may not.
    """
    no = await sharing.refused(tx, scene, "see" if scene.chat.private else "log")
    if no is not None:
        return Outcome(scene, replies=(no,))
    tank = next((each for each in scene.tanks if each.casefold() == name.strip().casefold()), None)
    if tank is None:
        reply: Reply = Hint(code="no_such_tank", about=name)
        return Outcome(scene, replies=(reply,))
    await tx.membership.choose_tank(scene.chat.id, tank)
    after = replace(scene, chat=replace(scene.chat, tank=tank))
    return Outcome(after, replies=(tanks_shown(after),))
