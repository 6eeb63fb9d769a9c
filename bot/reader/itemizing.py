"""Tokens to items: numbers with their units, sites, names, time phrases and plain words, in one pass.

The items of a message also stand as one line of keys (``ADDED #vol of DOWN , ``), on which the phrase
tables work: see ``patterns``.
"""

from __future__ import annotations

import re

from bot.reader.fillers import APPROX, SKIPPED, words
from bot.reader.items import Item, Line, framed, sites_of
from bot.reader.lexicon import DROPPED, SLOTS
from bot.reader.long_dates import MOST_ASKED, long_date_end, long_date_of
from bot.reader.misspelt_verbs import verb_meant
from bot.reader.names import Mender, Name, Names
from bot.reader.numbers import Number, Quantity, number_at, quantity_at
from bot.reader.recurrence import repeat_at
from bot.reader.scan import Cleaned, Token, word_at
from bot.reader.sites import Sites, sites_at
from bot.reader.times import may_start_time, time_at, with_what_follows
from bot.reader.timewords import TimePhrase, on_same_day
from domain.units import UNITS

__all__ = ["line_of"]

_QUANTITY_KEYS = {
    "volume": "#vol",
    "mass": "#mass",
    "count": "#cnt",
    "temperature": "#temp",
    "ec": "#ec",
    "ppm": "#ppm",
    "percent": "#pct",
    "length": "#len",
    "concentration": "#mgl",
    "ounce": "#oz",
    "factor": "#cf",
}
_PART_NAMES = frozenset("ab")
_UNTIL = frozenset(("since", "until", "till", "til", "before"))
"""A time after one of these words tells how long, not when."""
_SIGNS_OF_VALUES = frozenset("@~°")
"""Signs that begin a time or a number; all others stand for themselves."""


def line_of(cleaned: Cleaned, tokens: list[Token], names: Names, mender: Mender, *, day_first: bool) -> Line:
    """The items of a message."""
    itemizer = _Itemizer(cleaned, tokens, names, mender, day_first)
    itemizer.run()
    items = itemizer.items
    keys = [item.key for item in items]
    places, at = [], 0
    for key in keys:
        places.append(at)
        at += len(key) + 1
    line_of_keys = "".join([f"{key} " for key in keys])
    return Line(cleaned, items, line_of_keys, framed(keys), places, itemizer.times, tokens)


