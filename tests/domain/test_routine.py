"""What falls due, folded from the journal."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from domain import tables
from domain.facts import (
    Chore,
    ChoreTask,
    Dose,
    Fact,
    Reading,
    Reminder,
    Setting,
    TopUp,
    WaterChange,
    names_of,
)
from domain.journal import Entry
from domain.recurrence import Rule
from domain.routine import Due, after_telling, due_dates, habits, next_due, quiet_until
from domain.sources import sources

LISBON = ZoneInfo("Europe/Lisbon")
BEGAN = datetime(2026, 5, 4, 19, 5, tzinfo=LISBON)


def _entry(number: int, fact: Fact, at: datetime) -> Entry:
    when = at.astimezone(UTC)
    return Entry(number, fact, happened_at=when, said_at=when, author="Ana", message_key=f"1:{number}")


def _journal(*said: tuple[datetime, Fact]) -> list[Entry]:
    return [_entry(number, fact, at) for number, (at, fact) in enumerate(said, start=1)]


def _due(entries: Sequence[Entry], key: str, now: datetime = BEGAN, zone: ZoneInfo = LISBON) -> Due:
    return next(due for due in due_dates(entries, now=now, zone=zone) if due.key == key)


def _keys(entries: Sequence[Entry], now: datetime = BEGAN) -> set[str]:
    return {due.key for due in due_dates(entries, now=now, zone=LISBON)}


def _local(moment: datetime, zone: ZoneInfo = LISBON) -> str:
    return f"{moment.astimezone(zone):%Y-%m-%d %H:%M}"


def _at(text: str, zone: ZoneInfo = LISBON) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=zone)


BEGINNING = (BEGAN, Reading(ph=5.9, ec_ms_cm=1.44))


# --- the routine nobody asked for --------------------------------------------------------------------------


def test_an_empty_journal_has_no_routine() -> None:
    assert due_dates([], now=BEGAN, zone=LISBON) == ()


def test_the_water_is_changed_every_two_weeks_from_the_first_entry() -> None:
    due = _due(_journal(BEGINNING), "water_change")
    assert _local(due.due_at) == "2026-05-18 18:00"  # every 2 weeks: common practice
    assert due.rrule == "FREQ=WEEKLY;INTERVAL=2"
    assert "common practice" in due.why


def test_only_a_few_tasks_are_on_unasked() -> None:
    assert {habit.task for habit in habits().values() if habit.is_on} == {
        "water_change",
        "top_up",
        "test_water",
        "retest",
        "calibrate_ph_meter",
    }


def test_a_logged_task_moves_its_own_date_and_no_other() -> None:
    before = {due.key: due.due_at for due in due_dates(_journal(BEGINNING), now=BEGAN, zone=LISBON)}
    change = _journal(BEGINNING, (_at("2026-05-10T11:00"), WaterChange()))
    after = {due.key: due.due_at for due in due_dates(change, now=BEGAN, zone=LISBON)}
    assert _local(after["water_change"]) == "2026-05-24 18:00"
    assert _local(after["top_up"]) == "2026-05-13 18:00"  # the tank was filled with it
    assert after["test_water"] == before["test_water"]
    assert after["calibrate_ph_meter"] == before["calibrate_ph_meter"]


@pytest.mark.parametrize(
    ("change", "is_whole"),
    [
        (WaterChange(), True),
        (WaterChange(fraction=1.0), True),
        (WaterChange(fraction=0.5), False),
        (WaterChange(litres=20), False),
        (WaterChange(litres=38), True),
    ],
)
def test_only_a_whole_change_counts_as_one(change: WaterChange, is_whole: bool) -> None:
    tank = (BEGAN, Setting(name="tank_volume_l", value="40"))
    due = _due(_journal(tank, (_at("2026-05-10T11:00"), change)), "water_change")
    assert _local(due.due_at) == ("2026-05-24 18:00" if is_whole else "2026-05-18 18:00")


@pytest.mark.parametrize(
    ("fact", "moves"),
    [
        (TopUp(litres=4), True),
        (Reading(level_l=30), True),
        (Reading(level_mark="the line"), True),
        (Reading(ph=6.0), False),
        (Dose(product="ph_down", amount=2, unit="ml"), False),
    ],
)
def test_what_counts_as_looking_at_the_level(fact: Fact, moves: bool) -> None:
    due = _due(_journal(BEGINNING, (_at("2026-05-06T08:00"), fact)), "top_up")
    assert _local(due.due_at) == ("2026-05-09 18:00" if moves else "2026-05-07 18:00")


def test_a_chore_moves_its_date() -> None:
    due = _due(
        _journal(BEGINNING, (_at("2026-05-06T08:00"), Chore(task="calibrate_ph_meter"))), "calibrate_ph_meter"
    )
    assert _local(due.due_at) == "2026-06-03 18:00"


def test_what_is_overdue_keeps_its_date_while_nothing_is_logged() -> None:
    entries = _journal(BEGINNING)
    late = _due(entries, "water_change", now=BEGAN + timedelta(days=60))
    assert late == _due(entries, "water_change")
    assert late.next_at == late.due_at


def test_doubted_entries_move_nothing() -> None:
    sure, doubted = _journal(BEGINNING, (_at("2026-05-10T11:00"), WaterChange()))
    entries = [sure, replace(doubted, doubted=True)]
    assert _local(_due(entries, "water_change").due_at) == "2026-05-18 18:00"


# --- what the household chose ------------------------------------------------------------------------------


def _interval(task: str, rrule: str | None) -> Setting:
    return Setting(name="interval", task=task, rrule=rrule)


def test_the_households_own_interval_wins() -> None:
    entries = _journal(BEGINNING, (BEGAN, _interval("water_change", "FREQ=WEEKLY;INTERVAL=3")))
    due = _due(entries, "water_change")
    assert _local(due.due_at) == "2026-05-25 18:00"
    assert due.why.endswith("every 3 weeks, yours")


def test_the_reason_names_the_day_of_a_rule() -> None:
    chosen = Setting(name="interval", task="rinse_filter", rrule="FREQ=WEEKLY;INTERVAL=2;BYDAY=SU")
    due = _due(_journal(BEGINNING, (BEGAN, chosen)), "rinse_filter")
    assert due.why.endswith("every 2 weeks on Sunday, yours")


def test_a_task_that_is_off_starts_from_when_it_was_asked_for() -> None:
    assert "rinse_filter" not in _keys(_journal(BEGINNING))
    asked = (_at("2026-05-06T10:00"), _interval("rinse_filter", "FREQ=WEEKLY;INTERVAL=2"))
    assert _local(_due(_journal(BEGINNING, asked), "rinse_filter").due_at) == "2026-05-20 18:00"


def test_an_interval_without_a_rule_ends_the_reminding() -> None:
    entries = _journal(BEGINNING, (BEGAN, _interval("water_change", None)))
    assert "water_change" not in _keys(entries)


def test_the_newest_interval_wins() -> None:
    entries = _journal(
        BEGINNING,
        (BEGAN, _interval("water_change", "FREQ=WEEKLY;INTERVAL=3")),
        (BEGAN + timedelta(days=1), _interval("water_change", "FREQ=WEEKLY")),
    )
    assert _local(_due(entries, "water_change").due_at) == "2026-05-12 18:00"


def test_nobody_is_late_by_a_rule_that_did_not_stand_yet() -> None:
    entries = _journal(
        (_at("2026-01-10T10:00"), Chore(task="rinse_filter")),
        (_at("2026-05-04T10:00"), _interval("rinse_filter", "FREQ=WEEKLY;BYDAY=SU")),
    )
    assert _local(_due(entries, "rinse_filter").due_at) == "2026-05-10 18:00"  # the next Sunday


@pytest.mark.parametrize(
    ("done", "due"),
    [
        # Every 2 weeks on Sunday; 2026-05-10 is a Sunday.
        ("2026-05-10", "2026-05-24"),  # on the day
        ("2026-05-09", "2026-05-24"),  # a day early
        ("2026-05-11", "2026-05-24"),  # a day late
        ("2026-05-13", "2026-05-24"),  # three days late
        ("2026-05-14", "2026-05-31"),  # so late that it is the next week's
    ],
)
def test_a_task_done_early_or_late_keeps_its_day(done: str, due: str) -> None:
    entries = _journal(
        (_at("2026-05-01T10:00"), _interval("rinse_filter", "FREQ=WEEKLY;INTERVAL=2;BYDAY=SU")),
        (_at(f"{done}T10:00"), Chore(task="rinse_filter")),
    )
    assert _local(_due(entries, "rinse_filter").due_at) == f"{due} 18:00"


@pytest.mark.parametrize(
    ("rrule", "done", "due"),
    [
        ("FREQ=WEEKLY;BYDAY=MO,WE", "2026-05-04", "2026-05-06"),
        ("FREQ=WEEKLY;BYDAY=MO,WE", "2026-05-06", "2026-05-11"),
        ("FREQ=MONTHLY;BYMONTHDAY=1", "2026-05-02", "2026-06-01"),
        ("FREQ=MONTHLY;BYMONTHDAY=1", "2026-05-12", "2026-06-01"),
        ("FREQ=MONTHLY", "2026-01-31", "2026-02-28"),  # there is no 31 February
        ("FREQ=MONTHLY;BYDAY=1SU", "2026-05-03", "2026-06-07"),
        ("FREQ=DAILY", "2026-05-04", "2026-05-05"),
    ],
)
def test_other_rules_count_from_when_it_was_done(rrule: str, done: str, due: str) -> None:
    entries = _journal(
        (_at("2026-01-01T10:00"), _interval("check_pump", rrule)),
        (_at(f"{done}T10:00"), Chore(task="check_pump")),
    )
    assert _local(_due(entries, "check_pump").due_at) == f"{due} 18:00"


def test_a_task_may_go_by_its_other_name() -> None:
    entries = _journal(BEGINNING, (BEGAN, _interval("reading", "FREQ=DAILY;INTERVAL=2")))
    assert _local(_due(entries, "test_water").due_at) == "2026-05-06 18:00"


def test_hours_count_from_when_it_was_done() -> None:
    entries = _journal(
        (BEGAN, _interval("check_pump", "FREQ=HOURLY;INTERVAL=12")),
        (_at("2026-10-24T20:10"), Chore(task="check_pump")),  # the clock goes back that night
    )
    due = _due(entries, "check_pump")
    assert _local(due.due_at) == "2026-10-25 07:10"
    assert due.rrule == "FREQ=HOURLY;INTERVAL=12"


def test_a_text_that_is_no_rule_makes_nothing_due() -> None:
    entries = _journal(BEGINNING, (BEGAN, _interval("water_change", "FREQ=SECONDLY")))
    assert "water_change" not in _keys(entries)


# --- after a dose ------------------------------------------------------------------------------------------

DOSE = Dose(product="ph_down", amount=3, unit="ml")


def test_a_dose_asks_for_a_test_half_an_hour_later() -> None:
    due = _due(_journal(BEGINNING, (BEGAN + timedelta(minutes=2), DOSE)), "retest")
    assert due.due_at == BEGAN + timedelta(minutes=32)
    assert due.rrule is None
    assert due.urgent  # whoever dosed is still at the tank


def test_the_wait_can_be_told() -> None:
    (due,) = (
        due
        for due in due_dates(_journal((BEGAN, DOSE)), now=BEGAN, zone=LISBON, retest_after=timedelta(hours=2))
        if due.key == "retest"
    )
    assert due.due_at == BEGAN + timedelta(hours=2)


def test_the_latest_dose_counts() -> None:
    entries = _journal((BEGAN, DOSE), (BEGAN + timedelta(minutes=20), DOSE))
    assert _due(entries, "retest").due_at == BEGAN + timedelta(minutes=50)


@pytest.mark.parametrize("reading", [Reading(ph=5.9), Reading(ec_ms_cm=1.4)])
def test_a_reading_after_the_dose_closes_it(reading: Reading) -> None:
    entries = _journal((BEGAN, DOSE), (BEGAN + timedelta(minutes=31), reading))
    assert "retest" not in _keys(entries)


@pytest.mark.parametrize(
    "fact", [Reading(water_temp_c=19), TopUp(litres=1), Dose(product="other", amount=1, unit="ml")]
)
def test_other_facts_neither_close_nor_ask(fact: Fact) -> None:
    later = (BEGAN + timedelta(minutes=5), fact)
    assert _due(_journal((BEGAN, DOSE), later), "retest").due_at == BEGAN + timedelta(minutes=30)
    assert "retest" not in _keys(_journal(BEGINNING, later))


def test_a_retest_missed_for_a_day_is_left_to_the_weekly_test() -> None:
    entries = _journal((BEGAN, DOSE))
    assert "retest" in _keys(entries, now=BEGAN + timedelta(hours=24))
    assert "retest" not in _keys(entries, now=BEGAN + timedelta(hours=25))


# --- what the household asked to be told -------------------------------------------------------------------


def test_a_single_reminder_stands_at_its_time() -> None:
    at = _at("2026-05-09T09:00")
    entries = _journal((BEGAN, Reminder(text="order seed", at=at)))
    due = _due(entries, "own:1")
    assert (due.due_at, due.rrule, due.text, due.next_at) == (at, None, "order seed", at)
    assert "Ana" in due.why


def test_a_single_reminder_that_has_passed_keeps_its_date_and_leaves_the_plan() -> None:
    at = _at("2026-05-09T09:00")
    due = _due(_journal((BEGAN, Reminder(text="order seed", at=at))), "own:1", now=at + timedelta(hours=3))
    assert due.due_at == at
    assert due.next_at is None


def test_a_repeating_reminder_knows_its_next_time() -> None:
    at = _at("2026-05-10T18:00")
    entries = _journal((BEGAN, Reminder(text="rinse", at=at, rrule="FREQ=WEEKLY;INTERVAL=2;BYDAY=SU")))
    due = _due(entries, "own:1", now=_at("2026-06-01T12:00"))
    assert due.due_at == at
    assert due.next_at is not None
    assert _local(due.next_at) == "2026-06-07 18:00"


def test_a_household_that_moves_keeps_its_wall_times() -> None:
    """Berlin to New York at noon, which is 06:00 there: 08:00 is still to come, and stays at 08:00."""
    berlin, new_york = ZoneInfo("Europe/Berlin"), ZoneInfo("America/New_York")
    moved = _at("2026-06-10T12:00", berlin)
    entries = _journal(
        (
            _at("2026-06-01T09:00", berlin),
            Reminder(text="look", at=_at("2026-06-02T08:00", berlin), rrule="FREQ=DAILY"),
        ),
        (moved, Setting(name="time_zone", value="America/New_York")),
    )
    due = _due(entries, "own:1", now=moved, zone=new_york)
    assert _local(due.due_at, new_york) == "2026-06-10 08:00"
    assert _due(entries, "own:1", now=moved + timedelta(days=9), zone=new_york).due_at == due.due_at


# --- telling again, and quiet hours ------------------------------------------------------------------------


def test_what_does_not_repeat_is_told_once() -> None:
    assert after_telling(None, BEGAN, BEGAN, LISBON) is None


def test_after_a_long_silence_only_the_next_time_counts() -> None:
    planned = _at("2026-05-04T08:00")
    again = after_telling("FREQ=DAILY", planned, _at("2026-05-09T10:00"), LISBON)
    assert again is not None
    assert _local(again) == "2026-05-10 08:00"


def test_passed_over_comes_again_at_its_next_date() -> None:
    planned = _at("2026-05-17T18:00")
    again = after_telling("FREQ=WEEKLY;INTERVAL=2", planned, _at("2026-05-17T18:01"), LISBON)
    assert again is not None
    assert _local(again) == "2026-05-31 18:00"


def test_telling_ahead_of_time_does_not_tell_twice() -> None:
    planned = _at("2026-05-17T18:00")
    again = after_telling("FREQ=DAILY", planned, planned - timedelta(hours=1), LISBON)
    assert again is not None
    assert again > planned


@pytest.mark.parametrize(
    ("moment", "until"),
    [
        ("2026-05-04T21:29", None),
        ("2026-05-04T21:30", "2026-05-05 08:00"),
        ("2026-05-05T00:00", "2026-05-05 08:00"),
        ("2026-05-05T07:59", "2026-05-05 08:00"),
        ("2026-05-05T08:00", None),
        ("2026-03-29T00:30", "2026-03-29 08:00"),  # the night the clock goes forward
        ("2026-10-24T23:00", "2026-10-25 08:00"),  # the night it goes back
    ],
)
def test_quiet_hours(moment: str, until: str | None) -> None:
    quiet = quiet_until(_at(moment), LISBON)
    assert (_local(quiet) if quiet else None) == until


def test_chores_fall_due_outside_quiet_hours_at_the_same_wall_time_all_year() -> None:
    for days in range(0, 365, 5):
        for due in due_dates(_journal((BEGAN + timedelta(days=days), WaterChange())), now=BEGAN, zone=LISBON):
            assert _local(due.due_at).endswith("18:00")
            assert quiet_until(due.due_at, LISBON) is None


# --- the fold ----------------------------------------------------------------------------------------------

FACTS: st.SearchStrategy[Fact] = st.sampled_from(
    [
        WaterChange(),
        WaterChange(fraction=0.5),
        TopUp(litres=2),
        Reading(ph=5.8),
        Reading(level_mark="half"),
        DOSE,
        Chore(task="calibrate_ph_meter"),
        Chore(task="rinse_filter"),
        _interval("rinse_filter", "FREQ=WEEKLY;BYDAY=SA"),
        _interval("water_change", "FREQ=WEEKLY;INTERVAL=3"),
        Setting(name="tank_volume_l", value="40"),
        Reminder(text="look", at=BEGAN, rrule="FREQ=DAILY;INTERVAL=5"),
    ]
)
SAID = st.lists(st.tuples(st.integers(0, 60), FACTS), min_size=1, max_size=12)


@st.composite
def _revisions(draw: st.DrawFn) -> tuple[list[Entry], list[Entry]]:
    """A journal with edits and undos as it stands in the end, and the same things said right at once."""
    said = sorted(draw(SAID), key=lambda each: each[0])
    net: list[Entry] = []
    number = 0
    for message, (day, fact) in enumerate(said):
        number += 1
        revisions = [fact, *draw(st.lists(FACTS, max_size=2))]
        number += len(revisions) - 1  # an edit is a new entry that supersedes
        if not draw(st.booleans()) or message == 0:  # the others are undone
            at = BEGAN + timedelta(days=day, minutes=message)
            net.append(replace(_entry(number, revisions[-1], at), message_key=f"1:{message}"))
    return net, [replace(entry, id=place) for place, entry in enumerate(net, start=1)]


def _plain(dues: Sequence[Due]) -> list[tuple[str, str, datetime, str | None]]:
    return [(due.key.split(":")[0], due.why, due.due_at, due.rrule) for due in dues]


@settings(max_examples=60, deadline=None)
@given(_revisions())
def test_edits_and_undos_leave_what_saying_it_right_at_once_would(
    revised: tuple[list[Entry], list[Entry]],
) -> None:
    net, right = revised
    now = BEGAN + timedelta(days=70)
    assert sorted(_plain(due_dates(net, now=now, zone=LISBON))) == sorted(
        _plain(due_dates(right, now=now, zone=LISBON))
    )


@settings(max_examples=60, deadline=None)
@given(SAID, st.integers(0, 90), st.integers(0, 90))
def test_dates_stand_still_while_nothing_is_said(said: list[tuple[int, Fact]], one: int, other: int) -> None:
    entries = _journal(
        *sorted(((BEGAN + timedelta(days=day), fact) for day, fact in said), key=lambda e: e[0])
    )
    early, late = (
        {due.key: due.due_at for due in due_dates(entries, now=BEGAN + timedelta(days=days), zone=LISBON)}
        for days in (one, other)
    )
    assert {key: at for key, at in early.items() if key != "retest"} == {
        key: at for key, at in late.items() if key != "retest"
    }


@settings(max_examples=60, deadline=None)
@given(SAID)
def test_every_due_can_be_moved_on(said: list[tuple[int, Fact]]) -> None:
    entries = _journal(
        *sorted(((BEGAN + timedelta(days=day), fact) for day, fact in said), key=lambda e: e[0])
    )
    now = BEGAN + timedelta(days=61)
    dues = due_dates(entries, now=now, zone=LISBON)
    assert len({due.key for due in dues}) == len(dues)
    for due in dues:
        assert due.text
        assert due.why
        again = after_telling(due.rrule, due.due_at, now, LISBON)
        assert (again is None) == (due.rrule is None)
        assert again is None or again > now


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(
        ["FREQ=DAILY", "FREQ=DAILY;INTERVAL=3", "FREQ=WEEKLY;BYDAY=MO,TH", "FREQ=HOURLY;INTERVAL=36"]
    ),
    st.sampled_from(["2026-03-25T00:30", "2026-10-20T01:30", "2026-05-04T08:00"]),
    st.lists(st.integers(min_value=1, max_value=5 * 24 * 60), min_size=1, max_size=30),
)
def test_with_any_outages_each_time_is_told_at_most_once_and_none_stays_untold(
    rrule: str, first: str, gaps_min: list[int]
) -> None:
    """Whoever tells looks at odd times, through clock changes; after each look nothing due is left untold."""
    at = _at(first)
    (planned,) = (
        due
        for due in due_dates(
            _journal((at - timedelta(days=1), Reminder(text="look", at=at, rrule=rrule))), now=at, zone=LISBON
        )
        if due.key == "own:1"
    )
    now = at - timedelta(hours=1)
    due_at: datetime | None = planned.due_at
    for minutes in gaps_min:
        now += timedelta(minutes=minutes)
        if due_at is not None and due_at <= now:
            told, due_at = due_at, after_telling(planned.rrule, planned.due_at, now, LISBON)
            assert due_at is not None
            assert told <= now < due_at
    everything = _steps_of(rrule, at, until=now)
    assert due_at is not None
    assert all(each < due_at for each in everything)


def _steps_of(rrule: str, at: datetime, until: datetime) -> list[datetime]:
    rule = Rule.from_rrule(rrule, at=at)
    found, after = [], at - timedelta(seconds=1)
    while (after := next_due(rule, after, LISBON)) <= until:
        found.append(after)
    return found


# --- the table ---------------------------------------------------------------------------------------------


def test_the_routine_table_keeps_to_its_words() -> None:
    chores = set(names_of(ChoreTask))
    assert chores <= set(habits())
    assert set(habits()) - chores == {"water_change", "top_up", "test_water", "retest"}
    for row in tables.rows("routine"):
        assert row["source"] in sources()
        assert row["on"] in ("yes", "no")
        if row["rrule"]:
            assert (
                Rule.from_rrule(row["rrule"], at=datetime.fromisoformat("2026-01-01T18:00")).as_rrule()
                == row["rrule"]
            )
