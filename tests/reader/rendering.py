"""Facts as a household would type them, one plain way for each kind; for tests of reading them back."""

from __future__ import annotations

from domain.facts import (
    Chore,
    Dose,
    Emerged,
    Fact,
    Harvest,
    Lost,
    Moved,
    Reading,
    Removed,
    Reseed,
    Sow,
    StageSeen,
    Stock,
    Tended,
    TopUp,
    WaterChange,
)  # fmt: skip

_CHORES = {
    "rinse_filter": "rinsed the filter",
    "clean_pump": "cleaned the pump",
    "clean_tank": "cleaned the tank",
    "calibrate_ph_meter": "calibrated the ph meter",
    "calibrate_ec_meter": "calibrated the ec meter",
    "clean_probe": "cleaned the probe",
    "refill_probe_cap": "refilled the probe cap",
    "adjust_lights": "adjusted the lights",
    "check_pump": "checked the pump",
    "check_timer": "checked the timer",
}
_TENDING = {
    "thin": "thinned",
    "prune": "pruned",
    "pinch": "pinched",
    "train": "trained",
    "pollinate": "pollinated",
}
_PRODUCTS = {"ph_down": "ph down", "ph_up": "ph up", "nutrient": "food"}


def typed(fact: Fact) -> str:
    """The fact in words."""
    return _BY_KIND[type(fact)](fact)


def _sites(sites) -> str:
    return " ".join(["in", ", ".join(sites)]) if sites else ""


def _joined(*words: object) -> str:
    return " ".join(str(word) for word in words if word)


def _number(value: float) -> str:
    return f"{value:g}"


def _reading(fact: Reading) -> str:
    pieces = []
    if fact.ph is not None:
        if fact.ph_span is not None:
            low, high = fact.ph - fact.ph_span / 2, fact.ph + fact.ph_span / 2
            pieces.append(f"ph {low:g}-{high:g}")
        else:
            pieces.append(f"ph {'about ' if fact.approx else ''}{fact.ph:g}")
    if fact.ppm is not None:
        pieces.append(f"ppm {fact.ppm:g}")
    elif fact.ec_ms_cm is not None:
        pieces.append(f"ec {fact.ec_ms_cm:g} mS/cm")
    if fact.water_temp_c is not None:
        pieces.append(f"water temp {fact.water_temp_c:g} C")
    if fact.air_temp_c is not None:
        pieces.append(f"air temp {fact.air_temp_c:g} C")
    if fact.humidity_pct is not None:
        pieces.append(f"humidity {fact.humidity_pct:g}%")
    if fact.level_l is not None:
        pieces.append(f"tank at {fact.level_l:g} L")
    if fact.level_mark is not None:
        pieces.append(f"level {fact.level_mark}")
    if fact.dissolved_oxygen_mg_l is not None:
        pieces.append(f"DO {fact.dissolved_oxygen_mg_l:g} mg/L")
    return ", ".join(pieces)


def _dose(fact: Dose) -> str:
    unit = fact.unit if fact.unit in ("ml", "g") else fact.unit + "s"
    return f"added {_number(fact.amount)} {unit} {_PRODUCTS[fact.product]}"


def _top_up(fact: TopUp) -> str:
    return _joined("topped up", fact.litres and f"{fact.litres:g} L", fact.to_mark and f"to {fact.to_mark}")


def _change(fact: WaterChange) -> str:
    if fact.litres:
        return f"changed {fact.litres:g} L of water"
    return f"changed {fact.fraction * 100:g}% of the water" if fact.fraction else "changed the water"


def _sow(verb: str):
    return lambda fact: _joined(
        verb, fact.count, fact.crop, _sites(fact.sites), fact.lot and f", lot {fact.lot}"
    )


def _moved(fact: Moved) -> str:
    return f"moved the {fact.crop} from {', '.join(fact.from_sites)} to {', '.join(fact.to_sites)}"


def _stock(fact: Stock) -> str:
    return f"we have {fact.count} {fact.item}"


_BY_KIND = {
    Reading: _reading,
    Dose: _dose,
    TopUp: _top_up,
    WaterChange: _change,
    Sow: _sow("sowed"),
    Reseed: _sow("reseeded"),
    Emerged: lambda fact: _joined(fact.count, fact.crop, _sites(fact.sites), "came up"),
    Lost: lambda fact: _joined(
        "lost", fact.count, fact.crop, _sites(fact.sites), fact.reason and f"to {fact.reason}"
    ),
    Moved: _moved,
    Tended: lambda fact: _joined(_TENDING[fact.task], "the", fact.crop, _sites(fact.sites)),
    Harvest: lambda fact: _joined(
        "picked", fact.count, fact.grams and f"{fact.grams:g} g", fact.crop, _sites(fact.sites)
    ),
    Removed: lambda fact: _joined("pulled the", fact.crop, _sites(fact.sites)),
    StageSeen: lambda fact: _joined(fact.crop, _sites(fact.sites), "is", fact.stage),
    Chore: lambda fact: _CHORES[fact.task],
    Stock: _stock,
}
