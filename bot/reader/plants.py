"""Phrases about plants: one verb, and around it in any order a crop, sites, a count, a lot, a reason."""

from __future__ import annotations

from typing import Literal

from bot.reader.fillers import words
from bot.reader.findings import Builder, Finding, Phrase, Scene, found, no
from bot.reader.gather import MAX_CLAUSE_ITEMS, SEED_WORDS, Group, Lot, clause_end, gather, lot_in
from bot.reader.items import Item, Line, sites_of
from bot.reader.numbers import Number, Quantity
from bot.reader.patterns import Hit
from bot.reader.plausibility import MAX_HARVEST_G
from bot.reader.result import Reason
from domain.facts import (
    Emerged,
    Fact,
    Harvest,
    Lost,
    Moved,
    Removed,
    Reseed,
    Sow,
    StageSeen,
    Tended,
    TendTask,
)
from domain.vocabulary import GrowthStage

__all__ = ["PLANT_PHRASES", "plant_finding"]

_TENDING: dict[str, TendTask] = {
    "THINNED": "thin",
    "PRUNED": "prune",
    "PINCHED": "pinch",
    "TRAINED": "train",
    "POLLINATED": "pollinate",
}
_STAGES: dict[str, Literal["flowering", "fruiting", "bolting"]] = {
    "FLOWERING": "flowering",
    "FRUITING": "fruiting",
    "BOLTING": "bolting",
}
_ENDINGS = frozenset(("DIED", "DAMPED", "CAUSE", "LOST"))
_OF_ANY_CROP = words(
    "leaves leaf fruit fruits berries salad greens herbs stuff tops top sprigs stems flowers buds pods outer "
    "lower inner rest last half everything crop harvest some lots loads plenty yesterday tasty yummy"
)
_PARTS = words("leaves leaf roots tips edges stem stems branch branches flowers buds bud")
"""Parts of a plant: where they die, the plant still stands."""

_PLACES = words(
    "tower tank TANK tray trays plug plugs pods pod cups cup rockwool cubes sponge sponges pots "
    "pot water WATER system "
    "garden home kitchen soil window it them there new nursery propagator dome seedling starter "
    "basement garage top "
    "bottom middle back front row light LIGHTS house paper towel jar tub bed beds"
)
"""Where seed may go besides a site that has a name."""


def plant_finding(scene: Scene, verb: int, start: int) -> tuple[int, int, Finding] | None:
    """What the clause around the verb at item ``verb`` says: (first item, last item, finding).

    start : the clause's first item; a subject stands before its verb.
    """
    line = scene.line
    key = line.items[verb].key
    start = max(start, verb - MAX_CLAUSE_ITEMS)
    end = clause_end(line, verb)
    continues = start > 0 and line.around[start - 1] == "and"
    if not continues and not any(key in _PLANT_KEYS or key >= "a" for key in line.around[start:end]):
        return None  # no plant, no place, no plain word that may be one misspelt
    lot = lot_in(line, verb, end)
    groups = gather(line, start, end, verb, lot)
    if continues and not any(group.crop or group.sites for group in groups):
        start = _start_before(line, start - 1)  # ``A1 wilted and died``
        groups = gather(line, start, end, verb, lot)
    said = [item for i, item in enumerate(line.items[verb:end], verb) if lot is None or i < lot.first]
    if any(_is_no_number(item) for item in said) and any(group.crop or group.sites for group in groups):
        return start, end - 1, no("implausible")
    finding = _facts(scene, key, verb, groups, lot, end)
    if finding is None:
        return None
    return start, _end_of_culprit(line, key, end) - 1, finding


_PLANT_KEYS = frozenset(("#crop", "#site"))


def _start_before(line: Line, i: int) -> int:
    """The first item of the clause that ends before item ``i``."""
    start = i
    while start and i - start < MAX_CLAUSE_ITEMS and line.items[start - 1].key not in _CLAUSE_MARKS:
        start -= 1
    return start


_CLAUSE_MARKS = frozenset((",", ".", ";", "!", "?", "nl", "and", "but", "then"))


def _is_no_number(item: Item) -> bool:
    """A negative number, or one that is not finite."""
    return item.negative or (isinstance(item.value, Number | Quantity) and not item.value.finite)


def _facts(
    scene: Scene, key: str, verb: int, groups: list[Group], lot: Lot | None, end: int
) -> Finding | None:
    """The facts of the clause, one for each crop."""
    line = scene.line
    has_seed_word = _has_seed_word(line, verb, end)
    if key in ("SOWED", "RESOWED"):
        if len(groups) > 1 and _are_many(groups[-1].sites) and not any(group.sites for group in groups[:-1]):
            return no("ambiguous")  # which of the crops went where
        if _has_unknown_site(line, verb, end, groups):
            return no("unknown")
    facts: list[Fact] = []
    reason: Reason | None = None
    for group in groups:
        if key in ("PICKED", "GOT") and group.grams is not None and group.grams > MAX_HARVEST_G:
            return no("implausible")
        if group.crop is None and group.words and key != "GAVEUP":
            mended = _mended(scene, group)
            if len(mended) > 1:
                return no("ambiguous", *(f"{line.typed(verb, verb)} {crop}" for crop in mended))
            if mended:
                group.crop = mended[0]
            elif _wants_crop(key, group, has_seed_word or lot is not None):
                reason = "unknown"
                continue
            elif group.to_sites or (key in _ENDINGS and any(item.key in _PARTS for item in group.words)):
                return None
        fact = _fact(scene, key, verb, group, lot, end)
        if fact is not None:
            facts.append(fact)
    return Finding(tuple(facts), reason) if facts or reason else None


