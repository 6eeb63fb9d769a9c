"""Rules and what they mean across clock changes, against dateutil's expansion and its own time zones."""

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from dateutil import rrule as dateutil_rrule
from dateutil import tz as dateutil_tz
from hypothesis import given, settings
from hypothesis import strategies as st

from domain.recurrence import OnDay, Rule, instant_of, next_due

ZONES = [
    "Europe/Lisbon",
    "Europe/Berlin",
    "America/New_York",
    "Australia/Lord_Howe",  # half an hour
    "Asia/Kolkata",  # none, and half an hour off
    "America/Nuuk",  # the gap ends at midnight
    "Africa/Cairo",  # the gap begins at midnight
    "UTC",
]

WALL_TIMES = [
    time(0, 0),
    time(0, 15),
    time(0, 59),
    time(1, 30),
    time(2, 0),
    time(2, 15),
    time(2, 30),
    time(3, 0),
    time(8, 0),
    time(18, 0),
    time(23, 30),
]


def _wall(text: str) -> datetime:
    """A wall-clock time: naive on purpose."""
    return datetime.fromisoformat(text)


FIRSTS = st.datetimes(_wall("2025-01-01T00:00"), _wall("2027-01-01T00:00"))
AFTER = st.datetimes(_wall("2024-01-01T00:00"), _wall("2029-01-01T00:00"), timezones=st.just(UTC))


def _expected(text: str, first: datetime, zone: str, until: date) -> list[datetime]:
    """dateutil's dates, each turned into UTC by dateutil's zones; a doubled wall time is its first."""
    there = dateutil_tz.gettz(zone)
    last = datetime.combine(until, time(23, 59))
    nominal = dateutil_rrule.rrulestr(text, dtstart=first.replace(tzinfo=None)).between(
        first.replace(tzinfo=None), last, inc=True
    )
    return [
        dateutil_tz.resolve_imaginary(wall.replace(tzinfo=there, fold=0)).astimezone(UTC) for wall in nominal
    ]


def _steps(rule: Rule, zone: str, after: datetime, count: int) -> list[datetime]:
    found = []
    for _ in range(count):
        after = next_due(rule, after, ZoneInfo(zone))
        found.append(after)
    return found


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("wall", WALL_TIMES, ids=str)
def test_daily_through_both_clock_changes(zone: str, wall: time) -> None:
    for first in (date(2026, 3, 20), date(2026, 9, 25)):
        start = datetime.combine(first, wall)
        expected = _expected("FREQ=DAILY", start, zone, first + timedelta(days=45))
        rule = Rule.from_rrule("FREQ=DAILY", at=start)
        assert _steps(rule, zone, expected[0] - timedelta(seconds=1), len(expected)) == expected


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize(
    "text",
    [
        "FREQ=DAILY;INTERVAL=3",
        "FREQ=WEEKLY",
        "FREQ=WEEKLY;INTERVAL=2",
        "FREQ=WEEKLY;INTERVAL=2;BYDAY=SU",
        "FREQ=WEEKLY;BYDAY=MO,WE,SU",
        "FREQ=WEEKLY;INTERVAL=3;BYDAY=TU,SA",
        "FREQ=MONTHLY",
        "FREQ=YEARLY",
        "FREQ=MONTHLY;BYMONTHDAY=31",
        "FREQ=MONTHLY;BYMONTHDAY=1,15,-1",
        "FREQ=MONTHLY;INTERVAL=2;BYDAY=1SU",
        "FREQ=MONTHLY;BYDAY=-1FR,2TU",
        "FREQ=MONTHLY;BYDAY=SU",
        "FREQ=DAILY;BYDAY=SA,SU",
    ],
)
def test_a_year_and_a_half_of_each_form(zone: str, text: str) -> None:
    start = _wall("2025-12-30T00:15")
    expected = _expected(text, start, zone, date(2027, 6, 30))
    rule = Rule.from_rrule(text, at=start)
    assert _steps(rule, zone, datetime(2025, 12, 1, tzinfo=UTC), len(expected)) == expected


