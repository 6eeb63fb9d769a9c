"""What stands around a verb about plants, in any order: crops, sites, counts, weights, a lot of seed."""

from __future__ import annotations

from dataclasses import dataclass, field

from bot.reader.fillers import words
from bot.reader.items import Item, Line, sites_of
from bot.reader.numbers import Number, Quantity
from domain.units import OUNCE_G

__all__ = ["MAX_CLAUSE_ITEMS", "PLANT_VERBS", "SEED_WORDS", "Group", "Lot", "clause_end", "gather", "lot_in"]

PLANT_VERBS = words(
    "SOWED RESOWED EMERGED DAMPED DIED CAUSE LOST GAVEUP MOVED PICKED GOT PULLED TOOKOUT STARTED "
    "THINNED PRUNED PINCHED "
    "TRAINED POLLINATED FLOWERING FRUITING BOLTING"
)
SEED_WORDS = words(
    "seed seeds plant plants plug plugs seedling seedlings sprout sprouts start starts cutting cuttings SOW"
)
MAX_CLAUSE_ITEMS = 24
"""Nobody says more about one crop in one go."""

_ENDS = frozenset((".", ";", "!", "?", "nl", "but"))
_SOFT_ENDS = frozenset((",", "and", "then", "&"))
_TAILS = words("DAMPED CAUSE GAVEUP BOLTING")
"""What may follow a verb as its reason: ``pulled C4, bolted``."""
_OPENING_VERBS = PLANT_VERBS - _TAILS - {"FLOWERING", "FRUITING"}
"""Verbs with which another clause begins."""

_PLACE_WORDS = words("in at on into from to site sites with by off x each cups pods")
_EMPTY_WORDS = words(
    "i we is are was were has have had been it they all both another one of more new the today "
    "now first up UP out down everything "
    "yet got did do DO he she me us and as again back too seems looks like so baby about around "
    "nearly few some couple "
    "extra s mine ours bit little tops bunch handful bag old big small large tiny nice ready good "
    "great fresh red green "
    "purple grams for lunch dinner salad tonight a heads head lot batch per"
)
_NO_CROP = _EMPTY_WORDS | _PLACE_WORDS | SEED_WORDS | PLANT_VERBS | _SOFT_ENDS
"""Words that stand in a crop's place and name none."""


@dataclass(slots=True)
class Group:
    """What one crop's part of the clause says. ``words``: what may be a misspelt crop."""

    crop: str | None = None
    sites: tuple[str, ...] = ()
    to_sites: tuple[str, ...] = ()
    count: int | None = None
    grams: float | None = None
    words: list[Item] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Lot:
    """A lot of seed as typed, in items ``first`` to before ``end``."""

    name: str
    first: int
    end: int


def clause_end(line: Line, verb: int) -> int:
    """The item after the clause of ``verb``: commas and ``and`` go on with the list of crops and sites."""
    items = line.items
    limit = min(len(items), verb + MAX_CLAUSE_ITEMS)
    for i in range(verb + 1, limit):
        key = items[i].key
        if key in _ENDS:
            return i
        if key in _SOFT_ENDS and not _goes_on(items, i):
            return i
        if key in _OPENING_VERBS:
            return i
    return limit


def _goes_on(items: list[Item], i: int) -> bool:
    """Whether the clause goes on after the comma or ``and`` at item ``i``."""
    following = items[i + 1].key if i + 1 < len(items) else ""
    after = items[i + 2].key if i + 2 < len(items) else ""
    if following in _TAILS or following in ("they", "root") or (following == "it" and after in _TAILS):
        return True
    if following in ("#mass", "#oz") and after in ("", ".", "nl", ",", "!"):
        return True  # ``B1 picked, 120 g``
    if after == "#site" and _may_be_crop(following):
        return True  # ``sowed basil A1 and flurb A2``
    if following not in ("#site", "#crop", "lot", "batch", "in") and not (
        following in ("#num", "#mass", "#oz") and after in ("#crop", "#site", "seeds", "of")
    ):
        return False
    if following in ("#site", "#crop") and _has_own_verb(items, i + 1):
        return False
    later = next(
        (
            item.key
            for item in items[i + 1 : i + 8]
            if item.key in PLANT_VERBS or item.key in _SOFT_ENDS or item.key in _ENDS
        ),
        "",
    )
    return later not in PLANT_VERBS or later in _TAILS


def _may_be_crop(key: str) -> bool:
    """Whether a word stands where a crop should, and is no verb."""
    return key.isalpha() and key.islower() and key not in _NO_CROP and not key.endswith(("ed", "ing"))


def _has_own_verb(items: list[Item], i: int) -> bool:
    """``... and B2 looks yellow``: the plant or place at item ``i`` is the subject of something else."""
    while i < len(items) and items[i].key in ("#site", "#crop", "in", "on", "at", "leaves", "plants"):
        i += 1
    return i < len(items) and items[i].key in _SUBJECT_VERBS


_SUBJECT_VERBS = words(
    "looks look looking is are was were seems seem has have needs need wants want isn't aren't"
)


