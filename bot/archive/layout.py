"""What lies where in an archive, and how far it goes: its writer and its reader both keep to this."""

from __future__ import annotations

from typing import Final

__all__ = ["FORMAT", "HOUSEHOLD", "JOURNAL", "PICTURES", "README", "SHEETS", "VERSION", "WHAT"]

FORMAT: Final = "rillkeeper archive"
VERSION: Final = 1
"""Goes up when an older program could no longer read what a newer one writes."""

README: Final = "README.txt"
HOUSEHOLD: Final = "household.json"
JOURNAL: Final = "journal.jsonl"
SHEETS: Final = "sheets/"
PICTURES: Final = "pictures/"

WHAT: Final = """\
Everything this household has told its tank's log.

household.json  people, chats and reminders, by the numbers used in the journal
journal.jsonl   the whole journal: one message a line, each edit and undo a line of its own
due.ics         what is due, for any calendar program
sheets/         what stands now, one table for each kind, for any spreadsheet
pictures/       how the water went, and what stands where

The log reads household.json and journal.jsonl back: send this file to it in a
private chat, or run: rillkeeper import this-file.zip
The rest is made from these two. Times in the tables are by the household's clock;
units stand in the headings. A ' before a cell keeps a spreadsheet from running it.
No address or number of anybody's account is in here.
"""