@st.composite
def _rule_texts(draw: st.DrawFn) -> str:
    frequency = draw(st.sampled_from(["DAILY", "WEEKLY", "MONTHLY"]))
    parts = [f"FREQ={frequency}", f"INTERVAL={draw(st.integers(1, 9))}"]
    days = st.lists(st.sampled_from(["MO", "TU", "WE", "TH", "FR", "SA", "SU"]), min_size=1, max_size=3)
    match draw(st.sampled_from(["plain", "by_day", "by_month_day"])):
        case "by_day" if frequency != "DAILY":
            parts.append("BYDAY=" + ",".join(draw(days)))
        case "by_month_day" if frequency == "MONTHLY":
            numbers = draw(st.lists(st.integers(1, 28), min_size=1, max_size=3))
            parts.append("BYMONTHDAY=" + ",".join(map(str, numbers)))
    return ";".join(parts)


@settings(max_examples=60, deadline=None)
@given(
    _rule_texts(),
    FIRSTS,
    st.sampled_from(ZONES),
)
def test_any_rule_expands_as_dateutil_says(text: str, first: datetime, zone: str) -> None:
    first = first.replace(second=0, microsecond=0)
    expected = _expected(text, first, zone, first.date() + timedelta(days=400))[:12]
    rule = Rule.from_rrule(text, at=first)
    assert _steps(rule, zone, datetime(2024, 12, 1, tzinfo=UTC), len(expected)) == expected


@settings(max_examples=60, deadline=None)
@given(
    _rule_texts(),
    FIRSTS,
    AFTER,
    st.sampled_from(ZONES),
)
def test_the_next_time_is_strictly_later_and_nothing_lies_between(
    text: str, first: datetime, after: datetime, zone: str
) -> None:
    rule, there = Rule.from_rrule(text, at=first), ZoneInfo(zone)
    due = next_due(rule, after, there)
    assert due > after
    assert due.tzinfo is UTC
    assert next_due(rule, due - timedelta(microseconds=1), there) == due
    middle = after + (due - after) / 2
    assert next_due(rule, middle, there) == due


@settings(max_examples=60)
@given(_rule_texts(), FIRSTS)
def test_what_a_rule_writes_it_reads_again(text: str, first: datetime) -> None:
    rule = Rule.from_rrule(text, at=first)
    assert Rule.from_rrule(rule.as_rrule(), at=first) == rule


# --- the cases that schedulers get wrong -------------------------------------------------------------------


def _local(rule: Rule, zone: str, after: str, count: int) -> list[str]:
    there = ZoneInfo(zone)
    steps = _steps(rule, zone, datetime.fromisoformat(after).replace(tzinfo=there), count)
    return [f"{due.astimezone(there):%d %b %H:%M}" for due in steps]


def _daily(wall: str, anchor: date) -> Rule:
    return Rule(frequency="DAILY", at=time.fromisoformat(wall), anchor=anchor)


def test_half_past_two_on_the_night_that_skips_it() -> None:
    """Berlin, 29 March 2026 (EU Directive 2000/84/EC): 02:00 becomes 03:00. One each day."""
    assert _local(_daily("02:30", date(2026, 3, 1)), "Europe/Berlin", "2026-03-27T12:00", 3) == [
        "28 Mar 02:30",
        "29 Mar 03:30",
        "30 Mar 02:30",
    ]


def test_half_past_two_on_the_night_that_has_it_twice() -> None:
    """Berlin, 25 October 2026: 03:00 becomes 02:00. The first of the two, once."""
    rule = _daily("02:30", date(2026, 3, 1))
    steps = _steps(rule, "Europe/Berlin", datetime(2026, 10, 23, 12, tzinfo=UTC), 3)
    assert steps == [
        datetime(2026, 10, 24, 0, 30, tzinfo=UTC),
        datetime(2026, 10, 25, 0, 30, tzinfo=UTC),
        datetime(2026, 10, 26, 1, 30, tzinfo=UTC),
    ]


def test_a_quarter_past_midnight_comes_every_day() -> None:
    assert _local(_daily("00:15", date(2026, 3, 1)), "Europe/Berlin", "2026-03-27T12:00", 4) == [
        "28 Mar 00:15",
        "29 Mar 00:15",
        "30 Mar 00:15",
        "31 Mar 00:15",
    ]


