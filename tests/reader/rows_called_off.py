"""Tasks that are put off, and reminders that are no longer wanted: nothing of it was done."""

from rows import change, chore, emergency, moved, reading, reminder, say, silent, top_up

ROWS = [
    *(
        silent(text)
        for text in (
            "cancel the water change reminder",
            "stop reminding me about the water change",
            "skip the water change",
            "postpone water change to saturday",
            "move the water change to sunday",
            "moved the water change to sunday",
            "push the water change to friday",
            "put off the water change",
            "snooze the water change",
            "reschedule the water change",
            "rescheduled the water change for friday",
            "remove the water change reminder",
            "turn off the water change reminder",
            "no more water change reminders",
            "water change reminder off",
            "water change reminder",
            "water change skipped",
            "water change postponed to saturday",
            "water change moved to sunday",
            "set the water change to sunday",
            "water change can wait",
            "water change due",
            "water change was due yesterday",
            "water change not done",
            "water change needed",
            "water change missed",
            "water change set for sunday",
            "water change scheduled for friday",
            "schedule water change for friday",
            "leave the water change for sunday",
            "do the water change on saturday",
            "undo the water change",
            "ignore the water change",
            "missed the water change",
            "that water change was a mistake",
            "the water change didn't happen",
            "last water change",
            "undo the top up",
            "cancel the top up reminder",
            "skip the top up",
            "postpone top up to saturday",
            "move the top up to sunday",
            "skip the filter",
            "cancel the filter reminder",
            "postpone filter rinse to saturday",
            "stop reminding me to rinse the filter",
            "delete the reminder",
            "pause reminders",
        )
    ),
    *(
        say(text, change())
        for text in (
            "water change done",
            "water change: done",
            "water change is done",
            "water change went fine",
            "did a water change",
            "did my weekly water change",
            "monthly water change done",
            "mum did the water change",
            "Ana did water change",
            "finally did that water change",
        )
    ),
    say("small water change 5 l", change(litres=5)),
    say("quick top up", top_up()),
    # What stands beside is read as ever.
    say("cancel the water change, ph 6.1", reading(ph=6.1)),
    say("stopped the pump and changed the water", change()),
    say("after a delay ph 6.1", reading(ph=6.1)),
    say("stop the pump leaking", emergency(about="leak")),
    say("delayed reading: ph 6.1 ec 1.4", reading(ph=6.1, ec_ms_cm=1.4)),
    say("put the filter back and rinsed the pump", chore(task="clean_pump")),
    say(
        "topped up 3 l and moved the kale from A1 to C4",
        top_up(litres=3),
        moved(crop="kale", from_sites=["A1"], to_sites=["C4"]),
    ),
    say(
        "remind me to skip the top up on friday",
        reminder(text="skip the top up", at="2026-05-08T09:00:00+01:00"),
    ),
    say(
        "cancel that. remind us to rinse the filter every 2 weeks on sunday at 6pm",
        reminder(
            text="rinse the filter", at="2026-05-10T18:00:00+01:00", rrule="FREQ=WEEKLY;INTERVAL=2;BYDAY=SU"
        ),
    ),
]
