"""One's own last log put right in words: ``I meant ph 6.1``, ``no, it was 6.1``, ``delete my last entry``."""

from __future__ import annotations

import re
from datetime import timedelta

from bot.assistant import dialogue, orders
from bot.assistant.exchange import Heard
from bot.assistant.scene import Outcome, Scene, refreshed
from domain.facts import Reading
from storage.engine import Transaction

__all__ = ["CORRECT_WITHIN", "amended"]

CORRECT_WITHIN = timedelta(minutes=30)
"""How long the next text counts as the correction; later it is a log of its own."""
LONGEST = 120
"""A longer text is no slip put right. [characters]"""

_TAKEN_BACK = re.compile(
    r"(?:please |pls )?(?:delete|remove|erase|scrap|take back|cancel|undo) (?:my|the|that|our) "
    r"(?:last|latest) (?:entry|log|message|one|reading|record|line)(?: please| pls)?[.!]?",
    re.IGNORECASE,
)
_SLIP = re.compile(
    r"(?P<slip>(?:(?:oops|ups|sorry|no|nope|wait|correction|typo|actually)\b[\s,.:;!-]*)*)"
    r"(?:(?P<meant>(?:i )?(?:meant|mean)(?: to (?:say|write|type))?\s*:?\s*)|"
    r"(?:it|that|this)(?: was| is|'s| should (?:be|have been))\s+)?"
    r"(?P<right>.+?)"
    r"(?P<not>,?\s+(?:and )?not (?:ph |ec )?\d+(?:[.,]\d+)?)?[.!]*",
    re.IGNORECASE | re.DOTALL,
)


async def amended(tx: Transaction, scene: Scene, heard: Heard) -> Outcome | None:
    """What a text changes of the speaker's last log; ``None`` where it speaks for itself.

    Only a reading of the last half hour is put right so, and only while nothing else was logged by the
    speaker since: ``sorry, ph 6.1`` after a dose is the test that follows it.
    """
    said = " ".join(heard.text.replace("’", "'").split())
    if len(said) > LONGEST:
        return None
    is_to_us = scene.chat.private or heard.addressed
    if is_to_us and _TAKEN_BACK.fullmatch(said):
        replies = await orders.obey(tx, scene, "undo", "")
        return Outcome(await refreshed(tx, scene), replies=replies)
    slip = _SLIP.fullmatch(said)
    if slip is None or not (slip["slip"] or slip["meant"] or slip["not"]):
        return None
    last = await tx.journal.last_standing_by(scene.household_id, scene.person.id)
    if last is None or not timedelta(0) <= scene.at - last.said_at <= CORRECT_WITHIN:
        return None
    if not any(isinstance(recorded.fact, Reading) for recorded in last.facts):
        return None
    return await dialogue.put_right(tx, scene, last, slip["right"], bare=is_to_us)
