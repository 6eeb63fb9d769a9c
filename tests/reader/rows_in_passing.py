"""What is said beside something else: a question behind a value, a plan before an order to remind."""

from rows import change, dose, emergency, question, reading, reminder, say, setting, silent, top_up

ROWS = [
    say("ph 5.9 🙂 dinner at 8?", reading(ph=5.9)),
    say("ph 5.9 dinner at 8?", reading(ph=5.9)),
    say("ph 5.9 🙂 who's cooking?", reading(ph=5.9)),
    silent("🙂 dinner at 8?"),
    say(
        "2 ml up took ph from 5.2 to 5.9",
        reading(ph=5.2),
        dose(product="ph_up", amount=2, unit="ml"),
        reading(ph=5.9),
    ),
    say(
        "3 ml down brought ph from 6.5 to 5.9",
        reading(ph=6.5),
        dose(product="ph_down", amount=3, unit="ml"),
        reading(ph=5.9),
    ),
    say(
        "will change the water tomorrow, remind me",
        reminder(text="change the water", at="2026-05-05T09:00:00+01:00"),
    ),
    say("i'll top up at 8pm, please remind me", reminder(text="top up", at="2026-05-04T20:00:00+01:00")),
    say(
        "need to rinse the filter on sunday, remind me",
        reminder(text="rinse the filter", at="2026-05-10T09:00:00+01:00"),
    ),
    say("i'll call you tomorrow, remind me", reminder(text="call you", at="2026-05-05T09:00:00+01:00")),
    say("i will be late, remind me", unclear="missing_value"),
    say(
        "clean the pump on friday at 6, can you remind me?",
        unclear="missing_value",
    ),
    say(
        "i need to clean the pump on friday at 6, can you remind me?",
        reminder(text="clean the pump", at="2026-05-08T18:00:00+01:00"),
    ),
    say("should i add 3 ml down?", question(about="ph_down")),
    say("ph 6.9, should i add 3 ml down?", reading(ph=6.9), question(about="ph_down")),
    say("ph 5.9, remind me", reading(ph=5.9), unclear="missing_value"),
    silent("will change the water tomorrow"),
    say("set alkalinity 80", setting(name="source_alkalinity_mg_l_caco3", value="80")),
    say("set kh to 80 mg/l", setting(name="source_alkalinity_mg_l_caco3", value="80")),
    silent("adjusted alkalinity to 80"),
    say("changed the water, half strength", change(feed="half")),
    say("changed 10 l of water, half strength", change(litres=10, feed="half")),
    say("topped up 4 l, half strength", top_up(litres=4, feed="half")),
    say("topped up 2 l and 5 ml", top_up(litres=2)),
    say("strange fumes from the ph down bottle", emergency(about="exposure", product="ph_down")),
    say(
        "accidentally added 100 ml of ph down",
        emergency(about="overdose", product="ph_down", amount=100, unit="ml"),
    ),
    say(
        "poured half a litre of nutrient in by accident",
        emergency(about="overdose", product="nutrient", amount=500, unit="ml"),
    ),
    say("no electricity in the house", emergency(about="power_cut")),
    silent("no power in my arms"),
    say("what's the ph in the tank?", question(about="status")),
    silent("accidentally added ana to the group"),
    say("whoops way too much ph up", emergency(about="overdose", product="ph_up")),
    silent("way too much food at the party"),
    say("puddle under the tank", emergency(about="leak")),
    say("water dripping from the tank", emergency(about="leak")),
    silent("there's a puddle in the street"),
    say("pump is making no flow", emergency(about="pump_stopped")),
]
