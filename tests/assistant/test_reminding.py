"""Reminders: planned from the journal, told once, put off, done by a press or simply by logging."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from bot.assistant.remind import said_again
from bot.assistant.replies import DueShown
from domain.facts import Setting, WaterChange
from domain.routine import Habit, habits
from storage.engine import Store
from storage.outbox import Outbox
from storage.reminders import ReminderRow
from tests.assistant.talk import Talk

LISBON = ZoneInfo("Europe/Lisbon")


async def rows(talk: Talk) -> dict[str, ReminderRow]:
    async with talk.store.read() as tx:
        chat = await tx.households.find_chat(talk.chat.platform, talk.chat.address)
        assert chat is not None
        return {row.key: row for row in await tx.reminders.of(chat.household_id)}


async def every_row(talk: Talk) -> list[ReminderRow]:
    """The household's reminders, those that have ended as well."""
    async with talk.store.read() as tx:
        chat = await tx.households.find_chat(talk.chat.platform, talk.chat.address)
        assert chat is not None
        return await tx.reminders.of(chat.household_id, with_ended=True)


def data_of(talk: Talk, verb: str, row: ReminderRow) -> str:
    """What the button of one reminder carries, among those that came in one bundle."""
    buttons = [button for letter in talk.letters for keys in letter.buttons for button in keys]
    return next(b.data for b in buttons if b.data.startswith(f"v1:{verb}:{row.id}:"))


async def settle_in(talk: Talk) -> None:
    """A household with a zone and a fresh tank."""
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("changed the water")


async def test_a_dose_brings_a_retest_soon_and_a_reading_ends_it(talk: Talk) -> None:
    await settle_in(talk)
    await talk.say("added 5 ml ph down")
    retest = (await rows(talk))["retest"]
    assert timedelta(minutes=15) <= retest.due_at - talk.clock() <= timedelta(hours=2)
    talk.clock.advance(minutes=20)
    await talk.say("ph 6.0")
    assert "retest" not in await rows(talk)


async def test_a_retest_is_told_even_in_quiet_hours(talk: Talk) -> None:
    await settle_in(talk)
    talk.clock.now = datetime(2026, 5, 4, 21, 40, tzinfo=UTC)
    await talk.say("added 5 ml ph down")
    talk.clock.advance(hours=2)
    assert await talk.tick() == 1
    assert await talk.tick() == 0


async def test_a_water_change_falls_due_after_two_weeks_at_a_decent_hour(talk: Talk) -> None:
    await settle_in(talk)
    due = (await rows(talk))["water_change"].due_at.astimezone(LISBON)
    assert due.date() == talk.clock().astimezone(LISBON).date() + timedelta(days=14)
    assert 8 <= due.hour <= 21


async def test_the_interval_is_changed_in_words(talk: Talk) -> None:
    await settle_in(talk)
    await talk.say("change water every 3 weeks")
    due = (await rows(talk))["water_change"].due_at.astimezone(LISBON)
    assert due.date() == talk.clock().astimezone(LISBON).date() + timedelta(days=21)


async def test_done_logs_the_change_and_moves_the_date(talk: Talk) -> None:
    await settle_in(talk)
    talk.clock.now = (await rows(talk))["water_change"].due_at + timedelta(minutes=1)
    assert await talk.tick() >= 1
    await talk.press("", data=data_of(talk, "done", (await rows(talk))["water_change"]))
    changes = [e for e in await talk.journal() if isinstance(e.fact, WaterChange)]
    assert len(changes) == 2
    assert (await rows(talk))["water_change"].due_at > talk.clock() + timedelta(days=13)


