"""Phrases about the water: doses, top-ups, changes."""

from __future__ import annotations

from bot.reader.dilutions import thinned
from bot.reader.done import is_done
from bot.reader.fillers import words
from bot.reader.findings import Finding, Phrase, Scene, found, no
from bot.reader.items import Item
from bot.reader.numbers import Number, Quantity
from bot.reader.patterns import Hit
from bot.reader.plausibility import dose_is_plausible, ec_from_unnamed, is_plausible
from domain.facts import Dose, Fact, Feed, ProductRole, TopUp, WaterChange
from domain.units import OUNCE_G, US_FLUID_OUNCE_ML, US_GALLON_L

__all__ = ["WATER_PHRASES", "amount_of", "litres_of"]

MAX_BARE_G = 100
"""More grams of an adjuster than anybody doses without saying so. [g]"""

_KITCHEN = words(
    "sugar flour milk butter oil rice honey cream chicken cheese vanilla coffee egg eggs pasta "
    "beef fish chocolate juice "
    "wine beer soup broth stock sauce ketchup onion onions garlic bread oats yogurt tea ice "
    "petrol gas fuel money"
)
"""What is poured and weighed in kitchens, and never into a tank."""

_MIXES = words("mix mixture blend dilution")
"""What nobody but the one who mixed it knows the strength of."""
_INTO_TANK = words("TANK WATER #tank it in")
_DRY = words("powder salt salts crystals granules dry")


def litres_of(item: Item, *, us: bool) -> float | None:
    """The litres of a volume, or of a number without a unit in the household's own unit."""
    value = item.value
    if isinstance(value, Quantity):
        if value.dimension == "ounce":
            return value.value * US_FLUID_OUNCE_ML / 1000
        return value.value / 1000 if value.dimension == "volume" else None
    if isinstance(value, Number):
        return value.value * (US_GALLON_L if us else 1)
    return None


def amount_of(item: Item, role: str, text: str) -> tuple[float, str]:
    """Amount and unit of a dose; an ounce of a liquid is a fluid ounce."""
    quantity: Quantity = item.value
    if quantity.dimension == "ounce":
        dry = role == "nutrient" and any(word in _DRY for word in text.split())
        return (quantity.value * OUNCE_G, "g") if dry else (quantity.value * US_FLUID_OUNCE_ML, "ml")
    return quantity.value, quantity.unit


def _product(item: Item | None) -> tuple[ProductRole, str | None] | None:
    if item is None or not item.value:
        return None
    return item.value, item.own or None


def _dose_of(amount: Item, role: ProductRole, name: str | None, text: str = "") -> Dose | Finding:
    quantity: Quantity = amount.value
    if not quantity.finite:
        return no("implausible")
    value, unit = amount_of(amount, role, text)
    if not dose_is_plausible(role, value, unit):
        return no("implausible")
    return Dose(product=role, amount=value, unit=unit, name=name)


def _dose(scene: Scene, hit: Hit) -> Finding | None:
    amount, product = hit.item("amount"), hit.item("product")
    said = _product(product)
    if amount is None or said is None:
        return None
    dose = _dose_of(amount, *said, text=hit.line.keys)
    bare = not {"ADDED", "ADD"} & set(hit.match[0].split())
    if bare and (
        isinstance(dose, Finding) or (dose.unit == "g" and dose.amount > MAX_BARE_G and said[0] != "nutrient")
    ):
        return None  # ``2 L down`` may speak of the level, ``down 1 lb`` of a diet
    if isinstance(dose, Finding):
        return dose
    if bare and _is_rate(hit):
        return None
    return Finding((dose,), earlier=hit.said("after"), weak=bare)


def _is_rate(hit: Hit) -> bool:
    """``5 ml per 10 L`` is what a label says, not what was done."""
    items = hit.line.items
    for item in items[hit.last + 1 : hit.last + 8]:
        if item.key in (".", "nl", ";", "!"):
            return False
        if item.key in ("per", "every", "#every"):
            return True
    return False


def _parts(scene: Scene, hit: Hit) -> Finding | None:
    """``5 ml A``, ``5 ml each of A and B``: bottles of a nutrient."""
    amount = hit.item("amount")
    parts = [item for name in ("part", "other") if (item := hit.item(name)) is not None]
    if amount is None or not parts:
        return None
    doses: list[Fact] = []
    for part in parts:
        dose = _dose_of(amount, "nutrient", hit.line.cleaned.raw(part.start, part.end).upper())
        if isinstance(dose, Finding):
            return dose
        doses.append(dose)
    bare = "ADDED" not in hit.match[0].split()
    return None if bare and _is_rate(hit) else Finding(tuple(doses), earlier=hit.said("after"), weak=bare)


