"""A household with names of its own: tanks, sites, crops and products come back as it gave them."""

from rows import (
    Row,
    change,
    dose,
    emerged,
    harvest,
    lost,
    moved,
    observation,
    question,
    reading,
    reminder,
    removed,
    say,
    sow,
    top_up,
)

HOUSEHOLD = {
    "tanks": ["Balcony", "kitchen tank"],
    "sites": ["Left", "shelf 2", "T1"],
    "crops": ["Grandma's basil", "Zorp"],
    "products": {"GrowMax": "nutrient", "Zap Down": "ph_down", "Moss Juice": "other"},
    "strength_unit": "ask",
}


def _home(text: str, *facts, unclear: str = "") -> Row:
    return say(text, *facts, unclear=unclear, **HOUSEHOLD)


ROWS = [
    _home("balcony ph 5.9", reading(tank="Balcony", ph=5.9)),
    _home("ph 5.9 balcony", reading(tank="Balcony", ph=5.9)),
    _home(
        "Balcony: ph 6, kitchen tank: ph 5.9",
        reading(tank="Balcony", ph=6),
        reading(tank="kitchen tank", ph=5.9),
    ),
    _home("kitchen tank at 38 L", reading(tank="kitchen tank", level_l=38)),
    _home("kitchen tank 45 L", unclear="ambiguous"),
    _home("balcony: 5.9 1.4 19", reading(tank="Balcony", ph=5.9, ec_ms_cm=1.4, water_temp_c=19)),
    _home("topped up balcony 3 L", top_up(tank="Balcony", litres=3)),
    _home("topped up the kitchen tank with 3 L", top_up(tank="kitchen tank", litres=3)),
    _home("changed the water in balcony", change(tank="Balcony")),
    _home("sowed zorp in left", sow(crop="Zorp", sites=["Left"])),
    _home("sowed grandma's basil in shelf 2", sow(crop="Grandma's basil", sites=["shelf 2"])),
    _home("sowed zorb in left", sow(crop="Zorp", sites=["Left"])),
    _home("pulled T1", removed(sites=["T1"])),
    _home("added 5 ml growmax", dose(product="nutrient", name="GrowMax", amount=5, unit="ml")),
    _home("added 5 ml GrowMx", dose(product="nutrient", name="GrowMax", amount=5, unit="ml")),
    _home("5 ml zap down", dose(product="ph_down", name="Zap Down", amount=5, unit="ml")),
    _home("growmax 10 ml", dose(product="nutrient", name="GrowMax", amount=10, unit="ml")),
    _home("added 10 ml moss juice", dose(product="other", name="Moss Juice", amount=10, unit="ml")),
    _home("added growmax", unclear="missing_value"),
    _home("how much growmax for 40 L", question(about="nutrient", volume_l=40)),
    _home("how much zap down from 6.8 to 5.9", question(about="ph_down", ph_from=6.8, ph_to=5.9)),
    _home("moved zorp from left to shelf 2", moved(crop="Zorp", from_sites=["Left"], to_sites=["shelf 2"])),
    _home("left is up", emerged(sites=["Left"])),
    _home("B2 and left look droopy", observation(text="B2 and left look droopy", sites=["B2", "Left"])),
    _home("picked 20 g zorp", harvest(crop="Zorp", grams=20)),
    _home("the zorp died", lost(crop="Zorp")),
    _home("strength 720", unclear="ambiguous"),
    _home("strength 1.4", reading(ec_ms_cm=1.4)),
    _home("5.9 720 19", unclear="ambiguous"),
    _home("5.9 1.4 19", reading(ph=5.9, ec_ms_cm=1.4, water_temp_c=19)),
    _home("ppm 720", reading(ec_ms_cm=1.44, ppm=720, ppm_scale=500)),
    _home(
        "remind me to top up balcony tomorrow",
        reminder(tank="Balcony", text="top up balcony", at="2026-05-05T09:00:00+01:00"),
    ),
    _home("what's in shelf 2", question(about="site", sites=["shelf 2"])),
    _home("i left at 7"),
    _home("turn left"),
]
