"""Moments where clocks change or the calendar has gaps (changes: IANA time zone database; rule 10)."""

from rows import Row, reading, reminder, say

BERLIN, NEW_YORK, LISBON = "Europe/Berlin", "America/New_York", "Europe/Lisbon"


def _then(text: str, now: str, tz: str, when: str) -> Row:
    return say(text, reading(when=when, ph=6), now=now, tz=tz)


def _ahead(text: str, now: str, tz: str, at: str, rrule: str | None = None) -> Row:
    rule = {"rrule": rrule} if rrule else {}
    return say(text, reminder(text="look", at=at, **rule), now=now, tz=tz)


ROWS = [
    # Berlin: 02:00 to 03:00 on 29 March 2026 does not exist, 02:00 to 03:00 on 25 October 2026 comes twice
    _then("ph 6 2h ago", "2026-03-29T03:30:00+02:00", BERLIN, "2026-03-29T00:30:00+01:00"),
    _then("ph 6 at 2:30", "2026-03-29T12:00:00+02:00", BERLIN, "2026-03-29T03:30:00+02:00"),
    _then("ph 6 at 2:30", "2026-10-25T12:00:00+01:00", BERLIN, "2026-10-25T02:30:00+02:00"),
    _then("ph 6 2h ago", "2026-10-25T03:30:00+01:00", BERLIN, "2026-10-25T02:30:00+02:00"),
    _then("ph 6 yesterday", "2026-03-29T12:00:00+02:00", BERLIN, "2026-03-28T12:00:00+01:00"),
    _then("ph 6 yesterday at 1:30am", "2026-11-02T12:00:00-05:00", NEW_YORK, "2026-11-01T01:30:00-04:00"),
    _ahead("remind me in 3 hours to look", "2026-03-29T00:30:00+01:00", BERLIN, "2026-03-29T04:30:00+02:00"),
    _ahead(
        "remind me tomorrow at 02:30 to look",
        "2026-03-28T12:00:00+01:00",
        BERLIN,
        "2026-03-29T03:30:00+02:00",
    ),
    # Days that not every month or year has
    _then("ph 6 29/2", "2028-03-05T12:00:00+00:00", LISBON, "2028-02-29T12:00:00+00:00"),
    _then("29 feb ph 6", "2026-05-04T19:05:00+01:00", LISBON, "2024-02-29T19:05:00+00:00"),
    _ahead("remind me on 29 feb to look", "2026-03-05T12:00:00+00:00", LISBON, "2028-02-29T09:00:00+00:00"),
    _ahead("remind me on the 31st to look", "2026-04-05T12:00:00+01:00", LISBON, "2026-05-31T09:00:00+01:00"),
    _ahead(
        "remind me monthly to look",
        "2026-01-31T12:00:00+00:00",
        LISBON,
        "2026-02-28T09:00:00+00:00",
        "FREQ=MONTHLY",
    ),
    # Parts of the day around their own hour
    _then("ph 6 last night", "2026-05-04T02:00:00+01:00", LISBON, "2026-05-03T21:00:00+01:00"),
    _then("ph 6 this morning", "2026-05-04T06:30:00+01:00", LISBON, "2026-05-04T06:30:00+01:00"),
    _then("ph 6 tonight", "2026-05-04T22:30:00+01:00", LISBON, "2026-05-04T21:00:00+01:00"),
    _then("ph 6 at noon", "2026-05-04T10:30:00+01:00", LISBON, "2026-05-03T12:00:00+01:00"),
    _then("ph 6 on monday", "2026-05-05T10:30:00+01:00", LISBON, "2026-05-04T10:30:00+01:00"),
    _ahead(
        "remind me this evening to look", "2026-05-04T12:30:00+01:00", LISBON, "2026-05-04T19:00:00+01:00"
    ),
    _ahead(
        "remind us every 2 weeks on monday at 8am to look",
        "2026-05-04T06:30:00+01:00",
        LISBON,
        "2026-05-04T08:00:00+01:00",
        "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO",
    ),
]