def _dose_other(scene: Scene, hit: Hit) -> Finding | None:
    """A dose of something that is none of the known products."""
    if any(item.key in _NO_NAME for item in hit.items("name")[:1]):
        return None
    amount, name = hit.item("amount"), _without_fillers(hit)
    if amount is not None and (not name or any(item.key[0] == "#" for item in hit.items("name"))):
        return no("missing_value")
    if amount is None or not name or _KITCHEN & {item.key for item in hit.items("name")}:
        return None
    following = [item.key for item in hit.line.items[hit.last + 1 : hit.last + 3]]
    if following and following[0] in ("to", "in", "into", "for") and following[-1] not in _INTO_TANK:
        return None
    if name.lower() in _MIXES:
        return no("ambiguous")
    near = scene.mender.nearest(name.lower(), scene.names.products)
    if len(near) > 1:
        return no("ambiguous", *(f"added {hit.typed('amount')} {own or role}" for role, own in near))
    role, own = near[0] if near else ("other", name)
    dose = _dose_of(amount, role, own or None)
    return dose if isinstance(dose, Finding) else found(dose)


def _missing_unit(scene: Scene, hit: Hit) -> Finding | None:
    return no("missing_value")


def _order_or_record(scene: Scene, hit: Hit) -> Finding | None:
    """``add 5 ml down`` may be an order to somebody or a note of what was done."""
    amount = hit.item("amount")
    if amount is None or not amount.value.finite:
        return None
    return no("ambiguous", f"added {hit.line.cleaned.raw(amount.start, hit.line.items[hit.last].end)}")


def _unknown_unit(scene: Scene, hit: Hit) -> Finding | None:
    return no("unknown")


def _without_fillers(hit: Hit) -> str:
    """The name of what was dosed as typed, without words that name nothing."""
    items = hit.items("name")
    while items and items[-1].key in _FILLERS:
        items = items[:-1]
    while items and items[0].key in _FILLERS:
        items = items[1:]
    return hit.line.cleaned.raw(items[0].start, items[-1].end) if items else ""


_NO_NAME = words("to in into for with on at from and then by per each over off")
_FILLERS = words(
    "lol haha hehe today again now more too already ok okay btw tho though earlier twice before "
    "then extra it yes well "
    "maybe i think we later just and still him them myself"
)

_FEEDS: dict[str, Feed] = {"half": "half", "full": "full", "plain": "plain", "fresh": "plain", "tap": "plain"}


def _feed(hit: Hit) -> Feed | None:
    """What kind of water went in, from the words of the phrase."""
    keys = hit.match[0].split()
    if "strength" in keys or "STRENGTH" in keys or "FOOD" in keys:
        for item, key in zip(hit.line.items[hit.first :], keys, strict=False):
            if (
                isinstance(item.value, Number)
                and item.value.style in ("half", "fraction")
                and item.value.value == 0.5
            ):
                return "half"
            if key == "full":
                return "full"
    return "plain" if "plain" in keys or "tap" in keys or "ro" in keys else None


def _with_article(hit: Hit, name: str) -> str | None:
    """What is found under ``name`` as typed, with ``the`` where that stands before it."""
    items = hit.items(name)
    if not items:
        return None
    cleaned = hit.line.cleaned
    start = items[0].start
    if cleaned.text[:start].endswith("the "):
        start -= 4
    return cleaned.raw(start, items[-1].end)


def _top_up(scene: Scene, hit: Hit) -> Finding | None:
    if hit.line.items[hit.first].key == "TOPUP" and not is_done(hit):
        return None
    amount = hit.item("litres") or hit.item("volume")
    litres = None
    if amount is not None:
        if not amount.value.finite:
            return no("implausible")
        litres = litres_of(amount, us=scene.settings.units == "us")
        if litres is None or not is_plausible("level_l", litres) or litres == 0:
            return no("implausible")
    mark = _with_article(hit, "mark")
    if (
        hit.line.items[hit.first].key == "FILLED"
        and not {"TANK", "WATER"} & set(hit.match[0].split())
        and amount is None
    ):
        return None
    ec_ms_cm: float | None = None
    strength = hit.item("strength")
    if strength is not None:
        value = strength.value
        ec = (
            value.value
            if strength.key == "#ec"
            else ec_from_unnamed(value.value)
            if strength.key == "#num"
            else "ambiguous"
        )
        if isinstance(ec, str) or not is_plausible("ec_ms_cm", ec):
            return no("ambiguous" if isinstance(ec, str) else "implausible")
        ec_ms_cm = ec
    return found(TopUp(litres=litres, to_mark=mark, feed=_feed(hit), ec_ms_cm=ec_ms_cm))


_PARTS_OF_TANK = words(
    "FILTER PUMP LIGHTS TIMER METER PROBE bottle bottles bowl glass glasses heater pipe pipes hose lid cover "
    "thermometer cooler bill heaters softener"
)
"""``changed the water filter`` changes no water."""


