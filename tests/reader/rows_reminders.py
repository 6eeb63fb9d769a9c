"""Reminders, once and again."""

from rows import (
    reminder,
    say,
    silent,
)  # fmt: skip

ROWS = [
    say(
        "remind us to change the water in 10 days",
        reminder(text="change the water", at="2026-05-14T09:00:00+01:00"),
    ),
    say("remind me sunday to rinse", reminder(text="rinse", at="2026-05-10T09:00:00+01:00")),
    say("remind me to order plugs next week", reminder(text="order plugs", at="2026-05-11T09:00:00+01:00")),
    say(
        "remind me to check on A3 on thursday 8am",
        reminder(text="check on A3", at="2026-05-07T08:00:00+01:00"),
    ),
    say(
        "remind us every 3rd day to top up",
        reminder(text="top up", at="2026-05-07T09:00:00+01:00", rrule="FREQ=DAILY;INTERVAL=3"),
    ),
    say(
        "remind me every second day at 18:00 check ph",
        reminder(text="check ph", at="2026-05-06T18:00:00+01:00", rrule="FREQ=DAILY;INTERVAL=2"),
    ),
    say("remind me twice a week to check ph", unclear="ambiguous"),
    say(
        "remind me every monday wednesday and friday at 7pm to check the tank",
        reminder(text="check the tank", at="2026-05-06T19:00:00+01:00", rrule="FREQ=WEEKLY;BYDAY=MO,WE,FR"),
    ),
    say(
        "remind us on the first of every month to calibrate",
        reminder(text="calibrate", at="2026-06-01T09:00:00+01:00", rrule="FREQ=MONTHLY;BYMONTHDAY=1"),
    ),
    say(
        "remind me each morning at 7 to check the pump",
        reminder(text="check the pump", at="2026-05-05T07:00:00+01:00", rrule="FREQ=DAILY"),
    ),
    say(
        "remind me every evening to look at the plants",
        reminder(text="look at the plants", at="2026-05-05T19:00:00+01:00", rrule="FREQ=DAILY"),
    ),
    say("remind me tomorrow morning to sow dill", reminder(text="sow dill", at="2026-05-05T08:00:00+01:00")),
    say("remind me tomorrow evening: feed", reminder(text="feed", at="2026-05-05T19:00:00+01:00")),
    say(
        "remind me on 24/10 at 18:00 to clean tank",
        reminder(text="clean tank", at="2026-10-24T18:00:00+01:00"),
    ),
    say("remind me in half an hour to retest", reminder(text="retest", at="2026-05-04T19:35:00+01:00")),
    say("remind me in 30 min", unclear="missing_value"),
    say("remind me in 30 minutes to retest ph", reminder(text="retest ph", at="2026-05-04T19:35:00+01:00")),
    say("remind me to retest in 45 min", reminder(text="retest", at="2026-05-04T19:50:00+01:00")),
    say(
        "remind us in two weeks to change water",
        reminder(text="change water", at="2026-05-18T09:00:00+01:00"),
    ),
    say("remind me at noon to feed", reminder(text="feed", at="2026-05-05T12:00:00+01:00")),
    say(
        "remind me at midnight to check the pump",
        reminder(text="check the pump", at="2026-05-05T00:00:00+01:00"),
    ),
    say("remind me friday at 5 to add food", reminder(text="add food", at="2026-05-08T17:00:00+01:00")),
    say(
        "remind me to water change every sunday starting 10 may",
        reminder(text="water change", at="2026-05-10T09:00:00+01:00", rrule="FREQ=WEEKLY;BYDAY=SU"),
    ),
    say(
        "remind us every 2 weeks from saturday to rinse the filter",
        reminder(text="rinse the filter", at="2026-05-09T09:00:00+01:00", rrule="FREQ=WEEKLY;INTERVAL=2"),
    ),
    say(
        "remind us every 10 days at 8:30 to change water",
        reminder(text="change water", at="2026-05-14T08:30:00+01:00", rrule="FREQ=DAILY;INTERVAL=10"),
    ),
    say(
        "remind us every month to clean the pump",
        reminder(text="clean the pump", at="2026-06-04T09:00:00+01:00", rrule="FREQ=MONTHLY"),
    ),
    say(
        "remind us every 6 weeks to calibrate",
        reminder(text="calibrate", at="2026-06-15T09:00:00+01:00", rrule="FREQ=WEEKLY;INTERVAL=6"),
    ),
    say(
        "remind us every year on 1 may to clean all",
        reminder(text="clean all", at="2027-05-01T09:00:00+01:00", rrule="FREQ=YEARLY"),
    ),
    say(
        "remind us every hour to check",
        reminder(text="check", at="2026-05-04T20:05:00+01:00", rrule="FREQ=HOURLY"),
    ),
    say(
        "remind us every 6 hours to check ph",
        reminder(text="check ph", at="2026-05-05T01:05:00+01:00", rrule="FREQ=HOURLY;INTERVAL=6"),
    ),
    say(
        "remind us weekdays at 7 to check",
        reminder(text="check", at="2026-05-05T07:00:00+01:00", rrule="FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"),
    ),
    say(
        "remind us every weekend to top up",
        reminder(text="top up", at="2026-05-09T09:00:00+01:00", rrule="FREQ=WEEKLY;BYDAY=SA,SU"),
    ),
    say(
        "remind me on saturdays at 10 to top up",
        reminder(text="top up", at="2026-05-09T10:00:00+01:00", rrule="FREQ=WEEKLY;BYDAY=SA"),
    ),
    say("remind me next friday to prune", reminder(text="prune", at="2026-05-08T09:00:00+01:00")),
    say("remind me this evening to top up", unclear="implausible"),
    say("remind me later", unclear="missing_value"),
    say("remind me to buy milk tomorrow at 5pm", reminder(text="buy milk", at="2026-05-05T17:00:00+01:00")),
    say("remind Ana on monday to top up", reminder(text="Ana to top up", at="2026-05-11T09:00:00+01:00")),
    say(
        "pls remind us 2moro 9am rinse filter", reminder(text="rinse filter", at="2026-05-05T09:00:00+01:00")
    ),
    say(
        "could you remind me at 21:00 to turn off the lights?",
        reminder(text="turn off the lights", at="2026-05-04T21:00:00+01:00"),
    ),
    say("remind me to top up @ 7pm", reminder(text="top up", at="2026-05-05T19:00:00+01:00")),
    say(
        "remind me to add 20 ml A and 20 ml B on friday",
        reminder(text="add 20 ml A and 20 ml B", at="2026-05-08T09:00:00+01:00"),
    ),
    say(
        "remind us to feed every sunday, and to change water every 2 weeks",
        reminder(text="feed", at="2026-05-10T09:00:00+01:00", rrule="FREQ=WEEKLY;BYDAY=SU"),
        reminder(text="change water", at="2026-05-18T09:00:00+01:00", rrule="FREQ=WEEKLY;INTERVAL=2"),
    ),
    say("reminder friday change water", reminder(text="change water", at="2026-05-08T09:00:00+01:00")),
    silent("don't remind me"),
    silent("stop reminding me"),
    silent("no reminders please"),
    silent("cancel the reminder"),
    say(
        "every sunday at 9 remind us to check roots",
        reminder(text="check roots", at="2026-05-10T09:00:00+01:00", rrule="FREQ=WEEKLY;BYDAY=SU"),
    ),
    say("in 3 days remind me to check A1", reminder(text="check A1", at="2026-05-07T09:00:00+01:00")),
    say("on friday remind us to sow", reminder(text="sow", at="2026-05-08T09:00:00+01:00")),
    say(
        "set a reminder every 14 days to change the water",
        reminder(text="change the water", at="2026-05-18T09:00:00+01:00", rrule="FREQ=DAILY;INTERVAL=14"),
    ),
    say(
        "remind us about the water change on sunday",
        reminder(text="water change", at="2026-05-10T09:00:00+01:00"),
    ),
    say(
        "remind me that the filter needs rinsing on friday",
        reminder(text="filter needs rinsing", at="2026-05-08T09:00:00+01:00"),
    ),
]
