"""The household goes away: what will fall due is handed to whoever takes over."""

from __future__ import annotations

from datetime import time, timedelta

from bot.assistant.due_replies import AwayPlanned
from bot.assistant.scene import Outcome, Scene
from bot.rendering import Voice, render
from domain.absence import falls_due, on_return
from domain.adaptive import least_level_l
from domain.facts import Away
from domain.recurrence import instant_of
from domain.water_use import water_use
from storage.engine import Transaction
from storage.households import Chat, Person

__all__ = ["handed_over", "keeper_of", "own_chat", "planned"]

LONGEST = timedelta(days=92)
"""Nobody plans the chores of a longer absence day by day."""


async def keeper_of(tx: Transaction, household_id: int, name: str | None) -> Person | None:
    """The member whom the name of a keeper means; ``None`` where it is nobody's, or several people's."""
    if not name:
        return None
    said = name.strip().casefold()
    people = await tx.households.people(household_id)
    fits = [p for p in people if p.name.casefold() == said or p.name.casefold().split()[:1] == [said]]
    return fits[0] if len(fits) == 1 else None


async def planned(tx: Transaction, scene: Scene, away: Away) -> AwayPlanned | None:
    """What an absence that was just told of holds; ``None`` where it has no end, or is over."""
    chosen, zone = scene.choices, scene.zone
    if away.start is None or away.end is None or away.end - away.start > LONGEST:
        return None
    if away.end < scene.now.astimezone(zone).date():
        return None
    returns_at = instant_of(away.end, time(18), zone)
    keeper = await keeper_of(tx, scene.household_id, away.keeper)
    use = water_use(scene.trusted, chosen.tank_volume_l) if chosen.tank_volume_l is not None else None
    return AwayPlanned(
        keeper=away.keeper,
        address=keeper.address if keeper is not None else None,
        start=away.start,
        end=away.end,
        ahead=falls_due(scene.jobs, away.start, away.end, zone, use),
        on_return=on_return(scene.trusted, chosen, least_level_l(chosen), returns_at),
        returns_at=returns_at,
        now=scene.now,
        reminded=() if keeper is not None or not away.keeper else await _names(tx, scene.household_id),
    )


async def _names(tx: Transaction, household_id: int) -> tuple[str, ...]:
    return tuple(person.name for person in await tx.households.people(household_id))


async def handed_over(tx: Transaction, outcome: Outcome, key: str) -> None:
    """Posts the plan to the keeper's own chat as well, where they have one in this household."""
    scene = outcome.scene
    for place, reply in enumerate(outcome.replies):
        if not isinstance(reply, AwayPlanned) or reply.keeper is None:
            continue
        keeper = await keeper_of(tx, scene.household_id, reply.keeper)
        chat = await own_chat(tx, scene.household_id, keeper)
        if chat is not None and chat.id != scene.chat.id:
            letter = render(reply, Voice.of(scene.choices, speaks_ppm=scene.speaks_ppm))
            name, home = f"{key}:keeper:{place}", scene.household_id
            await tx.outbox.post(home, chat.id, letter.as_json(), dedupe_key=name, now=scene.now)


async def own_chat(tx: Transaction, household_id: int, person: Person | None) -> Chat | None:
    """The chat that a member has alone with the assistant, where it stands in this household."""
    if person is None:
        return None
    chats = await tx.membership.own_chats(household_id, person.id)
    return next((chat for chat in chats if chat.active), None)
