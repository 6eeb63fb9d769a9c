"""Taking data out and in: 10,000 rows of notes, and the archive that they make."""

from __future__ import annotations

import csv
import io
import random
import sys
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from bot.archive.notes import read_notes
from bot.archive.pack import packed
from bot.archive.tables import read_table
from bot.archive.unpack import unpacked
from bot.reader import ReaderSettings
from storage.transfer import Holdings

ROWS = 10_000
LISBON = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 5, 6, 12, tzinfo=LISBON)
NOTES = ("", "added 5 ml ph down", "topped up 4 L", "B2 looks droopy", "all fine today", "changed the water")


def measure() -> list[tuple[str, float, float, str]]:
    """Processor time for 10,000 rows, beside splitting the same table and turning its numbers into floats."""
    table = notes(ROWS)
    plain_s = spent_s(lambda: split(table))
    sheet = read_table(table)
    settings = ReaderSettings()
    read_s = spent_s(lambda: read_notes(sheet, zone=LISBON, settings=settings, now=NOW))
    kept = holdings(table)
    out_s = spent_s(lambda: packed(kept, now=NOW))
    archive = packed(kept, now=NOW)
    in_s = spent_s(lambda: unpacked(archive))
    return [
        ("10,000 rows of notes read", read_s, plain_s, "s"),
        ("10,000 messages packed into an archive", out_s, plain_s, "s"),
        ("10,000 messages unpacked and checked", in_s, plain_s, "s"),
    ]


def notes(count: int) -> bytes:
    """A table as somebody keeps it who tests every two hours."""
    chosen = random.Random(1)
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["date", "pH", "ppm", "temp", "notes"])
    for row in range(count):
        at = NOW - timedelta(hours=2 * row + 1)
        values = (f"{5.5 + chosen.random():.2f}", chosen.randint(500, 900), chosen.randint(17, 24))
        writer.writerow([f"{at:%d %b %Y %H:%M}", *values, chosen.choice(NOTES)])
    return out.getvalue().encode()


def split(table: bytes) -> int:
    """The plain way: no dates, no notes, nothing checked."""
    rows = list(csv.DictReader(io.StringIO(table.decode())))
    return sum(len([float(row[name]) for name in ("pH", "ppm", "temp")]) for row in rows)


def holdings(table: bytes) -> Holdings:
    """A household that said each row of a table in a message of its own."""
    at = NOW.isoformat()
    revisions = []
    for number, row in enumerate(csv.DictReader(io.StringIO(table.decode())), start=1):
        fact = {"kind": "reading", "ph": float(row["pH"]), "water_temp_c": float(row["temp"])}
        said = {"fact": fact, "happened_at": at, "span": None, "doubted": False}
        line = {
            "revision": number,
            "replaces": None,
            "chat": 1,
            "person": 1,
            "message": f"{number}",
            "number": 1,
        }
        line |= {"edited_at": None, "author": "Ana", "said_at": at, "recorded_at": at, "action": "said"}
        revisions.append({**line, "text": f"ph {row['pH']} temp {row['temp']}", "facts": [said]})
    return Holdings(
        created_at=at,
        people=({"number": 1, "name": "Ana", "anonymous": False, "role": "keeper"},),
        chats=({"number": 1, "private": True, "title": "Ana", "tank": None},),
        revisions=tuple(revisions),
        reminders=(),
    )


def spent_s(work: Callable[[], object]) -> float:
    """How much of the processor's time the work takes. [s]"""
    began_s = time.process_time()
    work()
    return time.process_time() - began_s


if __name__ == "__main__":
    for what, ours, plain, unit in measure():
        sys.stdout.write(f"{what}: {ours:.2f} {unit} (plain {plain:.2f} {unit})\n")
