"""Phrases about the water: doses, top-ups, changes."""

from __future__ import annotations

from bot.reader.done import is_done
from bot.reader.doses import DOSE_PHRASES, is_listed, unknown_unit
from bot.reader.fillers import words
from bot.reader.findings import Builder, Finding, Phrase, Scene, found, no
from bot.reader.items import Item
from bot.reader.numbers import Number, Quantity
from bot.reader.patterns import Hit
from bot.reader.plausibility import ec_from_unnamed, is_plausible
from bot.reader.result import Reason
from domain.facts import Feed, TopUp, WaterChange
from domain.units import US_FLUID_OUNCE_ML, US_GALLON_L

__all__ = ["WATER_PHRASES", "litres_of"]


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


def _strength_of(hit: Hit) -> float | Reason | None:
    """The EC of what went in; why it cannot be one; ``None`` where it was not said."""
    strength = hit.item("strength")
    if strength is None:
        return None
    if strength.key == "#ec":
        ec: float | Reason = strength.value.value
    else:
        ec = ec_from_unnamed(strength.value.value) if strength.key == "#num" else "ambiguous"
    if isinstance(ec, str):
        return ec
    return ec if is_plausible("ec_ms_cm", ec) else "implausible"


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


def _is_strength(hit: Hit, amount: Item) -> bool:
    """``topped up with half strength feed``: the half is of the strength, not of a litre."""
    at = hit.number_of("litres") if hit.said("litres") else hit.number_of("volume")
    following = hit.line.around[at + 1] if at is not None else ""
    return isinstance(amount.value, Number) and following in ("strength", "STRENGTH")


def _of_bucket(scene: Scene, hit: Hit) -> Finding | None:
    """``half a bucket``, ``half the tank``: parts of what nobody said the size of."""
    return None if hit.line.items[hit.last].key == "#tank" else no("unknown")


def _top_up(scene: Scene, hit: Hit) -> Finding | None:
    if hit.line.items[hit.first].key == "TOPUP" and not is_done(hit):
        return None
    amount = hit.item("litres") or hit.item("volume")
    if amount is not None and _is_strength(hit, amount):
        amount = None
    litres = None
    if amount is not None:
        if not amount.value.finite:
            return no("implausible")
        if isinstance(amount.value, Number) and amount.value.style == "half":
            return no("ambiguous")  # ``topped up half``: of a litre, or of the tank
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
    ec_ms_cm = _strength_of(hit)
    if isinstance(ec_ms_cm, str):
        return no(ec_ms_cm)
    return found(TopUp(litres=litres, to_mark=mark, feed=_feed(hit), ec_ms_cm=ec_ms_cm))


def _listed_top_up(scene: Scene, hit: Hit) -> Finding | None:
    return _top_up(scene, hit) if is_listed(hit) else None


_AFTER_SHARE = words(
    "and with w then but so because since today again now this just too already also after before on at in "
    "for from lol ok okay about around we i it as earlier by to plus or"
)


_POURED_WHERE = words("#vol WATER of with by #tank in the to for into")


def _topped_again(scene: Scene, hit: Hit) -> Finding | None:
    """``topped up 2 l then 3 l``; but ``topped up 2 l and 5 ml`` is short of a product."""
    keys, i = hit.line.around, hit.first - 1
    volume = hit.item("volume")
    while i > 0 and keys[i] in ("#tank", "the"):
        i -= 1
    has_tank = "#tank" in keys[i : hit.last + 4]
    listed = ("and", "then", ",", "&", "+") if has_tank else ("and", "then")
    if i < 2 or keys[i] not in listed or volume is None or volume.key != "#vol":
        return None
    i -= 1
    follows = keys[i] in ("#vol", "WATER") or (has_tank and keys[i] == "#tank")
    while i > 0 and keys[i] in _POURED_WHERE:
        i -= 1
    is_poured = keys[i] in ("TOPPED", "TOPUP") and follows
    return _top_up(scene, hit) if is_poured and volume.value.value >= LEAST_TOP_UP_ML else None