async def test_later_puts_it_off_and_skip_leaves_it_out(talk: Talk) -> None:
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("remind us to rinse the filter every 2 weeks on sunday at 6pm")
    (own,) = [row for key, row in (await rows(talk)).items() if key.startswith("own")]
    assert own.due_at.astimezone(LISBON).strftime("%a %H:%M") == "Sun 18:00"
    talk.clock.now = own.due_at
    await talk.tick()
    await talk.press("", press="l1", data=data_of(talk, "later", own))
    put_off = {r.id: r for r in (await rows(talk)).values()}[own.id]
    assert timedelta() < put_off.due_at - talk.clock() < timedelta(hours=12)
    talk.clock.now = put_off.due_at
    assert await talk.tick() == 1
    await talk.press("", press="s1", data=data_of(talk, "pass", own))
    after = {r.id: r for r in (await rows(talk)).values()}[own.id]
    assert after.due_at.astimezone(LISBON).date() == own.due_at.astimezone(LISBON).date() + timedelta(days=14)


async def test_later_brings_back_what_is_told_once(talk: Talk) -> None:
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("remind us tomorrow at 10am to order seed")
    (own,) = [row for key, row in (await rows(talk)).items() if key.startswith("own")]
    talk.clock.now = own.due_at
    assert await talk.tick() == 1
    answer = await talk.press("Later", press="l1")
    assert answer.text == "I will ask again at 13:00."
    talk.clock.advance(hours=3)
    assert await talk.tick() == 1
    assert "order seed" in talk.text.lower()
    talk.clock.advance(days=1)
    await talk.tick()
    assert "order seed" not in talk.text.lower()


async def test_later_on_a_retest_comes_back_even_at_night(talk: Talk) -> None:
    await settle_in(talk)
    await talk.say("added 5 ml ph down")
    talk.clock.now = (await rows(talk))["retest"].due_at  # 19:35 UTC, 20:35 by the household's clock
    assert await talk.tick() == 1
    assert (await talk.press("Later")).text == "I will ask again at 23:35."
    talk.clock.advance(hours=3)
    assert await talk.tick() == 1
    assert "test again" in talk.text.lower()


async def test_later_in_the_evening_means_the_next_morning(talk: Talk) -> None:
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("remind us tomorrow at 8pm to order seed")
    talk.clock.now = datetime(2026, 5, 5, 19, 0, tzinfo=UTC)
    assert await talk.tick() >= 1
    (own,) = [row for row in await every_row(talk) if row.key.startswith("own")]
    answer = await talk.press("", data=data_of(talk, "later", own))
    assert answer.text == "I will ask again on Wed 6 May at 08:00."
    talk.clock.now = datetime(2026, 5, 6, 7, 0, tzinfo=UTC)
    await talk.tick()
    assert "order seed" in talk.text.lower()


async def test_later_does_not_bring_back_what_was_settled_meanwhile(talk: Talk) -> None:
    await settle_in(talk)
    await talk.say("added 5 ml ph down")
    talk.clock.now = (await rows(talk))["retest"].due_at
    await talk.tick()
    data = next(b.data for row in talk.letters[0].buttons for b in row if b.label == "Later")
    await talk.say("ph 6.0")
    assert (await talk.press("", data=data)).text == "This is settled already."
    assert "retest" not in await rows(talk)


async def test_after_an_outage_one_late_message_comes_and_not_a_flood(talk: Talk) -> None:
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("remind us to check the pump every day at 8am")
    talk.clock.now = datetime(2026, 5, 8, 10, 0, tzinfo=UTC)
    assert await talk.tick() == 1
    assert "late" in talk.text
    (own,) = [row for key, row in (await rows(talk)).items() if key.startswith("own")]
    assert own.due_at == datetime(2026, 5, 9, 7, 0, tzinfo=UTC)


async def test_at_most_two_unasked_messages_a_day(talk: Talk) -> None:
    await talk.say("set time zone Europe/Lisbon")
    for hour in (9, 11, 13, 15):
        await talk.say(f"remind us to look at number {hour} every day at {hour}:00")
    told = 0
    for hour in (9, 11, 13, 15):
        talk.clock.now = datetime(2026, 5, 5, hour, 1, tzinfo=LISBON).astimezone(UTC)
        told += await talk.tick()
    assert told == 2
    talk.clock.now = datetime(2026, 5, 6, 8, 1, tzinfo=LISBON).astimezone(UTC)
    await talk.tick()
    assert "number 13" in talk.text
    assert "number 15" in talk.text


