"""Doses of a dilution: the neat amount counts; without a ratio nobody knows it."""

from rows import dose, harvest, reading, say, top_up

DOWN = dose(product="ph_down", amount=0.2, unit="ml")

ROWS = [
    *(
        say(text, DOWN)
        for text in (
            "i added 2 ml of ph down diluted 1:9",
            "added 2 ml ph down diluted 1:10",
            "added 2 ml of ph down 1 in 10",
            "added 2 ml of 1:10 ph down",
            "added 2 ml of 1:9 ph down",
            "added 2 ml of ph down, diluted 1 to 9",
            "added 2 ml ph down diluted 1+9",
            "added 2 ml of ph down diluted 10x",
            "added 2 ml of ph down diluted to 10%",
            "2 ml ph down (diluted 1:9)",
            "added 2 ml of diluted ph down 1:10",
        )
    ),
    say("2ml ph down diluted 1:9, ph 6", DOWN, reading(ph=6)),
    say(
        "ph 6.4, added 2 ml ph down diluted 1:9, topped up 2 L",
        reading(ph=6.4),
        DOWN,
        top_up(litres=2),
    ),
    say("added 5 ml A diluted 1:9", dose(product="nutrient", amount=0.5, unit="ml", name="A")),
    *(
        say(text, unclear="ambiguous")
        for text in (
            "added 3 ml of the mix",
            "added 3 ml of the diluted ph down",
            "added 3 ml of the ph down mix",
            "added 20 ml of ph down dilution",
            "added 2 ml ph down diluted",
        )
    ),
    # The amount is the neat one where the water comes after it.
    say(
        "added 2 ml of ph down diluted in 1 l of water",
        dose(product="ph_down", amount=2, unit="ml"),
    ),
    say(
        "i added 2 ml of ph down diluted in water",
        dose(product="ph_down", amount=2, unit="ml"),
    ),
    say("added 5 ml of nutrient mix", dose(product="nutrient", amount=5, unit="ml")),
    # A time stays one.
    say(
        "added 2 ml ph down at 1:10",
        dose(when="2026-05-04T01:10:00+01:00", product="ph_down", amount=2, unit="ml"),
    ),
    say(
        "added 2 ml ph down 1:30pm",
        dose(when="2026-05-04T13:30:00+01:00", product="ph_down", amount=2, unit="ml"),
    ),
    # More than anybody picks
    say("picked 5000 kg basil B1", unclear="implausible"),
    say("picked 5 kg basil B1", harvest(crop="basil", sites=["B1"], grams=5000)),
    say("topped up 400 L", top_up(litres=400)),
]
