"""Invites, roles, and in which household a person's chats stand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from stored import append, ph, settled

from storage.engine import Store

NOW = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)
TOKEN = "x" * 22


async def invited(store: Store, *, role: str = "helper") -> tuple[int, int]:
    """A household with an open invite, and somebody of another household."""
    home, other = await settled(store, "5", NOW), await settled(store, "6", NOW)
    async with store.write() as tx:
        await tx.membership.invite(
            home.id, TOKEN, role=role, made_by=home.person.id, now=NOW, expires_at=NOW + timedelta(days=3)
        )
    return home.id, other.person.id


async def test_the_first_is_the_keeper_and_who_comes_later_a_helper(store: Store) -> None:
    home = await settled(store, "5", NOW, private=False)
    async with store.write() as tx:
        later = await tx.households.person("telegram", "9", "Ben", home.id)
        again = await tx.households.person("telegram", "9", "Ben", home.id)
    assert (home.person.role, later.role, again.role) == ("keeper", "helper", "helper")


async def test_an_invite_is_used_once(store: Store) -> None:
    home, guest = await invited(store)
    async with store.write() as tx:
        used = await tx.membership.use_invite(TOKEN, guest, NOW)
        again = await tx.membership.use_invite(TOKEN, guest, NOW)
    assert used is not None
    assert (used.household_id, used.role) == (home, "helper")
    assert again is None


async def test_an_invite_ends_by_age_and_by_being_revoked(store: Store) -> None:
    home, guest = await invited(store)
    async with store.write() as tx:
        (kept,) = await tx.membership.open_invites(home, NOW)
        late = await tx.membership.use_invite(TOKEN, guest, NOW + timedelta(days=3))
        foreign = await tx.membership.revoke_invite(home + 1, kept.id, NOW)
        revoked = await tx.membership.revoke_invite(home, kept.id, NOW)
        twice = await tx.membership.revoke_invite(home, kept.id, NOW)
        used = await tx.membership.use_invite(TOKEN, guest, NOW)
        still_open = await tx.membership.open_invites(home, NOW)
    assert (late, foreign, revoked, twice, used, still_open) == (None, False, True, False, None, [])


async def test_the_token_itself_is_not_kept(store: Store) -> None:
    await invited(store)
    async with store._engine.connect() as connection:
        rows = (await connection.exec_driver_sql("SELECT * FROM invites")).all()
    assert len(rows) == 1
    assert not any(TOKEN in str(cell) for cell in rows[0])


async def test_who_was_removed_stays_out_though_they_write(store: Store) -> None:
    home = await settled(store, "5", NOW, private=False)
    async with store.write() as tx:
        ben = await tx.households.person("telegram", "9", "Ben", home.id)
        await tx.membership.give_role(home.id, ben.id, "removed")
        again = await tx.households.person("telegram", "9", "Ben", home.id)
        people = await tx.households.people(home.id)
        belongs = await tx.membership.belongings(ben.id)
    assert again.role == "removed"
    assert [person.name for person in people] == ["Ana"]
    assert belongs == []


async def test_a_chat_settles_in_another_household_and_its_questions_are_dropped(store: Store) -> None:
    home, other = await settled(store, "5", NOW), await settled(store, "6", NOW)
    await append(store, home.says("1", ph(6.0), at=NOW))
    async with store.write() as tx:
        await tx.questions.ask(other.id, other.chat.id, None, "setup", {}, NOW, NOW + timedelta(hours=1))
        await tx.membership.give_role(home.id, other.person.id, "helper")
        await tx.membership.settle_chat(other.chat.id, home.id, NOW)
        waiting = await tx.questions.newest_open(other.chat.id, NOW)
        theirs = await tx.membership.own_chats(home.id, other.person.id)
        belongs = await tx.membership.belongings(other.person.id)
        blank = [await tx.membership.is_blank(each) for each in (home.id, other.id)]
        fresh = await tx.membership.settle_chat(other.chat.id, None, NOW)
    assert waiting == {}
    assert [chat.address for chat in theirs] == []  # the person's number is p6, the chat's is 6
    assert [(each.household_id, each.role) for each in belongs] == [(home.id, "helper"), (other.id, "keeper")]
    assert blank == [False, True]
    assert fresh not in (home.id, other.id)
