"""The shared household: invites, roles, who comes and goes, and in which household a chat stands."""

from __future__ import annotations

import re
import secrets
from dataclasses import replace
from datetime import timedelta

from bot.assistant.household_replies import (
    HouseholdShown,
    InviteMade,
    Joined,
    LeaveAsked,
    MemberChanged,
    MemberLine,
    OpenInvite,
    OtherHome,
    Refused,
)
from bot.assistant.replies import Hint, Reply
from bot.assistant.scene import Outcome, Scene
from bot.reader import Read
from domain.roles import ROLES, Deed, deed_of, may
from storage.engine import Transaction
from storage.households import Person

__all__ = [
    "INVITE_LASTS",
    "handed_over",
    "household_shown",
    "invited",
    "join",
    "leave",
    "member_named",
    "permitted",
    "refused",
    "removed",
    "revoked",
    "role_given",
    "use_here",
]

INVITE_LASTS = timedelta(days=3)
"""Long enough to find the message, short enough that a forgotten one is no open door: our own design rule."""

_TOKEN_BYTES = 16
_TOKEN = re.compile(r"[A-Za-z0-9_-]{1,64}")


async def refused(tx: Transaction, scene: Scene, deed: Deed) -> Refused | None:
    """Why the speaker may not do this, with whom to ask; ``None`` where they may."""
    if may(scene.person.role, deed):
        return None
    people = await tx.households.people(scene.household_id)
    keepers = tuple(person.name for person in people if person.role == "keeper")
    return Refused(deed=deed, role=scene.person.role, keepers=keepers)


async def permitted(tx: Transaction, scene: Scene, taken: Read) -> tuple[Read, Refused | None]:
    """What of it the speaker may say, and why not the rest."""
    barred = [found for found in taken.facts if not may(scene.person.role, deed_of(found.fact))]
    if not barred:
        return taken, None
    left = tuple(found for found in taken.facts if found not in barred)
    no = await refused(tx, scene, deed_of(barred[0].fact))
    return replace(taken, facts=left, unclear=() if scene.person.role == "removed" else taken.unclear), no


async def household_shown(tx: Transaction, scene: Scene) -> HouseholdShown:
    """Who belongs to the household, and what may be changed about it."""
    rules = may(scene.person.role, "members")
    invites = await tx.membership.open_invites(scene.household_id, scene.now) if rules else []
    belongs = await tx.membership.belongings(scene.person.id) if scene.chat.private else []
    elsewhere = [each.household_id for each in belongs if each.household_id != scene.household_id]
    others = [OtherHome(household=home, title=await _title(tx, scene, home)) for home in elsewhere]
    return HouseholdShown(
        title=await _title(tx, scene, scene.household_id),
        members=tuple(
            MemberLine(person=p.id, name=p.name, role=p.role, is_you=p.id == scene.person.id)
            for p in await tx.households.people(scene.household_id)
        ),
        invites=tuple(OpenInvite(number=i.id, role=i.role, expires_at=i.expires_at) for i in invites),
        others=tuple(others),
        may_rule=rules,
        now=scene.now,
    )


async def _title(tx: Transaction, scene: Scene, household_id: int) -> str:
    """What a household is called: by its system's name, else by its group, else by its first member."""
    if household_id == scene.household_id and scene.choices.system_name:
        return scene.choices.system_name
    group = next((c for c in await tx.households.chats(household_id) if not c.private and c.title), None)
    if group is not None:
        return group.title
    people = await tx.households.people(household_id)
    return f"{people[0].name}'s tank" if people and people[0].name else "your tank"


async def invited(tx: Transaction, scene: Scene, role: str) -> Reply:
    """Opens a way in for one person."""
    no = await refused(tx, scene, "invite")
    if no is not None:
        return no
    role = role if role in ROLES and role != "removed" else "helper"
    token, expires_at = secrets.token_urlsafe(_TOKEN_BYTES), scene.now + INVITE_LASTS
    number = await tx.membership.invite(
        scene.household_id, token, role=role, made_by=scene.person.id, now=scene.now, expires_at=expires_at
    )
    return InviteMade(number=number, token=token, role=role, expires_at=expires_at, now=scene.now)


async def revoked(tx: Transaction, scene: Scene, number: int) -> bool:
    """Closes an open invite of this household."""
    return await tx.membership.revoke_invite(scene.household_id, number, scene.now)


async def join(tx: Transaction, scene: Scene, token: str) -> Outcome:
    """Takes the speaker, and this chat where it holds nothing yet, into the household of an invite.

    A token that is unknown, used, revoked or too old gets one and the same line.
    """
    token = token.strip()
    found = await tx.membership.find_invite(token, scene.now) if _TOKEN.fullmatch(token) else None
    if found is None or scene.person.address is None:
        return Outcome(scene, replies=(Hint(code="no_such_invite"),))
    home, was = found.household_id, await tx.membership.role_of(found.household_id, scene.person.id)
    belongs = was is not None and was != "removed"
    if belongs and (home == scene.household_id or scene.chat.private):
        title = await _title(tx, scene, home)
        elsewhere = home != scene.household_id
        reply = Joined(title=title, role=was or "", household=home, already=True, choose=elsewhere)
        return Outcome(scene, replies=(reply,))
    await tx.households.lock(home)
    used = await tx.membership.use_invite(token, scene.person.id, scene.now)
    if used is None:
        return Outcome(scene, replies=(Hint(code="no_such_invite"),))
    if not belongs:
        await tx.membership.give_role(home, scene.person.id, used.role)
    title = await _title(tx, scene, home)
    if not await tx.membership.is_blank(scene.household_id):
        reply = Joined(title=title, role=used.role, household=home, choose=True)
        return Outcome(scene, replies=(reply,))
    await tx.membership.leave(scene.household_id, scene.person.id)
    after = await _settled(tx, scene, home)
    return Outcome(after, replies=(Joined(title=title, role=after.person.role, household=home),))