def _are_many(sites: tuple[str, ...]) -> bool:
    """More sites than one; a row is."""
    return len(sites) > 1 or any(site.endswith("*") for site in sites)


def _has_unknown_site(line: Line, verb: int, end: int, groups: list[Group]) -> bool:
    """``sowed basil in zorp``: a word where a site should stand."""
    if any(group.sites for group in groups) or end - verb < 3:
        return False
    if line.typed(verb, verb).lower() == "planted" and not any(group.crop for group in groups):
        return False  # ``planted a tree in the park``
    place, word = line.items[end - 2], line.items[end - 1]
    return place.key in ("in", "at") and word.key.isalpha() and word.key.islower() and word.key not in _PLACES


def _wants_crop(key: str, group: Group, is_of_seeds: bool) -> bool:
    """Whether the unknown word beside the verb should have been a crop, and is no talk of other things."""
    if key in ("SOWED", "RESOWED"):
        return bool(group.sites) or is_of_seeds or key == "RESOWED"
    if key == "PICKED" and group.sites and len(group.words) == 1:
        return group.words[0].key not in _OF_ANY_CROP and group.words[0].key.isalpha()
    return bool(group.sites) and (key == "PULLED" or bool(group.to_sites)) and len(group.words) == 1


def _has_seed_word(line: Line, verb: int, end: int) -> bool:
    return any(item.key in SEED_WORDS for item in line.items[verb:end])


def _mended(scene: Scene, group: Group) -> tuple[str, ...]:
    """What the words in the crop's place may be misspellings of."""
    if scene.mender.is_spent:
        return ()
    typed = [item.key for item in group.words if item.key.isalpha() and item.key.islower()]
    candidates = [" ".join(typed[i : i + 2]) for i in range(len(typed) - 1)] + typed
    for candidate in candidates:
        near = scene.mender.nearest(candidate, scene.names.crops)
        if near:
            return near
    return ()


def _fact(scene: Scene, key: str, verb: int, group: Group, lot: Lot | None, end: int) -> Fact | None:
    crop, sites, count = group.crop, group.sites or None, group.count
    if crop is None and sites is None and not group.to_sites:
        return None
    if key in _TENDING:
        return Tended(crop=crop, sites=sites, task=_TENDING[key])
    if key in _STAGES:
        return StageSeen(crop=crop, sites=sites, stage=_STAGES[key])
    if key == "STARTED" and (crop is None or not (sites or _has_seed_word(scene.line, verb, end))):
        return None
    if key in ("SOWED", "STARTED"):
        return Sow(crop=crop, sites=sites, count=count, lot=lot.name if lot else None)
    if key == "RESOWED":
        return Reseed(crop=crop, sites=sites, count=count, lot=lot.name if lot else None)
    if key == "EMERGED":
        return Emerged(crop=crop, sites=sites, count=count)
    if key == "MOVED":
        if not group.to_sites:
            return None
        return Moved(crop=crop, from_sites=sites, to_sites=group.to_sites)
    if key == "GOT" and group.grams is None:
        return None
    if key in ("PICKED", "GOT") and _is_shopping(scene.line, verb, end):
        return None
    if key in ("PICKED", "GOT"):
        return Harvest(crop=crop, sites=sites, grams=group.grams, count=count)
    if key in ("PULLED", "TOOKOUT"):
        return Removed(crop=crop, sites=sites)
    return Lost(crop=crop, sites=sites, count=count, reason=_reason(scene.line, verb, end))


def _is_shopping(line: Line, verb: int, end: int) -> bool:
    """``picked up basil``, ``got basil from the shop``."""
    if verb + 1 < end and line.items[verb + 1].key in ("UP", "up"):
        return True
    return any(item.key in _SHOPS for item in line.items[verb:end])


_SHOPS = words("shop store market supermarket grocery shops deli garden_centre")


def _end_of_culprit(line: Line, key: str, end: int) -> int:
    """The item after ``, slugs``, which may follow a loss; ``end`` where nothing of the kind does."""
    if key not in ("LOST", "DIED") or line.around[end] != ",":
        return end
    after = end + 1
    while line.around[after] in _HINTS:
        after += 1
    return after + 1 if line.around[after] in _CULPRITS and line.around[after + 1] in _CLAUSE_ENDS else end


