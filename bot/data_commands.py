"""Commands about a household's data: ``rillkeeper export``."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from bot.command_line import Database, Trouble, database_told, database_url, told_in_one_line

if TYPE_CHECKING:
    from storage.engine import Store, Transaction

__all__ = ["add_to"]

Result = TypeVar("Result")

Household = Annotated[
    int | None,
    typer.Option("--household", help="Its number; needed where the database holds several."),
]


def add_to(app: typer.Typer) -> None:
    """Makes these commands part of the command line."""
    app.command("export")(export)


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
    shown = "; ".join(
        f"{each.household_id} ({', '.join(each.titles[:2])}, {each.revisions} messages)" for each in known[:8]
    )
    raise Trouble(f"say which with --household: {shown}")


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
