"""Paper notes in a table: columns in any order, dates as people write them, and whole or not at all."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import datetime
from zoneinfo import ZoneInfo

import openpyxl
import pytest

from bot.archive import notes as notes_module
from bot.archive.bad_file import BadFile
from bot.archive.notes import Notes, read_notes
from bot.archive.tables import read_table
from bot.reader import ReaderSettings
from domain.facts import Observation, Reading, WaterChange

LISBON = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 5, 20, 12, tzinfo=LISBON)


def read(content: bytes | str, **settings: object) -> Notes:
    raw = content.encode() if isinstance(content, str) else content
    table = read_table(raw)
    return read_notes(table, zone=LISBON, settings=ReaderSettings(**settings), now=NOW)  # type: ignore[arg-type]


def when(notes: Notes) -> list[str]:
    return [f"{said.happened_at:%Y-%m-%d %H:%M}" for said in notes.recorded]


def test_a_cell_of_blanks_and_marks_is_refused_as_fast_as_any(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing as long as this comes to the pattern, whose time grows with the square of the length."""
    matched: list[int] = []

    class Watched:
        def fullmatch(self, text: str) -> re.Match[str] | None:
            matched.append(len(text))
            return pattern.fullmatch(text)

    pattern = notes_module._NUMBER
    monkeypatch.setattr(notes_module, "_NUMBER", Watched())
    cells = [f"1{' ' * 4_000}{'x' * 20}", f"1{',' * 4_000}{'x' * 20}", "6.1   pH"]
    errors = read("date,ph\n" + "".join(f'2026-05-04,"{cell}"\n' for cell in cells)).errors
    assert [error.line for error in errors] == [2, 3]
    assert max(matched) <= 40


def test_columns_are_known_by_their_headings_in_any_order() -> None:
    notes = read("Remarks;Water temp (°F);TDS ppm;PH;Day;Moon\nall fine;66;720;5,9;2026-05-04;full\n")
    assert [(c.role, c.unit) for c in notes.columns] == [
        ("note", ""),
        ("water", "F"),
        ("ppm", ""),
        ("ph", ""),
        ("date", ""),
    ]
    assert notes.unused == ("Moon",)
    reading, note = (said.fact for said in notes.recorded)
    assert isinstance(reading, Reading)
    assert (reading.ph, reading.ppm, reading.ec_ms_cm) == (5.9, 720, 1.44)
    assert reading.water_temp_c == pytest.approx(18.889, abs=0.001)  # (66 - 32) * 5 / 9
    assert note == Observation(text="all fine", when=note.when)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("2026-05-04", "2026-05-04 12:00"),
        ("2026-05-04 07:30", "2026-05-04 07:30"),
        ("4/5/2026", "2026-05-04 12:00"),
        ("4.5.26 18:05", "2026-05-04 18:05"),
        ("4 May 2026", "2026-05-04 12:00"),
        ("May 4 2026 7pm", "2026-05-04 19:00"),
        ("4. Mai 2026", "2026-05-04 12:00"),
        ("4 de mayo de 2026", "2026-05-04 12:00"),
        ("4 May", "2026-05-04 12:00"),
        ("24 December", "2025-12-24 12:00"),
    ],
)
def test_dates_as_people_write_them(typed: str, meant: str) -> None:
    assert when(read(f"date;ph\n{typed};6\n")) == [meant]


def test_the_order_of_day_and_month_is_read_off_the_whole_column() -> None:
    assert when(read("date,ph\n5/4/2026,6\n4/30/2026,6\n"))[0].startswith("2026-05-04")
    assert when(read("date,ph\n5/4/2026,6\n30/4/2026,6\n"))[0].startswith("2026-04-05")
    doubtful = read("date,ph\n5/4/2026,6\n")
    assert (doubtful.date_order, doubtful.order_was_told) == ("DMY", False)
    assert read("date,ph\n5/4/2026,6\n", units="us").date_order == "MDY"
    with pytest.raises(BadFile, match="all one way"):
        read("date,ph\n30/4/2026,6\n4/30/2026,6\n")


def test_a_time_column_and_a_note_that_says_what_was_done() -> None:
    notes = read("date,time,notes\n2026-05-04,7:15 pm,changed the water\n")
    assert when(notes) == ["2026-05-04 19:15"]
    assert isinstance(notes.recorded[0].fact, WaterChange)


