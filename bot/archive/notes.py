"""Paper notes in a table, read row by row through the same reader as everything that is typed.

A row becomes the text that somebody would have typed that day, so that units, slots and doubts are decided
where they always are. All or nothing: a row that cannot be read whole is an error with its line.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from bot.archive.columns import Column, Role, guessed
from bot.archive.dates import DateColumn
from bot.archive.tables import Cell, Table
from bot.reader import ReaderSettings, read
from domain.facts import (
    Chore,
    Dose,
    Emerged,
    Fact,
    Harvest,
    Lost,
    Moved,
    Observation,
    Reading,
    Removed,
    Reseed,
    Sow,
    StageSeen,
    Tended,
    TopUp,
    WaterChange,
)
from storage.journal import Recorded

__all__ = ["Notes", "RowError", "read_notes"]

OLDEST = timedelta(days=30 * 366)
"""Nobody's notes go back farther; an older date is a slip."""

_NUMBER = re.compile(r"([+-]?\d[\d.,' ]*|\.\d+)\s*([^\d\s].{0,12})?")
_NOTHING = frozenset({"", "-", "--", "—", "–", "?", "n/a", "na", "none", "."})
_SAID: dict[Role, str] = {
    "ph": "ph {} {}",
    "ec": "ec {} {}",
    "ppm": "ppm {} {}",
    "water": "water temp {} {}",
    "air": "air {} {}",
    "humidity": "rh {} {}",
    "level": "level {} {}",
    "oxygen": "do {} {}",
}
_DONE = (
    Reading, Dose, TopUp, WaterChange, Sow, Reseed, Emerged, Lost, Moved, Tended, Harvest, Removed, StageSeen,
    Chore, Observation,
)  # fmt: skip
"""What a note may say that is kept as such: what was done or seen, never an order or a setting."""

_FORMULA = ("=", "＝", "@")


@dataclass(frozen=True, slots=True)
class RowError:
    """line : in the file, from 1. what : what is wrong, fit to show."""

    line: int
    what: str


@dataclass(frozen=True, slots=True)
class Notes:
    """What a table of notes says.

    columns : those that are understood; unused : the headings of the others.
    recorded : the facts of all rows, in their order; empty where there are errors.
    date_order : ``DMY`` or ``MDY``; order_was_told : the dates themselves show which.
    """

    columns: tuple[Column, ...]
    unused: tuple[str, ...]
    rows: int
    recorded: tuple[Recorded, ...]
    errors: tuple[RowError, ...]
    date_order: str
    order_was_told: bool


def read_notes(
    table: Table,
    *,
    zone: ZoneInfo,
    settings: ReaderSettings,
    now: datetime,
    on_row: Callable[[int, int], None] = lambda _, __: None,
) -> Notes:
    """Reads the rows of a table.

    zone, settings : the household's. now : aware; nothing lies after it.
    on_row : called with how many rows have been read, and how many there are.
    Raises BadFile where the columns are not to be understood at all.
    """
    columns = guessed(table.header)
    by_role = {column.role: column for column in columns}
    used = {column.at for column in columns}
    cells = [_at(row, by_role["date"]) for _, row in table.rows]
    dates = DateColumn.of(cells, day_first=settings.day_first, zone=zone, now=now)
    reader = _Rows(by_role, dates, zone, settings, now)
    recorded: list[Recorded] = []
    errors: list[RowError] = []
    for count, (line, row) in enumerate(table.rows, start=1):
        try:
            recorded += reader.read(row)
        except ValueError as error:
            errors.append(RowError(line, str(error)))
        on_row(count, len(table.rows))
    return Notes(
        columns=columns,
        unused=tuple(name for at, name in enumerate(table.header) if name and at not in used),
        rows=len(table.rows),
        recorded=() if errors else tuple(recorded),
        errors=tuple(errors),
        date_order=dates.order,
        order_was_told=dates.was_told,
    )


