"""Names of values with ``value``, ``Wert`` or ``valeur`` beside them."""

from rows import reading, say

ROWS = [
    say("pH-Wert 5,9 EC 1,4 Temperatur 20,5", reading(ph=5.9, ec_ms_cm=1.4, water_temp_c=20.5)),
    say("ph-wert 6,2 ec 1,4", reading(ph=6.2, ec_ms_cm=1.4)),
    say("ph wert 6.1", reading(ph=6.1)),
    say("ec wert 1.4 ph wert 6.1", reading(ph=6.1, ec_ms_cm=1.4)),
    say("ph value 6.1 ec value 1.4", reading(ph=6.1, ec_ms_cm=1.4)),
    say("ph level 6.1 ec level 1.4", reading(ph=6.1, ec_ms_cm=1.4)),
    say("ph-value 6.1", reading(ph=6.1)),
    say("valeur ph 6", reading(ph=6)),
    say("temp value 20 ph 6", reading(ph=6, water_temp_c=20)),
    say("leitwert 1,4 ph 6", reading(ph=6, ec_ms_cm=1.4)),
]