LEAST_TOP_UP_ML = 200
"""Less than this after another top-up is a dose with no product. [ml]"""
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


def _is_of_others(hit: Hit, following: str) -> bool:
    """``changed 2 nappies``, ``swapped half the books``: a share of something that is named, and no water."""
    if not {"WATER", "TANK", "#tank", "WATERCHANGE", "CHANGE"}.isdisjoint(hit.match[0].split()):
        return False
    return following.isalpha() and following.islower() and following not in _AFTER_SHARE


def _change(scene: Scene, hit: Hit) -> Finding | None:
    following = hit.line.items[hit.last + 1].key if hit.last + 1 < len(hit.line.items) else ""
    if following in _PARTS_OF_TANK:
        return None
    if "WATERCHANGE" in hit.match[0].split() and (following in ("REMIND", "CHANGED") or not is_done(hit)):
        return None
    share, volume = hit.item("share"), hit.item("volume") or _in_brackets(hit)
    if share is not None and _is_of_others(hit, following):
        return None
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
    ec_ms_cm = _strength_of(hit)
    if isinstance(ec_ms_cm, str):
        return no(ec_ms_cm)
    return found(WaterChange(litres=litres, fraction=fraction, feed=_feed(hit), ec_ms_cm=ec_ms_cm))


def _partial(scene: Scene, hit: Hit) -> Finding | None:
    """``a partial water change``: how much, nobody said."""
    return no("missing_value")


def _fed(build: Builder) -> Builder:
    """A phrase that ends with how strong it was: ``, half strength``, not ``, 720 strength``."""
    return lambda scene, hit: build(scene, hit) if _feed(hit) is not None else None


_FEED_WORDS = "(half|full|#num|plain|tap|ro)? (strength|STRENGTH)? (FOOD|nutrient|TANK|WATER)? WATER?"

_WITH_FEED = f" ((with|w|to|for) {_FEED_WORDS})?"

_FEED_AFTER = (
    "plain (WATER)?",
    "half|full strength|STRENGTH|FOOD (FOOD|WATER)?",
    "#num STRENGTH (FOOD|WATER)?",
)
"""``changed the water, full feed``: how strong it was, after a comma."""
_WITH_EC = "(TANK|WATER|FOOD)? (at|with|w|of|to) EC (of|at|=|:)? <strength>"

_VESSELS = (
    "jug|jugs|buckets|watering|bottle|bottles|can|cans|pitcher|pitchers|glass|glasses|jar|jars|pail|pails"
)

_TOP_UPS: tuple[tuple[str, Phrase], ...] = (
    (
        f"TOPPED|TOPUP|FILLED|ADDED|ADD (up|UP)? (with|w)? (<number>)? (of)? {_VESSELS}|TANK (of)? WATER",
        Phrase(unknown_unit),
    ),
    (f"TOPPED|TOPUP (with|w)? (<number>)? {_VESSELS} $$", Phrase(unknown_unit)),
    ("TOPPED|TOPUP watering can $$", Phrase(unknown_unit)),
    ("TOPPED|TOPUP|FILLED (up|UP)? (with|w|by)? <number> (of)? TANK", Phrase(_of_bucket)),
    *(
        (
            f"TOPPED|TOPUP|FILLED TANK? (with|w|by|of|:)? <litres>? (of)? (WATER)? , {feed} $$",
            Phrase(_fed(_top_up)),
        )
        for feed in _FEED_AFTER
    ),
    (
        "TOPPED|TOPUP|FILLED TANK? WATER? (up|UP)? (with|w|by|of|:)? <litres> (of|more)? WATER? "
        "(to|till|until) <some:mark> $",
        Phrase(_top_up),
    ),
    (
        "TOPPED|TOPUP|FILLED TANK? WATER? (up|UP)? (to|till|until) <line:mark> (,|with|w|by) "
        f"(with|w|by)? <litres> {_FEED_WORDS}",
        Phrase(_top_up),
    ),
    (
        f"TOPPED|TOPUP|FILLED TANK? WATER? (up|UP)? (to|till|until) <line:mark> (with|w) {_FEED_WORDS}",
        Phrase(_top_up),
    ),
    (
        "ADDED <volume> of? more? (plain|tap|ro|fresh|new|rain)? WATER (at|with|w|of) EC <strength>",
        Phrase(_top_up),
    ),
    ("TOPPED TANK? (up|UP)? (a)? bit|little|some|more $$", Phrase(_top_up)),
    ("TOPPED|TOPUP with|w TANK $$", Phrase(unknown_unit)),
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
    ("ADDED some? more? WATER (up|UP)? (to|till|until) <line:mark>", Phrase(_top_up)),
    ("ADDED some? more? (plain|tap|ro|fresh)? WATER :? <volume>?", Phrase(_top_up)),
    ("ADDED <volume> of? half|full|#num strength|STRENGTH (FOOD|WATER|TANK)?", Phrase(_top_up)),
    ("<volume> of? (plain|tap|ro|fresh|new|rain)? WATER $$", Phrase(_listed_top_up)),
    ("#tank <volume> $$", Phrase(_topped_again)),
    ("<volume> $$", Phrase(_topped_again)),
    ("<volume> (in|into|to|for|on) #tank", Phrase(_topped_again)),
    ("<volume> (of)? WATER? TOPUP|TOPPED", Phrase(_top_up)),
    ("<volume> of? (plain|tap|ro)? WATER (ADDED|in) $", Phrase(_top_up)),
)

