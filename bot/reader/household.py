"""Phrases about the household itself: its settings and what it has in stock (rule 12)."""

from __future__ import annotations

import re
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from bot.reader.doses import amount_of
from bot.reader.fillers import words
from bot.reader.findings import Finding, Phrase, Scene, found, no
from bot.reader.items import Item, sites_of
from bot.reader.numbers import Number, Quantity
from bot.reader.own_crops import adding
from bot.reader.patterns import Hit
from bot.reader.places import zones_named
from bot.reader.plausibility import ec_from_unnamed, is_plausible
from bot.reader.recurrence import Repeat
from bot.reader.result import PPM_SCALES
from bot.reader.water import litres_of
from domain.facts import Setting, Stock
from domain.units import alkalinity_eq_l_from

__all__ = ["HOUSEHOLD_PHRASES", "band_of"]

_CACO3_MG_PER_EQ = 50043.5
"""Half the molar mass of CaCO3 (100.0869 g/mol, IUPAC atomic weights), in mg for one equivalent."""


def _text(value: float) -> str:
    """A number as a setting's value: no needless decimals."""
    return f"{round(value, 4):g}" if abs(value) < 1e5 else f"{value:.0f}"


def _number(hit: Hit, name: str) -> float | None:
    item = hit.item(name)
    if item is None:
        return None
    value = item.value
    if isinstance(value, Quantity):
        return value.typed if value.finite else None
    return value.value if isinstance(value, Number) and value.finite else None


def _volume_setting(setting: str) -> Phrase:
    def build(scene: Scene, hit: Hit) -> Finding | None:
        item = hit.item("litres") or hit.item("volume")
        litres = litres_of(item, us=scene.settings.units == "us") if item is not None else None
        if litres is None:
            return None
        if not is_plausible("level_l", litres) or litres <= 0:
            return no("implausible")
        return found(Setting(name=setting, value=_text(litres)))

    return Phrase(build)


def _mark(scene: Scene, hit: Hit) -> Finding | None:
    """``12 cm is 25 litres``: what a mark on the tank stands for."""
    depth, volume = hit.typed("depth"), hit.item("volume")
    litres = litres_of(volume, us=scene.settings.units == "us") if volume is not None else None
    if depth is None or litres is None:
        return None
    if not is_plausible("level_l", litres) or litres <= 0:
        return no("implausible")
    return found(Setting(name="mark", what=depth.casefold(), value=_text(litres)))


def _measure(scene: Scene, hit: Hit) -> Finding | None:
    """``1 capful is 4 ml``: what a household's own measure holds."""
    measure, portion = hit.item("measure"), hit.item("portion")
    if measure is None or portion is None:
        return None
    count, unit = amount_of(measure, "", "")
    value, measured_in = amount_of(portion, "", "")
    if unit in ("ml", "g") or measured_in not in ("ml", "g"):
        return None
    if not count > 0 or not 0 < value / count <= _MOST_IN_A_MEASURE_ML:
        return no("implausible")
    return found(Setting(name="measure", what=unit, value=_text(value / count)))


_MOST_IN_A_MEASURE_ML = 50.0
"""The largest caps and scoops hold about that (common practice)."""


def _plain(setting: str, value: str) -> Phrase:
    return Phrase(lambda scene, hit: found(Setting(name=setting, value=value)))


def _ppm_scale(scene: Scene, hit: Hit) -> Finding | None:
    value = _number(hit, "number")
    if value not in PPM_SCALES:
        return no("implausible")
    return found(Setting(name="ppm_scale", value=_text(value)))


_ZONE = re.compile(r"[a-z_]+(?:/[a-z0-9_+\-]+)+")


def _time_zone(scene: Scene, hit: Hit) -> Finding | None:
    """A zone by its IANA name, or by a city that only one zone has."""
    first = hit.items("zone")[0]
    line = hit.line
    match = _ZONE.match(line.cleaned.text, first.start)
    if match is None:
        zones = zones_named(hit.typed("zone") or "")
        return (
            found(Setting(name="time_zone", value=zones[0]))
            if len(zones) == 1
            else no("ambiguous" if zones else "unknown", *zones)
        )
    parts = match[0].split("/")
    name = "/".join("_".join(word.capitalize() for word in part.split("_")) for part in parts)
    ends = max(i for i, item in enumerate(line.items) if item.start < match.end())
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return no("unknown", ends=ends)
    return found(Setting(name="time_zone", value=name), ends=ends)


def _sites(scene: Scene, hit: Hit) -> Finding | None:
    item = hit.item("sites")
    return None if item is None else found(Setting(name="sites", value=",".join(sites_of(item))))


