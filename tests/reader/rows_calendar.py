"""Clocks, days and reminders as people say them, also across a change of the clocks."""

from rows import dose, reading, reminder, say, top_up

ROWS = [
    say(
        "ph 6 on 25 October at 1:30",
        reading(ph=6, when="2026-10-25T01:30:00+01:00"),
        now="2026-10-26T10:00:00+00:00",
    ),
    say(
        "ph 6 on 29 march 1:30",
        reading(ph=6, when="2026-03-29T02:30:00+01:00"),
        now="2026-03-30T10:00:00+01:00",
    ),
    say("ph 6 3 hours ago", reading(ph=6, when="2026-10-25T00:30:00+01:00"), now="2026-10-25T02:30:00+00:00"),
    say("ph 6 at 7", reading(ph=6, when="2026-05-04T19:00:00+01:00")),
    say("at 8 ph 6", reading(ph=6, when="2026-05-04T08:00:00+01:00")),
    say("ph 6 an hour ago", reading(ph=6, when="2026-05-04T18:05:00+01:00")),
    say("ph 6 last friday", reading(ph=6, when="2026-05-01T19:05:00+01:00")),
    say("ph 6 on sunday evening", reading(ph=6, when="2026-05-03T19:00:00+01:00")),
    say("ph 6 on 3 may", reading(ph=6, when="2026-05-03T19:05:00+01:00")),
    say("ph 6 may 3", reading(ph=6, when="2026-05-03T19:05:00+01:00")),
    say("may the 3rd ph 6", reading(ph=6, when="2026-05-03T19:05:00+01:00")),
    say("3rd of may, ph 6", reading(ph=6, when="2026-05-03T19:05:00+01:00")),
    say("ph 6 on may 10, 2026", unclear="implausible"),
    say("ph 6 on 30/2", unclear="implausible"),
    say("the day before yesterday ph 6", reading(ph=6, when="2026-05-02T19:05:00+01:00")),
    say(
        "last night ph 6.3, this morning ph 6.1",
        reading(ph=6.3, when="2026-05-03T21:00:00+01:00"),
        reading(ph=6.1, when="2026-05-04T08:00:00+01:00"),
    ),
    say(
        "yesterday ph 6.3 ec 1.2, today ph 6.1",
        reading(ph=6.3, ec_ms_cm=1.2, when="2026-05-03T19:05:00+01:00"),
        reading(ph=6.1),
    ),
    say(
        "topped up 3 L yesterday and added 2 ml down today",
        top_up(litres=3, when="2026-05-03T19:05:00+01:00"),
        dose(product="ph_down", amount=2, unit="ml"),
    ),
    say("remind me in a week to calibrate", reminder(text="calibrate", at="2026-05-11T09:00:00+01:00")),
    say("remind me next monday to calibrate", reminder(text="calibrate", at="2026-05-11T09:00:00+01:00")),
    say(
        "remind us every monday and thursday at 7pm to top up",
        reminder(text="top up", at="2026-05-07T19:00:00+01:00", rrule="FREQ=WEEKLY;BYDAY=MO,TH"),
    ),
    say(
        "remind me every monday to feed",
        reminder(text="feed", at="2026-05-11T09:00:00+01:00", rrule="FREQ=WEEKLY;BYDAY=MO"),
    ),
    say(
        "remind me weekly to check roots",
        reminder(text="check roots", at="2026-05-11T09:00:00+01:00", rrule="FREQ=WEEKLY"),
    ),
    say(
        "remind me every month to calibrate",
        reminder(text="calibrate", at="2026-06-04T09:00:00+01:00", rrule="FREQ=MONTHLY"),
    ),
    say(
        "remind me every morning to look",
        reminder(text="look", at="2026-05-05T08:00:00+01:00", rrule="FREQ=DAILY"),
    ),
    say(
        "remind me every 12 hours to look",
        reminder(text="look", at="2026-05-05T07:05:00+01:00", rrule="FREQ=HOURLY;INTERVAL=12"),
    ),
    say(
        "every friday at 6 remind me to top up",
        reminder(text="top up", at="2026-05-08T18:00:00+01:00", rrule="FREQ=WEEKLY;BYDAY=FR"),
    ),
    say("remind me at 6:30 to look", reminder(text="look", at="2026-05-05T18:30:00+01:00")),
    say("remind me at 18:30 to look", reminder(text="look", at="2026-05-05T18:30:00+01:00")),
    say(
        "remind me on the 15th to buy nutrients",
        reminder(text="buy nutrients", at="2026-05-15T09:00:00+01:00"),
    ),
    say("remind me on 7/4 to buy plugs", reminder(text="buy plugs", at="2026-07-04T09:00:00+01:00"), us=True),
    say("remind me on 7/4 to buy plugs", reminder(text="buy plugs", at="2027-04-07T09:00:00+01:00")),
    say(
        "remind me tonight to turn the lights off",
        reminder(text="turn the lights off", at="2026-05-04T21:00:00+01:00"),
    ),
    say(
        "remind me to rinse the filter in 2 weeks at 8am",
        reminder(text="rinse the filter", at="2026-05-18T08:00:00+01:00"),
    ),
    say(
        "can you remind me tomorrow morning to check ec?",
        reminder(text="check ec", at="2026-05-05T08:00:00+01:00"),
    ),
    say(
        "remind me in 20 minutes to turn off the tap",
        reminder(text="turn off the tap", at="2026-05-04T19:25:00+01:00"),
    ),
]
