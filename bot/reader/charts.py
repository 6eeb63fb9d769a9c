"""What a chart shall show: ``ph and ec since the water change``. Every word counts, or it is no such wish."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from types import MappingProxyType
from zoneinfo import ZoneInfo

from bot.reader.fillers import words
from bot.reader.moments import Moments, NoSuchMoment
from bot.reader.numbers import WORDS
from bot.reader.scan import Token, clean, tokens_of, word_at
from bot.reader.times import time_at
from bot.reader.timewords import DAYS, ELAPSED, TimePhrase
from domain.history import HandKind, Quantity

__all__ = ["ChartWish", "chart_wish", "names_picture", "quantities_named", "wishes_chart"]

_NAMES: Mapping[str, Quantity] = MappingProxyType(
    {
        **dict.fromkeys(("ph",), "ph"),
        **dict.fromkeys(
            ("ec", "ppm", "tds", "cf", "cond", "conductivity", "strength", "food", "nutrients"), "ec_ms_cm"
        ),
        **dict.fromkeys(
            ("temp", "temps", "temperature", "temperatures", "wtemp", "warmth"), "water_temp_c"
        ),
        **dict.fromkeys(("level", "levels", "volume", "litres", "liters", "gallons"), "level_l"),
    }
)  # fmt: skip
_BEFORE_NAME = words("water tank the my our of")
_PICTURES = words("chart charts graph graphs plot plots picture curve curves")
_JOINS = words("and & + , . : / ! with vs please pls now") | _BEFORE_NAME | _PICTURES
_ASKED = words("show me us draw plot graph give a the please pls can you chart see i want")
_EVERYTHING = words("all everything ever whole")
_LEADS = words("for over in during within the last past previous this of from")
_MOMENT = timedelta(seconds=1)
_MOST_DAYS = 3660
"""Ten years: nobody looks back farther, and a date that far is still in the calendar."""

_EVENTS: tuple[tuple[tuple[str, ...], HandKind | None], ...] = (
    (("water", "change"), "water_change"),
    (("waterchange",), "water_change"),
    (("change", "of", "water"), "water_change"),
    (("changing", "the", "water"), "water_change"),
    (("change",), "water_change"),
    (("refill",), "water_change"),
    (("top", "-", "up"), "top_up"),
    (("top", "up"), "top_up"),
    (("topup",), "top_up"),
    (("ph", "down"), "ph_down"),
    (("acid",), "ph_down"),
    (("ph", "up"), "ph_up"),
    (("base",), "ph_up"),
    (("feed",), "nutrient"),
    (("feeding",), "nutrient"),
    (("nutrients",), "nutrient"),
    (("nutrient",), "nutrient"),
    (("dose",), None),
)
_YEAR = {"year": 365, "years": 365, "yr": 365, "season": 120}


@dataclass(frozen=True, slots=True)
class ChartWish:
    """What a chart shall show.

    whats : the values, in the order named; empty for all.
    since, until : its ends; ``None`` where not said.
    everything : from the first reading on.
    hand : since the last time this was done, ``dose`` for any dose; ``None`` where not said.
    unread : what was not understood, as typed; empty where all was.
    """

    whats: tuple[Quantity, ...] = ()
    since: datetime | None = None
    until: datetime | None = None
    everything: bool = False
    hand: HandKind | str | None = None
    unread: str = ""


def chart_wish(args: str, *, now: datetime, zone: ZoneInfo, day_first: bool) -> ChartWish:
    """What ``args``, the words after ``chart``, ask for.

    now : aware. zone : the household's. day_first : how ``5/6`` is meant.
    """
    cleaned = clean(args[:400])
    asked = _Grammar(tokens_of(cleaned.text), day_first)
    end = asked.read(0)
    if end < len(asked.tokens):
        return ChartWish(unread=cleaned.raw(asked.tokens[end].start, asked.tokens[-1].end))
    try:
        since, until = asked.resolved(Moments.of(now, zone))
    except NoSuchMoment:
        return ChartWish(unread=args.strip()[:40])
    return ChartWish(tuple(asked.whats), since, until, asked.everything, asked.hand)


def quantities_named(text: str) -> tuple[Quantity, ...]:
    """The values that a question names, in its order, each once."""
    found = (_NAMES.get(token.text) for token in tokens_of(clean(text[:400]).text))
    return tuple(dict.fromkeys(what for what in found if what is not None))


def names_picture(tokens: list[Token]) -> bool:
    """Whether the message says that a picture is wanted."""
    return any(token.text in _PICTURES for token in tokens)


def wishes_chart(tokens: list[Token], *, day_first: bool = True) -> int | None:
    """Where the words of a wish for a chart begin, if the whole message is one and does not say ``chart``
    first: it names a picture, or values and a time."""
    end = len(tokens)
    while end and tokens[end - 1].text in ("?", ".", "!", "please", "pls"):
        end -= 1
    tokens = tokens[:end]
    if not tokens:
        return None
    start = 0
    while start < end and tokens[start].text in _ASKED | _PICTURES | _BEFORE_NAME:
        start += 1
    named = names_picture(tokens)
    rest = [token for token in tokens[start:] if token.text not in _PICTURES]
    asked = _Grammar(rest, day_first)
    if start == end or asked.read(0) < len(rest) or not asked.whats:
        return None
    return start if named or asked.has_time else None


@dataclass
class _Grammar:
    """Reads a wish word by word; what it has found so far."""

    tokens: list[Token]
    day_first: bool
    whats: list[Quantity] = field(default_factory=list)
    back: timedelta | None = None
    today: int | None = None
    begins: TimePhrase | None = None
    ends: TimePhrase | None = None
    everything: bool = False
    hand: HandKind | str | None = None

    @property
    def has_time(self) -> bool:
        said = (self.back, self.today, self.begins, self.hand)
        return self.everything or any(each is not None for each in said)

    def read(self, i: int) -> int:
        """Reads on from token ``i``; gives the first that it cannot read, or how many there are."""
        while i < len(self.tokens):
            after = self._name(i) or self._time(i)
            if after is None:
                if self.tokens[i].text not in _JOINS:
                    return i
                after = i + 1
            i = after
        return i

    def resolved(self, moments: Moments) -> tuple[datetime | None, datetime | None]:
        """The ends that the words name. Raises NoSuchMoment for a day that there is not."""
        if self.back is not None:
            return moments.elapsed(-self.back), None
        if self.today is not None:
            midnight = datetime.combine(moments.now.date() + timedelta(days=self.today), time())
            until = moments.at_local(midnight + timedelta(days=1)) - _MOMENT if self.today else None
            return moments.at_local(midnight), until
        if self.begins is None:
            return None, None
        until = None
        if self.ends is not None:
            until = min(self._day_of(self.ends, moments) + timedelta(days=1) - _MOMENT, moments.now)
        return self._day_of(self.begins, moments), until

    def _day_of(self, phrase: TimePhrase, moments: Moments) -> datetime:
        moment = moments.of_record(phrase)
        if phrase.clock is not None or phrase.part is not None or phrase.elapsed is not None:
            return moment
        return moments.at_local(datetime.combine(moment.date(), time()))

    def _name(self, i: int) -> int | None:
        what = _NAMES.get(self.tokens[i].text)
        if what is None:
            return None
        if what not in self.whats:
            self.whats.append(what)
        return i + 1

    def _time(self, i: int) -> int | None:
        if self.has_time:
            return None
        word = self.tokens[i].text
        if word in _EVERYTHING:
            self.everything = True
            return i + 1
        if word in ("today", "yesterday"):
            self.today = 0 if word == "today" else -1
            return i + 1
        if word in ("since", "from", "after"):
            return self._since(i + 1)
        return self._span(i)

    def _span(self, i: int) -> int | None:
        """``30 days``, ``the last 2 weeks``, ``last week``."""
        at = i
        while word_at(self.tokens, at) in _LEADS:
            at += 1
        number = self._number(at)
        led = at > i
        at += number is not None
        unit = word_at(self.tokens, at)
        count = number if number is not None else 1
        days = DAYS.get(unit) or _YEAR.get(unit)
        if (number is None and not led) or (days is None and unit not in ELAPSED) or count <= 0:
            return None
        back = count * (ELAPSED[unit] if days is None else timedelta(days=days))
        self.back = min(back, timedelta(days=_MOST_DAYS))
        return at + 1

    def _number(self, i: int) -> int | None:
        word = word_at(self.tokens, i)
        if word.isdecimal() and word.isascii() and len(word) <= 4:
            return int(word)
        named = WORDS.get(word)
        return int(named) if named is not None and named >= 1 else None

    def _since(self, i: int) -> int | None:
        at = i
        while word_at(self.tokens, at) in ("the", "our", "my", "last", "latest"):
            at += 1
        for spelled, kind in _EVENTS:
            if tuple(word_at(self.tokens, at + k) for k in range(len(spelled))) == spelled:
                self.hand = kind or "dose"
                return at + len(spelled)
        phrase = time_at(self.tokens, i, day_first=self.day_first) if i < len(self.tokens) else None
        if phrase is None:
            return None
        self.begins = phrase
        if word_at(self.tokens, phrase.end) in ("to", "until", "till", "-") and phrase.end + 1 < len(
            self.tokens
        ):
            until = time_at(self.tokens, phrase.end + 1, day_first=self.day_first)
            if until is not None:
                self.ends = until
                return until.end
        return phrase.end
