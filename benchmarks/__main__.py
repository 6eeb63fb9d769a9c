"""``python -m benchmarks``: every figure in one table."""

from __future__ import annotations

import importlib
import importlib.util

from rich.console import Console
from rich.table import Table

MODULES = (
    "whole_path",
    "reader",
    "chemistry",
    "pictures",
    "garden",
    "forecast",
    "journal_of_ten_years",
    "archive",
    "dosing",
)
DIGITS = 3


def main() -> None:
    table = Table(
        "what", "ours", "plain", "unit", title="What Rillkeeper costs, beside a plain way to do the same"
    )
    for column in table.columns[1:3]:
        column.justify = "right"
    console = Console()
    for name in MODULES:
        if importlib.util.find_spec(f"benchmarks.{name}") is None:
            continue
        with console.status(name):
            figures = importlib.import_module(f"benchmarks.{name}").measure()
        for what, ours, plain, unit in figures:
            table.add_row(what, f"{ours:.{DIGITS}g}", f"{plain:.{DIGITS}g}", unit)
        table.add_section()
    console.print(table)
    console.print(
        "whole path: plain is a bare python-telegram-bot that writes one row with sqlite3 and echoes; "
        "it confirms before it handles, so a crash loses what it held. State and plan: plain is a week's "
        "journal. Doses: plain is 1 ml per 10 litres for each half pH; more by python -m benchmarks.dosing."
    )


if __name__ == "__main__":
    main()
