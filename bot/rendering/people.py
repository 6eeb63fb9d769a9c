"""The household in words: who belongs to it, who may come in, who did what."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import datetime

from bot.assistant.buttons import button
from bot.assistant.exchange import Button
from bot.assistant.household_replies import (
    ChatLost,
    DidWhat,
    HouseholdShown,
    InviteMade,
    InWater,
    Joined,
    LeaveAsked,
    MemberChanged,
    Refused,
    StepTaken,
    TanksShown,
)
from bot.rendering.markup import Code, Line, Strong, joined, line, name
from bot.rendering.voice import Voice
from bot.rendering.words import DEEDS, ROLES, UNDER_WAY, words_for
from domain.facts import Chore, Fact, Tended

__all__ = ["HouseholdReply", "household_buttons", "household_lines", "others_lines"]

Rows = tuple[tuple[Button, ...], ...]
HouseholdReply = (
    HouseholdShown
    | InviteMade
    | Joined
    | LeaveAsked
    | MemberChanged
    | Refused
    | DidWhat
    | StepTaken
    | ChatLost
    | TanksShown
)

MOST_PEOPLE = 12
MOST_DEEDS = 5

_KINDS = {
    "reading": ("test", "tests"),
    "dose": ("dose", "doses"),
    "top_up": ("top-up", "top-ups"),
    "water_change": ("water change", "water changes"),
    "sow": ("sowing", "sowings"),
    "reseed": ("sowing", "sowings"),
    "harvest": ("harvest", "harvests"),
    "observation": ("note", "notes"),
}


def household_lines(reply: HouseholdReply, voice: Voice) -> list[Line]:
    """The reply as lines, the most important first."""
    match reply:
        case HouseholdShown():
            return _household(reply, voice)
        case InviteMade():
            return [
                line(
                    f"For one {reply.role}, until {voice.moment(reply.expires_at, reply.now)}. Pass this on:"
                ),
                line(Code(f"/start {reply.token}")),
            ]
        case Joined():
            return _joined(reply)
        case LeaveAsked():
            return [line(f"Leave {name(reply.title)}? What you logged stays there.")]
        case MemberChanged():
            return [line(_changed(reply))]
        case Refused():
            return _refused(reply)
        case StepTaken():
            what = words_for(UNDER_WAY, reply.what)
            since, test = (voice.moment(at, reply.at) for at in (reply.at, reply.until))
            start = "You are" if reply.by_you else f"{name(reply.who)} is"
            return [line(f"{start} {what} since {since}. Log it when it is in; test at {test}.")]
        case ChatLost():
            where = f"{name(reply.title) or 'a member'} in private" if reply.private else name(reply.title)
            return [line(f"I can no longer write to {where}."), line("Reminders come here now.")]
        case DidWhat():
            return _did(reply)
        case TanksShown():
            return _tanks(reply)


def household_buttons(reply: HouseholdReply) -> Rows:
    """What can be pressed under it."""
    match reply:
        case HouseholdShown():
            invite = ((button("Invite a helper", "invite", "helper"),),) if reply.may_rule else ()
            revoke = tuple(
                (button(f"Revoke invite {place}", "revoke", each.number),)
                for place, each in enumerate(reply.invites, start=1)
            )
            here = tuple(
                (button(f"Use here: {each.title}"[:40], "home", each.household),) for each in reply.others
            )
            return (*invite, *revoke, *here, (button("Leave", "leave"),))
        case InviteMade():
            return ((button("Revoke", "revoke", reply.number),),)
        case Joined() if reply.choose:
            return ((button(f"Use it in this chat: {reply.title}"[:40], "home", reply.household),),)
        case LeaveAsked():
            return ((button("Leave", "leave", "sure"),),)
        case TanksShown():
            return tuple(
                (button(tank[:40], "tank", place),)
                for place, tank in enumerate(reply.tanks)
                if tank != reply.current
            )
        case _:
            return ()


def others_lines(others: Sequence[InWater], voice: Voice, now: datetime) -> list[Line]:
    """``Ana added 5 ml pH down at 19:05; test at 19:35.``"""
    return [
        line(
            Strong(name(each.who)),
            f" added {voice.amount(each.amount, each.unit)} {ROLES[each.what]} at "
            f"{voice.moment(each.at, now)}; test at {voice.moment(each.test_at, now)}.",
        )
        for each in others
    ]


def _household(reply: HouseholdShown, voice: Voice) -> list[Line]:
    members = [
        line(f"{name(member.name) or '?'}{' (you)' if member.is_you else ''}: {member.role}")
        for member in reply.members[:MOST_PEOPLE]
    ]
    invites = [
        line(f"Invite {place}: {each.role}, until {voice.moment(each.expires_at, reply.now)}")
        for place, each in enumerate(reply.invites, start=1)
    ]
    how = [line("Change: ", Code("make Ana keeper"), " · ", Code("remove Ana"))] if reply.may_rule else []
    return [line(Strong(name(reply.title))), *members, *invites, *how]


def _joined(reply: Joined) -> list[Line]:
    title = name(reply.title)
    if reply.already and not reply.choose:
        return [line(f"You belong to {title} already, as {reply.role}.")]
    came = f"You belong to {title} as {reply.role}."
    if reply.choose:
        return [line(came), line("This chat has a journal of its own and stays with it until you choose:")]
    return [line(Strong(f"Welcome to {title}"), f": you are {reply.role}."), line("See what is next: /due")]


def _changed(reply: MemberChanged) -> str:
    who = name(reply.name)
    return {
        "role": f"{who} is {reply.role} now.",
        "removed": f"{who} is removed. What {who} logged stays.",
        "left": "You have left. What you logged stays there.",
        "handed_over": f"{who} is the keeper now, and you are a helper.",
        "moved_here": f"This chat is about {who} now; you are {reply.role} there.",
    }[reply.change]


def _refused(reply: Refused) -> list[Line]:
    keepers = joined([name(keeper) for keeper in reply.keepers if keeper], last="or")
    if reply.role == "removed":
        return [
            line("You do not belong to this household any more."),
            line(f"Ask {keepers or 'a keeper'} for an invite."),
        ]
    ask = f" Ask {keepers}." if keepers else ""
    return [line(f"As {reply.role} you cannot {words_for(DEEDS, reply.deed)}.{ask}")]


def _did(reply: DidWhat) -> list[Line]:
    if not reply.people:
        return [line("Nobody logged anything in that time.")]
    return [
        line(Strong(name(who) or "?"), f": {_counted(facts)}") for who, facts in reply.people[:MOST_PEOPLE]
    ]


def _counted(facts: tuple[Fact, ...]) -> str:
    """``3 tests, 2 doses, rinse filter``."""
    counts = Counter(_kind(fact) for fact in facts)
    shown = []
    for kind, count in counts.most_common(MOST_DEEDS):
        one, many = _KINDS.get(kind, (kind, f"{kind} ×{count}"))
        shown.append(
            f"{count} {many if count > 1 else one}" if kind in _KINDS else (many if count > 1 else one)
        )
    left = sum(counts.values()) - sum(count for _, count in counts.most_common(MOST_DEEDS))
    return ", ".join(shown) + (f" and {left} more" if left else "")


def _kind(fact: Fact) -> str:
    if isinstance(fact, Chore | Tended):
        return fact.task.replace("_", " ")
    return fact.kind if fact.kind in _KINDS else fact.kind.replace("_", " ")


def _tanks(reply: TanksShown) -> list[Line]:
    if len(reply.tanks) < 2:
        return [line("One tank. For more: ", Code("tanks: kitchen, balcony"))]
    shown = [line(Strong(f"{name(t)} (here)") if t == reply.current else name(t)) for t in reply.tanks]
    if reply.stays is not None:
        return [
            *shown,
            line(f"{name(reply.stays)} is your first: it stays. Drop another:"),
            line(Code(f"tanks: {reply.stays}")),
        ]
    return [*shown, line("Name one in a message: ", Code(f"{reply.tanks[-1]} ph 5.9"))]
