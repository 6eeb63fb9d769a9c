"""A household of several people: invites, roles, coming and going, and nothing that crosses over."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, get_args

import pytest

from bot.assistant.assistant import Assistant
from bot.assistant.exchange import ChatRef, PersonRef
from bot.assistant.household_replies import (
    DidWhat,
    HouseholdShown,
    InviteMade,
    Joined,
    MemberChanged,
    Refused,
)
from bot.assistant.replies import Hint
from domain.facts import Dose, Reading
from domain.roles import ROLES, Deed, may
from storage.engine import Store
from tests.assistant.talk import Talk


def alone(store: Store, clock: Any, name: str, number: str) -> Talk:
    """Somebody in their own chat with the assistant."""
    chat = ChatRef("terminal", number, private=True, title=name)
    return Talk(store, clock, Assistant(store, clock), chat, PersonRef(number, name), count=int(number) * 100)


@pytest.fixture
async def ana(store: Store, clock: Any) -> Talk:
    talk = alone(store, clock, "Ana", "1")
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("tank holds 45 L")
    return talk


@pytest.fixture
async def ben(store: Store, clock: Any) -> Talk:
    return alone(store, clock, "Ben", "2")


async def invite(talk: Talk, role: str = "helper") -> str:
    (reply,) = (await talk.say(f"/invite {role}")).replies
    assert isinstance(reply, InviteMade)
    return reply.token


async def joined(talk: Talk, token: str) -> Joined | Hint:
    (reply,) = (await talk.say(f"/start {token}")).replies
    assert isinstance(reply, Joined | Hint)
    return reply


async def household(talk: Talk) -> HouseholdShown:
    (reply,) = (await talk.say("/household")).replies
    assert isinstance(reply, HouseholdShown)
    return reply


async def roles(talk: Talk) -> dict[str, str]:
    return {member.name: member.role for member in (await household(talk)).members}


# --- invites -----------------------------------------------------------------------------------------------


async def test_an_invite_brings_a_person_and_their_chat_into_the_household(ana: Talk, ben: Talk) -> None:
    reply = await joined(ben, await invite(ana))
    assert isinstance(reply, Joined)
    assert (reply.title, reply.role, reply.choose) == ("Ana's tank", "helper", False)
    await ben.say("ph 6.1")
    assert [e.author for e in await ana.journal()] == ["Ana", "Ana", "Ben"]
    assert await roles(ana) == {"Ana": "keeper", "Ben": "helper"}


async def test_an_invite_works_once_and_says_the_same_to_everybody_after(
    ana: Talk, ben: Talk, store: Store, clock: Any
) -> None:
    token = await invite(ana)
    await joined(ben, token)
    late = alone(store, clock, "Cato", "3")
    for wrong in (token, token.swapcase(), "x" * 64, "x" * 65, "'; DROP TABLE invites;--", "🌱"):
        assert await joined(late, wrong) == Hint(code="no_such_invite")
    assert await roles(ana) == {"Ana": "keeper", "Ben": "helper"}


async def test_an_invite_ends_by_age_and_by_being_revoked(ana: Talk, ben: Talk) -> None:
    first = await invite(ana)
    revoke = ana.letters[0].buttons[0][0].data
    assert (await ana.press("", data=revoke)).text == "Revoked: nobody can join with it."
    assert (await ana.press("", press="p2", data=revoke)).text == "It was closed already."
    assert await joined(ben, first) == Hint(code="no_such_invite")
    second = await invite(ana)
    ana.clock.advance(days=3)
    assert await joined(ben, second) == Hint(code="no_such_invite")


@pytest.mark.parametrize("ends", ["remove Ben", "make Ben helper"])
async def test_an_invite_ends_with_its_maker_s_right_to_invite(ana: Talk, ben: Talk, ends: str) -> None:
    """Whoever was removed does not come back by the invite that they made for themselves before."""
    await joined(ben, await invite(ana, "keeper"))
    own = await invite(ben, "keeper")
    await ana.say(ends)
    cleo = alone(ana.store, ana.clock, "Cleo", "3")
    assert await joined(cleo, own) == Hint(code="no_such_invite")
    assert await joined(ben, own) == Hint(code="no_such_invite")
    assert (await roles(ana)).get("Ben") != "keeper"


async def test_a_member_does_not_use_an_invite_up(ana: Talk, ben: Talk) -> None:
    token = await invite(ana)
    own = await joined(ana, token)
    assert isinstance(own, Joined)
    assert own.already
    assert isinstance(await joined(ben, token), Joined)


async def test_a_chat_with_a_journal_of_its_own_is_asked_once_which_household_it_is_for(
    ana: Talk, ben: Talk
) -> None:
    await ben.say("ph 5.5")
    reply = await joined(ben, await invite(ana))
    assert isinstance(reply, Joined)
    assert reply.choose
    await ben.say("ph 5.6")
    assert len([e for e in await ben.journal() if isinstance(e.fact, Reading)]) == 2
    await ben.say("/household")
    await ben.press("Use here: Ana's tank")
    await ben.say("ph 6.4")
    assert [e.fact.ph for e in await ana.journal() if isinstance(e.fact, Reading)] == [6.4]
    other = await household(ben)
    assert [each.title for each in other.others] == ["Ben's tank"]
    await ben.press("Use here: Ben's tank", press="p9")
    assert [e.fact.ph for e in await ben.journal() if isinstance(e.fact, Reading)] == [5.5, 5.6]


async def test_a_group_joins_too(ana: Talk, ben: Talk) -> None:
    group = ben.elsewhere("-100", private=False)
    reply = await joined(group, await invite(ana))
    assert isinstance(reply, Joined)
    await group.say("ph 6.2")
    assert [e.author for e in await ana.journal()][-1] == "Ben"
    assert (await household(ana)).title == "-100"  # the group's title


async def test_an_edit_does_not_reach_the_household_left_behind(ana: Talk, ben: Talk) -> None:
    await ben.say("ph 5.5", message="b1")
    await joined(ben, await invite(ana))
    await ben.press("Use it in this chat: Ana's tank")
    (reply,) = (await ben.edit("b1", "ph 7.5")).replies
    assert reply == Hint(code="other_household")
    assert not [e for e in await ana.journal() if isinstance(e.fact, Reading)]


# --- coming and going --------------------------------------------------------------------------------------


async def test_who_is_removed_is_out_with_their_chats(ana: Talk, ben: Talk) -> None:
    await joined(ben, await invite(ana))
    await ben.say("ph 6.1")
    await ana.say("remove Ben")
    assert ana.text == "Ben is removed. What Ben logged stays."
    await ben.say("/journal")
    assert "6.1" not in ben.text
    await ben.say("ph 4.2")
    assert [e.fact.ph for e in await ana.journal() if isinstance(e.fact, Reading)] == [6.1]
    assert await roles(ana) == {"Ana": "keeper"}


async def test_who_is_removed_and_still_sits_in_the_group_is_heard_only_in_need(ana: Talk) -> None:
    group = ana.elsewhere("-100", private=False)
    await joined(group, await invite(ana))
    ben = Talk(group.store, group.clock, group.assistant, group.chat, PersonRef("2", "Ben"), count=500)
    await ben.say("ph 6.1")
    await group.say("remove Ben")
    outcome = await ben.say("ph 4.2")
    assert isinstance(outcome.replies[0], Refused)
    assert ben.text.splitlines()[-1] == "Ask Ana for an invite."
    outcome = await ben.say("/status")
    assert isinstance(outcome.replies[0], Refused)
    outcome = await ben.say("got ph down in my eye")
    assert not any(isinstance(reply, Refused) for reply in outcome.replies)
    assert outcome.replies
    assert [e.fact.ph for e in await group.journal() if isinstance(e.fact, Reading)] == [6.1]


async def test_leaving_takes_the_chat_along_and_leaves_what_was_logged(ana: Talk, ben: Talk) -> None:
    await joined(ben, await invite(ana))
    await ben.say("ph 6.1")
    await ben.say("leave the household")
    assert ben.text == "Leave Ana's tank? What you logged stays there."
    await ben.press("Leave")
    assert ben.text == "You have left. What you logged stays there."
    assert await ben.journal() == []
    assert [e.author for e in await ana.journal()] == ["Ana", "Ana", "Ben"]
    assert await roles(ana) == {"Ana": "keeper"}


async def test_the_last_keeper_hands_over_first(ana: Talk, ben: Talk) -> None:
    await joined(ben, await invite(ana))
    await ana.say("/leave")
    assert ana.text.startswith("You are the only keeper.")
    await ana.say("make Ana onlooker")
    assert "only keeper" in ana.text
    (reply,) = (await ana.say("hand over to Ben")).replies
    assert isinstance(reply, MemberChanged)
    assert await roles(ben) == {"Ana": "helper", "Ben": "keeper"}
    await ana.say("/leave")
    await ana.press("Leave")
    assert await roles(ben) == {"Ben": "keeper"}


async def test_nobody_by_that_name(ana: Talk) -> None:
    await ana.say("remove Zoe from the household")
    assert ana.prose == "I know nobody here called “Zoe”. /household lists who belongs to it."


async def test_who_did_what(ana: Talk, ben: Talk) -> None:
    await joined(ben, await invite(ana))
    await ben.say("ph 5.1", at=ben.clock() - timedelta(days=20))
    for text in ("ph 6.1", "ph 6.0", "rinsed the filter"):
        await ben.say(text)
    await ana.say("topped up 4 L")
    (reply,) = (await ana.say("who did what this week?")).replies
    assert isinstance(reply, DidWhat)
    assert [name for name, _ in reply.people] == ["Ben", "Ana"]
    assert ana.text.splitlines() == ["Ben: 2 tests, rinse filter", "Ana: 1 top-up"]


# --- who may do what, cell by cell -------------------------------------------------------------------------

EXPECTED: dict[Deed, str] = {
    "emergency": "keeper helper onlooker removed",
    "leave": "keeper helper onlooker",
    "see": "keeper helper onlooker",
    "log": "keeper helper",
    "undo_own": "keeper helper",
    "undo_others": "keeper helper",
    "remind": "keeper helper",
    "away": "keeper helper",
    "settings": "keeper helper",
    "invite": "keeper",
    "members": "keeper",
    "hand_over": "keeper",
    "erase": "keeper",
}
SAID: dict[Deed, str] = {
    "emergency": "got ph down in my eye",
    "leave": "/leave",
    "see": "/journal",
    "log": "ph 6.3",
    "undo_own": "undo",
    "remind": "remind us tomorrow at 6pm to look",
    "away": "away 5-9 may, Ana takes over",
    "settings": "tank holds 50 L",
    "invite": "/invite",
    "members": "make Ana helper",
    "hand_over": "hand over to Ana",
}


def test_every_deed_has_its_row() -> None:
    assert set(EXPECTED) == set(get_args(Deed))


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("deed", EXPECTED)
def test_the_table(deed: Deed, role: str) -> None:
    assert may(role, deed) == (role in EXPECTED[deed].split())


@pytest.mark.parametrize("role", ROLES)
async def test_the_table_is_kept_in_every_cell(ana: Talk, role: str) -> None:
    """In a group, where even who was removed can still write; a second keeper keeps the household whole."""
    group = ana.elsewhere("-100", private=False)
    await joined(group, await invite(ana))
    await group.say("ph 6.1", message="a1")
    undo = next(
        b.data for letter in group.letters for row in letter.buttons for b in row if b.label == "Undo"
    )
    ben = Talk(group.store, group.clock, group.assistant, group.chat, PersonRef("2", "Ben"), count=500)
    await ben.say("hello")
    if role != "helper":
        await group.say(f"make Ben {role}" if role != "removed" else "remove Ben")
    for deed, text in SAID.items():
        outcome = await ben.say(text)
        was_refused = any(isinstance(reply, Refused) for reply in outcome.replies)
        assert was_refused != may(role, deed), (deed, role)
    answer = await ben.press("", data=undo)
    assert answer.alert != may(role, "undo_others")


# --- nothing crosses over ----------------------------------------------------------------------------------


async def test_a_dose_in_the_group_is_seen_in_a_member_s_own_chat(ana: Talk, ben: Talk) -> None:
    group = ben.elsewhere("-100", private=False)
    await joined(group, await invite(ana))
    await group.say("added 5 ml ph down")
    assert any(isinstance(e.fact, Dose) for e in await ana.journal())