def _alkalinity(scene: Scene, hit: Hit) -> Finding | None:
    value, unit = _number(hit, "value"), hit.typed("unit")
    if value is None:
        return no("implausible")
    try:
        mg_l = alkalinity_eq_l_from(f"{value} {unit}") * _CACO3_MG_PER_EQ if unit else value
    except ValueError:
        mg_l = value
    # No drinking water has more (WHO, Hardness in drinking-water, from memory); beyond that a unit is wrong.
    if not 0 <= mg_l <= 1000:
        return no("implausible")
    return found(Setting(name="source_alkalinity_mg_l_caco3", value=_text(mg_l)))


def _set_alkalinity(scene: Scene, hit: Hit) -> Finding | None:
    """``set alkalinity 80``: only that of the source is a setting."""
    return _alkalinity(scene, hit) if hit.line.typed(hit.first, hit.first).lower() == "set" else None


def _source_ph(scene: Scene, hit: Hit) -> Finding | None:
    value = _number(hit, "number")
    if value is None or not is_plausible("ph", value):
        return no("implausible")
    return found(Setting(name="source_ph", value=_text(value)))


def _source_ec(scene: Scene, hit: Hit) -> Finding | None:
    item = hit.item("strength")
    ppm = "PPM" in hit.match[0].split()
    ec_ms_cm = _ec_of(scene, hit, "strength", ppm=ppm) if item is not None else None
    if ec_ms_cm is None:
        return no("ambiguous")
    return found(Setting(name="source_ec_ms_cm", value=_text(ec_ms_cm)))


def _source_both(scene: Scene, hit: Hit) -> Finding | None:
    """``tap water ph 7.8, ec 0.5``: both are of the source."""
    following = [item.key for item in hit.line.items[hit.last + 1 : hit.last + 3]]
    if not {"PH", "EC", "PPM"}.isdisjoint(following[:1] if following[:1] != [","] else following):
        return None  # ``tap ph 7.8, ec 1.4 ph 6.1``: the tank's own follow
    ph, ec = _source_ph(scene, hit), _source_ec(scene, hit)
    facts = [fact for finding in (ph, ec) if finding is not None for fact in finding.facts]
    reasons = [finding.reason for finding in (ph, ec) if finding is not None and finding.reason is not None]
    return Finding(tuple(facts), reason=reasons[0] if reasons else None)


def _ec_of(scene: Scene, hit: Hit, name: str, *, ppm: bool = False) -> float | None:
    item = hit.item(name)
    value = item.value if item is not None else None
    if isinstance(value, Quantity):
        return value.value / scene.settings.ppm_scale if value.dimension == "ppm" else value.value
    if not isinstance(value, Number):
        return None
    if ppm:
        return value.value / scene.settings.ppm_scale
    ec_ms_cm = ec_from_unnamed(value.value)
    return None if isinstance(ec_ms_cm, str) else ec_ms_cm


_WHAT = {"PH": "ph", "EC": "ec", "PPM": "ec", "TEMP": "temp", "WTEMP": "temp", "STRENGTH": "ec"}


def _set_to(scene: Scene, hit: Hit) -> Finding | None:
    """``set ph to 5.9`` may be a wish or what was done; ``adjusted ph to 5.9`` was done."""
    return no("ambiguous") if hit.line.typed(hit.first, hit.first).lower() == "set" else None


def _band(scene: Scene, hit: Hit) -> Finding | None:
    crop, what = hit.item("crop") or hit.item("for_crop"), hit.item("what")
    if what is None:
        return None
    if hit.said("name"):
        near = scene.mender.nearest((hit.typed("name") or "").lower(), scene.names.crops)
        if not near:
            first = hit.number_of("what") or hit.first
            return no("unknown", adding(hit.typed("name") or "", hit.line.typed(first, hit.last)))
        if len(near) > 1:
            return no("ambiguous")
        return _found_or_not(band_of(scene, hit, near[0], what))
    return _found_or_not(band_of(scene, hit, crop.value if crop else None, what))


def _found_or_not(band: Setting | Finding) -> Finding:
    return found(band) if isinstance(band, Setting) else band