def test_a_midnight_that_the_zone_skips_moves_forward_once() -> None:
    """Cairo, 24 April 2026: 00:00 becomes 01:00 (Egypt's law 24 of 2023, last Friday in April)."""
    assert _local(_daily("00:15", date(2026, 4, 1)), "Africa/Cairo", "2026-04-22T12:00", 3) == [
        "23 Apr 00:15",
        "24 Apr 01:15",
        "25 Apr 00:15",
    ]


def test_eight_in_the_morning_stays_at_eight() -> None:
    for after in ("2026-03-27T12:00", "2026-10-23T12:00"):
        times = _local(_daily("08:00", date(2026, 1, 1)), "Europe/Berlin", after, 4)
        assert {shown[-5:] for shown in times} == {"08:00"}


def test_a_weekly_rule_keeps_its_week_over_the_change() -> None:
    """Monday 00:15 straight after the change on Sunday, 29 March 2026."""
    rule = Rule(frequency="WEEKLY", at=time(0, 15), anchor=date(2026, 3, 23))
    assert _local(rule, "Europe/Berlin", "2026-03-23T12:00", 2) == ["30 Mar 00:15", "06 Apr 00:15"]


def test_a_day_that_a_zone_never_had() -> None:
    """Samoa went from 29 to 31 December 2011; 30 December's time moves forward onto the 31st's, once."""
    there = ZoneInfo("Pacific/Apia")
    rule = _daily("10:00", date(2011, 12, 1))
    steps = _steps(rule, "Pacific/Apia", datetime(2011, 12, 29, 12, tzinfo=there).astimezone(UTC), 2)
    assert [f"{due.astimezone(there):%d %H:%M}" for due in steps] == ["31 10:00", "01 10:00"]


def test_the_second_of_two_equal_times_is_after_the_first() -> None:
    """Asked between the two, the next one is tomorrow's."""
    rule = _daily("02:30", date(2026, 3, 1))
    between = datetime(2026, 10, 25, 0, 45, tzinfo=UTC)
    assert next_due(rule, between, ZoneInfo("Europe/Berlin")) == datetime(2026, 10, 26, 1, 30, tzinfo=UTC)


@pytest.mark.parametrize("after", ["2026-03-28T12:00", "2026-10-24T12:00"])
def test_every_six_hours_is_six_real_hours(after: str) -> None:
    berlin = ZoneInfo("Europe/Berlin")
    rule = Rule.from_rrule("FREQ=HOURLY;INTERVAL=6", at=_wall("2026-01-01T08:00"))
    start = _wall(after).replace(tzinfo=berlin)
    steps = _steps(rule, "Europe/Berlin", start, 8)
    assert steps[0] > start
    assert {later - sooner for sooner, later in pairwise(steps)} == {timedelta(hours=6)}


def test_hours_begin_with_the_first_time() -> None:
    rule = Rule.from_rrule("FREQ=HOURLY;INTERVAL=6", at=_wall("2026-05-04T08:00"))
    first = datetime.fromisoformat("2026-05-04T08:00+00:00")
    assert next_due(rule, first - timedelta(days=3), ZoneInfo("UTC")) == first
    assert next_due(rule, first, ZoneInfo("UTC")) == first + timedelta(hours=6)


# --- what is refused ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "",
        "weekly",
        "FREQ=SECONDLY",
        "FREQ=MINUTELY",
        "FREQ=HOURLY;BYDAY=MO",
        "FREQ=YEARLY;BYDAY=MO",
        "FREQ=DAILY;INTERVAL=0",
        "FREQ=DAILY;INTERVAL=-1",
        "FREQ=DAILY;INTERVAL=9999",
        "FREQ=DAILY;INTERVAL=1.5",
        "FREQ=DAILY;INTERVAL=٣",
        "FREQ=DAILY;COUNT=3",
        "FREQ=DAILY;UNTIL=20270101",
        "FREQ=DAILY;BYHOUR=8",
        "FREQ=DAILY;FREQ=WEEKLY",
        "FREQ=WEEKLY;BYDAY=XX",
        "FREQ=WEEKLY;BYDAY=1SU",
        "FREQ=WEEKLY;BYMONTHDAY=1",
        "FREQ=MONTHLY;BYMONTHDAY=0",
        "FREQ=MONTHLY;BYMONTHDAY=32",
        "FREQ=MONTHLY;BYDAY=SU;BYMONTHDAY=1",
        "FREQ=MONTHLY;BYDAY=6SU",
        "FREQ=DAILY;INTERVAL=7;BYDAY=TU",  # the anchor is a Wednesday: it never comes
        "FREQ=" + "9" * 4096,
    ],
)
def test_what_is_no_rule_is_refused_with_a_plain_line(text: str) -> None:
    with pytest.raises(ValueError) as refused:
        Rule.from_rrule(text, at=_wall("2026-04-01T08:00"))
    assert len(str(refused.value)) < 120


