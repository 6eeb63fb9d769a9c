"""What was bought in one breath, and other things said short of their usual words."""

from rows import dose, emerged, question, reading, reminder, say, silent, stock

PLUGS, PH_DOWN = stock(item="plugs", count=36), stock(item="ph down", amount=500, unit="ml")
FIVE_DOWN = dose(product="ph_down", amount=5, unit="ml")

ROWS = [
    say("bought 36 plugs and 500 ml ph down", PLUGS, PH_DOWN),
    say("bought 500 ml ph down and 1 l nutrient", PH_DOWN, stock(item="nutrient", amount=1000, unit="ml")),
    say("bought 500 ml ph down, 250 ml ph up", PH_DOWN, stock(item="ph up", amount=250, unit="ml")),
    say("we have 36 plugs and 500 ml ph down", PLUGS, PH_DOWN),
    say("we have 500 ml ph down and 36 plugs", PH_DOWN, PLUGS),
    say("bought 500 ml ph down and added 5 ml down", PH_DOWN, FIVE_DOWN),
    say("bought 36 plugs, 5 ml down", PLUGS, FIVE_DOWN),
    say("bought 36 plugs. 5 ml down", PLUGS, FIVE_DOWN),
    silent("need to buy 500 ml ph down"),
    silent("36 plugs"),
    say("first sprout in D1", emerged(sites=["D1"])),
    say("first sprouts in A1 and A2", emerged(sites=["A1", "A2"])),
    say("tank is at half", reading(level_mark="half")),
    say("added 3 of down", unclear="missing_value"),
    say(
        "remind me to test ph on the 1st of every month",
        reminder(text="test ph", at="2026-06-01T09:00:00+01:00", rrule="FREQ=MONTHLY;BYMONTHDAY=1"),
    ),
    say("how do I mix nutrient for 20 l at ec 1.2?", question(about="mix", volume_l=20, ec_to=1.2)),
]