@pytest.mark.parametrize(
    ("row", "what"),
    [
        ("2026-05-04,66,,", "no tank has that"),
        ("2026-05-04,abc,,", "is no number"),
        ("2026-06-04,6,,", "has not come yet"),
        ("1926-05-04,6,,", "too long ago"),
        ("soon,6,,", "is no date"),
        ("2026-02-30,6,,", "is no date"),
        ("2026-05-04,,,", "nothing beside it"),
        (",6,,", "no date"),
        ("2026-05-04,6,50,", "more than one thing"),
        ("2026-05-04,nan,,", "is no number"),
        ("2026-05-04,6,,=HYPERLINK(1)", "formula"),
    ],
)
def test_one_wrong_row_is_named_by_its_line_and_nothing_is_kept(row: str, what: str) -> None:
    notes = read(f"date,ph,ec,notes\n2026-05-03,6,1.4,\n\n{row}\n")
    assert notes.recorded == ()
    assert [error.line for error in notes.errors] == [4]
    assert what in notes.errors[0].what


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"date,ph\n2026-05-04,6\n".decode().encode("utf-16-be"), "UTF-8"),
        ("date,note\n2026-05-04,déjà vu\n".encode("latin-1"), "UTF-8"),
        (b"ph,ppm\n6,700\n", "no column for the date"),
        (b"date,colour\n2026-05-04,red\n", "no column with values"),
        (b"date,ph\n", "no rows"),
        (b"", "no rows"),
        (b'date,notes\n2026-05-04,"open\n', "quotes"),
        (b"date,notes\n2026-05-04," + b"x" * 6000 + b"\n", "too long"),
        (b"PK\x03\x04 broken", "damaged"),
        (b"\xd0\xcf\x11\xe0 old", "old kind of spreadsheet"),
    ],
)
def test_a_file_that_is_no_table_of_notes_is_refused_in_one_line(content: bytes, why: str) -> None:
    with pytest.raises(BadFile) as refused:
        read(content)
    assert why in str(refused.value)
    assert "\n" not in str(refused.value)


def sheet_time(day: int, hour: int = 0, minute: int = 0) -> datetime:
    """A time in May as a spreadsheet keeps it: without a zone."""
    return datetime(2026, 5, day, hour, minute, tzinfo=LISBON).replace(tzinfo=None)


def workbook(*rows: list[object]) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_spreadsheet_with_its_own_dates_and_numbers() -> None:
    notes = read(workbook(["pH", "When"], [6.1, sheet_time(4)], ["5.9", sheet_time(4, 18, 5)]))
    assert when(notes) == ["2026-05-04 12:00", "2026-05-04 18:05"]


def test_a_spreadsheet_with_a_formula_is_refused() -> None:
    with pytest.raises(BadFile, match="Row 2 holds a formula"):
        read(workbook(["date", "ph"], [sheet_time(4), "=5+1"]))


def test_a_table_that_was_exported_can_be_read_in_again() -> None:
    exported = "when (Europe/Lisbon),when (UTC),said by,in doubt,text,crop,sites\r\n"
    exported += "2026-05-04 19:05:00,2026-05-04 18:05:00,Ana,,'=1+1 odd,,\r\n"
    notes = read(b"\xef\xbb\xbf" + exported.replace("'=1+1", "'-1+1").encode())
    assert when(notes) == ["2026-05-04 19:05"]
    assert notes.recorded[0].fact.text == "-1+1 odd"  # type: ignore[attr-defined]


def test_a_spreadsheet_that_would_unfold_in_its_reader_is_refused() -> None:
    """Entities that name each other (CWE-776)."""
    laughs = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 9))
    bomb = f'<?xml version="1.0"?><!DOCTYPE s [<!ENTITY l0 "ha">{laughs}]><worksheet>&l8;</worksheet>'
    whole = io.BytesIO(workbook(["date", "ph"], [sheet_time(4), 6]))
    out = io.BytesIO()
    with zipfile.ZipFile(whole) as book, zipfile.ZipFile(out, "w") as changed:
        for name in book.namelist():
            is_sheet = name == "xl/worksheets/sheet1.xml"
            changed.writestr(name, bomb if is_sheet else book.read(name))
    with pytest.raises(BadFile, match="damaged"):
        read(out.getvalue())