def test_the_thirtieth_of_february_is_refused_at_once() -> None:
    with pytest.raises(ValueError, match="never comes"):
        Rule.from_rrule("FREQ=MONTHLY;INTERVAL=12;BYMONTHDAY=30", at=_wall("2026-02-01T08:00"))


def test_leap_days_are_found() -> None:
    rule = Rule.from_rrule(
        "FREQ=MONTHLY;INTERVAL=12;BYMONTHDAY=29", at=_wall("2096-03-01T08:00") - timedelta(days=1)
    )
    after = datetime(2096, 3, 1, tzinfo=UTC)
    assert next_due(rule, after, ZoneInfo("UTC")) == datetime(2104, 2, 29, 8, tzinfo=UTC)  # 2100 has none


def test_a_naive_time_is_refused() -> None:
    with pytest.raises(ValueError, match="aware"):
        next_due(_daily("08:00", date(2026, 1, 1)), _wall("2026-01-01T00:00"), ZoneInfo("UTC"))


def test_the_end_of_the_calendar_is_an_end() -> None:
    rule = _daily("08:00", date(9999, 12, 1))
    with pytest.raises(ValueError, match="end"):
        next_due(rule, datetime(9999, 12, 31, 9, tzinfo=UTC), ZoneInfo("UTC"))


def test_the_seconds_of_a_wall_time_do_not_depend_on_its_fold() -> None:
    zone = ZoneInfo("Europe/Berlin")
    assert instant_of(date(2026, 10, 25), time(2, 30, fold=1), zone) == datetime(
        2026, 10, 25, 0, 30, tzinfo=UTC
    )


def test_days_are_written_by_name() -> None:
    rule = Rule(frequency="MONTHLY", at=time(8), anchor=date(2026, 1, 1), by_day=(OnDay(6, 1), OnDay(4, -1)))
    assert rule.as_rrule() == "FREQ=MONTHLY;BYDAY=1SU,-1FR"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("FREQ=HOURLY;INTERVAL=6", "every 6 hours"),
        ("FREQ=HOURLY", "every hour"),
        ("FREQ=DAILY", "every day"),
        ("FREQ=DAILY;INTERVAL=3", "every 3 days"),
        ("FREQ=WEEKLY", "every week"),
        ("FREQ=WEEKLY;INTERVAL=2;BYDAY=SU", "every 2 weeks on Sunday"),
        ("FREQ=WEEKLY;BYDAY=SU", "every Sunday"),
        ("FREQ=WEEKLY;BYDAY=MO,WE,FR", "every Monday, Wednesday and Friday"),
        ("FREQ=MONTHLY;INTERVAL=2", "every 2 months"),
        ("FREQ=MONTHLY;BYMONTHDAY=1,15", "every month on the 1st and 15th"),
        ("FREQ=MONTHLY;BYMONTHDAY=2,3,11,22,31", "every month on the 2nd, 3rd, 11th, 22nd and 31st"),
        ("FREQ=MONTHLY;BYMONTHDAY=-1", "every month on the last day"),
        ("FREQ=MONTHLY;BYDAY=1SU", "every month on the first Sunday"),
        ("FREQ=MONTHLY;INTERVAL=3;BYDAY=-1FR", "every 3 months on the last Friday"),
        ("FREQ=YEARLY", "every year"),
        ("FREQ=YEARLY;INTERVAL=2", "every 2 years"),
    ],
)
def test_a_rule_is_said_in_words(text: str, words: str) -> None:
    assert Rule.from_rrule(text, at=_wall("2026-05-04T18:00")).in_words() == words