def band_of(scene: Scene, hit: Hit, crop: str | None, what: Item, number: str = "") -> Setting | Finding:
    """The band that a phrase gives, or why it gives none.

    number : of the band, where a phrase has several: its ends are under ``low2`` and ``high2``.
    """
    ends = (f"low{number}", f"high{number}")
    if not all(hit.said(end) for end in ends):
        return no("missing_value")
    name = _WHAT[what.key]
    if name == "ec":
        low, high = (_ec_of(scene, hit, end, ppm=what.key == "PPM") for end in ends)
        slot = "ec_ms_cm"
    else:
        low, high = (_number(hit, end) for end in ends)
        slot = "ph" if name == "ph" else "water_temp_c"
    if (
        low is None
        or high is None
        or not low <= high
        or not is_plausible(slot, low)
        or not is_plausible(slot, high)
    ):
        return no("implausible")
    return Setting(name="band", crop=crop, what=name, low=low, high=high)


def _interval(task: str) -> Phrase:
    def build(scene: Scene, hit: Hit) -> Finding | None:
        item = hit.item("every")
        if item is None or not isinstance(item.value, Repeat):
            return None
        items = hit.line.items
        beside = {
            each.key for each in (*items[max(0, hit.first - 1) : hit.first], *items[hit.last + 1 :][:1])
        }
        if beside & {"did", "done", "made", "finished"}:
            return None  # ``did my weekly water change``
        return found(Setting(name="interval", task=task, rrule=item.value.rule()))

    return Phrase(build)


_SHAPES = words("cubes plugs blocks pots cups")


def _stock(scene: Scene, hit: Hit) -> Finding | None:
    item, amount, number = hit.typed("item"), hit.item("amount"), _number(hit, "number")
    at = hit.number_of("item")
    if item is None or at is None:
        return None
    if hit.line.around[at + 1] in _SHAPES:
        item = hit.line.typed(at, at + 1)  # ``rockwool cubes``
    if hit.line.around[at - 1] in ("net", "air"):
        item = hit.line.typed(at - 1, at)  # ``net cups``
    if amount is not None:
        product = hit.item("item")
        value, unit = amount_of(amount, str(product.value) if product else "", hit.line.keys)
        return found(Stock(item=item, amount=value, unit=unit))
    if number is None or not number.is_integer():
        return None
    return found(Stock(item=item, count=int(number)))


def _none_left(scene: Scene, hit: Hit) -> Finding | None:
    item = hit.typed("item")
    return found(Stock(item=item, count=0)) if item else None


_IS = "(is|to|=|:|of|at|are|was)?"
_SOURCE = "source|tap|mains|well"
_ANIMALS = (
    "fish|fishes|goldfish|koi|guppy|guppies|tilapia|shrimp|shrimps|snail|snails|turtle|turtles|axolotl|"
    "axolotls"
)

_TASKS: tuple[tuple[str, str], ...] = (
    ("water_change", "CHANGE|CHANGED WATER|TANK"),
    ("water_change", "WATERCHANGE"),
    ("top_up", "TOPUP"),
    ("rinse_filter", "CLEAN|CHANGE FILTER"),
    ("clean_pump", "CLEAN PUMP"),
    ("clean_tank", "CLEAN TANK"),
    ("clean_probe", "CLEAN PROBE|PHMETER|ECMETER"),
    ("calibrate_ph_meter", "CALIBRATE PHMETER|PH"),
    ("calibrate_ec_meter", "CALIBRATE ECMETER|EC|PPM"),
    ("refill_probe_cap", "TOPUP PROBECAP"),
    ("adjust_lights", "ADJUST|raise|lower LIGHTS"),
    ("check_pump", "CHECK PUMP"),
    ("check_timer", "CHECK TIMER"),
    ("reading", "CHECK PH|EC|PPM|WATER|TANK"),
)

