"""From one text to all that it says: the order of work, and which time goes with what."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from math import isfinite
from zoneinfo import ZoneInfo

from bot.reader.bare import bare_numbers, lone_number, meanings
from bot.reader.commands import command_in
from bot.reader.continuing import NAMED
from bot.reader.emergencies import Alarm, alarm_in
from bot.reader.fillers import BROUGHT, words
from bot.reader.findings import Scene
from bot.reader.itemizing import line_of
from bot.reader.items import Line
from bot.reader.moments import Moments, NoSuchMoment
from bot.reader.mood import STATED, moods
from bot.reader.names import Mender, Names
from bot.reader.pieces import Piece, clauses_of, find_pieces, is_quiet
from bot.reader.readings import reading_of
from bot.reader.result import Found, Read, ReaderSettings, Reason, Unclear
from bot.reader.scan import Cleaned, clean, tokens_of
from bot.reader.slots import Value, in_plain_words
from bot.reader.tanks import bare_tanks, tank_for, tanks_in_turn
from bot.reader.values import ValueReader
from bot.reader.when import Coverage, clause_of_time, is_own, times_of_plans
from bot.reader.whereabouts import is_elsewhere
from domain.facts import Command, Fact, Observation, Question

__all__ = ["read"]

MAX_CHARACTERS, MAX_TOKENS = 4096, 800
"""The longest message that chats carry, and more words than it has; what stands beyond is not read."""

_NOTHING_KNOWN = ReaderSettings()


def read(text: str, *, now: datetime, zone: ZoneInfo, settings: ReaderSettings = _NOTHING_KNOWN) -> Read:
    """All that ``text`` says.

    now : when it was sent, aware.
    zone : the household's time zone, in which its times are meant.
    settings : what is known of the household.
    Never raises for any text. Talk that is not for the record gives an empty ``Read``.
    """
    cleaned = clean(text[:MAX_CHARACTERS])
    tokens = tokens_of(cleaned.text, MAX_TOKENS)
    if not tokens:
        return Read()
    moments = Moments.of(now, zone)
    whole = (tokens[0].start, tokens[-1].end)
    bare = bare_numbers(cleaned, tokens, settings)
    if bare is not None:
        if bare.reason is not None:
            bit = Unclear(cleaned.raw(*whole), bare.reason, cleaned.span(*whole), bare.suggestions)
            return Read(unclear=(bit,))
        return _only(cleaned, replace(bare.reading, when=moments.now) if bare.reading else None, whole)
    lone = lone_number(cleaned.text)
    if lone is not None:
        value = float(cleaned.text[lone[0] : lone[1]].replace(",", "."))
        return Read(unclear=(Unclear(cleaned.raw(*lone), "ambiguous", cleaned.span(*lone), meanings(value)),))
    names = Names.of(settings)
    command = command_in(cleaned, tokens, names)
    if command is not None:
        return _only(cleaned, command, whole)
    mender = Mender()
    line = line_of(cleaned, tokens, names, mender, day_first=settings.day_first)
    if not line.items:
        return Read()
    return _LineReader(Scene(line, names, settings, moments, mender)).read()


def _only(cleaned: Cleaned, fact: Fact | None, place: tuple[int, int]) -> Read:
    return Read((Found(fact, cleaned.span(*place)),)) if fact is not None else Read()


class _LineReader:
    """Puts together what the items of one message say."""

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._line = scene.line
        self._clauses = clauses_of(scene.line.items)
        self._tanks = [(i, item) for i, item in enumerate(scene.line.items) if item.key == "#tank"]
        self._tank_follows = False
        self._coverage = Coverage(self._line, self._clauses, [])
        self._facts: list[Found] = []
        self._unclear: list[Unclear] = []

    def read(self) -> Read:
        """All that the message says; an emergency outranks the rest."""
        line = self._line
        alarm = alarm_in(line)
        if alarm is not None:
            return self._alarmed(alarm)
        if _is_nameless(line):
            readings = bare_tanks(line, self._scene.settings)
            if readings:
                now = self._scene.moments.now
                return Read(tuple(Found(replace(r, when=now), line.cleaned.span(*at)) for r, at in readings))
            self._note("ambiguous", 0, len(line.items) - 1)
            return Read(unclear=tuple(self._unclear))
        values = ValueReader(line, self._scene.settings)
        states = moods(line)
        pieces = find_pieces(self._scene, values, states)
        self._take(pieces, states)
        self._leftovers(pieces, states, values)
        return Read(tuple(self._facts), tuple(sorted(self._unclear, key=lambda bit: bit.span)))

    def _alarmed(self, alarm: Alarm) -> Read:
        """The emergency first; of the rest what its other clauses record. Nobody in trouble is asked back."""
        line = self._line
        clauses = set(self._clauses[alarm.first : alarm.last + 1])
        times = [entry for entry in line.times if clause_of_time(line, self._clauses, entry[0]) in clauses]
        self._coverage = Coverage(line, self._clauses, times)
        self._record(alarm.fact, alarm.first, alarm.last, strict=False)
        states = moods(line)
        pieces = find_pieces(self._scene, ValueReader(line, self._scene.settings), states)
        self._take([p for p in pieces if clauses.isdisjoint(self._clauses[p.first : p.last + 1])], states)
        records = [found for found in self._facts if not isinstance(found.fact, Question | Command)]
        return Read(tuple(records))

    def _take(self, pieces: list[Piece], states: list[str]) -> None:
        """The facts of these pieces, in the order in which they happened."""
        line = self._line
        self._tank_follows = bool(self._tanks and pieces) and self._tanks[0][0] > pieces[0].last
        plans = times_of_plans(line, self._clauses, states)
        owners = [piece for piece in pieces if piece.finding is not None and piece.finding.own_times]
        times = [
            (place, item)
            for place, item in line.times
            if place not in plans and not any(is_own(line, place, item, piece) for piece in owners)
        ]
        self._coverage = Coverage(line, self._clauses, times)
        for group in self._groups(pieces):
            if group[0].value is not None:
                self._reading(group)
            else:
                self._finding(group[0])

    def _groups(self, pieces: list[Piece]) -> list[list[Piece]]:
        """Pieces in the order in which they happened; values of one moment stand together."""
        groups: list[list[Piece]] = []
        reading: list[Piece] | None = None
        for piece in pieces:
            if piece.earlier and groups:
                groups.insert(len(groups) - 1, [piece])
                continue
            if piece.value is not None:
                if groups and self._is_changed_by(groups[-1][0], piece):
                    groups.insert(len(groups) - 1, [piece])
                    continue
                if reading is None or self._starts_anew(reading, piece):
                    reading = []
                    groups.append(reading)
                reading.append(piece)
                continue
            finding = piece.finding
            if finding is not None and finding.earlier and groups and groups[-1][0].value is not None:
                groups.insert(len(groups) - 1, [piece])
                continue
            groups.append([piece])
            if finding is not None and finding.facts and not finding.timeless and not finding.own_times:
                reading = None
        return groups

    def _is_changed_by(self, dose: Piece, piece: Piece) -> bool:
        """``2 ml up took ph from 5.2 to 5.9``: the first value was before what is told first."""
        around = self._line.around
        inside = around[piece.first : piece.last + 1]
        return bool(dose.facts) and around[piece.first - 1] in BROUGHT and "from" in inside

    def _starts_anew(self, reading: list[Piece], piece: Piece) -> bool:
        if self._coverage.of(piece.first) is not self._coverage.of(reading[0].first):
            return True
        if self._tank_for(piece.first, piece.last) != self._tank_for(reading[0].first, reading[0].last):
            return True
        return piece.step != reading[0].step and any(
            other.value is not None and piece.value is not None and other.value.key == piece.value.key
            for other in reading
        )

    def _reading(self, group: list[Piece]) -> None:
        values = [piece.value for piece in group if piece.value is not None]
        self._note_values([value for value in values if value.reason is not None])
        reading, conflicts = reading_of([value for value in values if value.reason is None])
        for conflict in conflicts:
            first, last = conflict.values[0].first, conflict.values[-1].last
            texts = tuple(in_plain_words(value.fields) for value in conflict.values)
            self._note("conflict", first, last, texts)
        if reading is not None:
            self._record(reading, group[0].first, group[-1].last)

    def _note_values(self, values: list[Value]) -> None:
        for value in values:
            if value.reason is not None:
                self._note(value.reason, value.first, value.last, value.suggestions)

    def _finding(self, piece: Piece) -> None:
        finding = piece.finding
        if finding is None:
            return
        if finding.reason is not None:
            self._note(finding.reason, piece.first, piece.last, finding.suggestions)
        facts = finding.facts
        turns = tanks_in_turn(self._line.items, self._tanks, piece.first, piece.last, len(facts))
        if len(facts) == 1 and self._is_of_several(piece):
            self._note("ambiguous", piece.first, piece.last)
            return
        if turns:
            facts = tuple(replace(fact, tank=tank) for fact, tank in zip(facts, turns, strict=True))
        for fact in facts:
            if finding.timeless:
                self._facts.append(
                    Found(self._in_tank(fact, piece.first, piece.last), self._span(piece.first, piece.last))
                )
            elif finding.own_times:
                fact = replace(fact, when=self._scene.moments.now)
                self._facts.append(
                    Found(self._in_tank(fact, piece.first, piece.last), self._span(piece.first, piece.last))
                )
            else:
                self._record(fact, piece.first, piece.last, strict=not isinstance(fact, Observation))

    def _is_of_several(self, piece: Piece) -> bool:
        """``lost A1 in the kitchen and B2 in the balcony`` as one fact: its sites are not all in one."""
        items = self._line.items[piece.first : piece.last + 2]
        named = {str(item.value) for item in items if item.key == "#tank"}
        sites = [item for item in items if item.key == "#site"]
        return len(named) > 1 and len(sites) > 1

    def _record(self, fact: Fact, first: int, last: int, *, strict: bool = True) -> None:
        """Adds a fact with its time; one whose time cannot be is left out."""
        item = self._coverage.of(first)
        try:
            when = self._scene.moments.of_record(item.value if item is not None else None)
        except NoSuchMoment:
            if strict and item is not None:
                cleaned = self._line.cleaned
                bit = Unclear(
                    cleaned.raw(item.start, item.end), "implausible", cleaned.span(item.start, item.end)
                )
                if bit not in self._unclear:
                    self._unclear.append(bit)
                return
            when = self._scene.moments.now
        self._facts.append(
            Found(self._in_tank(replace(fact, when=when), first, last), self._span(first, last))
        )

    def _in_tank(self, fact: Fact, first: int, last: int) -> Fact:
        """The fact with the tank that its message names for items ``first`` to ``last``."""
        tank = fact.tank or self._tank_for(first, last)
        return replace(fact, tank=tank) if tank is not None else fact

    def _tank_for(self, first: int, last: int) -> str | None:
        return tank_for(self._line.items, self._tanks, first, last, follows=self._tank_follows)

    def _span(self, first: int, last: int) -> tuple[int, int]:
        items = self._line.items
        return self._line.cleaned.span(items[first].start, items[last].end)

    def _note(self, reason: Reason, first: int, last: int, suggestions: tuple[str, ...] = ()) -> None:
        self._unclear.append(
            Unclear(self._line.typed(first, last), reason, self._span(first, last), suggestions)
        )

    def _note_numbers(self, run: list[int]) -> None:
        """Numbers without a name; a single one is offered with the names that it may have."""
        if run:
            value = self._line.items[run[0]].value.value
            offered = meanings(value) if len(run) == 1 and isfinite(value) else ()
            self._note("ambiguous" if isfinite(value) else "implausible", run[0], run[-1], offered)

    def _is_list_mark(self, i: int) -> bool:
        """``1.`` or ``2)`` at the start of a line or of a point of a list."""
        items = self._line.items
        following = items[i + 1].key if i + 1 < len(items) else ""
        before = items[i - 1] if i else None
        if items[i].key != "#num" or following not in (".", ")") or items[i + 1].start != items[i].end:
            return False
        if before is None or before.key == "nl":
            return True
        return following == ")" and before.key != "("

    def _is_praised(self, i: int) -> bool:
        """``ph ok``: nobody wants to be asked for the number."""
        items = self._line.items
        step = i + 1
        while step < len(items) and items[step].key in ("is", "was", "looks", "still", "are", "now"):
            step += 1
        return step < len(items) and items[step].key in _PRAISE

    def _leftovers(self, pieces: list[Piece], states: list[str], values: ValueReader) -> None:
        """Numbers that belong to nothing in a message that gives readings, and names that have no number."""
        items = self._line.items
        taken = {i for piece in pieces for i in range(piece.first, piece.last + 1)} | set(values.scale_items)
        loud = {
            self._clauses[i]
            for i, item in enumerate(items)
            if i not in taken and (not is_quiet(item.key) or is_elsewhere(item))
        }
        has_values = any(piece.value is not None for piece in pieces)
        run: list[int] = []
        for i, item in enumerate(items):
            if i in taken or states[i] != STATED or self._clauses[i] in loud:
                continue
            if self._is_list_mark(i):
                continue
            if item.key == "#num" and has_values:
                if run and all(
                    not items[k].key[0].isalpha() or items[k].key == "and" for k in range(run[-1] + 1, i)
                ):
                    run.append(i)
                    continue
                self._note_numbers(run)
                run = [i]
            elif self._is_praised(i):
                continue
            elif item.key in NAMED and not run and "strip" not in self._line.typed(i, i).lower():
                self._note("missing_value", i, i)
        self._note_numbers(run)


_PRAISE = words("ok okay good fine great perfect nice stable steady normal alright")


def _is_nameless(line: Line) -> bool:
    """``5.9 and 1.4``, ``yesterday 5.9 1.4``: numbers with more than separators, and no name."""
    keys = [item.key for item in line.items]
    if not all(key == "#num" or key in _BETWEEN for key in keys) or keys.count("#num") < 2:
        return False
    return any(item.value.style in ("point", "comma") for item in line.items if item.key == "#num")


_BETWEEN = words(", ; / - and & nl . : reading readings numbers values check log test today #tank")
