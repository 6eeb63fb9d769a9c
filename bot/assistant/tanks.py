"""Several tanks in one household: named, chosen for a chat, and meant by a message."""

from __future__ import annotations

import re
from dataclasses import replace

from bot.assistant import sharing
from bot.assistant.household_replies import TanksShown
from bot.assistant.replies import Hint, Reply
from bot.assistant.scene import Outcome, Scene
from bot.reader import Found, Read, Unclear
from bot.reader.fillers import SKIPPED, words
from domain.facts import Reading, Setting
from domain.tanks import MOST_TANKS, TANKS, is_of_tank
from storage.engine import Transaction

__all__ = ["chosen", "in_its_tank", "tanks_shown", "told_tanks", "unknown_tank"]

_TOLD = re.compile(
    r"(?:(?:set )?(?:our )?tanks(?: are)?:?|we have (?:two|three|four|several|\d) tanks:?)\s+"
    r"(?P<names>.+?)[.!]?",
    re.IGNORECASE,
)
_PLACE = re.compile(
    r"\s*(?:(?:in|at|of|for) )?(?:(?:the|our|my) )?(?P<word>[^\W\d_]{2,24})(?: tank)?\s*[:,-]?\s*",
    re.IGNORECASE,
)
_NO_PLACE = SKIPPED | words(
    "hi hello hey dear tank water pump test tested testing tests log logged new and so then also after "
    "ok okay again now today tonight yesterday morning noon midday afternoon evening night this last first "
    "second finally here update please sorry oops actually correction re retest retested result results "
    "value values we my our the it yes yep mostly still level measurement measured check checked "
    "monday tuesday wednesday thursday friday saturday sunday"
)
"""Words that open a reading and name no tank."""
_NAME = re.compile(r"[^\W\d_][\w' -]{0,28}")


def told_tanks(scene: Scene, text: str) -> Read | TanksShown | None:
    """``tanks: kitchen, balcony``: the names of the household's tanks, the one it always had first.

    A tank that is left out is dropped, its log kept under its name. The tanks as they stay where the first
    would be dropped: all that names no tank is about it.
    """
    said = " ".join(text.split())
    told = _TOLD.fullmatch(said)
    if told is None:
        return None
    names = [name.strip() for name in re.split(r",|\band\b|&", told["names"]) if name.strip()]
    known = {tank.casefold() for tank in scene.tanks}
    alone = len(names) == 1 and names[0].casefold() in known
    distinct = len({name.casefold() for name in names}) == len(names)
    if not all(_NAME.fullmatch(name) for name in names) or not distinct:
        return None
    if not (alone or 2 <= len(names) <= MOST_TANKS):
        return None
    if scene.tanks:
        first = scene.tanks[0].casefold()
        names.sort(key=lambda name: name.casefold() != first)
        if names[0].casefold() != first and names[0].casefold() in known:
            return replace(tanks_shown(scene), stays=scene.tanks[0])
    setting = Setting(name=TANKS, value=", ".join(names), when=scene.at)
    return Read(facts=(Found(fact=setting, span=(0, len(text))),), unclear=())


def unknown_tank(scene: Scene, text: str, taken: Read) -> Unclear | None:
    """The word before a reading that may name a tank which there is not: ``garage ph 5.9``.

    ``None`` where the household has one tank, or the message is about a known one.
    """
    first = min(taken.facts, key=lambda found: found.span[0], default=None)
    if len(scene.tanks) < 2 or first is None or not isinstance(first.fact, Reading):
        return None
    if any(found.fact.tank is not None for found in taken.facts):
        return None
    before = _PLACE.fullmatch(text[: first.span[0]])
    if before is None or before["word"].casefold() in _NO_PLACE:
        return None
    return Unclear(text=before["word"], span=before.span("word"), reason="unknown", suggestions=scene.tanks)


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
