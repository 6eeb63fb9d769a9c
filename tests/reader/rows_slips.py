"""Misspelt verbs before what they are done to, halves behind a unit, and a second of the same."""

from rows import change, chore, dose, emerged, harvest, reading, say, silent, sow, stage, tended, top_up

MORNING, EVENING = "2026-05-03T08:00:00+01:00", "2026-05-03T19:00:00+01:00"
YESTERDAY = "2026-05-03T19:05:00+01:00"

ROWS = [
    say("aded 5 ml down", dose(product="ph_down", amount=5, unit="ml")),
    say("addded 5ml down", dose(product="ph_down", amount=5, unit="ml")),
    say("gived 20 ml fertilizer", dose(product="nutrient", amount=20, unit="ml")),
    say("chnaged the water", change()),
    say("chanegd half the water", change(fraction=0.5)),
    say("sowd basil in A1", sow(crop="basil", sites=["A1"])),
    say("harvsted 50g basil", harvest(crop="basil", grams=50)),
    say("piked 50 g basil", harvest(crop="basil", grams=50)),
    say("pinhced A2", tended(sites=["A2"], task="pinch")),
    silent("planned basil in A1"),
    silent("showed basil to ana"),
    silent("packed 50 g basil"),
    silent("parked in A1"),
    silent("charged the tank"),
    silent("loaded 5 ml down"),
    say("topped off a gallon and a half", top_up(litres=5.6781), us=True),
    say("topped up a litre and a half of water", top_up(litres=1.5)),
    say("changed 10 gal of water w half strength", change(litres=37.8541, feed="half"), us=True),
    say("topped up half", unclear="ambiguous"),
    say("topped up half a litre", top_up(litres=0.5)),
    say("topped up 2l then 3l", top_up(litres=2), top_up(litres=3)),
    say("topped up 2 l and 5 ml", top_up(litres=2)),
    say("yesterday topped up 3l and today 2l", top_up(litres=3, when=YESTERDAY), top_up(litres=2)),
    say(
        "yesterday morning ph 6.1, evening 6.4",
        reading(ph=6.1, when=MORNING),
        reading(ph=6.4, when=EVENING),
    ),
    say(
        "pinched A2 and B2 is flowering",
        tended(sites=["A2"], task="pinch"),
        stage(sites=["B2"], stage="flowering"),
    ),
    say("A1 and B2 is up", emerged(sites=["A1", "B2"])),
    say("ok so ph 6.1 and who's cooking?", reading(ph=6.1)),
    say("[b]ph[/b] 5.9", reading(ph=5.9)),
    say("the filter was cleaned", chore(task="rinse_filter")),
]
