"""Who belongs together, and that nothing goes from one household to another."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from stored import LEASE, Home, append, letter, net, ph, settled, settled_in

from storage.engine import Store

NOW = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)


async def test_a_chat_is_made_once_and_keeps_its_household(store: Store) -> None:
    async with store.write() as tx:
        made = await tx.households.chat("telegram", "5", private=False, title="Kitchen", thread=None, now=NOW)
        found = await tx.households.chat(
            "telegram", "5", private=False, title="Kitchen", thread=None, now=NOW
        )
        household = await tx.households.household(made.household_id)
        chats = await tx.households.chats(made.household_id)
    assert made == found
    assert household is not None
    assert household.created_at == NOW
    assert chats == [made]


async def test_a_chat_is_called_as_it_was_called_last(store: Store) -> None:
    async with store.write() as tx:
        await tx.households.chat("telegram", "5", private=False, title="Old", thread=None, now=NOW)
        chat = await tx.households.chat("telegram", "5", private=False, title="New", thread="9", now=NOW)
        await tx.households.set_home(chat.id, "77")
    async with store.read() as tx:
        chat = await tx.households.find_chat("telegram", "5")
    assert chat is not None
    assert (chat.title, chat.thread) == ("New", "77")


async def test_every_chat_has_a_household_of_its_own(store: Store) -> None:
    first, second = await settled(store, "5", NOW), await settled(store, "6", NOW)
    assert first.id != second.id


async def test_the_same_address_on_two_platforms_is_two_chats(store: Store) -> None:
    async with store.write() as tx:
        phone = await tx.households.chat("telegram", "5", private=True, title="", thread=None, now=NOW)
        desk = await tx.households.chat("terminal", "5", private=True, title="", thread=None, now=NOW)
    assert phone.id != desk.id
    assert phone.household_id != desk.household_id


async def test_whoever_writes_is_active_again(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        await tx.households.set_active(home.chat.id, False, NOW)
        silent = await tx.households.find_chat("telegram", "5")
        heard = await tx.households.chat(
            "telegram", "5", private=True, title=home.chat.title, thread=None, now=NOW
        )
    assert silent is not None
    assert not silent.active
    assert heard.active


async def test_a_lost_chat_closes_what_waits_for_it(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        await tx.outbox.post(home.id, home.chat.id, letter("a"), dedupe_key="a", now=NOW)
        await tx.households.set_active(home.chat.id, False, NOW)
        await tx.households.set_active(home.chat.id, True, NOW)
        assert await tx.outbox.open_of(home.chat.id) == []


async def test_a_person_is_one_in_every_chat_and_has_their_newest_name(store: Store) -> None:
    home = await settled(store, "5", NOW)
    async with store.write() as tx:
        first = await tx.households.person("telegram", "9", "Ana", home.id)
        again = await tx.households.person("telegram", "9", "Ana B", home.id)
        people = await tx.households.people(home.id)
    assert again.id == first.id
    assert [person.name for person in people] == ["Ana", "Ana B"]


async def test_a_person_of_two_households_is_a_member_of_both(store: Store) -> None:
    first, second = await settled(store, "5", NOW), await settled(store, "6", NOW)
    async with store.write() as tx:
        here = await tx.households.person("telegram", "9", "Ana", first.id)
        there = await tx.households.person("telegram", "9", "Ana", second.id)
        again = await tx.households.person("telegram", "9", "Ana", second.id)
        people = [await tx.households.people(home.id) for home in (first, second)]
    assert here == there == again
    assert [here in members for members in people] == [True, True]


async def test_each_household_has_one_anonymous_person(store: Store) -> None:
    first, second = await settled(store, "5", NOW), await settled(store, "6", NOW)
    async with store.write() as tx:
        somebody = await tx.households.person("telegram", None, "the group", first.id)
        again = await tx.households.person("telegram", None, "the group", first.id)
        elsewhere = await tx.households.person("telegram", None, "the group", second.id)
    assert somebody.address is None
    assert again.id == somebody.id
    assert elsewhere.id != somebody.id


async def test_a_chat_moves_to_another_household_and_leaves_what_it_said(store: Store) -> None:
    old, new = await settled(store, "5", NOW), await settled(store, "6", NOW)
    async with store.write() as tx:
        await tx.journal.append(old.says("1", ph(6.0), at=NOW))
        moved = await tx.households.move_chat(old.chat.id, new.id)
        chats = await tx.households.chats(new.id)
        said = await tx.journal.entries(new.id)
    assert moved is not None
    assert {chat.id for chat in chats} == {old.chat.id, new.chat.id}
    assert said == []


async def test_what_a_moved_chat_said_is_corrected_where_it_was_said(store: Store) -> None:
    old, new = await settled(store, "5", NOW), await settled(store, "6", NOW)
    await append(store, old.says("1", ph(6.0), at=NOW, text="a"))
    assert await net(store, old.id) == [ph(6.0)]
    async with store.write() as tx:
        moved = await tx.households.move_chat(old.chat.id, new.id)
    assert moved is not None
    edit = Home(moved, old.person).says("1", ph(6.5), at=NOW, text="b", action="edited", edited_at=NOW)
    await append(store, edit)
    assert await net(store, old.id) == [ph(6.5)]
    assert await net(store, new.id) == []


class TestReaddress:
    async def test_household_reminders_and_letters_follow(self, store: Store) -> None:
        home = await settled(store, "-5", NOW, private=False)
        async with store.write() as tx:
            await tx.outbox.post(home.id, home.chat.id, letter("a"), dedupe_key="a", now=NOW)
            await tx.reminders.put(home.id, "k", chat_id=home.chat.id, now=NOW, due_at=NOW, **REMINDER)
            entered = await tx.households.readdress("telegram", "-5", "-1005", NOW)
            left = await tx.households.find_chat("telegram", "-5")
            reminder = (await tx.reminders.of(home.id))[0]
        async with store.write() as tx:
            claims = await tx.outbox.claim(NOW, platform="telegram", limit=9, lease=LEASE)
        assert entered is not None
        assert left is not None
        assert (entered.household_id, entered.address, entered.active) == (home.id, "-1005", True)
        assert not left.active
        assert [claim.chat for claim in claims] == [entered]
        assert reminder.chat_id == entered.id

    async def test_it_is_told_twice_and_changes_once(self, store: Store) -> None:
        home = await settled(store, "-5", NOW, private=False)
        async with store.write() as tx:
            first = await tx.households.readdress("telegram", "-5", "-1005", NOW)
            second = await tx.households.readdress("telegram", "-5", "-1005", NOW)
            chats = await tx.households.chats(home.id)
        assert first == second
        assert len(chats) == 2

    async def test_a_message_from_the_new_address_came_first(self, store: Store) -> None:
        home = await settled(store, "-5", NOW, private=False)
        early = await settled(store, "-1005", NOW, private=False)
        async with store.write() as tx:
            entered = await tx.households.readdress("telegram", "-5", "-1005", NOW)
        assert entered is not None
        assert (entered.id, entered.household_id) == (early.chat.id, home.id)

    async def test_a_letter_in_work_is_settled_under_the_new_address(self, store: Store) -> None:
        home = await settled(store, "-5", NOW, private=False)
        async with store.write() as tx:
            await tx.outbox.post(home.id, home.chat.id, letter("a"), dedupe_key="a", now=NOW)
            (claim,) = await tx.outbox.claim(NOW, platform="telegram", limit=9, lease=LEASE)
        async with store.write() as tx:
            await tx.households.readdress("telegram", "-5", "-1005", NOW)
            assert await tx.outbox.not_sent(claim, NOW)
            (again,) = await tx.outbox.claim(NOW, platform="telegram", limit=9, lease=LEASE)
        assert (again.id, again.chat.address) == (claim.id, "-1005")

    async def test_an_address_that_nobody_knows(self, store: Store) -> None:
        async with store.write() as tx:
            assert await tx.households.readdress("telegram", "-7", "-1007", NOW) is None


async def test_another_household_sees_nothing(store: Store) -> None:
    ours, theirs = await settled(store, "5", NOW), await settled(store, "6", NOW)
    async with store.write() as tx:
        revision = await tx.journal.append(ours.says("1", ph(6.0), at=NOW))
        assert revision is not None
        question = await tx.questions.ask(
            ours.id, ours.chat.id, None, "setup", {}, NOW, NOW + timedelta(hours=1)
        )
        reminder = await tx.reminders.put(ours.id, "k", chat_id=ours.chat.id, now=NOW, due_at=NOW, **REMINDER)
        posted = await tx.outbox.post(
            ours.id, ours.chat.id, letter("a", answers="1", details="w"), dedupe_key="a", now=NOW
        )
        assert posted is not None

        async def seen_by(home: Home) -> list[bool]:
            return [
                bool(await tx.journal.entries(home.id)),
                bool(await tx.journal.entries_of(revision, household_id=home.id)),
                await tx.journal.revision(revision, household_id=home.id) is not None,
                await tx.journal.last(home.chat.id, "1") is not None,
                await tx.journal.last_standing_by(home.id, ours.person.id) is not None,
                await tx.reminders.get(reminder, household_id=home.id) is not None,
                bool(await tx.reminders.of(home.id)),
                bool(await tx.questions.newest_open(home.chat.id, NOW)),
                await tx.questions.get(question, household_id=home.id) is not None,
                await tx.outbox.letter(posted, household_id=home.id) is not None,
                await tx.outbox.find_reply(home.chat.id, "1") is not None,
                await tx.outbox.last_details(home.chat.id) is not None,
                bool(await tx.outbox.open_of(home.chat.id)),
                ours.person in await tx.households.people(home.id),
                ours.chat in await tx.households.chats(home.id),
            ]

        assert await seen_by(ours) == [True] * 15
        assert await seen_by(theirs) == [False] * 15
        assert await tx.questions.take(question, NOW, household_id=theirs.id) is None
        assert await tx.questions.take(question, NOW, household_id=ours.id) is not None


async def test_two_households_may_use_the_same_keys(store: Store) -> None:
    async with store.write() as tx:
        for address in ("5", "6"):
            home = await settled_in(tx, address, NOW)
            assert await tx.outbox.post(home.id, home.chat.id, letter("a"), dedupe_key="a", now=NOW)
            await tx.reminders.put(home.id, "k", chat_id=None, now=NOW, due_at=NOW, **REMINDER)
            assert await tx.journal.append(home.says("1", ph(6.0), at=NOW)) is not None
        due = await tx.reminders.due(NOW)
    assert len({row.household_id for row in due}) == 2


@pytest.mark.parametrize("typed", ["<b>&", "a\0b", "\ud83d", "'); DROP TABLE entries;--", "\u202eabc", ""])
async def test_hostile_names_are_kept_as_names(store: Store, typed: str) -> None:
    async with store.write() as tx:
        chat = await tx.households.chat("telegram", "5", private=True, title=typed, thread=None, now=NOW)
        person = await tx.households.person("telegram", "9", typed, chat.household_id)
        (found,) = await tx.households.people(chat.household_id)
    kept = typed.replace("\0", "\ufffd").replace("\ud83d", "\ufffd")
    assert found.name == kept
    assert found.id == person.id


REMINDER = {"task": "rinse_filter", "text": "Rinse the filter", "why": "", "rrule": None, "source": "routine"}