HOUSEHOLD_PHRASES: tuple[tuple[str, Phrase], ...] = (
    ("TANK holds|takes <litres>", _volume_setting("tank_volume_l")),
    (f"ADJUSTED {_ANIMALS} {_IS} no|none|gone", _plain("fish", "no")),
    (f"{_ANIMALS} (are|is|have)? moved|gone|MOVED (out)? (of|from)? TANK?", _plain("fish", "no")),
    (f"{_ANIMALS} (are|is|live|lives|swim|swims|swimming|living|stay|stays)? in TANK", _plain("fish", "yes")),
    (f"TANK has|have|HAVE (some|a|two|three|my|our)? {_ANIMALS}", _plain("fish", "yes")),
    ("<length:depth> (mark|level|deep)? is|=|holds|means|are <volume>", Phrase(_mark)),
    ("<amount:measure> of? <product>? is|=|holds|gives <amount:portion>", Phrase(_measure)),
    (f"TANK size|volume|capacity {_IS} <litres>", _volume_setting("tank_volume_l")),
    (f"ADJUSTED TANK (size|volume|capacity)? {_IS} <litres>", _volume_setting("tank_volume_l")),
    ("have|GOT|HAVE <volume> TANK", _volume_setting("tank_volume_l")),
    (f"ADJUSTED minimum|min|lowest LEVEL|TANK {_IS} <litres>", _volume_setting("minimum_level_l")),
    (f"minimum|min LEVEL {_IS} <litres>", _volume_setting("minimum_level_l")),
    (f"ADJUSTED units {_IS} us|american|imperial", _plain("units", "us")),
    (f"ADJUSTED units {_IS} metric", _plain("units", "metric")),
    ("we|i use|ADDED us|american units|unit", _plain("units", "us")),
    ("we|i use|ADDED gallons|fahrenheit", _plain("units", "us")),
    ("we|i use|ADDED metric (units)?", _plain("units", "metric")),
    ("we|i use|ADDED litres|liters|celsius", _plain("units", "metric")),
    (f"ADJUSTED PPM? scale {_IS} <number>", Phrase(_ppm_scale)),
    ("we|i|METER use|uses|ADDED <number> -? scale", Phrase(_ppm_scale)),
    ("we|i|METER use|uses|ADDED PPM <number> (scale)?", Phrase(_ppm_scale)),
    (f"ADJUSTED STRENGTH unit|units? {_IS} PPM", _plain("strength_unit", "ppm")),
    (f"ADJUSTED STRENGTH unit|units? {_IS} us|microsiemens", _plain("strength_unit", "us_cm")),
    ("we|i use|ADDED PPM", _plain("strength_unit", "ppm")),
    ("we|i use|ADDED us / cm", _plain("strength_unit", "us_cm")),
    ("we|i use|ADDED microsiemens", _plain("strength_unit", "us_cm")),
    (f"ADJUSTED timezone {_IS} <some:zone> $", Phrase(_time_zone)),
    (f"ADJUSTED time zone {_IS} <some:zone> $", Phrase(_time_zone)),
    ("timezone is|: <some:zone> $", Phrase(_time_zone)),
    ("time zone is|: <some:zone> $", Phrase(_time_zone)),
    (f"ADJUSTED sites {_IS} <sites>", Phrase(_sites)),
    (f"sites {_IS} <sites>", Phrase(_sites)),
    (
        f"ADJUSTED? {_SOURCE} WATER? alkalinity|kh {_IS} <value> (<alkunit:unit>)?",
        Phrase(_alkalinity),
    ),
    (f"ADJUSTED alkalinity|kh {_IS} <value> (<alkunit:unit>)?", Phrase(_set_alkalinity)),
    *(
        (f"{start} {values}", Phrase(build))
        for values, build in (
            (f"{_IS} PH {_IS} <number> (,|and|&|/)? EC|PPM {_IS} <strength>", _source_both),
            (f"{_IS} EC|PPM {_IS} <strength> (,|and|&|/)? PH {_IS} <number>", _source_both),
            (f"PH {_IS} <number>", _source_ph),
            (f"EC|PPM {_IS} <strength>", _source_ec),
        )
        for start in (f"ADJUSTED {_SOURCE} WATER?", "source|tap WATER?")
    ),
    (
        f"ADJUSTED <crop>? <what> (range|band)? {_IS} (between)? <strength:low> -|to|and "
        "<strength:high> (for <crop:for_crop>)?",
        Phrase(_band),
    ),
    (
        f"ADJUSTED <some:name> <what> (range|band)? {_IS} (between)? <strength:low> -|to|and <strength:high>",
        Phrase(_band),
    ),
    (
        f"ADJUSTED <what> (range|band)? for <crop> {_IS} (between)? <strength:low> -|to|and <strength:high>",
        Phrase(_band),
    ),
    (f"ADJUSTED <crop> <what> {_IS} <strength:low>", Phrase(_band)),
    (f"ADJUSTED <what> {_IS} <strength:low>", Phrase(_set_to)),
    *((f"{words} <every>", _interval(task)) for task, words in _TASKS),
    *((f"<every> ,? {words}", _interval(task)) for task, words in _TASKS),
    (
        "have|bought|HAVE|GOT|restocked <number> (new|more|net|ph|air)? (bottle|bottles|packets|packs|"
        "bags|pack|bag)? of? <supply:item>",
        Phrase(_stock),
    ),
    ("have|bought|HAVE|GOT|restocked <amount> of? <product:item>", Phrase(_stock)),
    ("<number> <supply:item> left", Phrase(_stock)),
    ("<amount> of? <product:item> left", Phrase(_stock)),
    ("out of <supply:item>", Phrase(_none_left)),
)
