"""Commands about a household's data: ``rillkeeper export``, ``import``, ``backup``."""

from __future__ import annotations

import asyncio
import os
import sys
from collections.abc import Awaitable, Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from bot.command_line import Database, Trouble, database_told, database_url, told_in_one_line

if TYPE_CHECKING:
    from bot.assistant.bringing_in import Looked
    from storage.engine import Store, Transaction
    from storage.transfer import Summary

__all__ = ["add_to"]

Result = TypeVar("Result")

MOST_BYTES = 256 * 2**20
"""A longer file is no household's. [bytes]"""

ROWS_A_STEP = 50
"""How many rows the progress bar moves on at once."""

_ERRORS_SHOWN = 5
"""So many errors the summary names itself."""

Household = Annotated[
    int | None,
    typer.Option("--household", help="Its number; needed where the database holds several."),
]


def add_to(app: typer.Typer) -> None:
    """Makes these commands part of the command line."""
    app.command("export")(export)
    app.command("import")(bring_in)
    app.command("backup")(backup)


def export(
    out: Annotated[Path, typer.Option("--out", help="Where to write the archive, e.g. home.zip.")],
    db: Database = None,
    household: Household = None,
) -> None:
    """Write all that a household has told into one file: for spreadsheets, calendars, and for import."""

    async def pack(store: Store) -> bytes:
        from bot.archive.pack import packed

        async with store.read() as tx:
            kept = await tx.transfer.holdings(await _chosen(tx, household))
        return packed(kept, now=datetime.now(UTC))

    with told_in_one_line():
        content = _with_store(db, pack)
        _write_for_owner(out, content)
    print(f"Written: {out} ({len(content):,} bytes)")


def bring_in(
    file: Annotated[Path, typer.Argument(help="An archive of ours (.zip), or notes as .csv or .xlsx.")],
    db: Database = None,
    household: Household = None,
    who: Annotated[str, typer.Option("--as", help="Whose notes these are.")] = "me",
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only look: nothing is written.")] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Write without asking.")] = False,
) -> None:
    """Read a file in: look at it first, show what was understood, then write all of it or nothing."""
    from bot.archive.bad_file import BadFile

    with told_in_one_line():
        try:
            asked = _Asked(file.name, _read(file), household, who, dry_run, yes)
            done = _with_store(db, lambda store: _bring_in(store, asked))
        except BadFile as bad:
            raise Trouble(f"{file.name}: {bad} Nothing was written.") from None
    print(done)


def backup(
    file: Annotated[Path, typer.Argument(help="Where the copy goes, e.g. monday.db; replaced if there.")],
    db: Database = None,
) -> None:
    """Copy the whole database while the bot runs; the copy is checked, and only its owner may read it."""
    from storage.backup import BackupError, back_up

    with told_in_one_line():
        try:
            size = back_up(database_url(db), file)
        except BackupError as error:
            raise Trouble(str(error)) from None
    print(f"Written and checked: {file} ({size:,} bytes)")


@dataclass(frozen=True, slots=True)
class _Asked:
    """What ``rillkeeper import`` was asked to do."""

    name: str
    content: bytes
    household: int | None
    who: str
    dry_run: bool
    yes: bool


async def _bring_in(store: Store, asked: _Asked) -> str:
    from bot.assistant import bringing_in
    from bot.assistant.scene import reader_settings_of
    from bot.rendering import Voice, to_plain
    from bot.rendering.data import data_lines
    from bot.rendering.markup import to_html
    from domain.household import choices
    from storage.transfer import Holdings

    now = datetime.now(UTC)
    async with store.read() as tx:
        home = await _target(tx, asked.household)
        chosen = choices(await tx.journal.entries(home) if home is not None else [])
    seen = bringing_in.Seen(chosen.zone, reader_settings_of(chosen), now)
    with _bar("Reading") as on_row:
        looked = bringing_in.look_at(asked.name, asked.content, seen, on_row)
    is_archive = isinstance(looked.what, Holdings)
    shown = bringing_in.archive_looked(looked) if is_archive else bringing_in.notes_looked(looked)
    print(to_plain(to_html(data_lines(shown, Voice.of(chosen)))))
    if not isinstance(looked.what, Holdings) and looked.what.errors:
        for error in looked.what.errors[_ERRORS_SHOWN:]:
            print(f"Line {error.line}: {error.what}.")
        raise Trouble(f"{len(looked.what.errors)} rows are wrong. Nothing was written.")
    if asked.dry_run or not (asked.yes or typer.confirm("Write it?")):
        return "Nothing was written."
    return await _written(store, looked, home, asked.who, now)


