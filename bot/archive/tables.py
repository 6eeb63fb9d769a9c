"""Tables as people keep them: CSV and XLSX, read into rows of text without running anything in them."""

from __future__ import annotations

import csv
import io
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from bot.archive.bad_file import BadFile
from bot.archive.zips import is_zip, names_in

__all__ = ["MOST_ROWS", "Cell", "Table", "read_table"]

MOST_ROWS = 50_000
MOST_COLUMNS = 60
MOST_CELL = 5_000
SHEET_MARK = "xl/workbook.xml"
_DELIMITERS = ",;\t|"
_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_OLD_EXCEL = b"\xd0\xcf\x11\xe0"

Cell = str | float | datetime | date | time | None
"""What a cell holds; a number or time only where the file itself says so."""


@dataclass(frozen=True, slots=True)
class Table:
    """header : the names of the columns. rows : each with its line (CSV) or row (XLSX), from 1."""

    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[Cell, ...]], ...]


def read_table(content: bytes) -> Table:
    """The table in a file, empty rows left out. Raises BadFile."""
    if content.startswith(_OLD_EXCEL):
        raise BadFile("This is an old kind of spreadsheet; save it as .xlsx or .csv.")
    if is_zip(content):
        if SHEET_MARK not in names_in(content):
            raise BadFile("This ZIP file is neither an archive of mine nor a spreadsheet.")
        rows = _of_workbook(content)
    else:
        rows = _of_csv(_decoded(content))
    found = [(line, cells) for line, cells in rows if any(cell not in (None, "") for cell in cells)]
    if len(found) > MOST_ROWS + 1:
        raise BadFile(f"This table has more than {MOST_ROWS:,} rows; bring it in parts.")
    if len(found) < 2:
        raise BadFile("This table has no rows below its heading.")
    (_, header), *body = found
    names = tuple("" if cell is None else str(cell).strip() for cell in header)
    return Table(names, tuple(body))


def _decoded(content: bytes) -> str:
    encoding = next((name for mark, name in _MARKS if content.startswith(mark)), "utf-8")
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError:
        raise BadFile("I cannot read its letters: save it as CSV in UTF-8.") from None
    if "\0" in text:
        raise BadFile("This is no text: save it as CSV in UTF-8, or as .xlsx.")
    return text


def _of_csv(text: str) -> Iterator[tuple[int, tuple[Cell, ...]]]:
    heading = next((row for row in text.splitlines() if row.strip()), "")
    delimiter = max(_DELIMITERS, key=heading.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    before = 0
    try:
        for cells in reader:
            if len(cells) > MOST_COLUMNS or any(len(cell) > MOST_CELL for cell in cells):
                raise BadFile(f"Line {before + 1} is too long for a table of notes.")
            # An export of ours puts an apostrophe before what might run; it is no part of the note.
            yield before + 1, tuple(_without_guard(cell.strip()) for cell in cells)
            before = reader.line_num
            if before > 4 * MOST_ROWS:
                raise BadFile(f"This table has more than {MOST_ROWS:,} rows; bring it in parts.")
    except csv.Error:
        raise BadFile(f"Line {before + 1}: the quotes of this CSV do not match.") from None


def _without_guard(cell: str) -> str:
    return cell[1:] if cell[:1] == "'" and cell[1:2] in ("=", "+", "-", "@", "\t", "\r", "|", "%") else cell


def _of_workbook(content: bytes) -> Iterator[tuple[int, tuple[Cell, ...]]]:
    # Imported with the first workbook. With defusedxml beside it, openpyxl expands no entities.
    import openpyxl

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles that it does not know
            book = openpyxl.load_workbook(io.BytesIO(content), read_only=True)
            sheet = book.worksheets[0]
            sheet.reset_dimensions()  # what the file claims of its size may be false
            for cells in sheet.iter_rows(max_col=MOST_COLUMNS, max_row=MOST_ROWS + 2):
                line = next((cell.row for cell in cells if getattr(cell, "row", None)), 0)
                yield line, tuple(_cell(cell, line) for cell in cells)
    except BadFile:
        raise
    except Exception:  # whatever a damaged or hostile workbook makes it raise
        raise BadFile("This spreadsheet is damaged; save it anew, or as CSV.") from None


def _cell(cell: Any, line: int) -> Cell:
    if cell.data_type == "f":
        raise BadFile(f"Row {line} holds a formula; save the sheet with plain values.")
    if cell.data_type == "e":
        raise BadFile(f"Row {line} holds an error of the spreadsheet ({str(cell.value)[:10]}).")
    value = cell.value
    if value is None or isinstance(value, datetime | date | time):
        return value
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    return str(value).strip()[:MOST_CELL]
