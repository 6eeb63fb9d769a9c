"""Phrases about plants: one verb, and around it in any order a crop, sites, a count, a lot, a reason."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from bot.reader.findings import Finding, Phrase, Scene, found, no
from bot.reader.items import Item, Line, sites_of
from bot.reader.lexicon import words
from bot.reader.numbers import Number, Quantity
from bot.reader.patterns import Hit
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
from domain.units import OUNCE_G

__all__ = ["PLANT_PHRASES", "PLANT_VERBS", "plant_finding"]

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
PLANT_VERBS = (
    frozenset(
        (
            "SOWED",
            "RESOWED",
            "EMERGED",
            "DAMPED",
            "DIED",
            "CAUSE",
            "LOST",
            "GAVEUP",
            "MOVED",
            "PICKED",
            "PULLED",
            "TOOKOUT",
            "STARTED",
        )
    )
    | frozenset(_TENDING)
    | frozenset(_STAGES)
)

_ENDS = frozenset((".", ";", "!", "?", "nl", "but"))
_SOFT_ENDS = frozenset((",", "and", "then", "&"))

_PLACE_WORDS = frozenset(
    (
        "in",
        "at",
        "on",
        "into",
        "from",
        "to",
        "site",
        "sites",
        "with",
        "by",
        "off",
        "x",
        "each",
        "cups",
        "pods",
    )
)
_EMPTY_WORDS = words(
    "i we is are was were has have had been it they all both another one of more new the today "
    "now first up out down yet "
    "got did do he she me us and as again back too seems looks like so baby about around nearly "
    "few some couple extra "
    "s mine ours bit little tops bunch handful bag old big small large tiny nice ready good great "
    "fresh red green purple "
    "grams for lunch dinner salad tonight"
)
_ENDINGS = frozenset(("DIED", "DAMPED", "CAUSE", "LOST"))
_PARTS = words("leaves leaf roots tips edges stem stems branch branches flowers buds bud")
"""Parts of a plant: where they die, the plant still stands."""

_SEED_WORDS = words(
    "seed seeds plant plants plug plugs seedling seedlings sprout sprouts start starts cutting cuttings"
)


_NO_CROP = _EMPTY_WORDS | _PLACE_WORDS | _SEED_WORDS | PLANT_VERBS | _SOFT_ENDS
"""Words that stand in a crop's place and name none."""

MAX_CLAUSE_ITEMS = 40
"""Nobody says more about one crop in one go."""


@dataclass(slots=True)
class _Group:
    """What one crop's part of the clause says."""

    crop: str | None = None
    sites: tuple[str, ...] = ()
    to_sites: tuple[str, ...] = ()
    count: int | None = None
    grams: float | None = None
    words: list[Item] = field(default_factory=list)


def plant_finding(scene: Scene, verb: int, start: int) -> tuple[int, int, Finding] | None:
    """What the clause around the verb at item ``verb`` says: (first item, last item, finding).

    start : the clause's first item; a subject stands before its verb.
    """
    line = scene.line
    key = line.items[verb].key
    start = max(start, verb - MAX_CLAUSE_ITEMS)
    end = _clause_end(line, verb)
    lot, end_of_slots = _lot(line, verb, end)
    groups = _groups(line, start, end_of_slots, verb)
    if any(_is_no_number(item) for item in line.items[verb:end_of_slots]) and any(
        group.crop or group.sites for group in groups
    ):
        return start, end - 1, no("implausible")
    finding = _facts(scene, key, verb, groups, lot, end)
    if finding is None:
        return None
    return start, end - 1, finding


def _is_no_number(item: Item) -> bool:
    """A negative number, or one that is not finite."""
    return item.negative or (isinstance(item.value, Number | Quantity) and not item.value.finite)


def _clause_end(line: Line, verb: int) -> int:
    """The item after the clause: commas and ``and`` go on with the list of crops and sites."""
    items = line.items
    i = verb + 1
    while i < len(items) and i < verb + MAX_CLAUSE_ITEMS:
        key = items[i].key
        if key in _ENDS:
            return i
        if key in _SOFT_ENDS:
            following = items[i + 1].key if i + 1 < len(items) else ""
            after = items[i + 2].key if i + 2 < len(items) else ""
            goes_on = following in ("#site", "#crop", "lot", "batch", "in") or (
                following == "#num" and after in ("#crop", "#site", "seeds")
            )
            if following in ("DAMPED", "CAUSE", "GAVEUP", "BOLTING", "it", "they", "root"):
                goes_on = following != "it" or after in ("DAMPED", "CAUSE")
            later = next(
                (
                    it.key
                    for it in items[i + 1 : i + 8]
                    if it.key in PLANT_VERBS or it.key in _SOFT_ENDS or it.key in _ENDS
                ),
                "",
            )
            if goes_on and later in PLANT_VERBS and later not in ("DAMPED", "CAUSE", "GAVEUP", "BOLTING"):
                goes_on = False
            if not goes_on:
                return i
        elif key in PLANT_VERBS and key not in (
            "DAMPED",
            "CAUSE",
            "GAVEUP",
            "BOLTING",
            "FLOWERING",
            "FRUITING",
        ):
            return i
        i += 1
    return i


def _lot(line: Line, verb: int, end: int) -> tuple[str | None, int]:
    """The seed lot that follows ``lot``, as typed, and where the slots before it end."""
    for i in range(verb, end):
        if line.items[i].key in ("lot", "batch"):
            first = i + 1
            while first < end and line.items[first].key in (":", "=", "#", "no", "number", "-"):
                first += 1
            last = first
            while (
                last < end
                and line.items[last].key not in (",", ";", "nl", "!", "?")
                and not (
                    line.items[last].key in ("in", "at", "into")
                    and last + 1 < end
                    and line.items[last + 1].key == "#site"
                )
            ):
                last += 1
            if first < end:
                return _up_to(line, line.items[first].start, last, end), i
    return None, end


