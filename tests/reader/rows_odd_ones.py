"""Numbers that belong to no name beside them, second values, and times of something else."""

from rows import dose, question, reading, say, silent, sow, top_up

MORNING = "2026-05-04T08:00:00+01:00"
YESTERDAY = "2026-05-03T19:05:00+01:00"

ROWS = [
    say("week 3 ph 5.9 ec 1.2", reading(ph=5.9, ec_ms_cm=1.2)),
    say("day 12 ph 5.9", reading(ph=5.9)),
    say("6.1 ph 1.7 ec 22 temp", reading(ph=6.1, ec_ms_cm=1.7, water_temp_c=22)),
    say("{{7*7}} ph 5.9", reading(ph=5.9), unclear="ambiguous"),
    say("ph 6.4 and 5.9", unclear="conflict"),
    say("ph 6.4 and 5.9 temp 20", reading(water_temp_c=20), unclear="conflict"),
    say("ph 5.9 and 1.4", reading(ph=5.9), unclear="ambiguous"),
    say(
        "ec 1.2, temp 18, do 7, level 30",
        reading(ec_ms_cm=1.2, water_temp_c=18, dissolved_oxygen_mg_l=7, level_l=30),
    ),
    silent("ok, do 7 of them"),
    say("ph 6.2 this morning, 5.9 now", reading(ph=6.2, when=MORNING), reading(ph=5.9)),
    say(
        "ph 6.6 before, 5.8 after 5ml acid",
        reading(ph=6.6),
        dose(product="ph_down", amount=5, unit="ml"),
        reading(ph=5.8),
    ),
    say(
        "ph 5.2 -> 5.9 with 2 ml up",
        reading(ph=5.2),
        dose(product="ph_up", amount=2, unit="ml"),
        reading(ph=5.9),
    ),
    say("hi all, ph 6.1, see you at 8", reading(ph=6.1)),
    say("dinner at 7, ph 6.1", reading(ph=6.1)),
    say("ph at 8am was 6.1", reading(ph=6.1, when=MORNING)),
    silent("flight EC 123 at 9"),
    silent("my ph.d. is done"),
    silent("https://example.org/a1?ph=5.9"),
    say("ph 5.9 https://example.org/?ec=3", reading(ph=5.9)),
    say("sowed flurb A1 and basil A2", sow(crop="basil", sites=["A2"]), unclear="unknown"),
    say("sowed basil A1 and flurb A2", sow(crop="basil", sites=["A1"]), unclear="unknown"),
    say("sowed mint in a 1", sow(crop="mint", sites=["A1"])),
    silent("planted a tree in the park"),
    say("forgot to say i topped up 3l yesterday", top_up(litres=3, when=YESTERDAY)),
    silent("forgot to top up"),
    silent("about to add 10 ml food"),
    silent("plz add 5 ml down ana"),
    say("what if there is a power cut?", question(about="what_if")),
    say("what do i do if the pump stops?", question(about="what_if")),
    say("what do i need to do this week?", question(about="due")),
    say("which seed lot is in A1?", question(about="seed_lot", sites=["A1"])),
    say("is A2 up?", question(about="site", sites=["A2"])),
    silent("when is dinner due"),
    say("when is the water change due", question(about="due")),
]