async def _written(store: Store, looked: Looked, home: int | None, who: str, now: datetime) -> str:
    from bot.assistant import bringing_in
    from storage.journal import Revision
    from storage.transfer import Holdings

    async with store.write() as tx:
        if home is None:
            new = await tx.households.chat(
                "terminal", "home", private=True, title="home", thread=None, now=now
            )
            home = new.household_id
        if isinstance(looked.what, Holdings):
            if await tx.transfer.last_revision(home):
                raise Trouble("an archive goes into an empty journal, and this one has entries")
            await bringing_in.write_archive(tx, home, looked.what)
            return f"Written: {len(looked.what.revisions):,} messages."
        chat = (await tx.households.chats(home))[0]
        number = await bringing_in.write_notes(
            tx,
            Revision(
                household_id=home,
                chat_id=chat.id,
                message=bringing_in.message_of(looked.digest),
                edited_at=None,
                person_id=None,
                author=who,
                said_at=now,
                recorded_at=now,
                action="answered",
                text=looked.name,
                facts=looked.what.recorded,
            ),
        )
        if number is None:
            raise Trouble("that file is in the journal already")
    return f"Written: {len(looked.what.recorded):,} entries."


async def _target(tx: Transaction, household: int | None) -> int | None:
    """The household to write to; ``None`` where the database has none yet."""
    known = await tx.transfer.summaries()
    if household is None and not known:
        return None
    if household is None and len(known) == 1:
        return known[0].household_id
    if any(each.household_id == household for each in known):
        return household
    raise Trouble(f"say which with --household: {_listed(known)}")


def _read(file: Path) -> bytes:
    """The file's content. Raises Trouble where it is not there, or too long to be one of these."""
    try:
        if file.stat().st_size > MOST_BYTES:
            raise Trouble(f"{file.name} is larger than {MOST_BYTES // 2**20} MB; nothing was read")
        return file.read_bytes()
    except OSError as error:
        raise Trouble(f"{file} cannot be read: {error.strerror}") from None


@contextmanager
def _bar(what: str) -> Iterator[Callable[[int, int], None]]:
    """A progress bar on standard error, where that is a terminal."""
    if not sys.stderr.isatty():
        yield lambda _, __: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task(what, total=None)

        def on_row(count: int, total: int) -> None:
            if count % ROWS_A_STEP == 0:
                progress.update(task, completed=count, total=total)

        yield on_row


def _with_store(db: str | None, work: Callable[[Store], Awaitable[Result]]) -> Result:
    """Does some work on the database, brought up to date first."""
    from storage.engine import open_store

    async def once() -> Result:
        store = open_store(database_url(db))
        try:
            await store.upgrade()
            return await work(store)
        finally:
            await store.close()

    with database_told():
        return asyncio.run(once())


async def _chosen(tx: Transaction, household: int | None) -> int:
    """The household that is meant. Raises Trouble where that is not clear, with those that there are."""
    known = [each for each in await tx.transfer.summaries() if each.revisions]
    if household is None and len(known) == 1:
        return known[0].household_id
    if any(each.household_id == household for each in known):
        return int(household or 0)
    if not known:
        raise Trouble("nobody has logged anything in this database; check --db")
    raise Trouble(f"say which with --household: {_listed(known)}")


def _listed(known: Sequence[Summary]) -> str:
    return "; ".join(
        f"{each.household_id} ({', '.join(each.titles[:2])}, {each.revisions} messages)" for each in known[:8]
    )


def _write_for_owner(path: Path, content: bytes) -> None:
    """Writes a file that its owner alone may read, whole or not at all. Raises Trouble."""
    beside = path.with_name(f".{path.name}.part")
    try:
        handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise Trouble(f"{path} cannot be written: {error.strerror}") from None
