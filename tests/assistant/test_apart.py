"""Nothing of one household reaches another: a stranger tries every command and every button."""

from __future__ import annotations

from typing import Any

import pytest

from bot.assistant.assistant import Assistant
from bot.assistant.buttons import VERBS
from bot.assistant.exchange import ChatRef, PersonRef
from bot.assistant.orders import COMMANDS
from storage.engine import Store
from tests.assistant.talk import Talk

SECRET = "zebra"
"""A word that stands in everything the household says, and that no answer of ours has."""

SAID = (
    "set time zone Europe/Lisbon",
    "tank holds 45 L",
    f"sowed basil in A1-A3, lot {SECRET} 24",
    "ph 7.2 ec 1.2 temp 20",
    "added 5 ml ph down",
    f"note: {SECRET} stripes on B2",
    f"remind us to feed the {SECRET} every day at 9am",
    f"remind us to brush the {SECRET} tomorrow at 9am",
    "we have 36 plugs",
    f"away 5-9 may, {SECRET} takes over",
    "how much ph down for 40 litres",
    "6",
    "/start",
    "/due",
    "/reminders",
    "/household",
    "/invite",
    "/journal",
    "/settings",
    "/plants",
    "/status",
)


def somebody(store: Store, clock: Any, name: str, number: str, *, private: bool = True) -> Talk:
    chat = ChatRef("terminal", number if private else f"-{number}", private=private, title=name)
    return Talk(
        store, clock, Assistant(store, clock), chat, PersonRef(number, name), count=int(number) * 1000
    )


async def snapshot(store: Store, household_id: int, now: Any) -> tuple[object, ...]:
    """All that is kept of a household."""
    async with store.read() as tx:
        return (
            await tx.journal.entries(household_id),
            await tx.reminders.of(household_id, with_ended=True),
            await tx.households.people(household_id),
            await tx.households.chats(household_id),
            await tx.membership.open_invites(household_id, now),
        )


@pytest.fixture
async def home(store: Store, clock: Any) -> Talk:
    """A household with something of everything; ``letters`` holds all that it was ever sent."""
    talk = somebody(store, clock, f"{SECRET} Ana", "1")
    letters = []
    for text in SAID:
        await talk.say(text)
        letters += talk.letters
    clock.advance(days=2)
    await talk.tick()
    talk.letters = letters + talk.letters
    return talk


def every_data(home: Talk) -> list[str]:
    """What every button of the household carries, and every verb with numbers that may be its rows."""
    theirs = [b.data for letter in home.letters for row in letter.buttons for b in row]
    numbers = [str(number) for number in range(1, 17)]
    guessed = [f"v1:{verb}:{number}" for verb in sorted(VERBS) for number in numbers]
    guessed += [f"v1:{verb}:1:{number}" for verb in sorted(VERBS) for number in numbers[:4]]
    return list(dict.fromkeys([*theirs, *guessed]))


async def test_no_button_reaches_another_household(home: Talk, store: Store, clock: Any) -> None:
    stranger = somebody(store, clock, "Cato", "2")
    outcome = await stranger.say("ph 6")
    assert SECRET in str(await snapshot(store, 1, clock()))
    before = await snapshot(store, 1, clock())
    tried = every_data(home)
    assert {data.split(":")[1] for data in tried} == set(VERBS)
    for number, data in enumerate(tried):
        answer = await stranger.press("", press=f"s{number}", data=data)
        assert SECRET not in f"{answer.text} {stranger.letters}".lower(), data
    assert await snapshot(store, 1, clock()) == before
    async with store.read() as tx:
        own = await tx.households.find_chat(stranger.chat.platform, stranger.chat.address)
    assert own is not None
    assert own.household_id != 1
    assert outcome.scene.household_id != 1


@pytest.mark.parametrize("private", [True, False])
async def test_no_command_reaches_another_household(
    home: Talk, store: Store, clock: Any, private: bool
) -> None:
    stranger = somebody(store, clock, "Cato", "2", private=private)
    before = await snapshot(store, 1, clock())
    for name in COMMANDS:
        for args in ("", "1", "all", "Ana", "A1", "ph", "keeper", "1:1"):
            await stranger.say(f"/{name} {args}".strip())
            assert SECRET not in str(stranger.letters).lower(), (name, args)
    for text in (
        "due",
        "who did what",
        "remove Ana",
        "make Cato keeper",
        "hand over to Ana",
        "what's in A1",
        "undo",
    ):
        await stranger.say(text)
        assert SECRET not in str(stranger.letters).lower(), text
    assert await snapshot(store, 1, clock()) == before


async def test_what_a_chat_was_told_in_another_household_is_not_explained_there(
    home: Talk, store: Store, clock: Any
) -> None:
    """A removed member's chat still shows the old messages; their Why has nothing to tell any more."""
    token = next(letter.joins for letter in home.letters if letter.joins)
    guest = somebody(store, clock, "Cato", "2")
    await guest.say(f"/start {token}")
    await guest.say("ph 7.4 ec 1.2 temp 20")
    assert "Why" in [button.label for letter in guest.letters for row in letter.buttons for button in row]
    await home.say("remove Cato")
    await guest.say("/why")
    assert guest.prose == "There is nothing to explain yet. Send a reading first."
    await guest.say("/due")
    assert SECRET not in str(guest.letters).lower()
