"""Days and hours in the words of households whose first language is another: never silently now."""

from rows import chore, reading, say, silent, top_up


def _at(moment):
    return f"2026-{moment}:00+01:00"


ROWS = [
    say("hace 3 días ph 6", reading(ph=6, when=_at("05-01T19:05"))),
    say("ph 6 hace una hora", reading(ph=6, when=_at("05-04T18:05"))),
    say("vor 2 stunden ph 6", reading(ph=6, when=_at("05-04T17:05"))),
    say("vor einer Woche Filter cleaned", chore(task="rinse_filter", when=_at("04-27T19:05"))),
    say("há 2 dias topped up 3 l", top_up(litres=3, when=_at("05-02T19:05"))),
    say("3 dni temu ph 6,1", reading(ph=6.1, when=_at("05-01T19:05"))),
    say("il y a 2 jours ph 6", reading(ph=6, when=_at("05-02T19:05"))),
    say("2 giorni fa ec 1,3", reading(ec_ms_cm=1.3, when=_at("05-02T19:05"))),
    say("Dienstag ph 6", reading(ph=6, when=_at("04-28T19:05"))),
    say("sábado ph 6", reading(ph=6, when=_at("05-02T19:05"))),
    say("sexta-feira ph 6", reading(ph=6, when=_at("05-01T19:05"))),
    say("segunda vez ph 6", reading(ph=6)),
    say("quinta ph 6", reading(ph=6)),
    say("piątek ph 6", reading(ph=6, when=_at("05-01T19:05"))),
    say("wczoraj ph 6", reading(ph=6, when=_at("05-03T19:05"))),
    say("gestern abend ph 6", reading(ph=6, when=_at("05-03T19:00"))),
    say("gestern um 7 uhr ph 6", reading(ph=6, when=_at("05-03T07:00"))),
    say("ontem à noite topped up 3 l", top_up(litres=3, when=_at("05-03T21:00"))),
    say("heute morgen ph 6,2", reading(ph=6.2, when=_at("05-04T08:00"))),
    say("esta mañana ph 6,2", reading(ph=6.2, when=_at("05-04T08:00"))),
    say("anteayer ph 6", reading(ph=6, when=_at("05-02T19:05"))),
    say("ph 6 as 15h", reading(ph=6, when=_at("05-04T15:00"))),
    say("ph 6 a las 8", reading(ph=6, when=_at("05-04T08:00"))),
    say("yesterday 19h ph 6", reading(ph=6, when=_at("05-03T19:00"))),
    silent("ph 6 mañana"),
    silent("morgen change the water"),
    silent("ha ha 3 of us"),
    say("ph 6.1 as of 8", reading(ph=6.1), unclear="ambiguous"),
    say("temperature of water is 21 grad", reading(water_temp_c=21)),
]