class _Itemizer:
    """Goes through the tokens of one message from left to right.

    moving : ``moved`` or ``from`` was said in this sentence, so that ``A1 to C4`` is a way, not a range.
    """

    def __init__(
        self, cleaned: Cleaned, tokens: list[Token], names: Names, mender: Mender, day_first: bool
    ) -> None:
        self._cleaned = cleaned
        self._tokens = tokens
        self._names = names
        self._mender = mender
        self._day_first = day_first
        self._moving = False
        self._dates_left = MOST_ASKED
        self.items: list[Item] = []
        self.times: list[tuple[int, Item]] = []

    def run(self) -> None:
        i, count = 0, len(self._tokens)
        while i < count:
            token = self._tokens[i]
            before = self.items[-1].key if self.items else ""
            item, end = self._item(i, token, before)
            if item is None:
                pass
            elif item.key == "#time":
                if before not in _UNTIL:
                    if self.times:
                        item.value = on_same_day(self.times[-1][1].value, item.value)
                    self.times.append((len(self.items), item))
            else:
                self._add(i, token, item, before)
            i = end

    def _add(self, i: int, token: Token, item: Item, before: str) -> None:
        if before in APPROX and _is_told_amount(self.items, item):
            self.items.pop()
        item.negative = before == "-" and _is_minus(self._tokens, i) and item.key in _AMOUNT_KEYS
        if item.key != "#site" or not _joined_to_sites(self.items, item):
            self.items.append(item)
        if item.key in ("MOVED", "from"):
            self._moving = True
        elif token.kind == "p" and token.text in ".;\n":
            self._moving = False

    def _item(self, i: int, token: Token, before: str) -> tuple[Item | None, int]:
        """The item that starts at token ``i`` (``None``: a word that says nothing), and what is next."""
        name: Name | None = None
        if token.kind == "w":
            name = self._names.at(self._tokens, i)
            named = self._named_first(i, token, name)
            if named is not None:
                return named
            if name is not None and name.key == "EMERGED" and before in SLOTS:
                name = None  # ``ph is up to 6.4``
            if name is not None and len(name.words) > 1 and name.key not in ("ADDED", "EMERGED"):
                return self._of_name(i, name)
        elif token.kind == "p" and token.text not in _SIGNS_OF_VALUES:
            return Item("nl" if token.text == "\n" else token.text, token.start, token.end), i + 1
        time = self._time(i, token)
        if time is not None:
            return time
        if name is not None:
            return self._of_name(i, name)
        return _counted(self._tokens, i, before, self.items) or self._word(i, token, before)

    def _named_first(self, i: int, token: Token, name: Name | None) -> tuple[Item, int] | None:
        """What the household named, and sites: they come before all that words may mean else."""
        if (
            name is not None
            and name.key[0] == "#"
            and (len(name.words) > 1 or name.key in ("#site", "#tank"))
        ):
            return self._of_name(i, name)
        sites = sites_at(self._tokens, i, moving=self._moving)
        if sites is None or _is_temp(self._tokens, i, self.items) or self._is_count(i):
            return None
        return Item("#site", token.start, self._tokens[sites.end - 1].end, sites), sites.end

    def _is_count(self, i: int) -> bool:
        """``sowed basil x4 in A1``: so many, not a place."""
        after_crop = bool(self.items) and self.items[-1].key == "#crop"
        return (
            after_crop
            and self._tokens[i].text == "x"
            and word_at(self._tokens, i + 2) in ("in", "at", "into")
        )

    def _of_name(self, i: int, name: Name) -> tuple[Item, int]:
        end = i + len(name.words)
        start = self._tokens[i].start
        return Item(name.key, start, self._tokens[end - 1].end, name.value, name.own), end

    def _time(self, i: int, token: Token) -> tuple[Item | None, int] | None:
        """A repeat or a time phrase."""
        tokens = self._tokens
        repeat = repeat_at(tokens, i) if token.kind != "p" else None
        if repeat is not None:
            return Item("#every", token.start, tokens[repeat.end - 1].end, repeat), repeat.end
        phrase: TimePhrase | None = None
        if may_start_time(tokens, i):
            after = "name" if _expects_value(self.items) else ""
            phrase = time_at(tokens, i, day_first=self._day_first, after=after)
        if phrase is None and token.kind == "n":
            phrase = self._long_date(i)
        if phrase is None or phrase.end <= i:
            return None
        text, ends = self._cleaned.text, tokens[phrase.end - 1].end
        if _is_ratio(text[token.start : ends], text, text[ends : ends + 12]):
            return None, phrase.end
        return Item("#time", token.start, ends, phrase), phrase.end

    def _long_date(self, i: int) -> TimePhrase | None:
        """A date whose month none of our tables knows."""
        tokens = self._tokens
        end = long_date_end(tokens, i) if self._dates_left else None
        if end is None or _expects_value(self.items):
            return None
        if any(tokens[k].kind == "w" and self._names.at(tokens, k) for k in range(i + 1, end)):
            return None
        self._dates_left -= 1
        found = long_date_of(self._cleaned, tokens, i, end)
        return with_what_follows(tokens, found, self._day_first) if found is not None else None

    def _word(self, i: int, token: Token, before: str) -> tuple[Item | None, int]:
        """A word that is none of all this: itself, the name of a bottle, or nothing."""
        text = token.text
        if token.kind == "w":
            is_part = text in _PART_NAMES
            if is_part and _names_next_amount(self._tokens, i, self._cleaned, before):
                return Item("#part", token.start, token.end), i + 1
            if text in DROPPED:
                return None, i + 1
            if is_part and _after_amount(self.items):
                return Item("#part", token.start, token.end), i + 1
            if text in ("a", "an"):
                return None, i + 1
            verb = verb_meant(self._tokens, i, self._names, self._mender)
            if verb is not None:
                return Item(verb, token.start, token.end), i + 1
        return Item(text, token.start, token.end), i + 1


_CLOCK = re.compile(r"1\s*:\s*\d\d$")
_PRODUCT = re.compile(r"\s*(?:ph|acid|down|up|nutrient)\b")


def _is_ratio(typed: str, text: str, following: str) -> bool:
    """Whether ``1:10``, which looks like a time, is how far something was thinned.

    typed : the would-be time. text : the message, in lower case. following : the text right after it.
    """
    if _CLOCK.match(typed) is None:
        return False
    return "dilut" in text or _PRODUCT.match(following) is not None


def _counted(tokens: list[Token], i: int, before: str, items: list[Item]) -> tuple[Item, int] | None:
    """A number, with its unit where it has one."""
    token = tokens[i]
    number: Number | None
    if token.text in ("a", "an") and _is_measure(tokens, i + 1):
        number = Number(1.0, i + 1, "article")
    else:
        may_group = before not in SLOTS or (before in _LARGE and (before != "PPM" or token.gap))
        number = number_at(tokens, i, grouped=may_group)
        if number is None:
            return None
    quantity = quantity_at(tokens, number)
    if quantity is not None and not _unit_is_name(items, quantity, tokens):
        return Item(
            _QUANTITY_KEYS[quantity.dimension], token.start, tokens[quantity.end - 1].end, quantity
        ), quantity.end
    if number.style == "article":
        return None
    return Item("#num", token.start, tokens[number.end - 1].end, number), number.end


_LARGE = ("EC", "PPM", "STRENGTH", "LEVEL")
"""Names whose values may have thousands; but in ``ppm500 720`` the first number is the scale."""