def _change_of(scene: Scene, hit: Hit, volume: Item) -> Finding:
    litres = litres_of(volume, us=scene.settings.units == "us")
    if litres is None or not is_plausible("level_l", litres):
        return no("implausible")
    return found(WaterChange(litres=litres, feed=_feed(hit)))


def _in_brackets(hit: Hit) -> Item | None:
    """The volume of ``water change (10 L)``."""
    after = hit.line.items[hit.last + 1 : hit.last + 3]
    return after[1] if len(after) == 2 and after[0].key in ("(", "with") and after[1].key == "#vol" else None


def _change(scene: Scene, hit: Hit) -> Finding | None:
    following = hit.line.items[hit.last + 1].key if hit.last + 1 < len(hit.line.items) else ""
    if following in _PARTS_OF_TANK:
        return None
    if "WATERCHANGE" in hit.match[0].split() and (following in ("REMIND", "CHANGED") or not is_done(hit)):
        return None
    share, volume = hit.item("share"), hit.item("volume") or _in_brackets(hit)
    fraction = litres = None
    if share is not None and share.value is not None:
        if not share.value.finite:
            return no("implausible")
        fraction = share.value.value / 100 if share.key == "#pct" else share.value.value
        if share.key == "#num" and fraction > 1:  # ``changed 10``: no share, but a volume without its unit
            return _change_of(scene, hit, share)
        if not 0 < fraction <= 1:
            return no("implausible")
        if fraction == 1:
            fraction = None
    if volume is not None:
        litres = litres_of(volume, us=scene.settings.units == "us")
        if litres is None or not is_plausible("level_l", litres) or litres == 0:
            return no("implausible")
    return found(WaterChange(litres=litres, fraction=fraction, feed=_feed(hit)))


def _partial(scene: Scene, hit: Hit) -> Finding | None:
    """``a partial water change``: how much, nobody said."""
    return no("missing_value")


_DOSE, _PARTS = Phrase(thinned(_dose)), Phrase(thinned(_parts))

_DOSES: tuple[tuple[str, Phrase], ...] = (
    (
        "<after>? ADDED? <amount> each? of? (part|FOOD|bottle)? <part> (and|&|+|/ <part:other>)?",
        _PARTS,
    ),
    ("<after>? ADDED? <amount> of? (diluted|dilute)? <product>", _DOSE),
    ("ADDED <amount> of? #num : #num <product>", _DOSE),
    ("<after>? ADDED <product> :? =? ,? <amount>", _DOSE),
    (
        "ADDED plants|everything|seedlings|tower|system|#crop <amount> of? <product>",
        _DOSE,
    ),
    ("<amount> more of? <product>", _DOSE),
    ("i|we ADD <amount> of? <product>", _DOSE),
    ("ADD <amount> of? <product>", Phrase(_order_or_record)),
    ("<product> :|=? <amount>", _DOSE),
    ("ADDED? <part> (:|=|-)? <amount>", _PARTS),
    ("ADDED <number> <some:unit> of? <product>", Phrase(_unknown_unit)),
    (
        "ADDED <number> glug|glugs|splash|splashes|dash|dashes|shot|shots|spoon|spoons|handful|handfuls",
        Phrase(_unknown_unit),
    ),
    ("ADDED <number> of? <product>", Phrase(_missing_unit)),
    ("ADDED <number> ((to|in|into) TANK|WATER|it)? $$", Phrase(_missing_unit)),
    ("ADDED glug|splash|dash|shot|handful of <product>", Phrase(_unknown_unit)),
    ("ADDED some|more|few|bit (drops|bit|more)? of? <product>", Phrase(_missing_unit)),
    ("ADDED #prod|FOOD ((to|in|into) TANK|WATER|#tank|it)? $$", Phrase(_missing_unit)),
    ("ADDED <amount> of? <some:name> $", Phrase(thinned(_dose_other))),
    ("ADDED <amount> ((to|in|into) TANK|WATER|it)? $$", Phrase(_missing_unit)),
)

_FEED_WORDS = "(half|full|#num|plain|tap|ro)? (strength|STRENGTH)? (FOOD|nutrient|TANK|WATER)? WATER?"

_WITH_FEED = f" ((with|w|to|for) {_FEED_WORDS})?"

_VESSELS = "jug|jugs|buckets|bottle|bottles|can|cans|pitcher|pitchers|glass|glasses|jar|jars|pail|pails"

