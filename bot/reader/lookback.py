"""Which part of the journal somebody wants to see: ``last week``, ``B2``, ``basil since 1 May``."""

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
from bot.reader.sites import sites_at
from bot.reader.times import time_at
from bot.reader.timewords import DAYS, TimePhrase
from domain.crops import crop_names

__all__ = ["Lookback", "lookback"]

_FILLERS = words(
    "for from in of the about on our my show me please pls entries log logs journal and & , : . -"
)
_SPAN_LEADS = words("the last past previous this")
_LONGEST_CROP = 4
"""So many words the longest name of a crop has, signs between them included."""
_MOST_DAYS = 3660
"""Ten years: nobody looks back farther, and a date that far is still in the calendar."""
_LONGEST_ARGS = 400

_KINDS: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        **dict.fromkeys(words("reading readings test tests values"), frozenset({"reading"})),
        **dict.fromkeys(words("dose doses doses"), frozenset({"dose"})),
        **dict.fromkeys(words("water waters refills"), frozenset({"top_up", "water_change"})),
        **dict.fromkeys(words("sowing sowings sown seeds"), frozenset({"sow", "reseed", "emerged"})),
        **dict.fromkeys(words("harvest harvests picked pickings"), frozenset({"harvest"})),
        **dict.fromkeys(words("note notes observations"), frozenset({"observation"})),
        **dict.fromkeys(words("chore chores tasks"), frozenset({"chore", "tended"})),
        **dict.fromkeys(words("setting settings"), frozenset({"setting", "product", "growing"})),
        **dict.fromkeys(words("lost losses deaths"), frozenset({"lost", "removed"})),
    }
)


@dataclass(frozen=True, slots=True)
class Lookback:
    """A part of the journal. What is empty or ``None`` was not asked for.

    sites : labels; a row is ``B*``. crops : canonical names. kinds : of facts.
    since, until : when it happened, from the one to before the other, aware.
    unread : what was not understood, as typed; empty where all was.
    """

    sites: tuple[str, ...] = ()
    crops: tuple[str, ...] = ()
    kinds: frozenset[str] = frozenset()
    since: datetime | None = None
    until: datetime | None = None
    unread: str = ""

    @property
    def is_everything(self) -> bool:
        return self == Lookback()


def lookback(args: str, *, now: datetime, zone: ZoneInfo, day_first: bool = True) -> Lookback:
    """What the words after ``journal`` ask for.

    now : aware. zone : the household's. day_first : how ``5/6`` is meant.
    A week or a month is the last 7 or 30 days, today included; a day is that day from midnight to midnight.
    """
    cleaned = clean(args[:_LONGEST_ARGS])
    tokens = tokens_of(cleaned.text)
    asked = _Asked(tokens, Moments.of(now, zone), day_first)
    try:
        end = asked.read()
    except NoSuchMoment:
        return Lookback(unread=args.strip()[:40])
    if end < len(tokens):
        return Lookback(unread=cleaned.raw(tokens[end].start, tokens[-1].end)[:40])
    return Lookback(
        tuple(dict.fromkeys(asked.sites)),
        tuple(dict.fromkeys(asked.crops)),
        frozenset(asked.kinds),
        asked.since,
        asked.until,
    )


@dataclass
class _Asked:
    """Reads the words one after another; what it has found so far."""

    tokens: list[Token]
    moments: Moments
    day_first: bool
    sites: list[str] = field(default_factory=list)
    crops: list[str] = field(default_factory=list)
    kinds: set[str] = field(default_factory=set)
    since: datetime | None = None
    until: datetime | None = None

    def read(self) -> int:
        """Gives the first token that cannot be read, or how many there are."""
        i = 0
        while i < len(self.tokens):
            after = self._site(i) or self._crop(i) or self._time(i) or self._kind(i)
            if after is None:
                if self.tokens[i].text not in _FILLERS:
                    return i
                after = i + 1
            i = after
        return i

    def _site(self, i: int) -> int | None:
        found = sites_at(self.tokens, i)
        if found is None:
            return None
        self.sites += found.labels
        return found.end

    def _crop(self, i: int) -> int | None:
        for length in range(_LONGEST_CROP, 0, -1):
            name = " ".join(token.text for token in self.tokens[i : i + length])
            crop = crop_names().get(name) if i + length <= len(self.tokens) else None
            if crop is not None:
                self.crops.append(crop)
                return i + length
        return None

    def _kind(self, i: int) -> int | None:
        kinds = _KINDS.get(self.tokens[i].text)
        if kinds is None:
            return None
        self.kinds |= kinds
        return i + 1

    def _time(self, i: int) -> int | None:
        if self.since is not None or self.until is not None:
            return None
        if self.tokens[i].text in ("since", "after") and i + 1 < len(self.tokens):
            phrase = time_at(self.tokens, i + 1, day_first=self.day_first)
            if phrase is not None:
                self.since = self._midnight(phrase)
                return phrase.end
        return self._span(i) or self._day(i)

    def _span(self, i: int) -> int | None:
        """``last week``, ``30 days``, ``the past 2 months``."""
        at = i
        while word_at(self.tokens, at) in _SPAN_LEADS:
            at += 1
        number = self._number(at)
        days = DAYS.get(word_at(self.tokens, at + (number is not None)))
        if days is None or (number is None and at == i):
            return None
        back = min((number or 1) * days, _MOST_DAYS)
        first = self.moments.now.date() - timedelta(days=back - 1)
        self.since = self.moments.at_local(datetime.combine(first, time()))
        return at + 1 + (number is not None)

    def _number(self, i: int) -> int | None:
        word = word_at(self.tokens, i)
        if word.isascii() and word.isdigit() and len(word) <= 4 and int(word) > 0:
            return int(word)
        named = WORDS.get(word)
        return int(named) if named is not None and named >= 1 else None

    def _day(self, i: int) -> int | None:
        phrase = time_at(self.tokens, i, day_first=self.day_first)
        if phrase is None or (phrase.day is None and phrase.elapsed is None and phrase.part is None):
            return None
        self.since = self._midnight(phrase)
        following = self.since.date() + timedelta(days=1)
        self.until = self.moments.at_local(datetime.combine(following, time()))
        return phrase.end

    def _midnight(self, phrase: TimePhrase) -> datetime:
        day = self.moments.of_record(phrase).date()
        return self.moments.at_local(datetime.combine(day, time()))
