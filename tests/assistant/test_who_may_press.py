"""Buttons in a group: whoever presses, the table of roles decides, and a refusal uses nothing up."""

from __future__ import annotations

from typing import Any

import pytest

from bot.assistant import bringing_in
from bot.assistant.assistant import Assistant
from bot.assistant.exchange import ChatRef, Heard, PersonRef
from bot.assistant.scene import open_scene
from storage.engine import Store
from tests.assistant.talk import Talk

NOTES = b"Date,pH\n2026-01-01,6.1\n"


@pytest.fixture
async def ana(store: Store, clock: Any) -> Talk:
    """The keeper in her group."""
    chat = ChatRef("terminal", "-77", private=False, title="Balcony")
    talk = Talk(store, clock, Assistant(store, clock), chat, PersonRef("1", "Ana"), count=100)
    await talk.say("replies all")
    await talk.say("tank holds 45 L")
    return talk


async def member(ana: Talk, role: str) -> Talk:
    """Ben, who reads the same group."""
    ben = ana.someone("Ben", "2")
    await ben.say("topped up 1 L")
    async with ana.store.write() as tx:
        chat = await tx.households.find_chat("terminal", "-77")
        assert chat is not None
        (number,) = [each.id for each in await tx.households.people(chat.household_id) if each.name == "Ben"]
        await tx.membership.give_role(chat.household_id, number, role)
    return ben


async def offered(talk: Talk, name: str, content: bytes) -> None:
    async with talk.store.write() as tx:
        now = talk.clock()
        scene = await open_scene(tx, talk.chat, talk.person, at=now, now=now)
    seen = bringing_in.Seen(scene.zone, scene.reader_settings, talk.clock())
    looked = bringing_in.look_at(name, content, seen)
    talk.count += 1
    await talk.assistant.hear(Heard(talk.chat, talk.person, str(talk.count), talk.clock(), ""), looked=looked)
    await talk.collect()


async def test_an_onlooker_does_not_take_in_the_notes_that_a_keeper_brought(ana: Talk) -> None:
    ben = await member(ana, "onlooker")
    await offered(ana, "notes.csv", NOTES)
    ben.letters, before = ana.letters, await ana.journal()
    refused = await ben.press("Keep it")
    assert refused.alert
    assert await ana.journal() == before
    await offered(ana, "notes.csv", NOTES)
    await ana.press("Keep it", press="p2")
    assert len(await ana.journal()) == len(before) + 1


async def test_on_which_scale_the_meter_shows_is_not_for_an_onlooker_to_say(ana: Talk) -> None:
    ben = await member(ana, "onlooker")
    await ana.say("ph 6.0 ppm 700")
    asked, before = ana.letters, await ana.journal()
    ben.letters = asked
    refused = await ben.press("Meter: 700 scale")
    assert refused.alert
    assert await ana.journal() == before
    ana.letters = asked
    await ana.press("Meter: 700 scale", press="p2")
    assert [e.fact.ppm_scale for e in await ana.journal() if e.fact.kind == "reading"] == [700]  # type: ignore[attr-defined]


@pytest.mark.parametrize(("role", "chosen"), [("onlooker", "kitchen"), ("helper", "balcony")])
async def test_which_tank_a_group_is_about_is_for_those_who_log(ana: Talk, role: str, chosen: str) -> None:
    await ana.say("tanks: kitchen, balcony")
    ben = await member(ana, role)
    await ben.say("/tank balcony")
    (shown,) = (await ana.say("/tank")).replies
    assert getattr(shown, "current", None) == chosen


@pytest.mark.parametrize(("text", "label"), [("tank 50", None), ("5.9 / 720 / 19", "ppm")])
async def test_words_stay_their_writer_s_whoever_completes_them(
    ana: Talk, text: str, label: str | None
) -> None:
    """They are undone, told and forgotten with the one who wrote them."""
    ben = await member(ana, "helper")
    await ana.say(text)
    keys = [key.label for letter in ana.letters for row in letter.buttons for key in row]
    ben.letters, before = ana.letters, {entry.id for entry in await ana.journal()}
    await ben.press(label or keys[0])
    added = [entry for entry in await ana.journal() if entry.id not in before]
    assert {entry.author for entry in added if ":press:" not in entry.message_key} == {"Ana"}