_TOP_UPS: tuple[tuple[str, Phrase], ...] = (
    (
        f"TOPPED|TOPUP|FILLED|ADDED|ADD (up|UP)? (with|w)? (<number>)? (of)? {_VESSELS}|TANK (of)? WATER",
        Phrase(_unknown_unit),
    ),
    (f"TOPPED|TOPUP (with|w)? (<number>)? {_VESSELS} $$", Phrase(_unknown_unit)),
    ("TOPPED TANK? (up|UP)? (a)? bit|little|some|more $$", Phrase(_top_up)),
    ("TOPPED|TOPUP with|w TANK $$", Phrase(_unknown_unit)),
    ("TOPUP done|complete|finished", Phrase(_top_up)),
    ("TOPPED|TOPUP WATER|TANK , <volume> $$", Phrase(_top_up)),
    *(
        (
            f"TOPPED|TOPUP|FILLED TANK? (with|w|by|of|:)? <litres> of? (WATER|FOOD)? at|of|with|w {values}",
            Phrase(_top_up),
        )
        for values in ("PH #num (,|and|&|/)? EC <strength>", "EC <strength> (,|and|&|/)? PH #num", "PH #num")
    ),
    (
        "TOPPED|TOPUP|FILLED TANK? (with|w|by|of|:)? <litres> of? at|of|with|w? EC <strength> WATER|"
        "FOOD|TANK",
        Phrase(_top_up),
    ),
    (
        "TOPPED|TOPUP|FILLED TANK? (with|w|by|of|:)? <litres> of? (WATER|FOOD)? at|of|with EC <strength>",
        Phrase(_top_up),
    ),
    (
        "TOPPED|TOPUP|FILLED TANK? WATER? (up|UP|off)? (with|w|by|of|:|=|-|is)? -? <litres> more? (of|"
        f"with|w|:)? {_FEED_WORDS}",
        Phrase(_top_up),
    ),
    ("TOPPED|TOPUP|FILLED TANK? WATER? (up|UP)? (to|till|until) <some:mark> $", Phrase(_top_up)),
    (f"TOPPED|FILLED TANK? (up|UP|off)? ((with|w)? some? {_FEED_WORDS})? $$", Phrase(_top_up)),
    (f"TOPUP ((with|w)? {_FEED_WORDS})? $$", Phrase(_top_up)),
    ("ADDED <volume> of? more? (plain|tap|ro|fresh|new|cold|warm|rain|distilled)? WATER", Phrase(_top_up)),
    ("ADDED some? more? (plain|tap|ro|fresh)? WATER :? <volume>?", Phrase(_top_up)),
    ("ADDED <volume> of? half|full strength FOOD?", Phrase(_top_up)),
    ("<volume> (of)? WATER? TOPUP|TOPPED", Phrase(_top_up)),
    ("<volume> of? (plain|tap|ro)? WATER (ADDED|in) $", Phrase(_top_up)),
)

_CHANGES: tuple[tuple[str, Phrase], ...] = (
    ("i|we CHANGE <share>? of? WATER|TANK", Phrase(_change)),
    ("CHANGED some|part of? WATER|TANK", Phrase(_partial)),
    ("partial WATERCHANGE|CHANGE (of)? <volume>", Phrase(_change)),
    ("partial WATERCHANGE", Phrase(_partial)),
    ("full|complete|total CHANGE $$", Phrase(_change)),
    ("<share> CHANGE $$", Phrase(_change)),
    ("DUMPED (TANK|WATER)? (with|w)? <volume>?", Phrase(_change)),
    (
        "DRAINED|TOOKOUT <volume> (of)? (WATER|TANK)? (and|&|,) TOPPED|ADDED <volume:refill>? (of)? "
        "(fresh|new|clean|plain)? WATER?",
        Phrase(_change),
    ),
    ("DRAINED|TOOKOUT <share> of? (WATER|TANK)? (and|&|,) TOPPED", Phrase(_change)),
    ("DRAINED|TOOKOUT (WATER|TANK) (and|&|,) TOPPED (with|w)? <volume>?", Phrase(_change)),
    ("CHANGED about? <share> of? (WATER|TANK)? WATER?" + _WITH_FEED, Phrase(_change)),
    ("CHANGED about? <volume> (of)? (WATER|TANK)?", Phrase(_change)),
    (
        "CHANGED (whole|all|complete|full)? of? WATER|TANK ((with|w|for|by)? <volume>)?" + _WITH_FEED,
        Phrase(_change),
    ),
    ("<share> WATERCHANGE", Phrase(_change)),
    ("<volume> WATERCHANGE", Phrase(_change)),
    ("WATERCHANGE (of|:|-|=|with|,)? <volume>", Phrase(_change)),
    ("WATERCHANGE (of|:|-|=|with|,)? <share>", Phrase(_change)),
    ("WATERCHANGE", Phrase(_change)),
    ("WATER|TANK is|was|has|got? been? CHANGED", Phrase(_change)),
)


WATER_PHRASES: tuple[tuple[str, Phrase], ...] = (*_TOP_UPS, *_CHANGES, *_DOSES)
"""What was done to the water, in the order in which the rows are tried."""
