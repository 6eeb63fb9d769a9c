"""Revisions and entries: what stands after edits, undos and things told twice."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import insert
from sqlalchemy.exc import IntegrityError
from stored import Home, append, net, ph, settled, statements_of

from domain.facts import Dose, Growing, Harvest, Reading
from domain.journal import Entry
from storage.engine import Store, open_store
from storage.journal import Recorded, Revision, message_key
from storage.memory import JournalMemory, NetJournal
from storage.models import revisions

NOW = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)


def later(**by: float) -> datetime:
    return NOW + timedelta(**by)


async def test_an_entry_says_who_when_and_in_which_message(store: Store) -> None:
    home = await settled(store, "5", NOW)
    happened = datetime(2026, 5, 4, 9, 0, tzinfo=timezone(timedelta(hours=2)))
    doubted = Recorded(ph(3.0), happened, span=(0, 6), doubted=True)
    number = await append(store, home.says("7", doubted, at=NOW, text="ph 3.0"))
    async with store.read() as tx:
        (entry,) = await tx.journal.entries(home.id)
        stored = await tx.journal.last(home.chat.id, "7")
    assert entry == Entry(
        id=entry.id,
        fact=Reading(ph=3.0),
        happened_at=datetime(2026, 5, 4, 7, 0, tzinfo=UTC),
        said_at=NOW,
        author="Ana",
        message_key=message_key(home.chat.id, "7"),
        doubted=True,
    )
    assert stored is not None
    assert (stored.id, stored.number, stored.action, stored.text) == (number, 1, "said", "ph 3.0")
    assert stored.facts == (doubted,)
    assert stored.person_id == home.person.id


async def test_every_field_of_a_fact_comes_back(store: Store) -> None:
    home = await settled(store, "5", NOW)
    facts = (
        Reading(ph=5.93, ec_ms_cm=1.44, ppm=720, ppm_scale=500, water_temp_c=19, approx=True, when=NOW),
        Dose(product="ph_down", amount=2.5, unit="ml", tank="big one"),
        Harvest(crop="lettuce", sites=("B1", "B2"), grams=120, when=NOW),
        Growing(crop="basil", count=3),
    )
    await append(store, home.says("7", *facts, at=NOW))
    assert await net(store, home.id) == list(facts)


async def test_entries_come_in_the_order_in_which_things_happened(store: Store) -> None:
    home = await settled(store, "5", NOW)
    await append(store, home.says("1", Recorded(ph(6.2), later(hours=-1)), at=NOW))
    await append(store, home.says("2", Recorded(ph(6.0), later(hours=-5)), at=NOW))
    await append(store, home.says("3", ph(6.3), Recorded(ph(6.1), later(hours=-2)), at=NOW))
    await append(store, home.says("4", ph(6.4), at=NOW))
    assert await net(store, home.id) == [ph(6.0), ph(6.1), ph(6.2), ph(6.3), ph(6.4)]


class TestTwice:
    async def test_the_same_message_counts_once(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        said = home.says("7", ph(6.0), at=NOW, text="ph 6")
        assert [await append(store, said) is None for _ in range(3)] == [False, True, True]
        assert await net(store, home.id) == [ph(6.0)]

    async def test_the_same_edit_counts_once(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await append(store, home.says("7", ph(6.0), at=NOW, text="ph 6"))
        edit = home.says("7", ph(6.4), at=NOW, text="ph 6.4", action="edited", edited_at=later(minutes=1))
        assert [await append(store, edit) is None for _ in range(3)] == [False, True, True]
        async with store.read() as tx:
            assert [past.number for past in await tx.journal.history(home.chat.id, "7")] == [1, 2]

    async def test_an_undo_counts_once(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await append(store, home.says("7", ph(6.0), at=NOW))
        undone = home.says("7", at=NOW, action="undone")
        assert [await append(store, undone) is None for _ in range(3)] == [False, True, True]
        assert await net(store, home.id) == []

    async def test_the_same_number_in_two_chats_is_two_messages(self, store: Store) -> None:
        first, second = await settled(store, "5", NOW), await settled(store, "6", NOW)
        assert await append(store, first.says("7", ph(6.0), at=NOW)) is not None
        assert await append(store, second.says("7", ph(6.5), at=NOW)) is not None


class TestEdits:
    async def test_an_edit_replaces_what_the_message_said(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await append(store, home.says("7", ph(6.1), at=NOW, text="ph 6.1"))
        edit = home.says("7", ph(6.4), at=NOW, text="ph 6.4", action="edited", edited_at=later(minutes=1))
        await append(store, edit)
        assert await net(store, home.id) == [ph(6.4)]
        async with store.read() as tx:
            history = await tx.journal.history(home.chat.id, "7")
        assert [past.text for past in history] == ["ph 6.1", "ph 6.4"]

    async def test_an_edit_that_comes_before_its_original_stands(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        edit = home.says("7", ph(6.4), at=NOW, text="ph 6.4", action="edited", edited_at=later(minutes=1))
        assert await append(store, edit) is not None
        assert await append(store, home.says("7", ph(6.1), at=NOW, text="ph 6.1")) is None
        assert await net(store, home.id) == [ph(6.4)]

    async def test_an_edit_that_comes_after_a_later_one_is_refused(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await append(store, home.says("7", ph(6.1), at=NOW, text="a"))
        for minutes, value in ((2, 6.3), (1, 6.2)):
            edited_at = later(minutes=minutes)
            edit = home.says("7", ph(value), at=NOW, text=str(value), action="edited", edited_at=edited_at)
            await append(store, edit)
        assert await net(store, home.id) == [ph(6.3)]

    async def test_two_edits_in_one_second_both_count(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await append(store, home.says("7", ph(6.1), at=NOW, text="a"))
        at = later(minutes=1)
        for text, value in (("b", 6.2), ("c", 6.3), ("b", 6.2)):
            await append(store, home.says("7", ph(value), at=NOW, text=text, action="edited", edited_at=at))
        assert await net(store, home.id) == [ph(6.3)]

    async def test_an_edit_that_changes_no_word_is_no_revision(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await append(store, home.says("7", ph(6.1), at=NOW, text="ph 6.1"))
        same = home.says("7", ph(6.1), at=NOW, text="ph 6.1", action="edited", edited_at=later(minutes=1))
        assert await append(store, same) is None

    async def test_an_edit_after_an_undo_stands(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await append(store, home.says("7", ph(6.1), at=NOW, text="ph 6.1"))
        await append(store, home.says("7", at=NOW, action="undone", edited_at=later(minutes=1)))
        edit = home.says("7", ph(6.1), at=NOW, text="ph 6.1", action="edited", edited_at=later(minutes=2))
        assert await append(store, edit) is not None
        assert await net(store, home.id) == [ph(6.1)]

    async def test_an_edit_stands_though_the_clock_of_a_press_before_it_is_ahead(self, store: Store) -> None:
        """The platform dates edits, in whole seconds, and no presses: those have our own clock's time."""
        home = await settled(store, "5", NOW)
        await append(store, home.says("7", ph(6.1), at=NOW, text="ph 6.1"))
        pressed_at = later(minutes=1, milliseconds=400)
        await append(
            store, home.says("7", ph(6.1), at=NOW, text="ph 6.1", action="answered", edited_at=pressed_at)
        )
        edit = home.says("7", ph(6.2), at=NOW, text="ph 6.2", action="edited", edited_at=later(minutes=1))
        assert await append(store, edit) is not None
        assert await append(store, edit) is None
        assert await net(store, home.id) == [ph(6.2)]

    async def test_an_edit_made_before_an_undo_does_not_bring_the_entry_back(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await append(store, home.says("7", ph(6.1), at=NOW, text="ph 6.1"))
        await append(store, home.says("7", at=NOW, action="undone", edited_at=later(minutes=2)))
        edit = home.says("7", ph(6.2), at=NOW, text="ph 6.2", action="edited", edited_at=later(minutes=1))
        assert await append(store, edit) is None
        assert await net(store, home.id) == []


async def test_an_answer_completes_a_message(store: Store) -> None:
    home = await settled(store, "5", NOW)
    await append(store, home.says("7", ph(6.1), at=NOW, text="ph 6.1, 40"))
    answered = home.says("7", ph(6.1), Reading(level_l=40), at=NOW, action="answered")
    assert await append(store, answered) is not None
    assert await net(store, home.id) == [ph(6.1), Reading(level_l=40)]


async def test_entries_of_a_revision_come_as_they_were_said_even_when_replaced(store: Store) -> None:
    home = await settled(store, "5", NOW)
    number = await append(store, home.says("7", ph(6.2), Recorded(ph(6.1), later(hours=-1)), at=NOW))
    await append(store, home.says("7", at=NOW, action="undone"))
    assert number is not None
    async with store.read() as tx:
        said = await tx.journal.entries_of(number)
    assert [entry.fact for entry in said] == [ph(6.2), ph(6.1)]


class TestLastStanding:
    async def test_undo_goes_back_one_message_at_a_time(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        for message in ("1", "2", "3"):
            await append(store, home.says(message, ph(6.0), at=NOW))
        await append(store, home.says("4", at=NOW, text="hello"))
        undone = []
        for _ in range(4):
            async with store.write() as tx:
                last = await tx.journal.last_standing_by(home.id, home.person.id)
                if last is not None:
                    await tx.journal.append(home.says(last.message, at=NOW, action="undone"))
                    undone.append(last.message)
        assert undone == ["3", "2", "1"]

    async def test_it_looks_further_back_where_asked_to(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        first = await append(store, home.says("1", ph(6.0), at=NOW))
        second = await append(store, home.says("2", ph(6.1), at=NOW))
        async with store.read() as tx:
            before = await tx.journal.last_standing_by(home.id, home.person.id, before_id=second)
            none = await tx.journal.last_standing_by(home.id, home.person.id, before_id=first)
        assert before is not None
        assert before.id == first
        assert none is None

    async def test_it_is_about_one_person(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        async with store.write() as tx:
            other = await tx.households.person("telegram", "p6", "Ben", home.id)
        await append(store, home.says("1", ph(6.0), at=NOW))
        async with store.read() as tx:
            assert await tx.journal.last_standing_by(home.id, other.id) is None


async def test_a_line_of_revisions_cannot_branch(store: Store) -> None:
    home = await settled(store, "5", NOW)
    first = await append(store, home.says("7", ph(6.0), at=NOW))
    await append(store, home.says("7", at=NOW, action="undone"))
    row = {
        "household_id": home.id,
        "chat_id": home.chat.id,
        "message": "7",
        "number": 3,
        "replaces": first,
        "author": "",
        "said_at": NOW,
        "recorded_at": NOW,
        "action": "edited",
        "text": "",
    }
    async with store._engine.connect() as connection:
        with pytest.raises(IntegrityError):
            await connection.execute(insert(revisions), row)


@pytest.mark.parametrize("typed", ["'); DROP TABLE entries;--", "a\0b", "\ud83d", "\u202eph 6", "<b>&"])
async def test_hostile_text_is_kept_or_cleaned(store: Store, typed: str) -> None:
    home = await settled(store, "5", NOW)
    fact = Growing(crop=typed.replace("\ud83d", "x"))
    assert await append(store, home.says("7", fact, at=NOW, text=typed)) is not None
    async with store.read() as tx:
        stored = await tx.journal.last(home.chat.id, "7")
    assert stored is not None
    assert stored.text == typed.replace("\0", "\ufffd").replace("\ud83d", "\ufffd")
    assert stored.facts[0].fact == fact


class TestMemory:
    """What is kept between readings never differs from what is read anew."""

    async def test_only_what_was_added_is_read(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        for number in range(20):
            await append(store, home.says(str(number), ph(6.0), at=later(minutes=number)))
        await net(store, home.id)
        await append(store, home.says("20", ph(6.4), at=later(minutes=20)))
        with statements_of(store) as sent:
            assert len(await net(store, home.id)) == 21
        assert len([statement for statement in sent if "SELECT" in statement]) == 1

    async def test_what_is_rolled_back_is_not_remembered(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await append(store, home.says("1", ph(6.0), at=NOW))

        async def break_off() -> list[object]:
            async with store.write() as tx:
                await tx.journal.append(home.says("2", ph(9.9), at=NOW))
                seen.extend(entry.fact for entry in await tx.journal.entries(home.id))
                raise RuntimeError("half way")

        seen: list[object] = []
        with pytest.raises(RuntimeError, match="half way"):
            await break_off()
        assert seen == [ph(6.0), ph(9.9)]
        await append(store, home.says("3", ph(6.1), at=NOW))
        assert await net(store, home.id) == [ph(6.0), ph(6.1)]

    async def test_what_another_process_adds_is_seen(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        await append(store, home.says("1", ph(6.0), at=NOW))
        await net(store, home.id)
        url = store._engine.url
        other = open_store(url.set(drivername=url.get_backend_name()).render_as_string(hide_password=False))
        await append(other, home.says("1", at=NOW, action="undone"))
        await append(other, home.says("2", ph(6.2), at=later(hours=-1)))
        await other.close()
        assert await net(store, home.id) == [ph(6.2)]

    async def test_random_lines_of_revisions_read_alike(self, store: Store) -> None:
        home = await settled(store, "5", NOW)
        steps = [(number * 7 % 5, number * 3 % 4) for number in range(40)]
        for number, (message, kind) in enumerate(steps):
            await append(store, _step(home, str(message), kind, number))
            kept = await net(store, home.id)
            store._memory._journals.clear()
            store._memory._count = 0
            assert kept == await net(store, home.id)

    @given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 40)), max_size=60))
    def test_it_never_keeps_more_than_it_should(self, kept: list[tuple[int, int]]) -> None:
        memory = JournalMemory(kept_entries=50)
        entry = Entry(1, ph(6.0), NOW, NOW, "Ana", "1:7")
        for household_id, count in kept:
            memory.keep(household_id, NetJournal(1, (entry,) * count))
            held = sum(len(journal.entries) for journal in memory._journals.values())
            assert held == memory._count <= 50
            recalled = memory.recall(household_id)
            assert recalled is not None
            assert len(recalled.entries) == count


def _step(home: Home, message: str, kind: int, number: int) -> Revision:
    at = later(minutes=number * 11 % 37)
    if kind == 0:
        return home.says(message, at=at, action="undone", edited_at=later(minutes=number))
    if kind == 1:
        return home.says(message, ph(number / 10), at=at, text=str(number))
    text, edited_at = str(number), later(minutes=number)
    return home.says(message, ph(number / 10), at=at, text=text, action="edited", edited_at=edited_at)