_AMOUNT_KEYS = frozenset(("#num", *_QUANTITY_KEYS.values()))


_POURERS = words("TOPPED TOPUP FILLED ADDED CHANGED DRAINED DUMPED TOOKOUT PICKED GOT")


def _is_told_amount(items: list[Item], item: Item) -> bool:
    """``topped up about 3 l``: an amount is an amount; only readings keep that they are ``about``."""
    if item.key in ("#vol", "#mass", "#cnt", "#oz"):
        return not _expects_value(items[:-1])
    return item.key == "#num" and len(items) > 1 and items[-2].key in _POURERS


def _is_minus(tokens: list[Token], i: int) -> bool:
    """Whether the sign before token ``i`` is one: something before it, nothing after it (rule 2)."""
    if i < 1 or tokens[i].gap:
        return False
    return tokens[i - 1].gap or (i >= 2 and tokens[i - 2].text in ("=", ":"))


def _is_temp(tokens: list[Token], i: int, items: list[Item]) -> bool:
    """``ph6.1 ec1.6 t21``: right after other values ``t`` is short for the temperature."""
    if tokens[i].text != "t" or len(items) < 2:
        return False
    last = items[-2] if items[-1].key in ("/", ",", ";") else items[-1]
    return last.key in ("#num", "#ec", "#ppm") and any(item.key in SLOTS for item in items[-5:])


def _unit_is_name(items: list[Item], quantity: Quantity, tokens: list[Token]) -> bool:
    """``ph 5.9 ppm 720``: ``ppm`` names the next number, it is not the unit of this one."""
    if quantity.dimension not in ("ppm", "factor"):
        return False
    slot = _value_slot(items)
    if not slot or slot == "DO":
        return False
    if slot == "PPM" and tokens[quantity.end - 3].text == "ppm" and _number_follows(tokens, quantity.end):
        return True  # ``ppm 700 ppm 900``
    return slot not in ("EC", "PPM", "STRENGTH") or (
        quantity.typed <= 20 and _number_follows(tokens, quantity.end)
    )


def _number_follows(tokens: list[Token], i: int) -> bool:
    while i < len(tokens) and tokens[i].text in SKIPPED:
        i += 1
    return i < len(tokens) and tokens[i].kind == "n"


def _is_measure(tokens: list[Token], i: int) -> bool:
    if i >= len(tokens):
        return False
    text = tokens[i].text
    if text in ("half", "quarter", "couple"):
        return False
    return (
        text in UNITS
        and len(text) > 1
        and text not in ("pump", "pumps", "us", "ms", "cap", "ppm", "cf", "percent")
    )


def _expects_value(items: list[Item]) -> bool:
    """Whether the next number belongs to a name: ``ph at 7`` is no time."""
    return bool(_value_slot(items))


def _value_slot(items: list[Item]) -> str:
    """The name whose value the next number is, if one is waiting for it."""
    for item in reversed(items[-5:]):
        if item.key in SLOTS or item.key == "TANK":
            return item.key
        if item.key not in SKIPPED:
            return ""
    return ""


def _names_next_amount(tokens: list[Token], i: int, cleaned: Cleaned, before: str) -> bool:
    """``A 5 ml, B 5 ml``: a capital letter, at the start of its clause, before an amount."""
    if (
        before not in ("", ",", "and", "nl", "ADDED", ";", "&", "+")
        or not cleaned.raw(tokens[i].start, tokens[i].end).isupper()
    ):
        return False
    j = i + 2 if i + 1 < len(tokens) and tokens[i + 1].text in (":", "=", "-") else i + 1
    if j >= len(tokens) or tokens[j].kind != "n" or not tokens[j].gap:
        return False
    number = number_at(tokens, j)
    quantity = quantity_at(tokens, number) if number is not None else None
    return quantity is not None and quantity.dimension in ("volume", "mass", "count")


def _after_amount(items: list[Item]) -> bool:
    """Whether ``a`` here is the name of a bottle: ``5 ml A``, ``5 ml of A``, ``5 ml each of A and B``."""
    for item in reversed(items[-4:]):
        if item.key in ("#vol", "#mass", "#cnt", "#oz", "#part", "part"):
            return True
        if item.key not in ("of", "and", "each", "+", "&", "/", "nutrient", "FOOD", "bottle"):
            return False
    return False


def _joined_to_sites(items: list[Item], item: Item) -> bool:
    """Adds a site to a list just before it: ``B1, A2 and shelf``, where some have names of their own.

    Labels alone are listed by ``sites_at``; here at least one side is a name.
    """
    at = len(items) - 1
    while at > 0 and len(items) - at < 3 and items[at].key in (",", "and", "&"):
        at -= 1
    before = items[at] if at < len(items) - 1 else None
    if before is None or before.key != "#site":
        return False
    if isinstance(before.value, Sites) and isinstance(item.value, Sites):
        return False
    before.value = Sites((*sites_of(before), *sites_of(item)), 0)
    before.end = item.end
    del items[at + 1 :]
    return True
