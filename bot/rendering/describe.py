"""A fact in a few words, as it is repeated to the household."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime

from bot.rendering.markup import joined, name
from bot.rendering.voice import Voice, number
from bot.rendering.words import CHORES, GROUPS, ROLES, SETTINGS, TENDED, words_for
from domain.dosing.measures import DILUTION
from domain.facts import (
    Away,
    Chore,
    Dose,
    Emerged,
    Emergency,
    Fact,
    Growing,
    Harvest,
    JarTest,
    Lost,
    Moved,
    Observation,
    Product,
    Reading,
    Reminder,
    Removed,
    Setting,
    Sow,
    StageSeen,
    Stock,
    Tended,
    TopUp,
    WaterChange,
)
from domain.happenings import measured_in
from domain.plots import spoken
from domain.recurrence import Rule
from domain.tank import UNLABELLED

__all__ = ["described", "reading_values", "sites_shown"]

UNITS = {"us": "US gallons, °F", "metric": "litres, °C"}
SHARES = {0.25: "a quarter of", 0.5: "half", 0.75: "three quarters of"}
ANY_DAY = datetime(2024, 1, 1, tzinfo=UTC)
"""An interval is counted from when its task was last done; in words it is the same from every day."""


def described(fact: Fact, voice: Voice) -> str:
    """The fact as plain text; never more than a line."""
    match fact:
        case Reading():
            return joined(reading_values(fact, voice), last="and") or "a reading"
        case Dose():
            return _dose(fact)
        case JarTest():
            mix = f"{number(fact.ml_per_l * DILUTION, 2)} ml of the mix"
            return f"jar test: {mix} took 1 L from pH {voice.ph(fact.ph_from)} to {voice.ph(fact.ph_to)}"
        case TopUp():
            feed = {"half": " of half-strength feed", "full": " of feed"}.get(fact.feed or "", "")
            how_much = voice.volume(fact.litres) if fact.litres is not None else "water"
            return f"topped up {how_much}{feed}"
        case WaterChange():
            return f"changed {_changed(fact, voice)} the water"
        case Chore():
            return words_for(CHORES, fact.task)
        case Observation():
            return f"“{name(fact.text)}”"
        case Setting():
            return _setting(fact, voice)
        case Product():
            return f"{ROLES[fact.role]}: {_label(fact)}"
        case Growing():
            return f"{fact.count} {fact.crop}" if fact.count else fact.crop
        case Stock():
            return f"stock: {_stock(fact)}"
        case Away():
            keeper = f", {name(fact.keeper)} takes over" if fact.keeper else ""
            return f"away {_span(fact.start, fact.end)}{keeper}"
        case Reminder():
            local = fact.at.astimezone(voice.zone)
            rule = _rule(fact.rrule, local)
            every = f", {rule}" if rule else ""
            day = f"{local:%a} {local.day} {local:%b} at {local:%H:%M}"
            return f"I will remind you on {day}{every}: {name(fact.text)}"
        case Emergency():
            return fact.about.replace("_", " ")
        case _:
            return _plant(fact, voice)


def _span(start: date | None, end: date | None) -> str:
    """``3 Aug to 10 Aug``"""
    return " to ".join(f"{day.day} {day:%b}" for day in (start, end) if day is not None)


def reading_values(reading: Reading, voice: Voice) -> list[str]:
    """Each value of a reading with its unit, in the usual order."""
    about = "about " if reading.approx else ""
    values = []
    if reading.ph is not None:
        values.append(f"{about}pH {voice.ph(reading.ph)}")
    if reading.ec_ms_cm is not None:
        values.append(about + voice.strength_as_read(reading.ec_ms_cm, reading.ppm))
    if reading.water_temp_c is not None:
        values.append(voice.temperature(reading.water_temp_c))
    if reading.air_temp_c is not None:
        values.append(f"air {voice.temperature(reading.air_temp_c)}")
    if reading.humidity_pct is not None:
        values.append(f"humidity {number(reading.humidity_pct, 0)} %")
    if reading.level_l is not None:
        values.append(f"level {voice.volume(reading.level_l)}")
    elif reading.level_mark is not None:
        values.append(f"level {name(reading.level_mark)}")
    if reading.dissolved_oxygen_mg_l is not None:
        values.append(f"oxygen {number(reading.dissolved_oxygen_mg_l, 1)} mg/L")
    return values


def _dose(dose: Dose) -> str:
    product = name(dose.name) if dose.name else ROLES[dose.product]
    unit = dose.unit if dose.unit in ("ml", "g") or dose.amount == 1 else f"{dose.unit}s"
    return f"added {number(dose.amount, 2)} {unit} {product}"


def _changed(change: WaterChange, voice: Voice) -> str:
    if change.litres is not None:
        return f"{voice.volume(change.litres)} of"
    if change.fraction is not None:
        return SHARES.get(change.fraction, f"{number(change.fraction * 100, 0)} % of")
    return "all"


def _setting(setting: Setting, voice: Voice) -> str:
    if setting.name == "band":
        what = (
            "EC" if setting.what and setting.what.startswith("ec") else (setting.what or "").replace("_", " ")
        )
        span = "–".join(number(edge, 2) for edge in (setting.low, setting.high) if edge is not None)
        return f"{setting.crop or 'all crops'}: {what} {span}"
    if setting.name == "interval":
        rule = _rule(setting.rrule, ANY_DAY)
        return f"{(setting.task or '').replace('_', ' ')}: {rule or 'not reminded of any more'}"
    if setting.name == "crop_group":
        return f"{name(setting.crop or 'crop')} grown as {words_for(GROUPS, setting.value or '')}"
    if setting.name == "mark":
        return f"{setting.what} is {voice.volume(float(setting.value or 0))}"
    if setting.name == "measure":
        return f"1 {setting.what} is {number(float(setting.value or 0), 2)} {measured_in(setting.what or '')}"
    if setting.name == "fish":
        return "animals live in the tank" if setting.value == "yes" else "no animals in the tank"
    label = words_for(SETTINGS, setting.name)
    value = setting.value or ""
    if setting.name in ("tank_volume_l", "minimum_level_l"):
        return f"{label} {voice.volume(float(value))}"
    if setting.name == "source_alkalinity_mg_l_caco3":
        return f"{label} {number(float(value), 0)} mg/L CaCO3"
    if setting.name == "source_ec_ms_cm":
        return f"{label} {number(float(value), 2)} mS/cm"
    if setting.name == "sites":
        return f"{label} {sites_shown([site.strip() for site in value.split(',')])}"
    if setting.name == "units":
        return f"{label} {UNITS.get(value, value)}"
    if setting.name == "strength_unit":
        return f"{label} {'µS/cm' if value == 'us_cm' else value}"
    return f"{label} {name(value)}"


def _rule(rrule: str | None, at: datetime) -> str | None:
    """How often; ``None`` where the text says nothing that can be followed, which then does not repeat."""
    try:
        return Rule.from_rrule(rrule or "", at=at).in_words()
    except ValueError:
        return None


def _label(product: Product) -> str:
    if product.name == UNLABELLED:
        return "no label"
    if product.role == "nutrient":
        dose = f"{number(product.dose_per_litre, 2)} {product.dose_unit}/L" if product.dose_per_litre else ""
        grade = (product.n_pct, product.p2o5_pct, product.k2o_pct)
        shown = "-".join(number(figure, 1) for figure in grade if figure is not None)
        return (
            " ".join(part for part in (" and ".join(product.parts or ()), dose, shown) if part) or "no dose"
        )
    strength = next(
        (
            f"{number(value, 1)} {unit}"
            for value, unit in (
                (product.percent_w_w, "%"),
                (product.percent_w_v, "% w/v"),
                (product.molar_mol_l, "mol/L"),
                (product.normal_eq_l, "N"),
            )
            if value is not None
        ),
        "",
    )
    if not product.reagent:
        return "its label gives no strength"
    return f"{product.reagent}, {strength or 'strength not said'}"


def _stock(stock: Stock) -> str:
    if stock.count is not None:
        return f"{stock.count} {name(stock.item)}"
    if stock.amount is not None:
        return f"{number(stock.amount, 1)} {stock.unit or ''} {name(stock.item)}"
    return name(stock.item)


def _plant(fact: Fact, voice: Voice) -> str:
    crop = getattr(fact, "crop", None) or ""
    count = getattr(fact, "count", None)
    where = sites_shown(getattr(fact, "sites", None))
    what = " ".join(part for part in (str(count) if count else "", crop) if part)
    at = f" in {where}" if where else ""
    match fact:
        case Sow():
            verb = "reseeded" if fact.kind == "reseed" else "sowed"
            lot = f" ({name(fact.lot)})" if fact.lot else ""
            return f"{verb} {what or 'seed'}{at}{lot}"
        case Emerged():
            return f"{what or 'seedlings'}{at} up"
        case Lost():
            return f"{what or 'plants'}{at} lost" + (f" ({name(fact.reason)})" if fact.reason else "")
        case Moved():
            from_ = f" from {sites_shown(fact.from_sites)}" if fact.from_sites else ""
            return f"moved {what or 'plants'}{from_} to {sites_shown(fact.to_sites)}"
        case Tended():
            return f"{words_for(TENDED, fact.task)} {what or 'plants'}{at}"
        case Harvest():
            weight = f"{number(fact.grams, 0)} g " if fact.grams else ""
            return f"picked {weight}{what or 'the crop'}{at}"
        case Removed():
            return f"pulled {what or 'plants'}{at}"
        case StageSeen():
            return f"{what or 'plants'}{at} {fact.stage}"
        case _:
            return fact.kind.replace("_", " ")


def sites_shown(sites: Sequence[str] | None) -> str:
    """``A1–A4, C2``: runs of sites in one row are drawn together."""
    shown: list[str] = []
    for site in sites or ():
        if site.endswith("*"):
            shown.append(f"row {site[:-1]}")
        elif shown and _follows(shown[-1].split("–")[-1], site):
            shown[-1] = f"{shown[-1].split('–')[0]}–{site}"
        else:
            shown.append(spoken(site))
    return ", ".join(shown)


def _follows(before: str, site: str) -> bool:
    row, place = site.rstrip("0123456789"), site[len(site.rstrip("0123456789")) :]
    return bool(place) and before == f"{row}{int(place) - 1}"