def lot_in(line: Line, first: int, end: int) -> Lot | None:
    """The lot that ``lot`` or ``batch`` names among items ``first`` to before ``end``."""
    items = line.items
    for i in range(first, end):
        if items[i].key not in ("lot", "batch"):
            continue
        start = i + 1
        while start < end and items[start].key in (":", "=", "no", "number", "-"):
            start += 1
        last = start
        while last < end and not _ends_lot(items, last):
            last += 1
        if start < end:
            return Lot(_up_to(line, items[start].start, last), i, last)
    return None


def _ends_lot(items: list[Item], i: int) -> bool:
    key = items[i].key
    following = items[i + 1].key if i + 1 < len(items) else ""
    return key in (",", ";", "nl", "!", "?", "(", ")") or (
        key in ("in", "at", "into") and following == "#site"
    )


def _up_to(line: Line, start: int, last: int) -> str:
    """The text from ``start`` to before item ``last``, without time phrases that close it."""
    limit = line.items[last].start if last < len(line.items) else len(line.cleaned.text)
    for _, time in reversed(line.times):
        if time.start > start and not line.cleaned.text[time.end : limit].strip(" ,.;"):
            limit = time.start
    return line.cleaned.raw(start, limit).strip(" ,.;!")


def gather(line: Line, start: int, end: int, verb: int, lot: Lot | None) -> list[Group]:
    """The crops of items ``start`` to before ``end``, each with its own sites and count."""
    gatherer = _Gatherer(
        line.items, end, after=line.items[verb].start, moving=line.items[verb].key == "MOVED"
    )
    for i in range(start, end):
        if i != verb and not (lot is not None and lot.first <= i < lot.end):
            gatherer.take(i)
    return gatherer.groups


class _Gatherer:
    def __init__(self, items: list[Item], end: int, *, after: int, moving: bool) -> None:
        self._items = items
        self._end = end
        self._after = after
        self._moving = moving
        self._preposition = ""
        self.groups = [Group()]

    def take(self, i: int) -> None:
        """Puts item ``i`` where it belongs."""
        item, group = self._items[i], self.groups[-1]
        key = item.key
        if key[0] != "#":
            if key in _PLACE_WORDS or key == ">":
                self._preposition = key
            if key[0].isalpha() and key not in _NO_CROP:
                if group.crop is not None and group.sites and self._key(i + 1) == "#site":
                    self.groups.append(group := Group())
                group.words.append(item)
        elif key == "#crop":
            if (group.crop is not None and group.crop != item.value) or self._has_stranger(group):
                self.groups.append(group := Group())
            group.crop = item.value
        elif key == "#site":
            self._site(i, sites_of(item))
            self._preposition = ""
        elif key == "#num" and isinstance(item.value, Number):
            self._number(i, item.value)
        elif key in ("#mass", "#oz") and isinstance(item.value, Quantity):
            said = group.grams is not None or (group.count is not None and self._crop_follows(i + 1))
            listed = self._key(i - 1) in _SOFT_ENDS and self._crop_follows(i + 1)
            if group.crop is not None and (said or listed):
                self.groups.append(group := Group())
            group.grams = item.value.value * (OUNCE_G if key == "#oz" else 1)

    def _has_stranger(self, group: Group) -> bool:
        """``sowed flurb A1 and basil A2``: the first site has a crop already, though nobody knows it."""
        return bool(group.sites) and any(word.start > self._after for word in group.words)

    def _site(self, i: int, labels: tuple[str, ...]) -> None:
        group = self.groups[-1]
        if not self._moving:
            if group.sites and group.crop is not None and not self._is_listed(i):
                self.groups.append(Group(sites=labels))
            else:
                group.sites += labels
            return
        is_next_move = self._key(i + 1) in ("to", ">") or (
            self._key(i + 1) == "-" and self._key(i + 2) == ">"
        )
        if group.to_sites and is_next_move:
            self.groups.append(Group(sites=labels))
        elif (
            self._preposition in ("to", "into", ">")
            or (group.sites and not self._is_listed(i))
            or group.to_sites
        ):
            group.to_sites += labels
        else:
            group.sites += labels

    def _number(self, i: int, number: Number) -> None:
        """A whole number counts the crop beside it: the next one, where one follows."""
        if not number.finite or not number.value.is_integer() or not 0 < number.value <= MAX_COUNT:
            return
        if self._preposition == "to" and not self._moving:
            return  # ``thinned to 1``
        group = self.groups[-1]
        step = i + 1
        while self._key(step) in ("x", "of", "heads", "head", "more", "new", "baby", "red", "green"):
            step += 1
        if group.crop is not None and self._key(step) == "#crop":
            self.groups.append(group := Group())
        group.count = int(number.value)

    def _crop_follows(self, i: int) -> bool:
        return self._key(i + 1 if self._key(i) == "of" else i) == "#crop"

    def _is_listed(self, i: int) -> bool:
        """``A1 and A2``: a site right after another."""
        return self._key(i - 1) in ("#site", "and", ",", "&") and self._key(i - 1) != "#crop"

    def _key(self, i: int) -> str:
        return self._items[i].key if 0 <= i < self._end else ""


MAX_COUNT = 500
"""More seeds or fruits than a household counts one by one."""
