"""What a line holds, from left to right: values of readings, and phrases of the tables."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import takewhile

from bot.reader.away import AWAY_PHRASES
from bot.reader.chores import CHORE_PHRASES
from bot.reader.continuing import BREAKS, NAMED, is_second, moves_from, tells_later
from bot.reader.fillers import BROUGHT, CHANGES, LINKS, words
from bot.reader.findings import Finding, Phrase, Scene, found
from bot.reader.gather import PLANT_VERBS
from bot.reader.household import HOUSEHOLD_PHRASES
from bot.reader.items import Item
from bot.reader.mood import ASKED, PLANNED, STATED
from bot.reader.observations import NOTE_WORDS, note_at, observation_in
from bot.reader.own_crops import OWN_CROP_PHRASES
from bot.reader.patterns import Table
from bot.reader.plant_questions import PLANT_QUESTIONS
from bot.reader.plants import PLANT_PHRASES, plant_finding
from bot.reader.questions import QUESTION_PHRASES
from bot.reader.reminders import REMINDER_PHRASES
from bot.reader.slots import Value
from bot.reader.stock import SEED_STOCK_PHRASES
from bot.reader.tanks import is_of_next_tank
from bot.reader.values import ValueReader
from bot.reader.water import WATER_PHRASES
from bot.reader.whereabouts import is_elsewhere, is_in_vessel, is_of_source, is_of_water
from domain.facts import Fact

__all__ = ["Piece", "clauses_of", "find_pieces", "is_quiet"]

_TABLE: Table[Phrase] = Table(
    (
        *REMINDER_PHRASES,
        *QUESTION_PHRASES,
        *PLANT_QUESTIONS,
        *OWN_CROP_PHRASES,
        *SEED_STOCK_PHRASES,
        *HOUSEHOLD_PHRASES,
        *AWAY_PHRASES,
        *PLANT_PHRASES,
        *CHORE_PHRASES,
        *WATER_PHRASES,
    )
)

_LINE_BREAKS = frozenset((".", ";", "!", "?", "nl"))
_ORDER_WORDS = frozenset(("then", "after", "afterwards", "now", "later", ">", "again", "before"))
_TOWARDS = LINKS | CHANGES | words(", it its it's then came")
_BENIGN = words(
    "TANK #tank today it it's its ok okay hi hello hey all everyone everybody good fine so here in on "
    "with we i have had got GOT and morning evening afternoon nice great perfect update daily check CHECK "
    "CHECKED reading readings measured just numbers values log yes yep still same looks stable "
    "steady thanks thx as be been by both currently ish like think around while for before after again "
    "later then too well meter strip test PHMETER ECMETER METER latest current guys sir friend boss dear "
    "cheers or were w of high low bit little up UP DOWN down higher lower HAVE a very much now about "
    "there our that n sorry oops correction actually ADJUSTED ADDED x was went gone 's s me"
)


@dataclass(slots=True)
class Piece:
    """Something found: a value of a reading, or what a phrase says. ``first`` to ``last`` are items.

    step : grows with every word of order (``then``, ``after``) before it.
    earlier : a value from before the last one (``6.4 from 6.0``).
    """

    first: int
    last: int
    value: Value | None = None
    finding: Finding | None = None
    step: int = 0
    earlier: bool = False

    @property
    def facts(self) -> tuple[Fact, ...]:
        """What its phrase says."""
        return self.finding.facts if self.finding is not None else ()


def _is_weak(piece: Piece) -> bool:
    return bool(piece.value is not None and piece.value.weak) or bool(
        piece.finding is not None and piece.finding.weak
    )


_CORRECTIONS = words("sorry oops mean meant rather correction no actually ups wait scratch *")
_AFTER_TIME = words(": - it it's its was were is")
_BEFORE_CORRECTED = words(", : - it it's its is was be i i'd should that")


def is_quiet(key: str) -> bool:
    """Whether a word leaves a number beside it a reading; any other word may make it something else."""
    return key in _BENIGN or key in BREAKS or key in LINKS or key in NAMED or not key[0].isalpha()


def clauses_of(items: list[Item]) -> list[int]:
    """The number of the clause that each item stands in."""
    clause, numbers = 0, []
    for item in items:
        numbers.append(clause)
        if item.key in BREAKS:
            clause += 1
    return numbers


def find_pieces(scene: Scene, values: ValueReader, states: list[str]) -> list[Piece]:
    """Everything found in a line, from left to right."""
    finder = _Finder(scene, values, states)
    finder.find()
    return finder.settled()


class _Finder:
    def __init__(self, scene: Scene, values: ValueReader, states: list[str]) -> None:
        self._scene = scene
        self._items = scene.line.items
        self._keys = scene.line.around
        places = [place for place, _ in scene.line.times]
        self._time_places = frozenset(places)
        self._later_time_places = frozenset(places[1:])
        self._values = values
        self._states = states
        self._step = 0
        self._slot = ""
        self._was = False
        self._after = False
        self._start = 0
        self._line_start = 0
        self.pieces: list[Piece] = []

    def find(self) -> None:
        items = self._items
        i = 0
        while i < len(items):
            key = items[i].key
            if i in self._values.scale_items and items[i - 1].key not in ("ADDED", "use"):
                i += 1
                continue
            if key in NAMED and self._states[i] == STATED and (table := self._values.table_at(i)):
                self.pieces += [
                    Piece(value.first, value.last, value=value, step=self._step) for value in table
                ]
                i = table[-1].last + 1
                continue
            piece = self._piece(i)
            if piece is None:
                if key in _ORDER_WORDS:
                    self._step += 1
                if key in BREAKS:
                    self._start = i + 1
                    if key in _LINE_BREAKS:
                        self._observe(i)
                i += 1
                continue
            piece.step = self._step
            self.pieces.append(piece)
            i = piece.last + 1
            self._start = max(self._start, i)
        self._observe(len(items))

    def _piece(self, i: int) -> Piece | None:
        key = self._items[i].key
        stated = self._states[i] == STATED
        if key in NOTE_WORDS and (i == self._start or self._keys[i + 1] == ":"):
            note = note_at(self._scene.line, i)
            if note is not None:
                return Piece(i, note[0], finding=found(note[1]))
        piece = self._phrase(i)
        if piece is None and key in PLANT_VERBS and stated:
            said = plant_finding(self._scene, i, self._start)
            if said is not None:
                piece = Piece(said[0], said[1], finding=said[2])
        if piece is None and stated:
            piece = self._value(i)
        return piece

    def _phrase(self, i: int) -> Piece | None:
        before = self._keys[i - 1]
        for phrase, hit in _TABLE.at(self._scene.line, i):
            if phrase.stated and (
                self._states[i] != STATED or before in ("before", "since") or self._repeats(phrase, hit.last)
            ):
                continue
            finding = phrase.build(self._scene, hit)
            if finding is not None:
                if (
                    finding.facts
                    and phrase.stated
                    and any(item.negative for item in self._items[i : hit.last + 1])
                ):
                    return Piece(hit.first, hit.last, finding=Finding(reason="implausible"))
                moved = before == "with" and self._last_moved()
                if finding.earlier or before == "after" or moved:
                    finding = replace(finding, earlier=not self._value_follows(hit.last + 1))
                    self._after = not finding.earlier
                return Piece(
                    hit.first, finding.ends if finding.ends is not None else hit.last, finding=finding
                )
        return None

    def _last_moved(self) -> bool:
        """Whether the last piece is the end of ``from 6.4 to 5.9``."""
        last = self.pieces[-1] if self.pieces else None
        if last is None or last.value is None:
            return False
        return any(self._keys[i] in ("to", ">") for i in range(last.first - 1, last.last))

    def _repeats(self, phrase: Phrase, last: int) -> bool:
        """``we change the water every 3 weeks`` tells of a habit, not of a change."""
        return self._keys[last + 1] == "#every" and not phrase.repeats

    def _value_follows(self, i: int) -> bool:
        """``after 3 ml down 5.9``: a value comes next, so that what was done comes between two readings."""
        while self._keys[i] in _TOWARDS:
            i += 1
        return self._keys[i] in ("#num", "PH", "EC", "PPM", "TEMP", "WTEMP")

    def _value(self, i: int) -> Piece | None:
        items = self._items
        value = self._values.at(i)
        if value is not None and self._slot and self._corrects(i) and self._values.named_at(i + 1):
            value = self._values.again(self._slot, i)  # ``sorry 6.4 ec 1.4``
        if value is None and self._slot and (self._after or self._continues(i)):
            value = self._values.again(self._slot, i)
            times = self._scene.line.times
            if value is not None and self._keys[i - 1] in ("to", "was"):
                self._step += 1
            if value is not None and (
                self._keys[i - 1] == "from" or (self._keys[i - 1] == "was" and not times)
            ):
                return Piece(value.first, value.last, value=value, step=self._step, earlier=True)
            if value is not None and self._may_be_other(value, i):
                value = replace(value, fields={}, reason="ambiguous")
        if value is None:
            return None
        self._after = False
        keys = [item.key for item in items[value.first : value.last + 1]]
        if self._was and ("is" in keys or "now" in keys):
            self._step += 1
        self._was = self._was or "was" in keys
        named = [key for key in keys if key in NAMED or key in ("WATER", "AIR", "LEVEL")]
        self._slot = "PH" if value.key == "ph" else named[0] if named else self._slot
        return Piece(value.first, value.last, value=value)

    def _continues(self, i: int) -> bool:
        """Whether a bare number goes on with the name last typed: ``6.4 then 5.9``, ``now 5.9``."""
        j = i - 1
        while (
            j >= 0
            and i - j < 5
            and (self._items[j].key in LINKS or self._items[j].key in ("it", "its", "it's"))
            and self._items[j].key not in _ORDER_WORDS | {"to"}
        ):
            j -= 1
        if self._has_own_time(i):
            return True
        if tells_later(self._keys, i):
            self._step += 1
            return True
        if is_of_next_tank(self._keys, i):
            return True
        if self._corrects(i) or (is_second(self._items, self._keys, i) and self.pieces[-1].last == i - 2):
            return True
        return j >= 0 and (
            self._items[j].key in _ORDER_WORDS
            or (self._items[j].key == "to" and moves_from(self._keys, i - 2))
            or (self._keys[i - 1] == "from" and self._keys[i - 2] == "#num")
            or (self._keys[i - 1] == "was" and self._keys[i - 2] in BREAKS)
        )

    def _may_be_other(self, value: Value, i: int) -> bool:
        """``ph 6.2, ec 1.4 (yesterday 6.5)``: the number is nearer to another value than to the last."""
        said = [piece.value.fields for piece in self.pieces if piece.value is not None]
        ph, ec = (
            next((float(fields[name]) for fields in reversed(said) if name in fields), 0.0)
            for name in ("ph", "ec_ms_cm")
        )
        number = value.fields.get("ec_ms_cm")
        return self._keys[i] == "#num" and number is not None and 0 < ph - ec < 2 * (float(number) - ec)

    def _corrects(self, i: int) -> bool:
        """``no wait, 6.4``, ``make that 6.4``, ``actually 6.4``: the number is said in place of the last."""
        text, at = self._scene.line.cleaned.text, self._items[i].start
        following = self._keys[i + 1]
        if self._keys[i] != "#num" or not i or not (following in ("", "instead") or is_quiet(following)):
            return False  # ``wait 10 minutes``
        between = text[self._items[i - 1].end : at]
        if "actually" in between or "*" in between or self._keys[i - 2] + self._keys[i - 1] == "makethat":
            return True
        j = i - 1
        while self._keys[j] in _BEFORE_CORRECTED and i - j < 5:
            j -= 1
        return self._keys[j] in _CORRECTIONS

    def _has_own_time(self, i: int) -> bool:
        """``6.4 yesterday, 5.9 today``, ``5.9 (6.2 yesterday)``: a number of another time than the last."""
        times = self._time_places
        if self._keys[i - 1] == "#num" and i in times:
            return True  # ``6.2 yesterday 6.5``: nobody can tell which of the two it was
        opens = i
        while self._keys[opens - 1] in _AFTER_TIME:
            opens -= 1
        if opens in times and self._keys[opens - 1] in ("(", ","):
            return True
        if i not in times and i + 1 not in times:
            return False
        if self._keys[i - 1] in (",", "and", ";", "nl", "but", "(", "vs", "versus"):
            return True
        return i in self._later_time_places

    def _observe(self, end: int) -> None:
        """The sentence that ends before item ``end``, where it is an observation and nothing else."""
        first = self._line_start
        self._line_start = end + 1
        if end <= first:
            return
        inside = list(takewhile(lambda piece: piece.first >= first, reversed(self.pieces)))[::-1]
        while inside and inside[0].value is None and first < end and inside[0].first == first:
            first = inside.pop(0).last + 1
        if inside:
            first, end = self._free_part(first, end, inside)
        while first < end and self._items[first].key in BREAKS:
            first += 1
        if end <= first or any(state in (ASKED, PLANNED) for state in self._states[first:end]):
            return
        observation = observation_in(self._scene.line, first, end - 1)
        if observation is not None:
            self.pieces.append(Piece(first, end - 1, finding=found(observation)))
            self.pieces.sort(key=lambda piece: piece.first)

    def _free_part(self, first: int, end: int, inside: list[Piece]) -> tuple[int, int]:
        """The longest run of items that no piece has taken."""
        edges = [first - 1, *(edge for piece in inside for edge in (piece.first, piece.last)), end]
        runs = [(edges[k] + 1, edges[k + 1]) for k in range(0, len(edges) - 1, 2)]
        return max(runs, key=lambda run: run[1] - run[0])

    def settled(self) -> list[Piece]:
        """The pieces without those of everyday words (``water``, ``level``) in talk of something else."""
        clauses = clauses_of(self._items)
        taken = {i for piece in self.pieces for i in range(piece.first, piece.last + 1)}
        noisy = {
            clauses[i]
            for i, item in enumerate(self._items)
            if i not in taken
            and not is_quiet(item.key)
            and not (item.key in BROUGHT and self._keys[i + 1] in NAMED)
        }
        elsewhere = {
            clauses[i] for i, item in enumerate(self._items) if is_elsewhere(item) and i not in taken
        }
        apart = {
            clauses[i]
            for i, item in enumerate(self._items)
            if i not in taken and is_in_vessel(self._items, i, self._scene.line.typed(i, i))
        } | {clauses[piece.last] for piece in self.pieces if is_of_source(piece.facts)}
        kept: list[Piece] = []
        for number, piece in enumerate(self.pieces):
            if clauses[piece.first] in elsewhere and (piece.value is not None or is_of_water(piece.facts)):
                continue
            if clauses[piece.first] in apart and piece.value is not None:
                kept.append(replace(piece, value=replace(piece.value, fields={}, reason=None)))
                continue
            if not _is_weak(piece) or clauses[piece.first] not in noisy:
                kept.append(piece)
                continue
            neighbours = (self.pieces[number - 1] if number else None, *self.pieces[number + 1 : number + 2])
            if piece.value is not None and any(self._is_beside(piece, other, taken) for other in neighbours):
                kept.append(piece)
        return kept

    def _is_beside(self, piece: Piece, other: Piece | None, taken: set[int]) -> bool:
        """Whether a value that is sure stands beside, with nothing of another kind between them."""
        if other is None or other.value is None or other.value.weak:
            return False
        low, high = sorted((piece, other), key=lambda each: each.first)
        return all(i in taken or is_quiet(self._items[i].key) for i in range(low.last + 1, high.first))