async def test_what_is_urgent_takes_nothing_from_the_day(talk: Talk) -> None:
    await settle_in(talk)
    talk.clock.now = datetime(2026, 5, 5, 8, 0, tzinfo=UTC)
    for _ in range(2):
        await talk.say("added 5 ml ph down")
        talk.clock.advance(minutes=40)
        assert await talk.tick() == 1
        assert "test again" in talk.text.lower()
    await talk.say("remind us at noon to look")
    talk.clock.now = datetime(2026, 5, 5, 11, 1, tzinfo=UTC)
    assert await talk.tick() == 1
    assert "look" in talk.text.lower()


async def test_a_bundle_is_numbered_as_its_buttons_are(talk: Talk) -> None:
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("remind us tomorrow at 10am to order seed")
    await talk.say("remind us tomorrow at 10am to call Rui")
    talk.clock.now = datetime(2026, 5, 5, 9, 0, tzinfo=UTC)
    assert await talk.tick() == 1
    first, second = talk.text.splitlines()
    assert first.startswith("1. Order seed.")
    assert second.startswith("2. Call Rui.")
    labels = [[button.label for button in row] for row in talk.letters[0].buttons]
    assert labels == [["Done 1", "Later 1", "Skip 1", "Off 1"], ["Done 2", "Later 2", "Skip 2", "Off 2"]]
    await talk.press("Later 2")
    moved = {row.text: row.ended for row in await every_row(talk) if row.task == "own"}
    assert moved == {"order seed": True, "call Rui": False}


async def told_of_the_water(talk: Talk) -> ReminderRow:
    """A household that has just been told to change the water."""
    await settle_in(talk)
    row = (await rows(talk))["water_change"]
    talk.clock.now = row.due_at
    assert await talk.tick() == 1
    return row


async def test_off_ends_a_reminder_of_the_routine(talk: Talk) -> None:
    row = await told_of_the_water(talk)
    off = data_of(talk, "off", row)
    answer = await talk.press("", data=off)
    assert answer.text == "I will not remind you of this any more. Say: change water every 2 weeks."
    assert "water change: not reminded of any more" in talk.text
    assert "water_change" not in await rows(talk)
    again = await talk.press("", press="p2", data=off)
    assert again.text == "This is settled already."
    await talk.say("/due")
    assert "change the water" not in talk.text
    await talk.say("change water every 2 weeks")
    assert (await rows(talk))["water_change"].due_at > talk.clock()


async def test_undoing_off_brings_the_reminder_back_at_its_next_date(talk: Talk) -> None:
    row = await told_of_the_water(talk)
    await talk.press("", data=data_of(talk, "off", row))
    await talk.press("Undo", press="p2")
    back = (await rows(talk))["water_change"]
    assert back.due_at == row.due_at + timedelta(days=14)
    await talk.tick()
    assert "water" not in talk.text.lower()


async def test_off_takes_an_own_reminder_back(talk: Talk) -> None:
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("remind us to check the roots every day at 10am")
    talk.clock.now = datetime(2026, 5, 5, 9, 0, tzinfo=UTC)
    await talk.tick()
    answer = await talk.press("Off")
    assert answer.text == "I will not remind you of this any more."
    assert "Taken back" in talk.text
    assert not [key for key in await rows(talk) if key.startswith("own")]
    assert "reminder" not in [entry.fact.kind for entry in await talk.journal()]
    await talk.say("/due")
    assert "check the roots" not in talk.text