_HINTS = words("damn bloody the some think maybe it was i by too because of")
_CULPRITS = words(
    "slug slugs snail snails caterpillar caterpillars aphid aphids mites thrips rot mould mold mildew fungus "
    "heat cold frost drought cat dog mice mouse rats birds hot dry wet overwatering overfeeding"
)
_CLAUSE_ENDS = frozenset(("", ",", ".", ";", "!", ")", "nl", "and"))


def _reason(line: Line, verb: int, end: int) -> str | None:
    """The cause that the clause names, as typed."""
    behind = _end_of_culprit(line, line.items[verb].key, end)
    if behind > end:
        culprit = behind - 1
        return line.typed(culprit - (line.around[culprit - 1] == "too"), culprit)
    for i in range(verb, end):
        if line.items[i].key in ("DAMPED", "CAUSE"):
            goes_on = (
                i + 2 < end and line.items[i + 1].key in ("by", "from") and line.items[i + 2].key[0] != "#"
            )
            return line.typed(i, end - 1 if goes_on else i)
    if line.items[verb].key in ("LOST", "DIED"):
        for i in range(verb + 1, end - 1):
            if line.items[i].key in ("to", "from", "because", "due") and line.items[i + 1].key != "#site":
                first = i + 2 if line.items[i].key == "due" or line.items[i + 1].key == "of" else i + 1
                return line.typed(first, end - 1) if first < end else None
    return None


def _given_up(scene: Scene, hit: Hit) -> Finding | None:
    """``nothing in C3, gave up``."""
    crop, sites = hit.item("crop"), hit.item("sites")
    return found(Lost(crop=crop.value if crop else None, sites=sites_of(sites) if sites else None))


def _up(scene: Scene, hit: Hit) -> Finding | None:
    """``A1 up``, ``3 of 4 basil up``."""
    crop, sites, number = hit.item("crop"), hit.item("sites"), hit.item("number")
    count = number.value.value if number is not None and isinstance(number.value, Number) else None
    if count is not None and not (count.is_integer() and count > 0):
        return None
    return found(
        Emerged(
            crop=crop.value if crop else None,
            sites=sites_of(sites) if sites else None,
            count=int(count) if count else None,
        )
    )


def _first(stage: GrowthStage) -> Builder:
    """``first strawberry fruit``."""

    def build(scene: Scene, hit: Hit) -> Finding | None:
        crop = hit.item("crop")
        return found(StageSeen(crop=crop.value, stage=stage)) if crop is not None else None

    return build


def _put_in(scene: Scene, hit: Hit) -> Finding | None:
    """``put 3 basil seeds in A1``."""
    crop, sites, number = hit.item("crop"), hit.item("sites"), hit.item("number")
    verb = hit.line.items[hit.first]
    if (
        crop is None
        or sites is None
        or (verb.key == "EMERGED" and hit.line.typed(hit.first, hit.first) != "popped")
    ):
        return None
    count = int(number.value.value) if number is not None and number.value.finite else None
    return found(Sow(crop=crop.value, sites=sites_of(sites), count=count or None))


def _first_sprout(scene: Scene, hit: Hit) -> Finding | None:
    """``first sprout in D1``."""
    crop, sites = hit.item("crop"), hit.item("sites")
    if crop is None and sites is None:
        return None
    return found(Emerged(crop=crop.value if crop else None, sites=sites_of(sites) if sites else ()))


PLANT_PHRASES: tuple[tuple[str, Phrase], ...] = (
    ("first <crop>? sprout|sprouts|seedling|seedlings in|at|on <sites> $$", Phrase(_first_sprout)),
    ("<sites> UP $$", Phrase(_up)),
    ("first <crop> flower|flowers|bloom|blossom $$", Phrase(_first("flowering"))),
    ("first <crop> fruit|fruits $$", Phrase(_first("fruiting"))),
    ("<number> (of #num)? <crop> UP $$", Phrase(_up)),
    ("all? <crop> UP $$", Phrase(_up)),
    ("<crop> UP in <sites>", Phrase(_up)),
    ("<crop> in? <sites> UP $$", Phrase(_up)),
    (
        "ADDED <number>? (of)? <crop> (SOW|seeds|plug|plugs|seedling|seedlings|SOW|plants)? (in|"
        "into|to|at) <sites>",
        Phrase(_put_in),
    ),
    ("EMERGED <number>? (of)? <crop> (SOW|seeds|plug|plugs)? (in|into) <sites>", Phrase(_put_in)),
    (
        "<sites> NOTHING <some>? ,? (so|and|we|i|have|has)? (so|and|we|i)? GAVEUP",
        Phrase(_given_up, stated=False),
    ),
    (
        "NOTHING (in|at|on|from|of)? <sites> <some>? ,? (so|and|we|i|have|has)? (so|and|we|i)? GAVEUP",
        Phrase(_given_up, stated=False),
    ),
    (
        "NOTHING (in|at|on|from|of)? <crop> (in|at|on)? <sites>? <some>? ,? (so|and|we|i)? (so|and|we|"
        "i)? GAVEUP",
        Phrase(_given_up, stated=False),
    ),
)