def _up_to(line: Line, start: int, last: int, end: int) -> str:
    """The text from ``start`` to before item ``last``, without time phrases that close it."""
    limit = line.items[last].start if last < len(line.items) else len(line.cleaned.text)
    for _, time in reversed(line.times):
        if time.start > start and not line.cleaned.text[time.end : limit].strip(" ,.;"):
            limit = time.start
    return line.cleaned.raw(start, limit).strip(" ,.;!")


def _groups(line: Line, start: int, end: int, verb: int) -> list[_Group]:
    """The crops of the clause, each with its own sites and count."""
    groups = [_Group()]
    preposition = ""
    for i in range(start, end):
        item, group = line.items[i], groups[-1]
        key = item.key
        if key == "#crop":
            if group.crop is not None and group.crop != item.value:
                groups.append(group := _Group())
            group.crop = item.value
        elif key == "#site":
            labels = sites_of(item)
            if preposition in ("to", "into", ">") or (
                preposition in ("in", "on") and group.sites and line.items[verb].key == "MOVED"
            ):
                group.to_sites += labels
            elif (
                group.sites
                and group.crop is not None
                and not _adjacent(line, i)
                and line.items[verb].key != "MOVED"
            ):
                groups.append(_Group(sites=labels))
            elif group.sites and line.items[verb].key == "MOVED" and not group.to_sites:
                group.to_sites = labels
            else:
                group.sites += labels
        elif key == "#num" and isinstance(item.value, Number):
            if item.value.finite and item.value.value.is_integer() and 0 < item.value.value <= 500:
                group.count = int(item.value.value)
        elif key in ("#mass", "#oz") and isinstance(item.value, Quantity):
            group.grams = item.value.value * (OUNCE_G if key == "#oz" else 1)
        elif i != verb and key[0].isalpha() and key not in _NO_CROP:
            group.words.append(item)
        if key in _PLACE_WORDS or key == ">":
            preposition = key
        elif key != "-":
            preposition = "" if key == "#site" else preposition
    return groups


def _adjacent(line: Line, i: int) -> bool:
    return i > 0 and line.items[i - 1].key in ("#site", "and", ",", "&")


def _facts(
    scene: Scene, key: str, verb: int, groups: list[_Group], lot: str | None, end: int
) -> Finding | None:
    """The facts of the clause, one for each crop."""
    line = scene.line
    has_seed_word = _has_seed_word(line, verb, end)
    facts: list[Fact] = []
    for group in groups:
        if group.crop is None and group.words and key != "GAVEUP":
            mended = _mended(scene, group)
            if len(mended) > 1:
                return no("ambiguous", *(f"{line.typed(verb, verb)} {crop}" for crop in mended))
            if mended:
                group.crop = mended[0]
            elif _wants_crop(key, group, has_seed_word or lot is not None):
                return no("unknown")
            elif group.to_sites or (key in _ENDINGS and any(item.key in _PARTS for item in group.words)):
                return None
        fact = _fact(scene, key, verb, group, lot, end)
        if fact is not None:
            facts.append(fact)
    return found(*facts) if facts else None


def _wants_crop(key: str, group: _Group, is_of_seeds: bool) -> bool:
    """Whether the unknown word beside the verb should have been a crop, and is no talk of other things."""
    if key in ("SOWED", "RESOWED"):
        return bool(group.sites) or is_of_seeds or key == "RESOWED"
    return bool(group.sites) and (key == "PULLED" or bool(group.to_sites)) and len(group.words) == 1


def _has_seed_word(line: Line, verb: int, end: int) -> bool:
    return any(item.key in _SEED_WORDS for item in line.items[verb:end])


def _mended(scene: Scene, group: _Group) -> tuple[str, ...]:
    """What the words in the crop's place may be misspellings of."""
    typed = [item.key for item in group.words if item.key.isalpha() and item.key.islower()]
    candidates = [" ".join(typed[i : i + 2]) for i in range(len(typed) - 1)] + typed
    for candidate in candidates:
        near = scene.mender.nearest(candidate, scene.names.crops)
        if near:
            return near
    return ()


def _fact(scene: Scene, key: str, verb: int, group: _Group, lot: str | None, end: int) -> Fact | None:
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
        return Sow(crop=crop, sites=sites, count=count, lot=lot)
    if key == "RESOWED":
        return Reseed(crop=crop, sites=sites, count=count, lot=lot)
    if key == "EMERGED":
        return Emerged(crop=crop, sites=sites, count=count)
    if key == "MOVED":
        if not group.to_sites:
            return None
        return Moved(crop=crop, from_sites=sites, to_sites=group.to_sites)
    if key == "PICKED":
        return Harvest(crop=crop, sites=sites, grams=group.grams, count=count)
    if key in ("PULLED", "TOOKOUT"):
        return Removed(crop=crop, sites=sites)
    return Lost(crop=crop, sites=sites, count=count, reason=_reason(scene.line, verb, end))


def _reason(line: Line, verb: int, end: int) -> str | None:
    """The cause that the clause names, as typed."""
    for i in range(verb, end):
        if line.items[i].key in ("DAMPED", "CAUSE"):
            return line.typed(i, i)
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


PLANT_PHRASES: tuple[tuple[str, Phrase], ...] = (
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