_CHANGES: tuple[tuple[str, Phrase], ...] = (
    ("i|we CHANGE <share>? of? WATER|TANK", Phrase(_change)),
    ("CHANGED some|part of? WATER|TANK", Phrase(_partial)),
    ("partial WATERCHANGE|CHANGE (of)? <volume>", Phrase(_change)),
    ("partial WATERCHANGE", Phrase(_partial)),
    *(
        (f"CHANGED (whole|all)? <{what}>? (of)? (WATER|TANK)? WATER? , {feed} $$", Phrase(_fed(_change)))
        for what in ("volume", "share")
        for feed in _FEED_AFTER
    ),
    *((f"CHANGED (whole|all)? <{what}>? (of)? {_WITH_EC}", Phrase(_change)) for what in ("volume", "share")),
    ("full|complete|total CHANGE $$", Phrase(_change)),
    ("<share> CHANGE $$", Phrase(_change)),
    ("DUMPED (TANK|WATER)? ((with|w)? <volume>)?" + _WITH_FEED, Phrase(_change)),
    (
        "DRAINED|TOOKOUT <volume> (of)? (WATER|TANK)? (and|&|,) TOPPED|ADDED <volume:refill>? (of)? "
        "(fresh|new|clean|plain)? WATER?",
        Phrase(_change),
    ),
    ("DRAINED|TOOKOUT <share> of? (WATER|TANK)? (and|&|,) TOPPED", Phrase(_change)),
    ("DRAINED|TOOKOUT (WATER|TANK) (and|&|,) TOPPED (with|w)? <volume>?", Phrase(_change)),
    ("CHANGED about? <share> of? (WATER|TANK)? WATER?" + _WITH_FEED, Phrase(_change)),
    ("CHANGED about? <volume> (of)? (WATER|TANK)?" + _WITH_FEED, Phrase(_change)),
    (
        "CHANGED (whole|all|complete|full)? lot? of? WATER|TANK ((with|w|for|by)? <volume>)?" + _WITH_FEED,
        Phrase(_change),
    ),
    ("<share> WATERCHANGE", Phrase(_change)),
    ("<volume> WATERCHANGE", Phrase(_change)),
    ("WATERCHANGE (of|:|-|=|with|,)? <volume>", Phrase(_change)),
    ("WATERCHANGE (of|:|-|=|with|,)? <share>", Phrase(_change)),
    ("WATERCHANGE", Phrase(_change)),
    ("WATER|TANK is|was|has|got? been? CHANGED", Phrase(_change)),
)


WATER_PHRASES: tuple[tuple[str, Phrase], ...] = (*_TOP_UPS, *_CHANGES, *DOSE_PHRASES)
"""What was done to the water, in the order in which the rows are tried."""
