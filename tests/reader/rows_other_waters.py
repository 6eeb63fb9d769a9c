"""Numbers that are not of the tank's water: of the tap, of a jug, of what is dissolved, of a textbook."""

from rows import change, dose, reading, say, setting, silent, top_up

YESTERDAY = "2026-05-03T19:05:00+01:00"


def source(ph, ec_ms_cm):
    """Both settings of the tap water."""
    return (
        setting(name="source_ph", value=ph),
        setting(name="source_ec_ms_cm", value=ec_ms_cm),
    )


ROWS = [
    # What is dissolved has a number of its own.
    *(
        silent(text)
        for text in (
            "alkalinity 120 ppm",
            "alkalinity is about 120 ppm",
            "hardness 250 ppm",
            "chlorine 2 ppm",
            "nitrate 40 ppm",
            "40 ppm nitrate",
            "40 ppm of nitrate",
            "kh 6",
            "gh 8",
            "calcium 80 ppm",
            "calcium ppm 80",
            "co2 800 ppm",
            "no3 40 ppm",
            "nh4 2 ppm",
            "ppm 720 as caco3",
        )
    ),
    say("ph 6 ec 1.2 nitrate 40 ppm", reading(ph=6, ec_ms_cm=1.2)),
    say("iron 2 ppm, ph 6", reading(ph=6)),
    say("kh 6 ph 7", reading(ph=7)),
    say("gh 8 ph 7 ec 1.2", reading(ph=7, ec_ms_cm=1.2)),
    say("ppm 720 hardness 250", reading(ec_ms_cm=1.44, ppm=720, ppm_scale=500)),
    say("tap water alkalinity 120 mg/l", setting(name="source_alkalinity_mg_l_caco3", value="120")),
    # The tap
    say("tap water ph 7.8 ec 0.5", *source("7.8", "0.5")),
    say("tap water ph 7.8, ec 0.5", *source("7.8", "0.5")),
    say("tap water: ph 7.8, ec 0.5", *source("7.8", "0.5")),
    say("tap ec 0.5 ph 7.8", *source("7.8", "0.5")),
    say("tap ph 7.8 ppm 250", *source("7.8", "0.5")),
    say("tap ppm 250", setting(name="source_ec_ms_cm", value="0.5")),
    say("tap water ph 7.8 ec 0.5 temp 15", *source("7.8", "0.5")),
    say(
        "tap water ph 7.8, tank ph 6.1 ec 1.4",
        setting(name="source_ph", value="7.8"),
        reading(ph=6.1, ec_ms_cm=1.4),
    ),
    say(
        "tap water ph 7.8, ec 1.4 ph 6.1",
        setting(name="source_ph", value="7.8"),
        reading(ph=6.1, ec_ms_cm=1.4),
    ),
    # What is mixed apart
    silent("in the jug ph 4.5"),
    silent("bucket of new water has ec 0.3 ph 7.5"),
    silent("the mix is ph 4"),
    say("bucket ph 6.1", reading(ph=6.1)),
    say("ph 6.1 after a good mix", reading(ph=6.1)),
    say("topped up 3 l from the jug", top_up(litres=3)),
    say("topped up 3l at ph 6 ec 1.2", top_up(litres=3, ec_ms_cm=1.2)),
    say("topped up 3l with ec 1.2 ph 6", top_up(litres=3, ec_ms_cm=1.2)),
    say("topped up 3l at ph 6", top_up(litres=3)),
    say("topped up 3l, now ph 6", top_up(litres=3), reading(ph=6)),
    say("changed half the tank to fresh water", change(fraction=0.5)),
    # Knowledge
    silent("ph 7 is neutral"),
    silent("dad says ph 7 is neutral"),
    say("ph 7 is neutral, ours is ph 6.1", reading(ph=6.1)),
    # Of another day
    *(
        say(text, reading(ph=6.2), reading(ph=6.5, when=YESTERDAY))
        for text in (
            "ph 6.2 (yesterday 6.5)",
            "ph 6.2 (yesterday: 6.5)",
            "ph 6.2 (6.5 yesterday)",
            "ph 6.2 (yesterday it was 6.5)",
            "ph 6.2 (yesterday ph 6.5)",
        )
    ),
    say(
        "ph 6.2 (yesterday added 2 ml down)",
        reading(ph=6.2),
        dose(product="ph_down", amount=2, unit="ml", when=YESTERDAY),
    ),
    say("ph 6.2 (yesterday)", reading(ph=6.2, when=YESTERDAY)),
    say("ph 6.2 yesterday 6.5", unclear="conflict"),
    say(
        "ec 1.4 ph 6.2 (yesterday 6.5)",
        reading(ec_ms_cm=1.4, ph=6.2),
        reading(ph=6.5, when=YESTERDAY),
    ),
    say("ph 6.2, ec 1.4 (yesterday 6.5)", reading(ec_ms_cm=1.4, ph=6.2), unclear="ambiguous"),
    say(
        "ph 6.2, ec 1.4 (yesterday 1.6)",
        reading(ec_ms_cm=1.4, ph=6.2),
        reading(ec_ms_cm=1.6, when=YESTERDAY),
    ),
]
