"""From one text to all that it says: the order of work, and which time goes with what."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from bot.reader.bare import bare_numbers
from bot.reader.commands import command_in
from bot.reader.emergencies import alarm_in
from bot.reader.findings import Finding, Phrase, Scene
from bot.reader.items import Item, Line, line_of
from bot.reader.moments import Moments, NoSuchMoment
from bot.reader.mood import STATED, moods
from bot.reader.names import Names
from bot.reader.patterns import Hit, Table
from bot.reader.plants import PLANT_VERBS, plant_finding
from bot.reader.questions import QUESTION_PHRASES
from bot.reader.readings import reading_of
from bot.reader.result import Found, Read, ReaderSettings, Reason, Unclear
from bot.reader.scan import Cleaned, clean, tokens_of
from bot.reader.values import LINKS, Value, ValueReader
from bot.reader.water import WATER_PHRASES
from domain.facts import Fact

__all__ = ["read"]

MAX_CHARACTERS = 4096
"""The longest message that chats carry; what stands beyond is not read."""

_TABLE: Table[Phrase] = Table((*QUESTION_PHRASES, *WATER_PHRASES))
_BREAKS = frozenset((",", ";", ".", "!", "?", "nl", "and", "then", "but", "&"))
_ORDER_WORDS = frozenset(("then", "after", "afterwards", "now", "later", ">", "again"))
_NOTHING_KNOWN = ReaderSettings()


@dataclass(slots=True)
class _Piece:
    """Something found: a value of a reading, or a phrase. ``first`` to ``last`` are items."""

    first: int
    last: int
    value: Value | None = None
    finding: Finding | None = None
    step: int = 0


def read(text: str, *, now: datetime, zone: ZoneInfo, settings: ReaderSettings = _NOTHING_KNOWN) -> Read:
    """All that ``text`` says.

    now : when it was sent, aware.
    zone : the household's time zone, in which its times are meant.
    settings : what is known of the household.
    Never raises for any text. Talk that is not for the record gives an empty ``Read``.
    """
    cleaned = clean(text[:MAX_CHARACTERS])
    return _Reader(cleaned, Moments.of(now, zone), settings).read()


class _Reader:
    """The reading of one message."""

    def __init__(self, cleaned: Cleaned, moments: Moments, settings: ReaderSettings) -> None:
        self._cleaned = cleaned
        self._moments = moments
        self._settings = settings
        self._facts: list[tuple[int, int, Found]] = []
        self._unclear: list[Unclear] = []

    def read(self) -> Read:
        cleaned, settings = self._cleaned, self._settings
        tokens = tokens_of(cleaned.text)
        if not tokens:
            return Read()
        whole = (tokens[0].start, tokens[-1].end)
        bare = bare_numbers(cleaned, tokens, settings)
        if bare is not None:
            if bare.reason is not None:
                return Read((), (self._bit(bare.reason, *whole, bare.suggestions),))
            return self._only(replace(bare.reading, when=self._moments.now) if bare.reading else None, whole)
        command = command_in(cleaned, tokens)
        if command is not None:
            return self._only(command, whole)
        line = line_of(cleaned, Names.of(settings), day_first=settings.day_first)
        if not line.items:
            return Read()
        alarm = alarm_in(line)
        if alarm is not None:
            fact = replace(alarm.fact, when=self._when(line, None))
            return self._only(fact, (line.items[alarm.first].start, line.items[alarm.last].end))
        return self._read_line(line)

    def _only(self, fact: Fact | None, place: tuple[int, int]) -> Read:
        return Read((Found(fact, self._cleaned.span(*place)),)) if fact is not None else Read()

    def _bit(self, reason: Reason, start: int, end: int, suggestions: tuple[str, ...] = ()) -> Unclear:
        return Unclear(self._cleaned.raw(start, end), reason, self._cleaned.span(start, end), suggestions)

    def _when(self, line: Line, phrase_item: Item | None) -> datetime:
        if phrase_item is None and line.times:
            phrase_item = line.times[0][1]
        try:
            return self._moments.of_record(phrase_item.value if phrase_item else None)
        except NoSuchMoment:
            return self._moments.now

    # One line of items

    def _read_line(self, line: Line) -> Read:
        scene = Scene(line, Names.of(self._settings), self._settings, self._moments)
        values = ValueReader(line, self._settings)
        states = moods(line)
        pieces = _pieces(scene, values, states)
        pieces = _clean_only(line, pieces, states)
        clauses = _clauses(line)
        self._assemble(line, pieces, clauses)
        self._leftovers(line, pieces, clauses, states, values)
        facts = tuple(found for _, _, found in sorted(self._facts, key=lambda entry: entry[:2]))
        return Read(facts, tuple(sorted(self._unclear, key=lambda bit: bit.span)))

    def _assemble(self, line: Line, pieces: list[_Piece], clauses: list[int]) -> None:
        """Facts and unclear bits in the order typed; values that stand together as one reading."""
        groups: list[list[_Piece]] = []
        open_group: list[_Piece] | None = None
        order = 0
        for piece in pieces:
            if piece.value is not None:
                time = _time_for(line, piece.first, clauses)
                if open_group is None or piece.step != open_group[0].step or time is not _time_for(line, open_group[0].first, clauses):
                    open_group = []
                    groups.append(open_group)
                open_group.append(piece)
                continue
            finding = piece.finding
            assert finding is not None
            if finding.facts and not finding.timeless and not finding.earlier:
                open_group = None
            groups.append([piece])
        for group in groups:
            order += 1
            if group[0].value is not None:
                self._reading(line, group, clauses, order)
            else:
                self._finding(line, group[0], clauses, order)

    def _reading(self, line: Line, group: list[_Piece], clauses: list[int], order: int) -> None:
        values = [piece.value for piece in group if piece.value is not None]
        for value in values:
            if value.reason is not None:
                self._note(line, value.reason, value.first, value.last, value.suggestions)
        reading, conflicts = reading_of([value for value in values if value.reason is None])
        for conflict in conflicts:
            first, last = conflict.values[0].first, conflict.values[-1].last
            texts = tuple(line.typed(value.first, value.last) for value in conflict.values)
            self._note(line, "conflict", first, last, texts)
        if reading is not None:
            self._record(line, reading, group[0].first, group[-1].last, clauses, order)

    def _finding(self, line: Line, piece: _Piece, clauses: list[int], order: int) -> None:
        finding = piece.finding
        assert finding is not None
        if finding.reason is not None:
            self._note(line, finding.reason, piece.first, piece.last, finding.suggestions)
        for number, fact in enumerate(finding.facts):
            if finding.timeless:
                span = self._cleaned.span(line.items[piece.first].start, line.items[piece.last].end)
                self._facts.append((order, number, Found(fact, span)))
            else:
                before = 1.5 if finding.earlier else 0
                self._record(line, fact, piece.first, piece.last, clauses, order, number, before)

    def _record(
        self,
        line: Line,
        fact: Fact,
        first: int,
        last: int,
        clauses: list[int],
        order: int,
        number: int = 0,
        before: float = 0,
    ) -> None:
        item = _time_for(line, first, clauses)
        try:
            when = self._moments.of_record(item.value if item is not None else None)
        except NoSuchMoment:
            assert item is not None
            bit = self._bit("implausible", item.start, item.end)
            if bit not in self._unclear:
                self._unclear.append(bit)
            return
        span = self._cleaned.span(line.items[first].start, line.items[last].end)
        place = order if not before else self._place_before(order)
        self._facts.append((place, number, Found(replace(fact, when=when), span)))

    def _place_before(self, order: int) -> int:
        """Where something goes that happened before the reading last typed."""
        return order

    def _note(self, line: Line, reason: Reason, first: int, last: int, suggestions: tuple[str, ...] = ()) -> None:
        self._unclear.append(self._bit(reason, line.items[first].start, line.items[last].end, suggestions))

    def _leftovers(
        self, line: Line, pieces: list[_Piece], clauses: list[int], states: list[str], values: ValueReader
    ) -> None:
        """Numbers that belong to nothing in a message that gives readings, and names that have no number."""
        taken = {i for piece in pieces for i in range(piece.first, piece.last + 1)} | set(values.scale_items)
        has_values = any(piece.value is not None for piece in pieces)
        run: list[int] = []
        for i, item in enumerate(line.items):
            if i in taken or states[i] != STATED:
                continue
            clause = [other for other in range(len(line.items)) if clauses[other] == clauses[i]]
            quiet = all(other in taken or _is_quiet(line.items[other].key) for other in clause)
            if item.key == "#num" and has_values and quiet:
                if run and all(line.items[k].key in _BREAKS | LINKS for k in range(run[-1] + 1, i)):
                    run.append(i)
                    continue
                if run:
                    self._note(line, "ambiguous", run[0], run[-1])
                run = [i]
            elif item.key in _NEEDS_NUMBER and quiet and not run:
                self._note(line, "missing_value", i, i)
        if run:
            self._note(line, "ambiguous", run[0], run[-1])


_NEEDS_NUMBER = frozenset(("PH", "EC", "PPM", "CF", "STRENGTH", "TEMP", "WTEMP", "RH"))
_BENIGN = frozenset(
    "TANK today it it's its ok okay hi hello hey all everyone everybody good fine so here in on with we i have had got and "
    "morning evening afternoon nice great perfect update daily check CHECKED reading readings measured just numbers "
    "values log yes yep done still same looks stable steady thanks thx our as be been by both currently ish like "
    "think around while for before after again later then too as well meter strip test PHMETER ECMETER METER "
    "latest current guys sir friend boss dear cheers and or were w/ of high low bit little up UP DOWN down higher lower"
    .split()
)


def _is_quiet(key: str) -> bool:
    """Whether a word says nothing that makes a number beside it something else than a reading."""
    return key in _BENIGN or key in _BREAKS or key in LINKS or key in _NEEDS_NUMBER or not key[0].isalpha()


def _clauses(line: Line) -> list[int]:
    """The number of the clause that each item stands in."""
    clause, numbers = 0, []
    for item in line.items:
        numbers.append(clause)
        if item.key in _BREAKS:
            clause += 1
    return numbers


def _time_for(line: Line, first: int, clauses: list[int]) -> Item | None:
    """The time phrase that covers item ``first``: its own clause's, else the message's."""
    times = line.times
    if not times:
        return None
    if len(times) == 1:
        return times[0][1]
    count = len(line.items)
    places = [clauses[min(place, count - 1)] if place < count else clauses[-1] for place, _ in times]
    own = [item for (place, item), clause in zip(times, places, strict=True) if clause == clauses[first] or (
        place > 0 and clauses[place - 1] == clauses[first] and place < count and line.items[place - 1].key not in _BREAKS
    )]
    if own:
        return own[0]
    at = bisect_right([place for place, _ in times], first)
    return times[at - 1][1] if at else times[0][1]


def _pieces(scene: Scene, values: ValueReader, states: list[str]) -> list[_Piece]:
    """Everything found in a line, from left to right."""
    line = scene.line
    items = line.items
    pieces: list[_Piece] = []
    i, step, slot = 0, 0, ""
    start = 0
    while i < len(items):
        key = items[i].key
        if i in values.scale_items:
            i += 1
            continue
        piece = _phrase(scene, i, states)
        if piece is None and key in PLANT_VERBS and states[i] == STATED:
            finding = plant_finding(scene, i, start)
            if finding is not None:
                first, last, said = finding
                piece = _Piece(first, last, finding=said)
        if piece is None and states[i] == STATED:
            value = values.at(i)
            if value is None and slot and i > 0 and _continues(items, i):
                value = values.again(slot, i)
            if value is not None:
                piece = _Piece(value.first, value.last, value=value, step=step)
                slot = _slot_of(items, value) or slot
        if piece is None:
            if key in _ORDER_WORDS:
                step += 1
            if key in _BREAKS:
                start = i + 1
            i += 1
            continue
        if piece.value is None:
            step += 1
        piece.step = step
        pieces.append(piece)
        i = piece.last + 1
    return pieces


def _phrase(scene: Scene, i: int, states: list[str]) -> _Piece | None:
    for phrase, hit in _TABLE.at(scene.line, i):
        if phrase.stated and states[i] != STATED:
            continue
        finding = phrase.build(scene, hit)
        if finding is not None:
            return _Piece(hit.first, finding.ends if finding.ends is not None else hit.last, finding=finding)
    return None


def _continues(items: list[Item], i: int) -> bool:
    """Whether a bare number here goes on with the name last typed: ``6.4 then 5.9``, ``now 5.9``."""
    j = i - 1
    while j >= 0 and items[j].key in LINKS and items[j].key not in ("now", "to", ">"):
        j -= 1
    return j >= 0 and items[j].key in ("then", "now", "to", ">", "after", "later", "again", "afterwards")


def _slot_of(items: list[Item], value: Value) -> str:
    for item in items[value.first : value.last + 1]:
        if item.key in _NEEDS_NUMBER or item.key in ("WATER", "AIR", "LEVEL"):
            return item.key
    return ""


def _clean_only(line: Line, pieces: list[_Piece], states: list[str]) -> list[_Piece]:
    """Without values of everyday names (``water``, ``level``, ``air``) whose clause speaks of something else."""
    clauses = _clauses(line)
    taken = {i for piece in pieces for i in range(piece.first, piece.last + 1)}
    noisy = {
        clauses[i]
        for i, item in enumerate(line.items)
        if i not in taken and not _is_quiet(item.key)
    }
    return [
        piece for piece in pieces if not (piece.value and piece.value.weak and clauses[piece.first] in noisy)
    ]