async def test_off_leaves_what_else_the_message_said(talk: Talk) -> None:
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("ph 5.9\nremind us to check the roots every day at 10am")
    talk.clock.now = datetime(2026, 5, 5, 9, 0, tzinfo=UTC)
    await talk.tick()
    await talk.press("Off")
    assert [entry.fact.kind for entry in await talk.journal()] == ["setting", "reading"]


async def test_off_does_not_tell_the_message_s_other_reminders_anew(talk: Talk) -> None:
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("remind us to check the roots every day at 10am\nremind us to weed every day at 11am")
    talk.clock.now = datetime(2026, 5, 5, 10, 0, tzinfo=UTC)
    await talk.tick()
    talk.clock.now = datetime(2026, 5, 6, 10, 30, tzinfo=UTC)
    await talk.tick()
    assert [row.text for row in (await rows(talk)).values() if row.task == "own"] == [
        "check the roots",
        "weed",
    ]
    await talk.press("Off 1")
    (left,) = [row for row in (await rows(talk)).values() if row.task == "own"]
    assert (left.text, left.due_at) == ("weed", datetime(2026, 5, 7, 10, 0, tzinfo=UTC))


async def test_skip_promises_nothing_that_was_stopped(talk: Talk) -> None:
    row = await told_of_the_water(talk)
    skip = data_of(talk, "pass", row)
    await talk.press("", data=data_of(talk, "off", row))
    assert (await talk.press("", press="p2", data=skip)).text == "This is settled already."


async def test_off_is_offered_only_where_it_can_be_said(talk: Talk) -> None:
    await settle_in(talk)
    await talk.say("added 5 ml ph down")
    talk.clock.now = (await rows(talk))["retest"].due_at
    await talk.tick()
    assert [b.label for row in talk.letters[0].buttons for b in row] == ["Done", "Later", "Skip"]


@pytest.mark.parametrize("habit", [habit for habit in habits().values() if habit.rrule])
async def test_what_off_tells_to_say_is_understood(talk: Talk, habit: Habit) -> None:
    outcome = await talk.say(said_again(habit.task))
    (fact,) = outcome.facts
    assert isinstance(fact, Setting)
    assert fact.task in (habit.task, *habit.also)
    assert fact.rrule == habit.rrule


@pytest.mark.parametrize("zone", ["Europe/Madrid", "Atlantic/Azores"])
async def test_what_was_told_is_not_told_anew_by_another_clock(talk: Talk, zone: str) -> None:
    """Madrid's 18:00 is an hour before Lisbon's, the one of the Azores an hour after."""
    row = await told_of_the_water(talk)
    done = data_of(talk, "done", row)
    talk.clock.advance(minutes=5)
    await talk.say(f"set time zone {zone}")
    for _ in range(20):
        talk.clock.advance(hours=1)
        await talk.tick()
        assert "change the water" not in talk.text.lower()
    assert (await talk.press("", data=done)).text == "Noted."
    due_at = (await rows(talk))["water_change"].due_at.astimezone(ZoneInfo(zone))
    assert (due_at.date() - talk.clock().date(), due_at.hour) == (timedelta(days=14), 18)


async def test_another_clock_moves_what_was_not_told_yet(talk: Talk) -> None:
    await settle_in(talk)
    await talk.say("set time zone Europe/Madrid")
    due_at = (await rows(talk))["water_change"].due_at
    assert due_at.astimezone(ZoneInfo("Europe/Madrid")).hour == 18


async def test_a_second_dose_is_tested_again_although_the_first_was_told(talk: Talk) -> None:
    await settle_in(talk)
    for _ in range(2):
        await talk.say("added 5 ml ph down")
        talk.clock.advance(minutes=31)
        assert await talk.tick() == 1
        assert "test again" in talk.text.lower()


