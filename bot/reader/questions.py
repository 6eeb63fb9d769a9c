"""What a household asks. A question is read for what it is about; numbers, crops and sites are picked from its clause."""

from __future__ import annotations

from bot.reader.findings import Finding, Phrase, Scene, found
from bot.reader.items import Item, sites_of
from bot.reader.numbers import Number
from bot.reader.patterns import Hit
from bot.reader.plausibility import ec_from_unnamed, is_plausible
from bot.reader.water import litres_of
from domain.facts import Question, QuestionAbout

__all__ = ["QUESTION_PHRASES"]

_BY_ROLE: dict[str, QuestionAbout] = {
    "ph_down": "ph_down",
    "ph_up": "ph_up",
    "nutrient": "nutrient",
    "adjuster": "adjuster",
}
_ENDS = frozenset((".", "?", "!", "nl", ";"))


def _clause(hit: Hit) -> list[Item]:
    items = hit.line.items
    last = hit.first
    while last < len(items) and items[last].key not in _ENDS:
        last += 1
    return items[hit.first : last]


def _asked(scene: Scene, hit: Hit, about: QuestionAbout) -> Finding:
    """The question with everything that its clause gives."""
    items = _clause(hit)
    volume_l: float | None = None
    crop: str | None = None
    sites: tuple[str, ...] = ()
    for item in items:
        if item.key in ("#vol", "#oz") and volume_l is None:
            volume_l = litres_of(item, us=scene.settings.units == "us")
        elif item.key == "#crop" and crop is None:
            crop = item.value
        elif item.key == "#site":
            sites += sites_of(item)
    low, high = _from_to(items)
    ph = ec = (None, None)
    if low is not None or high is not None:
        if about in ("nutrient", "dilute") or any(item.key in ("EC", "PPM", "#ec", "#ppm") for item in items):
            ec = (_ec(scene, low), _ec(scene, high))
        else:
            ph = (_ph(low), _ph(high))
    question = Question(
        about=about,
        volume_l=volume_l,
        ph_from=ph[0],
        ph_to=ph[1],
        ec_from=ec[0],
        ec_to=ec[1],
        crop=crop,
        sites=sites or None,
    )
    return found(question, timeless=True, ends=hit.first + len(items) - 1)


def _from_to(items: list[Item]) -> tuple[Item | None, Item | None]:
    """The numbers of ``from 6.8 to 5.9``, ``6.8 -> 5.9``, ``to reach 5.9``."""
    low = high = None
    for i, item in enumerate(items):
        if item.key not in ("#num", "#ec", "#ppm"):
            continue
        before = [other.key for other in items[max(0, i - 4) : i]]
        near = before[-1] if before else ""
        if near == "from" or (before[-2:-1] == ["from"] and near in ("PH", "EC", "PPM")):
            low = item
        elif near in ("to", ">", "reach", "get", "until", "till", "target") or (
            before[-2:-1] and before[-2] in ("to", "reach", "get") and near in ("PH", "EC", "PPM", "be", "to", "reach")
        ):
            high = item
            if low is None and near in ("to", ">"):
                previous = [other for other in items[:i] if other.key == item.key]
                low = previous[-1] if previous else None
        elif near in ("PH", "EC", "PPM", "is", "at") and low is None:
            low = item
    return low, high


def _ph(item: Item | None) -> float | None:
    if item is None or not isinstance(item.value, Number) or not is_plausible("ph", item.value.value):
        return None
    return item.value.value


def _ec(scene: Scene, item: Item | None) -> float | None:
    if item is None:
        return None
    if item.key == "#ec":
        return float(item.value.value)
    if item.key == "#ppm":
        return float(item.value.value) / scene.settings.ppm_scale
    value = item.value.value
    if value >= 100 and scene.settings.strength_unit == "ppm":
        return float(value) / scene.settings.ppm_scale
    ec_ms_cm = ec_from_unnamed(value)
    return None if isinstance(ec_ms_cm, str) else ec_ms_cm


def _about(about: QuestionAbout) -> Phrase:
    return Phrase(lambda scene, hit: _asked(scene, hit, about), stated=False)


def _about_product(scene: Scene, hit: Hit) -> Finding | None:
    product = hit.item("product") or hit.item("adjuster")
    about = _BY_ROLE.get(str(product.value)) if product is not None else None
    return None if about is None else _asked(scene, hit, about)


def _needs_volume(scene: Scene, hit: Hit) -> Finding | None:
    """``ph down for 10 gal from 6.8 to 5.9``: an amount asked for with no asking word."""
    return _about_product(scene, hit)


_HOW_MUCH_MORE = "more? (ml|of|drops|#cnt|the)?"

QUESTION_PHRASES: tuple[tuple[str, Phrase], ...] = (
    ("HOWMUCH more? (ml|grams|g|drops|scoops|squirts|tsp|mls)? of? <product>", Phrase(_about_product, stated=False)),
    ("HOWMUCH more? (ml|grams|g|drops|scoops|squirts|tsp|mls)? of? ADJUSTER", _about("adjuster")),
    ("HOWMUCH for <volume>", _about("adjuster")),
    ("<product> for <volume>", Phrase(_needs_volume, stated=False)),
    ("ADJUSTER for? <volume>", _about("adjuster")),
    ("SHOULD TOPUP|TOPPED", _about("top_up")),
    ("SHOULD ADD|ADDED some? more? <product>", Phrase(_about_product, stated=False)),
    ("SHOULD ADD|ADDED some? more? WATER", _about("top_up")),
    ("SHOULD ADD|ADDED some? more?", _about("adjuster")),
    ("WHATS in|on|at <sites>", _about("site")),
    ("WHY is|has|are|does|do|did? PH|EC|PPM|TEMP|WTEMP|LEVEL|WATER|TANK", _about("why")),
    ("WHATIF i|we ADD|ADDED", _about("what_if")),
)
