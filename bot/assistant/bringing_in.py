"""Files that somebody brings: looked at first, shown, and only then taken in, all or nothing."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

from bot.archive.bad_file import BadFile
from bot.archive.layout import HOUSEHOLD
from bot.archive.notes import Notes, read_notes
from bot.archive.standing import standing
from bot.archive.tables import read_table
from bot.archive.unpack import unpacked
from bot.archive.zips import is_zip, names_in
from bot.assistant.data_replies import ArchiveLooked, BroughtIn, FileRefused, NotesLooked
from bot.assistant.replies import Hint, Reply
from bot.assistant.scene import Scene
from bot.reader import ReaderSettings
from domain.facts import fact_from_json
from domain.roles import Deed, may
from storage.engine import Transaction
from storage.journal import Recorded, Revision
from storage.transfer import Holdings

__all__ = [
    "Looked",
    "Seen",
    "archive_looked",
    "deed",
    "keep",
    "look_at",
    "message_of",
    "notes_looked",
    "offer",
    "refused",
    "write_archive",
    "write_notes",
]

TOPIC = "file"
KEPT_OPEN = timedelta(hours=12)
"""How long a file that was looked at waits for a yes."""

ERRORS_KEPT = 50

_DEEDS: Mapping[str, Deed] = MappingProxyType({"notes": "log", "archive": "settings"})


@dataclass(frozen=True, slots=True)
class Looked:
    """A file that can be taken in. digest : tells it from every other file. name : as the sender calls it."""

    name: str
    digest: str
    what: Holdings | Notes


@dataclass(frozen=True, slots=True)
class Seen:
    """What the household's clock and words are, which reading notes needs."""

    zone: ZoneInfo
    settings: ReaderSettings
    now: datetime


def look_at(
    name: str, content: bytes, seen: Seen, on_row: Callable[[int, int], None] = lambda _, __: None
) -> Looked:
    """What the file holds: an archive, or a table of notes. Nothing is written.

    Takes seconds for thousands of rows: call it off the event loop. Raises BadFile.
    """
    if is_zip(content) and HOUSEHOLD in names_in(content):
        what: Holdings | Notes = unpacked(content)
    else:
        table = read_table(content)
        what = read_notes(table, zone=seen.zone, settings=seen.settings, now=seen.now, on_row=on_row)
    return Looked(name[:80], hashlib.sha256(content).hexdigest()[:24], what)


async def offer(tx: Transaction, scene: Scene, looked: Looked) -> Reply:
    """Shows what was found and asks whether to keep it; nothing is in the journal yet."""
    if not may(scene.person.role, _DEEDS[_kind_of(looked)]):
        return Hint(code="file_not_yours")
    if isinstance(looked.what, Notes):
        if await _is_there(tx, scene.chat.id, looked.digest):
            return Hint(code="file_known")
        question = None if looked.what.errors else await _ask(tx, scene, looked, _plain_notes(looked.what))
        return notes_looked(looked, question)
    if await tx.transfer.last_revision(scene.household_id):
        return Hint(code="file_not_empty")
    return archive_looked(looked, await _ask(tx, scene, looked, asdict(looked.what)))


def notes_looked(looked: Looked, question: int | None = None) -> NotesLooked:
    """What a table of notes holds, to be shown."""
    notes = looked.what
    assert isinstance(notes, Notes)  # noqa: S101 — asked of notes alone
    times = [said.happened_at for said in notes.recorded]
    return NotesLooked(
        name=looked.name,
        columns=tuple((column.heading, column.role, column.unit) for column in notes.columns),
        unused=notes.unused,
        rows=notes.rows,
        kinds=tuple(Counter(said.fact.kind for said in notes.recorded).most_common()),
        since=min(times, default=None),
        until=max(times, default=None),
        date_order=None if notes.order_was_told else notes.date_order,
        errors=tuple((error.line, error.what) for error in notes.errors[:ERRORS_KEPT]),
        wrong=len(notes.errors),
        question=question,
    )