async def break_rule(talk: Talk, rrule: str = "FREQ=SOMETIMES") -> None:
    """What no message can do: the rule of the own reminder is one that nobody can follow."""
    async with talk.store.write() as tx:
        chat = await tx.households.find_chat(talk.chat.platform, talk.chat.address)
        assert chat is not None
        (own,) = [row for row in await tx.reminders.of(chat.household_id) if row.task == "own"]
        await tx.reminders.put(
            chat.household_id,
            own.key,
            chat_id=own.chat_id,
            task=own.task,
            text=own.text,
            why=own.why,
            rrule=rrule,
            due_at=own.due_at,
            source=own.source,
            now=talk.clock(),
        )


async def test_a_broken_rule_silences_nothing_else(talk: Talk, caplog: pytest.LogCaptureFixture) -> None:
    await talk.say("remind us to whisper every day at 8am")
    await break_rule(talk)
    await talk.say("remind us to rinse the filter every day at 9am")
    talk.clock.now = datetime(2026, 5, 5, 9, 1, tzinfo=UTC)
    assert await talk.tick() == 1
    assert "rinse" in talk.text.lower()
    assert "whisper" not in talk.text.lower()
    assert "whisper" not in caplog.text
    broken = next(row for row in (await rows(talk)).values() if row.text == "whisper")
    assert broken.due_at == talk.clock() + timedelta(hours=1)


async def test_a_household_that_fails_silences_no_other(
    talk: Talk, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    other = talk.elsewhere("other")
    for home, what in ((talk, "whisper"), (other, "sing")):
        await home.say(f"remind us to {what} every day at 8am")
    post = Outbox.post

    async def fails_for_one(self: Outbox, household: int, chat: int, letter: Any, **by: Any) -> int | None:
        if "hisper" in letter["html"]:
            raise RuntimeError("a text that says whisper")
        return await post(self, household, chat, letter, **by)

    talk.clock.now = datetime(2026, 5, 5, 8, 1, tzinfo=UTC)
    monkeypatch.setattr(Outbox, "post", fails_for_one)
    assert await talk.tick() == 1
    await other.collect()
    assert "sing" in other.text.lower()
    (failed,) = [row for row in (await rows(talk)).values() if row.task == "own"]
    assert (failed.due_at, failed.fired_count) == (talk.clock() + timedelta(hours=1), 0)
    assert "RuntimeError" in caplog.text
    assert "whisper" not in caplog.text
    monkeypatch.undo()
    talk.clock.advance(hours=1)
    assert await talk.tick() == 1
    assert "whisper" in talk.text.lower()


async def test_undoing_a_dose_takes_its_retest_back(talk: Talk) -> None:
    await settle_in(talk)
    await talk.say("added 5 ml ph down")
    await talk.say("undo")
    assert "retest" not in await rows(talk)


async def test_due_lists_the_soonest_first(talk: Talk) -> None:
    await settle_in(talk)
    outcome = await talk.say("/due")
    (reply,) = outcome.replies
    assert isinstance(reply, DueShown)
    dates = [due.due_at for due in reply.dues]
    assert dates == sorted(dates)
    assert {"water_change", "top_up"} <= {due.task for due in reply.dues}


async def test_a_reminder_belongs_to_its_household(talk: Talk, store: Store) -> None:
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("remind us to rinse the filter every day at 8am")
    talk.clock.advance(days=1)
    await talk.tick()
    data = next(b.data for row in talk.letters[0].buttons for b in row if b.label == "Done")
    stranger = talk.elsewhere("other")
    await stranger.say("ph 6")
    answer = await stranger.press("", data=data)
    assert answer.text == "This is settled already."
    assert [e.fact.kind for e in await stranger.journal()] == ["reading"]


async def test_while_the_household_is_away_its_reminders_name_who_took_over(talk: Talk) -> None:
    await settle_in(talk)
    await talk.say("away 5-20 may, Ana takes over")
    talk.clock.now = (await rows(talk))["water_change"].due_at + timedelta(minutes=1)
    await talk.tick()
    assert talk.text.startswith("For Ana, who has taken over:")
    await talk.say("undo")
    assert not [e for e in await talk.journal() if e.fact.kind == "away"]
