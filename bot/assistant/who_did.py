"""Who did what lately, from the journal."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from bot.assistant.household_replies import DidWhat
from bot.assistant.scene import Scene
from domain.facts import Fact, Growing, Product, Setting

__all__ = ["who_did"]


def who_did(scene: Scene, days: int) -> DidWhat:
    """What each person did in the last ``days`` days, today included; the busiest first.

    What was set up is no deed: a tank's size, a bottle.
    """
    first_day = scene.now.astimezone(scene.zone).date() - timedelta(days=days - 1)
    since = datetime.combine(first_day, time(), tzinfo=scene.zone)
    did: dict[str, list[Fact]] = {}
    for entry in scene.entries:
        if entry.happened_at >= since and not isinstance(entry.fact, Setting | Product | Growing):
            did.setdefault(entry.author, []).append(entry.fact)
    busiest = sorted(did.items(), key=lambda item: (-len(item[1]), item[0]))
    return DidWhat(people=tuple((name, tuple(facts)) for name, facts in busiest), days=days)