@dataclass(frozen=True, slots=True)
class _Rows:
    columns: dict[Role, Column]
    dates: DateColumn
    zone: ZoneInfo
    settings: ReaderSettings
    now: datetime

    def read(self, row: Sequence[Cell]) -> list[Recorded]:
        """What a row says. Raises ValueError with what is wrong with it."""
        for cell in row:
            if isinstance(cell, str) and cell.startswith(_FORMULA):
                raise ValueError(f"“{cell[:20]}” is a formula; write the value")
        clock = _at(row, self.columns["time"]) if "time" in self.columns else None
        at = self.dates.read(_at(row, self.columns["date"]), clock)
        if at > self.now:
            raise ValueError(f"{at:%d %b %Y} has not come yet")
        if self.now - at > OLDEST:
            raise ValueError(f"{at:%d %b %Y} is too long ago")
        facts = [*self._values(row, at), *self._note(row, at)]
        if not facts:
            raise ValueError("a date with nothing beside it")
        return [Recorded(fact, fact.when or at) for fact in facts]

    def _values(self, row: Sequence[Cell], at: datetime) -> list[Fact]:
        parts = []
        for role, said in _SAID.items():
            column = self.columns.get(role)
            if column is None or (value := _number(_at(row, column), column)) is None:
                continue
            parts.append(said.format(*value).strip() + (self._scale(row) if role == "ppm" else ""))
        if not parts:
            return []
        text = ", ".join(parts)
        found = read(text, now=at, zone=self.zone, settings=self.settings)
        for unclear in found.unclear:
            raise ValueError(f"{unclear.text}: {_REASONS[unclear.reason]}")
        facts = [each.fact for each in found.facts]
        if len(facts) != 1 or not isinstance(facts[0], Reading):
            raise ValueError(f"I cannot read “{text[:40]}”")
        return facts

    def _scale(self, row: Sequence[Cell]) -> str:
        column = self.columns.get("scale")
        value = _number(_at(row, column), column) if column is not None else None
        return f" ({value[0]} scale)" if value is not None else ""

    def _note(self, row: Sequence[Cell], at: datetime) -> list[Fact]:
        """What the note says was done, where all of it is clear; else the note as it stands."""
        column = self.columns.get("note")
        note = str(_at(row, column) or "").strip() if column is not None else ""
        if note.lower() in _NOTHING:
            return []
        found = read(note, now=at, zone=self.zone, settings=self.settings)
        facts = [each.fact for each in found.facts]
        is_clear = facts and not found.unclear and all(isinstance(fact, _DONE) for fact in facts)
        return facts if is_clear else [Observation(text=note[:_LONGEST_NOTE], when=at)]


_LONGEST_NOTE = 2_000
_LONGEST_NUMBER = 40
_REASONS = {
    "implausible": "no tank has that",
    "ambiguous": "could mean more than one thing; name its unit in the heading",
    "conflict": "disagrees with another column",
    "missing_value": "no number",
    "unknown": "not known",
}


def _at(row: Sequence[Cell], column: Column) -> Cell:
    return row[column.at] if column.at < len(row) else None


def _number(cell: Cell, column: Column) -> tuple[str, str] | None:
    """A value and its unit as they would be typed; ``None`` for an empty cell. Raises ValueError."""
    if cell is None:
        return None
    if isinstance(cell, float):
        return f"{cell:.6g}", column.unit
    # Many blanks would be shared out in every way between the number and what follows.
    text = " ".join(str(cell).split())
    if text.lower() in _NOTHING:
        return None
    said = _NUMBER.fullmatch(text) if len(text) <= _LONGEST_NUMBER else None
    if said is None:
        raise ValueError(f"{column.heading} “{text[:20]}” is no number")
    unit = (said[2] or "").strip()
    if unit.lower() in ("ph", "ppm", "%", "ec", column.heading.lower()):
        unit = ""
    return said[1].strip(), unit or column.unit