async def use_here(tx: Transaction, scene: Scene, household_id: int) -> Outcome | None:
    """Puts this chat into another household of the speaker's; ``None`` where they do not belong to it.

    A group is moved by a keeper of the household in which it stands.
    """
    role = await tx.membership.role_of(household_id, scene.person.id)
    if role is None or role == "removed" or household_id == scene.household_id:
        return None
    if not scene.chat.private and not may(scene.person.role, "members"):
        return None
    await tx.households.lock(household_id)
    after = await _settled(tx, scene, household_id)
    title = await _title(tx, after, household_id)
    return Outcome(after, replies=(MemberChanged(name=title, change="moved_here", role=role),))


async def _settled(tx: Transaction, scene: Scene, household_id: int | None) -> Scene:
    """The scene in the household into which its chat is put; ``None``: a new one."""
    home = await tx.membership.settle_chat(scene.chat.id, household_id, scene.now)
    chat = await tx.households.chat_by_id(scene.chat.id)
    speaker = scene.person
    person = await tx.households.person(speaker.platform, speaker.address, speaker.name, home)
    entries = tuple(await tx.journal.entries(home))
    return replace(
        scene, chat=chat or scene.chat, person=person, entries=entries, checkpoint=None, about=None
    )


async def member_named(tx: Transaction, scene: Scene, name: str) -> Person | None:
    """The one member whom a name means: the whole of it, or its first word; ``None``: none, or several."""
    said = name.strip().casefold()
    people = await tx.households.people(scene.household_id)
    for fits in (
        [p for p in people if p.name.casefold() == said],
        [p for p in people if p.name.casefold().split()[:1] == [said]],
    ):
        if len(fits) == 1:
            return fits[0]
    return None


async def role_given(tx: Transaction, scene: Scene, person: Person, role: str) -> Reply:
    """Gives a member another role; the last keeper stays one."""
    no = await refused(tx, scene, "members")
    if no is not None:
        return no
    if role != "keeper" and await _is_last_keeper(tx, scene, person):
        return Hint(code="last_keeper", about=person.name)
    await tx.membership.give_role(scene.household_id, person.id, role)
    return MemberChanged(name=person.name, change="role", role=role)


async def removed(tx: Transaction, scene: Scene, person: Person) -> Reply:
    """Removes a member: what they said stays, and their own chats leave for a household of their own."""
    no = await refused(tx, scene, "members")
    if no is not None:
        return no
    if await _is_last_keeper(tx, scene, person):
        return Hint(code="last_keeper", about=person.name)
    for chat in await tx.membership.own_chats(scene.household_id, person.id):
        if chat.id != scene.chat.id:
            await tx.membership.settle_chat(chat.id, None, scene.now)
    await tx.membership.give_role(scene.household_id, person.id, "removed")
    return MemberChanged(name=person.name, change="removed")


async def handed_over(tx: Transaction, scene: Scene, person: Person) -> Reply:
    """Another member becomes the keeper in the speaker's place."""
    no = await refused(tx, scene, "hand_over")
    if no is not None:
        return no
    await tx.membership.give_role(scene.household_id, person.id, "keeper")
    if person.id != scene.person.id:
        await tx.membership.give_role(scene.household_id, scene.person.id, "helper")
    return MemberChanged(name=person.name, change="handed_over")


async def leave(tx: Transaction, scene: Scene, *, sure: bool) -> Outcome:
    """Takes the speaker and their own chats out of the household; asked first where not ``sure``."""
    no: Reply | None = await refused(tx, scene, "leave")
    people = await tx.households.people(scene.household_id)
    if no is None and len(people) > 1 and await _is_last_keeper(tx, scene, scene.person):
        no = Hint(code="hand_over_first")
    if no is not None:
        return Outcome(scene, replies=(no,))
    if not sure:
        asked = LeaveAsked(title=await _title(tx, scene, scene.household_id))
        return Outcome(scene, replies=(asked,))
    await tx.membership.leave(scene.household_id, scene.person.id)
    for chat in await tx.membership.own_chats(scene.household_id, scene.person.id):
        if chat.id != scene.chat.id:
            await tx.membership.settle_chat(chat.id, None, scene.now)
    after = await _settled(tx, scene, None) if scene.chat.private else scene
    return Outcome(after, replies=(MemberChanged(name=scene.person.name, change="left"),))


async def _is_last_keeper(tx: Transaction, scene: Scene, person: Person) -> bool:
    people = await tx.households.people(scene.household_id)
    keepers = [each.id for each in people if each.role == "keeper"]
    return keepers == [person.id]