def archive_looked(looked: Looked, question: int | None = None) -> ArchiveLooked:
    """What an archive holds, to be shown."""
    kept = looked.what
    assert isinstance(kept, Holdings)  # noqa: S101 — asked of archives alone
    entries = standing(kept)
    return ArchiveLooked(
        entries=len(entries),
        messages=len({(row["chat"], row["message"]) for row in kept.revisions}),
        people=tuple(row["name"] for row in kept.people),
        since=entries[0].happened_at if entries else None,
        until=entries[-1].happened_at if entries else None,
        question=question,
    )


async def deed(tx: Transaction, household_id: int, question: int | None) -> Deed:
    """What a member does who decides on a file that was offered."""
    asked = await tx.questions.get(question, household_id=household_id) if question is not None else None
    kind = asked.payload.get("kind") if asked is not None and asked.topic == TOPIC else None
    return _DEEDS.get(kind or "", "see")


async def keep(tx: Transaction, scene: Scene, question: int) -> Reply | None:
    """Takes in what was offered; ``None`` where this household was offered nothing, or has it already."""
    asked = await tx.questions.get(question, household_id=scene.household_id)
    if asked is None or asked.topic != TOPIC or not asked.payload or asked.expires_at < scene.now:
        return None
    await tx.questions.put_away(question)
    said = asked.payload
    if said["kind"] == "archive":
        if await tx.transfer.last_revision(scene.household_id):
            return Hint(code="file_not_empty")
        kept = _holdings(said["what"])
        await write_archive(tx, scene.household_id, kept)
        return BroughtIn(entries=len(standing(kept)))
    recorded = [_recorded(row) for row in said["what"]]
    number = await write_notes(
        tx,
        Revision(
            household_id=scene.household_id,
            chat_id=scene.chat.id,
            message=message_of(said["digest"]),
            edited_at=None,
            person_id=scene.person.id,
            author=scene.person.name,
            said_at=scene.now,
            recorded_at=scene.now,
            action="answered",
            text=said["name"],
            facts=tuple(recorded),
        ),
    )
    return Hint(code="file_known") if number is None else BroughtIn(entries=len(recorded), revision=number)


async def write_archive(tx: Transaction, household_id: int, kept: Holdings) -> None:
    """Gives a household that has said nothing all that an archive holds. Raises ValueError where it has."""
    await tx.transfer.put(household_id, kept)
    tx.journal.was_added_to(household_id)


async def write_notes(tx: Transaction, notes: Revision) -> int | None:
    """Keeps the rows of a table as one message, so that one undo takes all of them back.

    Gives the revision's number; ``None`` where that file stands in the journal already.
    """
    digest = notes.message.removeprefix(message_of(""))
    return None if await _is_there(tx, notes.chat_id, digest) else await tx.journal.append(notes)


def message_of(digest: str) -> str:
    """The name in the journal of the message that a file became."""
    return f"file:{digest}"


async def _is_there(tx: Transaction, chat_id: int, digest: str) -> bool:
    last = await tx.journal.last(chat_id, message_of(digest))
    return last is not None and bool(last.facts)


async def _ask(tx: Transaction, scene: Scene, looked: Looked, what: Any) -> int:
    payload = {"kind": _kind_of(looked), "name": looked.name, "digest": looked.digest, "what": what}
    number = await tx.questions.ask(
        scene.household_id, scene.chat.id, scene.person.id, TOPIC, payload, scene.now, scene.now + KEPT_OPEN
    )
    # Answered by its button alone, it need not be read with every message that comes in meanwhile.
    await tx.questions.drop(scene.chat.id, TOPIC)
    return number


def _kind_of(looked: Looked) -> str:
    return "notes" if isinstance(looked.what, Notes) else "archive"


def _plain_notes(notes: Notes) -> list[Any]:
    return [[said.happened_at.isoformat(), said.fact.as_json()] for said in notes.recorded]


def _recorded(row: Any) -> Recorded:
    happened_at, fact = row
    return Recorded(fact_from_json(fact), datetime.fromisoformat(happened_at))


def _holdings(said: dict[str, Any]) -> Holdings:
    return Holdings(
        created_at=said["created_at"],
        **{name: tuple(said[name]) for name in ("people", "chats", "revisions", "reminders")},
    )


def refused(error: BadFile) -> Reply:
    """Why a file was not taken in."""
    return FileRefused(why=str(error))
