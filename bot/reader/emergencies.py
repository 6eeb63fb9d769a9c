"""Trouble: somebody hurt, far too much poured in, water or power where it should not be or not be missing.

Tried before everything else, on the whole message, so that no talk around it can hide it.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

from bot.reader.doses import amount_of
from bot.reader.exposures import exposure_in
from bot.reader.fillers import words
from bot.reader.items import Item, Line
from bot.reader.numbers import Number
from bot.reader.overdoses import is_overdose
from domain.facts import Emergency, EmergencyAbout, ProductRole

__all__ = ["Alarm", "alarm_in"]

_BODY = (
    "eye|eyes|mouth|skin|face|hand|hands|arm|arms|finger|fingers|lip|lips|nose|throat|leg|foot|"
    "feet|tongue|lungs|neck|wrist"
)
_CHEMICAL = (
    "#prod|ADJUSTER|hydroxide|koh|lye|phosphoric|nitric|sulfuric|sulphuric|citric|bleach|chemical|chemicals|"
    "solution|concentrate|fertilizer|acid|BASE|nutrients|nutes"
)
_POURED = "#prod|DOWN|UP|BASE|FOOD|ADJUSTER|#part"
_DRANK = "drank|drunk|swallowed|swallowing|swallow|ate|licked|sipped|inhaled|ingested|drinked|drinking|tasted"
_SMALL_ONES = (
    "toddler|baby|child|kid|kids|children|son|daughter|boy|girl|infant|grandson|granddaughter|"
    "dog|puppy|cat|kitten"
)
_IT = "it|some|this|that|something"
_RUNS = "working|running|pumping|on|work|run|start|starting|going|turn|works|runs"
_TANKS = "TANK|tower|system|WATER|tub|pipe|pipes|hose|fitting|seal|pump|PUMP|floor|it's|everywhere"
_STOPPED = (
    "DIED|stopped|broken|broke|dead|seized|jammed|burnt|burned|silent|quit|stuck|failed|fail|"
    "fails|kaput|bust|busted|stoped|stoppd|stopt|stpped"
)


@dataclass(frozen=True)
class _Near:
    """The parts in this order, in one sentence, with up to ``gap`` items between.

    parts : for each the keys that it may be.
    """

    parts: tuple[frozenset[str], ...]
    gap: int

    @cached_property
    def pattern(self) -> re.Pattern[str]:
        between = rf"(?:(?![.;!?] |nl )[^ ]+ ){{0,{self.gap}}}?"
        parts = ("|".join(sorted(map(re.escape, part), key=len, reverse=True)) for part in self.parts)
        return re.compile(r"(?:^|(?<= ))" + between.join(rf"(?:{part}) " for part in parts))

    def in_line(self, line: Line, keys: frozenset[str]) -> Iterator[re.Match[str]]:
        """Every place where the parts stand near one another. ``keys``: all keys of the line."""
        if any(part.isdisjoint(keys) for part in self.parts):
            return iter(())
        return self.pattern.finditer(line.keys)


def _near(*parts: str, gap: int = 5) -> _Near:
    return _Near(tuple(frozenset(part.split("|")) for part in parts), gap)


_DEVICES = (
    "plug|socket|outlet|PUMP|LIGHTS|TIMER|TANK|heater|adapter|adaptor|charger|cable|wire|wires|fan|extension"
)
_ADJUSTERS = "#prod|ADJUSTER|acid|BASE"
_MIXED = "mixed|mixing|mix|combined|ADDED"
_REACTED = (
    "together|boiled|boiling|boils|hot|fizzed|fizzing|smoked|smoking|steam|steamed|exploded|bubbled|bubbling|"
    "reacted"
)
_CLOTHES = "jeans|trousers|pants|shirt|clothes|shoe|shoes|sock|socks|sleeve|jumper|dress|shorts|apron"
_BURNS = "burn|burns|burning|sting|stings|stinging"

_RULES: tuple[tuple[EmergencyAbout, _Near], ...] = (
    ("exposure", _near(_CHEMICAL, "in|into|on|onto|over|all", _BODY, gap=3)),
    (
        "exposure",
        _near(
            "GOT|splashed|spilled|spilt|sprayed|dripped", "DOWN|UP|FOOD", "in|into|on|onto|over", _BODY, gap=3
        ),
    ),
    ("exposure", _near("splashed|splash|sprayed|squirted|spilled|spilt", _BODY)),
    ("exposure", _near(_BODY, "burns|burning|stings|stinging|burnt|burned|burn|sting", _CHEMICAL)),
    ("exposure", _near(_CHEMICAL, "burned|burnt|burns|burning|stings", _BODY)),
    ("exposure", _near("burned|burnt", _BODY, "with|on|from", _CHEMICAL)),
    ("exposure", _near(_DRANK, f"{_CHEMICAL}|FOOD|TANK", gap=3)),
    # What was drunk or got into an eye need not be named: nobody writes of a child's milk in this chat.
    (
        "exposure",
        _near(_SMALL_ONES, "drank|drunk|drinked|drinking|swallowed|swallowing|licked|sipped", _IT, gap=1),
    ),
    ("exposure", _near("he|she|they|i|someone|somebody", "swallowed|swallowing|ingested", _IT, gap=1)),
    (
        "exposure",
        _near("GOT|get|splashed|squirted|dripped", f"{_IT}|drop|drops|splash", "in|into", "eye|eyes", gap=2),
    ),
    ("exposure", _near("GOT|get|splashed|spilled|spilt", _IT, "on|onto|over", "skin", gap=2)),
    ("exposure", _near("in|into", "eye|eyes", "burns|burning|burn|stings|stinging|hurts", gap=2)),
    (
        "exposure",
        _near("breathed|inhaled|inhaling|breathing", "fumes|vapour|vapor|vapours|acid|#prod|chlorine"),
    ),
    ("exposure", _near("FOOD", "in|into|on|onto|over", _BODY, gap=2)),
    ("exposure", _near("#prod|acid|BASE|DOWN", "in|on|onto|over|all", _CLOTHES, gap=2)),
    ("exposure", _near(_ADJUSTERS, "on|onto|over", "dog|puppy|cat|kitten", gap=1)),
    ("exposure", _near("dog|puppy|cat|kitten", "GOT", "into", _ADJUSTERS, gap=1)),
    ("exposure", _near("eye|eyes|throat|lungs|hands", _BURNS, gap=2)),
    ("exposure", _near(f"{_ADJUSTERS}|FOOD", "getrunken|verschluckt|geschluckt|bebido|tragado", gap=2)),
    # Bleach and acid give off chlorine; acid and base together boil over.
    ("exposure", _near(_MIXED, "bleach|chlorine|ammonia", _ADJUSTERS, gap=3)),
    ("exposure", _near(_MIXED, _ADJUSTERS, "bleach|chlorine|ammonia", gap=3)),
    ("exposure", _near("bleach", "and|with|into|in|&|+", _ADJUSTERS, "mixed|together", gap=2)),
    ("exposure", _near("mixed|mixing|mix|combined", "#prod", "and|with|&|+", "#prod", gap=0)),
    ("exposure", _near("mixed|mixing|combined|ADDED", "#prod", "#prod", _REACTED, gap=4)),
    ("exposure", _near("smells|smell|smelled|smelt|stinks|reeks", "chlorine|bleach|burning|smoke", gap=3)),
    # Fire and shock
    ("exposure", _near("smoke|sparks|flames|fire", "from|on|in|at|inside|near", _DEVICES, gap=2)),
    ("exposure", _near(_DEVICES, "smoking|sparking|sparks|sparked|arcing|melted|melting", gap=2)),
    ("exposure", _near(_DEVICES, "on|caught|catches", "fire", gap=1)),
    ("exposure", _near("electrocuted")),
    ("exposure", _near("WATER|TANK|PUMP", "tingles|tingling|zaps|zapped", gap=1)),
    ("exposure", _near("burning|burnt|gas|chlorine", "smell|smells", gap=0)),
    ("exposure", _near("fumes|gas", "coughing|choking|dizzy", gap=5)),
    (
        "exposure",
        _near("fumes|gas|vapour|vapours|vapors", "from|of|off", "bleach|chlorine|ammonia|#prod|acid", gap=1),
    ),
    ("exposure", _near("coughing|choking|dizzy|faint", "fumes|gas|bleach|chlorine", gap=5)),
    (
        "exposure",
        _near("LIGHTS|lamp|plug|socket|charger|cable|fan", "fell|dropped", "in|into", "TANK|WATER", gap=2),
    ),
    ("exposure", _near("dropped", "LIGHTS|lamp|plug|socket|charger|fan", "in|into", "TANK|WATER", gap=2)),
    ("exposure", _near("there|there's", "smoke|fire|sparks|flames", gap=1)),
    ("exposure", _near(_DEVICES, "shocked|zapped|electrocuted", gap=2)),
    ("exposure", _near(_DEVICES, "ADDED|gives", "shock|shocks", gap=2)),
    ("exposure", _near("shocked|zapped", "by|from|touching", _DEVICES, gap=2)),
    ("overdose", _near("ADDED|ADD|TOPPED", "#vol|#mass|#cnt|#oz|#num", "instead")),
    ("overdose", _near("accidentally|mistakenly", "ADDED", "#vol|#mass|#cnt|#oz", _POURED, gap=2)),
    (
        "overdose",
        _near("ADDED", "#vol|#mass|#cnt|#oz", _POURED, "by", "accident|mistake", gap=3),
    ),
    ("overdose", _near("way|far|much", "too", "much", "#prod|ADJUSTER", gap=1)),
    ("overdose", _near("ADDED|used", "#prod|FOOD", "instead|not", gap=2)),
    ("overdose", _near("ADDED", "#vol|#mass|#cnt|#oz", "not", gap=4)),
    ("overdose", _near("overdosed|overdose|overdosing|overfed")),
    ("overdose", _near("ADDED|ADD", "too", "much", _POURED, gap=2)),
    ("overdose", _near("too", "much", _POURED, "in|into", "TANK|#tank|WATER", gap=1)),
    ("overdose", _near("ADDED|ADD", "too", "many", "#cnt|drops|squirts|scoops|pumps|capfuls", gap=2)),
    ("overdose", _near("ADDED", "x|times|double|triple|twice", "dose|amount|recommended|ADDED", gap=2)),
    ("overdose", _near("ADDED|ADD", "whole|entire|full", "bottle|jug|bag|BOTTLE", gap=1)),
    (
        "spill",
        _near(
            "spilled|spilt|spill|spilling|spills", f"{_POURED}|bottle|chemical|chemicals|solution|TANK|WATER"
        ),
    ),
    ("spill", _near(f"{_CHEMICAL}|DOWN|bottle", "spilled|spilt|spill|everywhere|leaked")),
    ("spill", _near("bottle|BOTTLE|canister|jug", "exploded|burst", gap=1)),
    ("spill", _near("knocked|dropped", "bottle", "over|#prod|acid|DOWN", gap=3)),
    (
        "spill",
        _near(
            f"{_CHEMICAL}|DOWN|FOOD",
            "bottle|BOTTLE|jug|canister",
            "tipped|PINCHED|fell|fallen",
            "over",
            gap=1,
        ),
    ),
    ("spill", _near("knocked", "over", f"{_CHEMICAL}|DOWN|FOOD", "bottle|jug|canister", gap=1)),
    (
        "leak",
        _near(
            _TANKS, "leak|leaking|leaks|leaked|flooded|flooding|overflowing|overflowed|overflow|burst|cracked"
        ),
    ),
    ("leak", _near("leak|leaking|leaks|leaked|flooded|flood|flooding|overflowing|overflowed|burst", _TANKS)),
    (
        "leak",
        _near("leak|leaking|WATER", "on|onto|into", "power|socket|sockets|outlet|extension", gap=2),
    ),
    ("leak", _near("WATER", "everywhere|floor|carpet|downstairs")),
    ("leak", _near("WATER", "running|coming|pouring|dripping", "out", "TANK|bottom", gap=1)),
    ("leak", _near("WATER", "running|coming|pouring|dripping", "from", "TANK|bottom", gap=1)),
    ("leak", _near("puddle|puddles", "under|below|beneath|around", "TANK|tower|PUMP", gap=1)),
    ("pump_stopped", _near("PUMP", _STOPPED, gap=3)),
    ("pump_stopped", _near("PUMP", "no", "WATER", gap=2)),
    ("pump_stopped", _near("PUMP", "no", "flow", gap=2)),
    ("pump_stopped", _near("no", "flow|WATER", "from", "PUMP", gap=1)),
    (
        "pump_stopped",
        _near("PUMP", "isn't|isnt|not|wont|won't|doesn't|doesnt|no|stop|hasn't|didn't", _RUNS, gap=3),
    ),
    ("pump_stopped", _near("PUMP", "is|has|went|just|are|s", "out|off|gone|DOWN|down", gap=0)),
    ("pump_stopped", _near("PUMP", "off|out", "!|nl|,|.", gap=0)),
    ("pump_stopped", _near("dead|broken|failed|DIED|seized|jammed|burnt", "PUMP", gap=0)),
    (
        "power_cut",
        _near(
            "power|power's|electricity|electricity's|electric|mains",
            "cut|out|outage|failure|off|gone|AWAY|failed|tripped|died|DIED|down|DOWN|went",
            gap=2,
        ),
    ),
    ("power_cut", _near("power|electricity", "PICKED|EMERGED", gap=0)),
    ("power_cut", _near("blackout|powercut|outage")),
    ("exposure", _near("electric|electrical|GOT", "shock|shocked|electrocuted", gap=1)),
    ("power_cut", _near("no|without|lost", "power|electricity", gap=0)),
    ("power_cut", _near("LOST", "power|electricity", gap=0)),
    ("power_cut", _near("tripped|blew|popped", "breaker|fuse|rcd|gfci", gap=1)),
    ("power_cut", _near("breaker|fuse|rcd|gfci", "tripped|blew|blown|popped", gap=2)),
)

_NOT_NOW = words(
    "WHATIF if when would could should prevent avoid REMIND unless no never fixed repaired solved check "
    "without don't dont almost nearly might may risk case CHECKED stopped leaking"
)
_SENTENCE_ENDS = frozenset((".", "!", "?", "nl", ";"))


_LEAKS = frozenset(("leak", "leaking", "flood", "flooding", "overflow", "overflowing"))
_SHORT_LEAK = _LEAKS | words(
    "help there is theres we have GOT HAVE there's a ! it it's its big . , omg oh no shit quick urgent sos"
)
"""A message of these words alone is a cry for help."""


@dataclass(frozen=True, slots=True)
class Alarm:
    """An emergency, and the items that say it."""

    fact: Emergency
    first: int
    last: int


def alarm_in(line: Line) -> Alarm | None:
    """The emergency that a message tells of, if it tells of one."""
    keys = frozenset(item.key for item in line.items)
    denied = line.around[0] == "no" and line.around[1] in _LEAKS
    if keys <= _SHORT_LEAK and not keys.isdisjoint(_LEAKS) and not denied:
        return Alarm(Emergency(about="leak"), 0, len(line.items) - 1)
    for about, rule in _RULES:
        for match in rule.in_line(line, keys):
            first = bisect_left(line.places, match.start())
            last = bisect_left(line.places, match.end()) - 1
            if _is_now(line, first, last, about):
                return Alarm(_fact(line, about, first, last), first, last)
    hurt = exposure_in(line)
    return None if hurt is None else Alarm(_fact(line, "exposure", *hurt), *hurt)


def _is_now(line: Line, first: int, last: int, about: EmergencyAbout) -> bool:
    """Whether it is told as having happened: no ``if``, ``no`` or ``fixed`` before it."""
    for i in range(first - 1, -1, -1):
        key = line.items[i].key
        if key in _SENTENCE_ENDS:
            break
        if key in _NOT_NOW:
            return False
    if not _FITS.get(about, _always)(line, first, last):
        return False
    inside = {item.key for item in line.items[first : last + 1]}
    after = line.items[last + 1].key if last + 1 < len(line.items) else ""
    return not (
        about == "leak" and (inside & {"no", "fixed", "stopped"} or after in ("fixed", "repaired", "stopped"))
    )


def _always(line: Line, first: int, last: int) -> bool:
    return True


def _is_power_cut(line: Line, first: int, last: int) -> bool:
    """The power of the house, not of a phone or of love."""
    before = line.items[first - 1].key if first else ""
    after = line.items[last + 1].key if last + 1 < len(line.items) else ""
    if line.items[last].key == "EMERGED" and not line.typed(last, last).lower().endswith("out"):
        return False
    beyond = {item.key for item in line.items[last + 1 : last + 4]}
    return before not in _OTHER_POWER and (after not in _NO_CUT or (after == "in" and bool(beyond & _HOMES)))


_NO_CUT = words("over to nap of bank in PICKED cut cuts outage outages failure failures")
"""``lost power over me``; ``no power cut`` has lost none."""
_HOMES = words("house home flat apartment building kitchen street")
_OTHER_POWER = words("phone laptop battery car star will flower horse have wind solar girl")


def _is_exposure(line: Line, first: int, last: int) -> bool:
    """Food that is meant for people hurts nobody, nor does a test of the alarm or an onion."""
    inside = line.items[first : last + 1]
    low, high = _sentence(line, first, last)
    words_near = {item.key for item in line.items[low:high]}
    before = line.items[first - 1].key if first else ""
    if before in ("doesn't", "doesnt", "not") or (inside[0].key == "there" and before in ("is", "was")):
        return False
    if words_near & {"saw", "seeing"} and inside[-1].key == "shock":
        return False  # at a number, not at the mains
    if words_near & _HARMLESS or (any(item.key in _SMELLS for item in inside) and words_near & _TAPS):
        return False
    products = [item for item in inside if item.key == "#prod"]
    if inside[0].key in _MIXES and len(products) > 1 and len({item.value for item in products}) == 1:
        return False  # the same bottle twice
    if inside[0].key in _MIXES and _is_asked(line, first):
        return False
    foods = [item for item in line.items[first : last + 1] if item.key == "FOOD"]
    return all(line.cleaned.text[item.start : item.end] not in ("food", "feed") for item in foods)


def _is_asked(line: Line, first: int) -> bool:
    """``can I mix``, ``is it safe to add``: not done yet, unlike ``can you help, I mixed``."""
    before = {item.key for item in line.items[max(first - 4, 0) : first]}
    return line.typed(first, first).lower() in ("mix", "add", "put", "pour") and not before.isdisjoint(_MAY)


_MAY = words("can could may safe ok okay SHOULD should")
_HARMLESS = words("alarm detector drill onion onions chili chilli soup shampoo soap sunscreen")
_SMELLS = words("smells smell smelled smelt stinks reeks")
_TAPS = words("tap mains pool AWAY away")
_MIXES = words("mixed mixing mix combined ADDED")


def _is_unwanted_stop(line: Line, first: int, last: int) -> bool:
    """A pump that stands still to be cleaned is no trouble."""
    return not any(item.key in _UPKEEP for item in line.items[last + 1 : last + 7])


_UPKEEP = words("clean cleaning CLEAN RINSED maintenance wash washing service servicing")

_FITS: dict[EmergencyAbout, Callable[[Line, int, int], bool]] = {
    "power_cut": _is_power_cut,
    "pump_stopped": _is_unwanted_stop,
    "overdose": is_overdose,
    "exposure": _is_exposure,
}


def _fact(line: Line, about: EmergencyAbout, first: int, last: int) -> Emergency:
    """The emergency with the product and the amount that its sentence gives."""
    product: ProductRole | None = None
    amount: Item | None = None
    low, high = _sentence(line, first, last)
    for i in range(low, high):
        item = line.items[i]
        if (
            product is None
            and item.key in ("#prod", "DOWN", "UP", "BASE", "FOOD")
            and item.value != "adjuster"
        ):
            product = item.value
        if amount is None and item.key in ("#vol", "#mass", "#cnt", "#oz"):
            amount = item
    if amount is not None and amount.key == "#mass" and product is None:
        amount = None  # ``picked 120 g basil, my hands sting``
    if about not in ("exposure", "overdose", "spill"):
        return Emergency(about=about)
    if amount is None:
        return Emergency(about=about, product=product)
    value, unit = amount_of(amount, product or "", line.keys)
    number = line.items[first + 1] if first + 1 <= last else None
    if (
        about == "overdose"
        and number is not None
        and isinstance(number.value, Number)
        and amount is not number
    ):
        scale = value / amount.value.typed if amount.value.typed else 1
        value = number.value.value * scale
    return Emergency(about=about, product=product, amount=value, unit=unit)


def _sentence(line: Line, first: int, last: int) -> tuple[int, int]:
    low, high = first, last + 1
    while low > 0 and line.items[low - 1].key not in _SENTENCE_ENDS:
        low -= 1
    while high < len(line.items) and line.items[high].key not in _SENTENCE_ENDS:
        high += 1
    return low, high
