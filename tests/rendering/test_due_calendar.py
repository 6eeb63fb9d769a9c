"""The calendar file, read back by another program's parser and unrolled by dateutil."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
from dateutil.rrule import rrulestr

from bot.rendering.due_calendar import due_calendar
from domain.due import Due

LISBON = ZoneInfo("Europe/Lisbon")
SAID = datetime(2026, 10, 1, 9, tzinfo=UTC)
SUNDAY = datetime(2026, 10, 11, 17, tzinfo=UTC)  # 18:00 in Lisbon, a fortnight before the clocks change


def due(key: str = "water_change", *, at: datetime = SUNDAY, **says: object) -> Due:
    given: dict[str, object] = {"text": "change the water", "why": "every 2 weeks", "rrule": None}
    given |= {"next_at": at, **says}
    return Due(key=key, task=key.split(":")[0], due_at=at, **given)  # type: ignore[arg-type]


def read_back(*dues: Due, zone: ZoneInfo = LISBON) -> list[icalendar.Event]:
    file = due_calendar(dues, zone=zone, revised_at=SAID, home="ours")
    return icalendar.Calendar.from_ical(file).walk("VEVENT")


def times_of(event: icalendar.Event, count: int) -> list[str]:
    start = event["dtstart"].dt
    rule = rrulestr(event["rrule"].to_ical().decode(), dtstart=start)
    return [f"{at:%a %d %b %H:%M}" for at, _ in zip(rule, range(count), strict=False)]


def test_a_repeated_chore_keeps_its_wall_time_through_a_clock_change() -> None:
    (event,) = read_back(due(rrule="FREQ=WEEKLY;INTERVAL=2"))
    assert event["dtstart"].params["TZID"] == "Europe/Lisbon"
    # The clocks of the European Union go back on the last Sunday of October (Directive 2000/84/EC).
    assert times_of(event, 3) == ["Sun 11 Oct 18:00", "Sun 25 Oct 18:00", "Sun 08 Nov 18:00"]


def test_what_goes_by_hours_is_counted_in_real_hours() -> None:
    (event,) = read_back(due(rrule="FREQ=HOURLY;INTERVAL=6"))
    assert event["dtstart"].to_ical() == b"20261011T170000Z"


def test_the_zone_is_written_out_for_programs_that_do_not_know_it() -> None:
    calendar = icalendar.Calendar.from_ical(due_calendar([due()], zone=LISBON, revised_at=SAID, home="x"))
    (zone,) = calendar.walk("VTIMEZONE")
    assert zone["tzid"] == "Europe/Lisbon"
    offsets = {part["tzoffsetto"].td for part in zone.subcomponents}
    assert offsets == {timedelta(0), timedelta(hours=1)}


@pytest.mark.parametrize("typed", ["rinse; filter, twice\nBEGIN:VEVENT", "a" * 300, "водa 🌱"])
def test_what_people_typed_cannot_break_out_of_its_line(typed: str) -> None:
    (event,) = read_back(due("own:3", text=typed))
    assert str(event["summary"]).lower() == typed.lower()
    raw = due_calendar([due("own:3", text=typed)], zone=LISBON, revised_at=SAID, home="ours")
    assert max(len(row) for row in raw.split(b"\r\n")) <= 75  # RFC 5545, section 3.1 [octets]


def test_events_are_known_again_and_told_apart() -> None:
    twice = [due("own:3", text="look"), due("own:4", text="look"), due()]
    first = [str(event["uid"]) for event in read_back(*twice)]
    assert len(set(first)) == 3
    renumbered = [due("own:30", text="look"), due("own:40", text="look"), due(at=SUNDAY + timedelta(days=7))]
    assert [str(event["uid"]) for event in read_back(*renumbered)] == first
    other = due_calendar([due()], zone=LISBON, revised_at=SAID, home="theirs")
    assert str(icalendar.Calendar.from_ical(other).walk("VEVENT")[0]["uid"]) not in first


def test_a_single_reminder_that_has_passed_is_left_out_and_nothing_due_is_a_calendar_too() -> None:
    assert read_back(due("own:3", next_at=None)) == []
    assert read_back(due(next_at=None)) != []
    assert read_back() == []
