"""Phrases about doses: what was poured or weighed into the water, and how much of it."""

from __future__ import annotations

from bot.reader.dilutions import thinned
from bot.reader.fillers import words
from bot.reader.findings import Finding, Phrase, Scene, found, no
from bot.reader.items import Item
from bot.reader.numbers import Quantity
from bot.reader.patterns import Hit
from bot.reader.plausibility import dose_is_plausible
from domain.facts import Dose, Fact, ProductRole
from domain.units import OUNCE_G, US_FLUID_OUNCE_ML

__all__ = ["DOSE_PHRASES", "amount_of", "is_listed", "unknown_unit"]

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


def _signed_ph(scene: Scene, hit: Hit) -> Finding | None:
    """``pH- 4 ml``, ``4 ml pH+``: the bottles as their labels call them."""
    amount = hit.item("amount")
    if amount is None:
        return None
    dose = _dose_of(amount, "ph_down" if "-" in hit.match[0].split() else "ph_up", None)
    return dose if isinstance(dose, Finding) else Finding((dose,))


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
    if amount is None or not name:
        return None
    following = [item.key for item in hit.line.items[hit.last + 1 : hit.last + 3]]
    if following and following[0] in ("to", "in", "into", "for") and following[-1] not in _INTO_TANK:
        return None
    if name.lower() in _MIXES:
        return no("ambiguous")
    near = scene.mender.nearest(name.lower(), scene.names.products)
    if not near and _KITCHEN & {item.key for item in hit.items("name")}:
        return None
    if len(near) > 1:
        return no("ambiguous", *(f"added {hit.typed('amount')} {own or role}" for role, own in near))
    role, own = near[0] if near else ("other", name)
    dose = _dose_of(amount, role, own or None)
    return dose if isinstance(dose, Finding) else found(dose)


def is_listed(hit: Hit) -> bool:
    """Whether the phrase goes on with what was added before it: ``added 5 ml down and 2 l water``."""
    keys, i = hit.line.around, hit.first - 1
    if i < 1 or keys[i] not in ("and", ",", "+", "&"):
        return False
    while i > 0 and keys[i] not in _SENTENCE_ENDS and keys[i] != "ADDED":
        i -= 1
    return keys[i] == "ADDED"


def _listed_other(scene: Scene, hit: Hit) -> Finding | None:
    """``added 15 ml grow and 5 ml bloom``: the second of what was added."""
    is_plain = all(item.key.isalpha() and item.key.islower() for item in hit.items("name"))
    return _dose_other(scene, hit) if is_plain and is_listed(hit) else None


def _missing_unit(scene: Scene, hit: Hit) -> Finding | None:
    return no("missing_value")


def _order_or_record(scene: Scene, hit: Hit) -> Finding | None:
    """``add 5 ml down`` may be an order to somebody or a note of what was done."""
    amount = hit.item("amount")
    if amount is None or not amount.value.finite:
        return None
    return no("ambiguous", f"added {hit.line.cleaned.raw(amount.start, hit.line.items[hit.last].end)}")


def unknown_unit(scene: Scene, hit: Hit) -> Finding | None:
    """An amount in a unit that nobody knows the size of: ``5 glugs``."""
    return no("unknown")


def _without_fillers(hit: Hit) -> str:
    """The name of what was dosed as typed, without words that name nothing."""
    items = hit.items("name")
    while items and items[-1].key in _FILLERS:
        items = items[:-1]
    while items and items[0].key in _FILLERS:
        items = items[1:]
    return hit.line.cleaned.raw(items[0].start, items[-1].end) if items else ""


_SENTENCE_ENDS = frozenset((".", ";", "nl", "!", "?"))
_NO_NAME = words("to in into for with on at from and then by per each over off")
_FILLERS = words(
    "lol haha hehe today again now more too already ok okay btw tho though earlier twice before "
    "then extra it yes well "
    "maybe i think we later just and still him them myself"
)

_SPLASHES = "glug|glugs|splash|splashes|dash|dashes|shot|shots|spoon|spoons|handful|handfuls"
"""What people pour by that has no size."""

_DOSE, _PARTS = Phrase(thinned(_dose)), Phrase(thinned(_parts))

DOSE_PHRASES: tuple[tuple[str, Phrase], ...] = (
    (
        "<after>? ADDED? <amount> each? of? (part|FOOD|bottle)? <part> (and|&|+|/ <part:other>)?",
        _PARTS,
    ),
    ("<after>? ADDED? <amount> (of|from)? (diluted|dilute)? <product>", _DOSE),
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
    ("ADDED? <amount> (of)? PH -|+ $$", Phrase(thinned(_signed_ph))),
    ("ADDED? PH -|+ <amount>", Phrase(thinned(_signed_ph))),
    ("ADDED <number> of <product>", Phrase(_missing_unit)),
    ("ADDED <number> <some:unit> of? <product>", Phrase(unknown_unit)),
    (f"<number> {_SPLASHES} of? <product>", Phrase(unknown_unit)),
    (
        f"ADDED <number> {_SPLASHES}",
        Phrase(unknown_unit),
    ),
    ("ADDED <number> of? <product>", Phrase(_missing_unit)),
    ("ADDED <number> ((to|in|into) TANK|WATER|it)? $$", Phrase(_missing_unit)),
    ("ADDED glug|splash|dash|shot|handful of <product>", Phrase(unknown_unit)),
    ("ADDED some|more|few|bit (drops|bit|more)? of? <product>", Phrase(_missing_unit)),
    ("ADDED #prod|FOOD ((to|in|into) TANK|WATER|#tank|it)? $$", Phrase(_missing_unit)),
    ("ADDED <amount> of? <some:name> $", Phrase(thinned(_dose_other))),
    ("<amount> of? <some:name> $", Phrase(thinned(_listed_other))),
    ("ADDED <amount> ((to|in|into) TANK|WATER|it)? $$", Phrase(_missing_unit)),
)
"""What was dosed, in the order in which the rows are tried."""
