"""To be forgotten: asked twice, a day of grace, then gone, from every table and from the file."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event, select

from bot.assistant.assistant import Assistant
from bot.assistant.exchange import ChatRef, Heard, PersonRef
from bot.assistant.origin import Origin
from bot.assistant.record import revision
from bot.assistant.scene import open_scene
from bot.assistant.schedule import FORGETTING
from bot.reader import Found
from domain.facts import Reading
from storage.engine import Store
from storage.erasure import SOMEONE
from storage.models import metadata
from storage.repository import ROWS_AT_ONCE
from tests.assistant.talk import Talk

SECRET = "zebrafinch"
"""A word that stands in everything the household says."""


@pytest.fixture
async def home(store: Store, clock: Any) -> Talk:
    """Ana in the group of three, each of whom has logged something."""
    chat = ChatRef("telegram", "-1009000", private=False, title=f"Balcony {SECRET}")
    ana = Talk(store, clock, Assistant(store, clock), chat, PersonRef("700100", f"Ana {SECRET}"))
    for person, words in (
        (ana, f"note: {SECRET} tips browning on B2"),
        (other(ana, "700200", "Ben"), "ph 6.1"),
        (other(ana, "700300", "Cleo"), "topped up 3 L"),
    ):
        await arrives(person, words)
    ana.count = 50
    return ana


def other(talk: Talk, address: str, name: str) -> Talk:
    return replace(talk, person=PersonRef(address, name), count=int(address) % 1000, letters=[])


async def arrives(talk: Talk, text: str) -> None:
    """A message that comes in through the inbox, as the platform brings it."""
    talk.count += 1
    address = talk.person.address
    raw = {
        "message": {"from": {"id": int(address or 0)}, "chat": {"id": int(talk.chat.address)}, "text": text}
    }
    number, now = f"telegram:{address}:{talk.count}", talk.clock()
    async with talk.store.write() as tx:
        key = await tx.inbox.household_key("telegram", talk.chat.address)
        await tx.inbox.put(number, key, now, json.dumps(raw), now)
    async with talk.store.write() as tx:
        (claim,) = await tx.inbox.claim(now, limit=1, lease=timedelta(minutes=1))
    heard = Heard(talk.chat, talk.person, str(talk.count), now, text)
    await talk.assistant.hear(heard, claim)
    await talk.collect()


async def everything(store: Store) -> str:
    """Every row of every table, as text."""
    async with store.read() as tx:
        connection = tx.journal._connection
        rows = [
            row for table in metadata.sorted_tables for row in (await connection.execute(select(table))).all()
        ]
    return "\n".join(map(repr, rows))


def files_of(store: Store) -> bytes:
    """The database as it lies on the disk, its log included."""
    path = Path(str(store._engine.url.database))
    return b"".join(file.read_bytes() for file in path.parent.glob(f"{path.name}*"))


async def forget(talk: Talk, whom: str) -> None:
    await talk.say("/forget")
    await talk.press(whom, press=f"{whom}1")
    await talk.press("Yes, delete", press=f"{whom}2")


async def test_a_household_is_asked_twice_and_has_a_day(home: Talk) -> None:
    await home.say("/forget")
    assert "What shall I forget?" in home.text
    await home.press("Forget all of it")
    assert "Really delete the whole journal?" in home.text
    assert len(await home.journal()) == 3
    await home.press("Yes, delete", press="p2")
    assert "will be deleted on" in home.text
    home.clock.advance(hours=23)
    await home.tick()
    assert len(await home.journal()) == 3


async def test_after_the_day_nothing_of_it_is_left_in_any_table_or_in_the_file(home: Talk) -> None:
    assert SECRET in await everything(home.store)
    await forget(home, "Forget all of it")
    if home.store._turn is not None:
        await home.store.scrub()
        assert SECRET.encode() in files_of(home.store)
    home.clock.advance(hours=24, minutes=1)
    await home.assistant.tick(home.clock())
    left = await everything(home.store)
    for gone in (SECRET, "700100", "700200", "-1009000", "Ben", "topped up"):
        assert gone not in left
    if home.store._turn is not None:  # SQLite
        for gone in (SECRET, "700200", "topped up 3 L"):
            assert gone.encode() not in files_of(home.store)


async def test_a_chat_that_was_forgotten_begins_anew(home: Talk) -> None:
    await forget(home, "Forget all of it")
    home.clock.advance(hours=25)
    await home.assistant.tick(home.clock())
    await home.say("ph 6.3")
    assert [entry.fact.kind for entry in await home.journal()] == ["reading"]
    await home.say("/forget")
    assert "What shall I forget?" in home.text


@pytest.mark.parametrize("how", ["button", "word", "asked again"])
async def test_it_can_be_called_off(home: Talk, how: str) -> None:
    await forget(home, "Forget all of it")
    if how == "button":
        await home.press("Keep it after all", press="p9")
    elif how == "word":
        await home.say("keep")
    else:
        await home.say("/forget")
        await home.press("Keep it after all", press="p9")
    assert "kept" in home.text
    home.clock.advance(hours=30)
    await home.assistant.tick(home.clock())
    assert len(await home.journal()) == 3


async def test_what_was_sent_in_time_and_not_read_yet_holds_it_up(home: Talk) -> None:
    await forget(home, "Forget all of it")
    home.clock.advance(hours=25)
    async with home.store.write() as tx:
        key = await tx.inbox.household_key("telegram", home.chat.address)
        await tx.inbox.put("telegram:late", key, home.clock(), "{}", home.clock())
    await home.assistant.tick(home.clock())
    assert len(await home.journal()) == 3


async def test_a_person_goes_and_the_shared_record_stays(home: Talk) -> None:
    """Case 75: one of three; the others are untouched, and the same request is answered the same."""
    ben = other(home, "700200", "Ben")
    await forget(home, "Forget me")
    planned = home.text
    await home.say("/forget")
    assert home.text == planned
    home.clock.advance(hours=25)
    await home.assistant.tick(home.clock())
    entries = await ben.journal()
    assert [(entry.author, entry.fact.kind) for entry in entries] == [
        ("someone", "observation"),
        ("Ben", "reading"),
        ("Cleo", "top_up"),
    ]
    left = await everything(home.store)
    assert "700100" not in left
    assert f"Ana {SECRET}" not in left
    assert "700200" in left
    await ben.say("undo")
    assert "pH 6.1" in ben.text


async def test_words_that_a_person_took_back_are_deleted_with_them(home: Talk) -> None:
    await home.say("note: gossip about the neighbours")
    await home.say("undo")
    await forget(home, "Forget me")
    home.clock.advance(hours=25)
    await home.assistant.tick(home.clock())
    assert "gossip" not in await everything(home.store)


async def test_where_the_only_keeper_is_forgotten_who_came_next_keeps_the_household(home: Talk) -> None:
    await forget(home, "Forget me")
    home.clock.advance(hours=25)
    await home.assistant.tick(home.clock())
    ben = other(home, "700200", "Ben")
    await ben.say("/household")
    assert "Ben (you): keeper" in ben.text
    assert "Cleo: keeper" not in ben.text


async def test_where_it_fails_in_one_household_the_others_are_told_all_the_same(
    home: Talk, caplog: pytest.LogCaptureFixture
) -> None:
    stranger = replace(home, chat=ChatRef("telegram", "42", private=True), person=PersonRef("42", "Eve"))
    await stranger.say("remind me to look at the roots tomorrow at 9")
    async with home.store.write() as tx:
        chat = await tx.households.find_chat("telegram", home.chat.address)
        assert chat is not None
        broken = {"task": "forget", "text": "", "why": "", "rrule": None, "source": FORGETTING}
        at = home.clock()
        await tx.reminders.put(chat.household_id, "forget:x", chat_id=None, due_at=at, now=at, **broken)
    home.clock.advance(hours=40)
    assert await home.assistant.tick(home.clock()) > 0
    await stranger.collect()
    assert "roots" in stranger.text
    assert "forgetting failed" in caplog.text


async def test_a_long_journal_is_forgotten_in_few_statements(home: Talk) -> None:
    """All wait while they run. More messages than one statement takes, each of them edited once."""
    said = [f"m{number}" for number in range(ROWS_AT_ONCE // 2 + 5)]
    async with home.store.write() as tx:
        now = home.clock()
        scene = await open_scene(tx, home.chat, home.person, at=now, now=now)
        for message in said:
            for action, ph in (("said", 6.0), ("edited", 6.1)):
                origin = Origin(message, f"ph {ph}", action, now if action == "edited" else None)  # type: ignore[arg-type]
                facts = (Found(fact=Reading(ph=ph), span=(0, 6)),)
                assert await tx.journal.append(revision(scene, origin, facts))
    executed: list[str] = []
    event.listen(
        home.store._engine.sync_engine, "before_cursor_execute", lambda *said: executed.append(said[2])
    )
    async with home.store.write() as tx:
        await tx.erasure.person(scene.household_id, scene.person.id, home.clock())
    assert len(executed) < len(said) / 2
    told = [entry for entry in await home.journal() if entry.author == SOMEONE]
    assert sorted(getattr(entry.fact, "ph", 0) or 0 for entry in told) == [0] + [6.1] * len(said)


async def test_who_was_removed_is_not_let_in_by_being_forgotten(home: Talk) -> None:
    ben = other(home, "700200", "Ben")
    ben.count = 250
    await home.say("remove Ben")
    await forget(ben, "Forget me")
    home.clock.advance(hours=25)
    await home.assistant.tick(home.clock())
    assert "'Ben'" not in await everything(home.store)
    outcome = await ben.say("ph 6.4")
    assert outcome.scene.person.role == "removed"
    assert [entry.author for entry in await home.journal()].count("Ben") == 0


async def test_nobody_forgets_somebody_else(home: Talk) -> None:
    await home.say("/forget")
    data = home.letters[0].buttons[0][0].data
    assert home.letters[0].buttons[0][0].label == "Forget me"
    ben = other(home, "700200", "Ben")
    refused = await ben.press("", data=data)
    assert refused.alert
    stranger = replace(ben, chat=ChatRef("telegram", "42", private=True), person=PersonRef("42", "Eve"))
    await stranger.say("ph 7")
    for stage in ("ask", "yes"):
        answer = await stranger.press("", data=f"v1:forget:{stage}:household:1:1777921500", press=stage)
        assert answer.alert


async def test_a_button_found_much_later_forgets_nobody(home: Talk) -> None:
    await home.say("/forget")
    page = home.letters
    home.clock.advance(hours=2)
    home.letters = page
    assert (await home.press("Forget all of it")).alert


async def test_an_edited_message_forgets_nobody(home: Talk) -> None:
    """Case 14."""
    await home.say("ph 6.2", message="m9")
    at = home.clock()
    edited = Heard(home.chat, home.person, "m9", at, "/forget", edited_at=at, command="forget")
    await home.hear(edited)
    assert "does not run from an edited message" in home.text


async def test_one_who_is_alone_is_the_household(talk: Talk) -> None:
    await talk.say("ph 6")
    await talk.say("/forget")
    labels = [key.label for row in talk.letters[0].buttons for key in row]
    assert labels == ["Forget all of it", "Keep everything"]
