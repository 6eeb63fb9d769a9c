"""What a member does who presses a button, in the terms of the table of roles."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from bot.assistant import bringing_in, dialogue
from bot.assistant.buttons import Pushed
from bot.assistant.scene import Scene
from domain.roles import Deed
from storage.engine import Transaction

__all__ = ["deed_of_press"]

DEEDS: Mapping[str, Deed] = MappingProxyType(
    {
        "confirm": "log",
        "done": "log",
        "jar": "log",
        "dosing": "log",
        "step": "settings",
        "skip": "settings",
        "stop": "settings",
        "later": "remind",
        "pass": "remind",
        "off": "remind",
        "pause": "remind",
        "resume": "remind",
        "shift": "remind",
        "invite": "invite",
        "revoke": "invite",
        "leave": "leave",
        "forget": "emergency",
    }
)
"""By verb; what is named neither here nor below shows something, or chooses between readings of a text, and
what comes of that is asked for itself."""


async def deed_of_press(tx: Transaction, scene: Scene, push: Pushed) -> Deed:
    """What the presser does.

    Taking back what another one logged is more than taking back one's own. A question is answered by those
    alone who may say what it asks.
    """
    number = push.number()
    if push.verb in ("undo", "correct"):
        said = await tx.journal.revision(number, household_id=scene.household_id) if number else None
        return "undo_own" if said is None or said.person_id == scene.person.id else "undo_others"
    if push.verb == "bring":
        return await bringing_in.deed(tx, scene.household_id, push.number(1))
    if push.verb == "pick" and number is not None:
        asked = await tx.questions.get(number, household_id=scene.household_id)
        return dialogue.deed_of_choice(asked.topic) if asked is not None else "see"
    return DEEDS.get(push.verb, "see")
