"""Values that are taken back in the same breath: two for one name, so neither is recorded (rule 14)."""

from rows import dose, reading, say

ROWS = [
    *(
        say(text, unclear="conflict")
        for text in (
            "ph 6.2 no wait 6.4",
            "ph 6.2 i mean 6.4",
            "ph 6.2 sorry 6.4",
            "ph 6.2, oops 6.4",
            "ph 6.2 no, 6.4",
            "ph 6.2, no it's 6.4",
            "ph 6.2, wait no it's 6.4",
            "ph 6.2 make that 6.4",
            "ph 6.2 actually 6.4",
            "ph 6.2 *6.4",
            "ph 6.2 (sorry 6.4)",
            "ph 6.2, sorry 6.4 instead",
        )
    ),
    say("ph 6.2 sorry 6.4 ec 1.4", reading(ec_ms_cm=1.4), unclear="conflict"),
    say("ph 6.2 no 6.4 ec 1.4", reading(ec_ms_cm=1.4), unclear="conflict"),
    say("ph 6.2 ec 1.4 oops 1.6", reading(ph=6.2), unclear="conflict"),
    say("ec 1.4, no wait 1.6, ph 6", reading(ph=6), unclear="conflict"),
    say("ph 6.2, oops temp 20", reading(ph=6.2, water_temp_c=20)),
    say("ph 6.2 wait 10 minutes", reading(ph=6.2)),
    say("ph 6.2 wait for it", reading(ph=6.2)),
    say("oops added 5 ml down", dose(product="ph_down", amount=5, unit="ml")),
]
