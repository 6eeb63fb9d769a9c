"""Households with several tanks: each part of a message is of the tank that it names."""

from rows import Row, change, chore, dose, harvest, lost, reading, say, top_up

TANKS = {"tanks": ["kitchen", "balcony"]}
KITCHEN, BALCONY = {"tank": "kitchen"}, {"tank": "balcony"}

ROWS = [
    say("kitchen: 5.9/1.4/19", reading(ph=5.9, ec_ms_cm=1.4, water_temp_c=19, **KITCHEN), **TANKS),
    say("kitchen - 5.9, 1.4, 19", reading(ph=5.9, ec_ms_cm=1.4, water_temp_c=19, **KITCHEN), **TANKS),
    say("5.9/1.4/19 kitchen", reading(ph=5.9, ec_ms_cm=1.4, water_temp_c=19, **KITCHEN), **TANKS),
    say(
        "kitchen 5.9 1.4 19\nbalcony 6.1 1.2 20",
        reading(ph=5.9, ec_ms_cm=1.4, water_temp_c=19, **KITCHEN),
        reading(ph=6.1, ec_ms_cm=1.2, water_temp_c=20, **BALCONY),
        **TANKS,
    ),
    say("kitchen 5.9", unclear="ambiguous", **TANKS),
    say("kitchen 5.9 50 19", unclear="ambiguous", **TANKS),
    say("kitchen -5.9/1.4/19", unclear="ambiguous", **TANKS),
    say(
        "topped up kitchen 3l and balcony 2l",
        top_up(litres=3, **KITCHEN),
        top_up(litres=2, **BALCONY),
        **TANKS,
    ),
    say(
        "topped up 3 l in the kitchen, 2 l in the balcony",
        top_up(litres=3, **KITCHEN),
        top_up(litres=2, **BALCONY),
        **TANKS,
    ),
    Row("3 l in the kitchen, 2 l in the balcony", settings=TANKS),
    say(
        "added 5 ml down to kitchen and 3 ml up to balcony",
        dose(product="ph_down", amount=5, unit="ml", **KITCHEN),
        dose(product="ph_up", amount=3, unit="ml", **BALCONY),
        **TANKS,
    ),
    say(
        "kitchen ph 5.9 ec 1.4, 3 ml down to balcony",
        reading(ph=5.9, ec_ms_cm=1.4, **KITCHEN),
        dose(product="ph_down", amount=3, unit="ml", **BALCONY),
        **TANKS,
    ),
    say("lost A1 in the kitchen and B2 in the balcony", unclear="ambiguous", **TANKS),
    say("lost A1 and B2 in the kitchen", lost(sites=["A1", "B2"], **KITCHEN), **TANKS),
    say(
        "picked 50 g basil in the kitchen and 30 g mint in the balcony",
        harvest(crop="basil", grams=50, **KITCHEN),
        harvest(crop="mint", grams=30, **BALCONY),
        **TANKS,
    ),
    say(
        "picked 50 g basil and 30 g mint in the kitchen",
        harvest(crop="basil", grams=50, **KITCHEN),
        harvest(crop="mint", grams=30, **KITCHEN),
        **TANKS,
    ),
    *(
        say(text, reading(ph=5.9, **KITCHEN), reading(ph=6.2, **BALCONY), **TANKS)
        for text in (
            "ph 5.9 kitchen, ph 6.2 balcony",
            "ph 5.9 in kitchen and ph 6.2 in balcony",
            "ph 5.9 in the kitchen, 6.2 in the balcony",
            "kitchen ph 5.9, balcony ph 6.2",
        )
    ),
    say(
        "changed the water in the kitchen, topped up the balcony",
        change(**KITCHEN),
        top_up(**BALCONY),
        **TANKS,
    ),
    say(
        "rinsed the filter in the kitchen, cleaned the pump in the balcony",
        chore(task="rinse_filter", **KITCHEN),
        chore(task="clean_pump", **BALCONY),
        **TANKS,
    ),
]
