"""What is due, as a calendar file (RFC 5545) that any calendar program takes in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event, vRecur

from domain.due import Due

__all__ = ["FILE_NAME", "due_calendar"]

FILE_NAME = "due.ics"

LASTS = timedelta(minutes=15)
"""How much of a day a chore is drawn over; some programs hide an event without length: common practice."""

ZONE_WRITTEN = timedelta(days=5 * 365)
"""How far ahead the clock changes of the household's zone are written out."""

_NAMESPACE = UUID("0d4f0f5e-6a53-4c0e-9d4b-7c1f2f6c5b11")
"""Ours alone, drawn by chance: under it each due date has a name that no other program gives."""


def due_calendar(dues: Sequence[Due], *, zone: ZoneInfo, revised_at: datetime, home: str) -> bytes:
    """The calendar file: an event for each due date, repeated as the household's rule repeats it.

    dues : as ``domain.routine.due_dates`` gives them; a single time that has passed is left out.
    zone : whose wall clock the dates keep to. revised_at : when the household last said something, aware.
    home : what tells this household from others, and stays the same. A calendar program that takes in a
        later file then moves its events instead of doubling them.
    The same arguments give the same bytes.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Rillkeeper//due dates//EN")
    calendar.add("version", "2.0")
    calendar.add("name", "Tank and plants")
    calendar.add("x-wr-calname", "Tank and plants")
    told: Counter[str] = Counter()
    starts = []
    for due in dues:
        at = due.next_at or (due.due_at if due.task != "own" else None)
        if at is None:
            continue
        seed = _seed(due)
        told[seed] += 1
        calendar.add_component(_event(due, at, zone, revised_at, f"{home}|{seed}|{told[seed]}"))
        starts.append(at)
    if starts:
        first = min(starts).astimezone(zone).date()
        calendar.add_missing_timezones(first_date=first, last_date=max(starts).date() + ZONE_WRITTEN)
    return bytes(calendar.to_ical())


def _seed(due: Due) -> str:
    """What stays the same of a due date. The household's own are numbered by the journal, which counts anew
    when it is taken elsewhere: their words name them."""
    return due.key if due.task != "own" else f"own|{due.text}|{due.rrule or due.due_at.isoformat()}"


def _event(due: Due, at: datetime, zone: ZoneInfo, revised_at: datetime, name: str) -> Event:
    event = Event()
    event.add("uid", str(uuid5(_NAMESPACE, name)))
    event.add("dtstamp", revised_at.astimezone(UTC))
    # Hours are counted as they pass, whatever the clock does; everything else keeps its wall time.
    by_hours = "HOURLY" in (due.rrule or "")
    event.add("dtstart", at.astimezone(UTC if by_hours else zone))
    event.add("duration", LASTS)
    event.add("summary", f"{due.text[:1].upper()}{due.text[1:]}")
    if due.why:
        event.add("description", due.why)
    if due.rrule:
        event.add("rrule", vRecur.from_ical(due.rrule))
    event.add("transp", "TRANSPARENT")  # a chore does not make anybody busy
    return event
