"""The command line: ``rillkeeper run``, ``say``, ``parse``, ``dose``, ``water``, ``room``, ``db upgrade``.

What is about a household's data stands in ``data_commands``.
"""

from __future__ import annotations

import asyncio
import json
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import typer

from bot import data_commands
from bot.command_line import Database, Trouble, database_told, database_url, moment, told_in_one_line

__all__ = ["app", "main"]

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    help="Rillkeeper: a chat assistant for a household that grows plants over a small nutrient tank.",
    epilog='Try first: rillkeeper say "ph 5.9 ppm 720 temp 19"',
)
db_app = typer.Typer(no_args_is_help=True, help="Look after the database.")
app.add_typer(db_app, name="db")

LINES_A_STEP = 100
"""How many lines the progress bar moves on at once: moving it for each would cost more than reading it."""


Alkalinity = Annotated[
    str | None,
    typer.Option(help="Of this water now, as a kit or report gives it: '100 mg/L CaCO3', 7dH, '2 meq/L'."),
]
Ec = Annotated[
    str | None, typer.Option(help="At 25 °C: 1.4 (mS/cm), '1400 µS/cm', '720 ppm 500' (the meter's scale).")
]
Phosphate = Annotated[
    str | None, typer.Option(help="'1 mmol/L', '31 mg/L P', '95 mg/L PO4'; default: what such a feed holds.")
]
Calcium = Annotated[str | None, typer.Option(help="'80 mg/L', '2 mmol/L'; default: the usual share.")]
Temperature = Annotated[str | None, typer.Option(help="Of the water: 20C, 68F; default: 20C.")]
Aired = Annotated[bool, typer.Option("--aired", help="CO2 leaves until it is at rest with the air.")]
Closed = Annotated[bool, typer.Option("--closed", help="CO2 stays in: a lidded, still tank.")]
AsData = Annotated[bool, typer.Option("--json", help="Everything as JSON, with the working.")]


def air_of(aired: bool, closed: bool) -> Any:
    """What becomes of CO2; where neither is said, what a home tank does."""
    if aired and closed:
        raise Trouble("give --aired or --closed, not both")
    return "aired" if aired else "closed" if closed else "tank"


@app.command()
def run() -> None:
    """Run the bot. Needs RILLKEEPER_TOKEN in the environment or in a .env file here."""
    from bot.logs import set_up_logs
    from bot.settings import load_settings
    from bot.telegram.application import Refused, run_bot

    with told_in_one_line():
        settings = load_settings()
        set_up_logs(settings.log_level, settings.secrets)
        try:
            with database_told("RILLKEEPER_DATABASE_URL"):
                asyncio.run(run_bot(settings))
        except Refused as refused:
            raise Trouble(str(refused)) from None


@app.command()
def say(
    text: Annotated[str, typer.Argument(help='What to say, e.g. "ph 5.9 ppm 720 temp 19".')],
    who: Annotated[str, typer.Option("--as", help="Who says it.")] = "me",
    chat: Annotated[str, typer.Option("--chat", help="In which chat; each has its own household.")] = "home",
    group: Annotated[bool, typer.Option("--group", help="The chat is a group.")] = False,
    at: Annotated[str | None, typer.Option("--at", help="When, in ISO 8601; default: now.")] = None,
    db: Database = None,
    as_data: Annotated[bool, typer.Option("--json", help="Show facts, verdicts and dose as JSON.")] = False,
) -> None:
    """Say one thing to the assistant, here in the terminal, and read its answers."""
    from bot.terminal import as_json, as_text
    from bot.terminal import say as say_once
    from storage.engine import open_store

    async def once() -> Any:
        store = open_store(database_url(db))
        try:
            await store.upgrade()
            return await say_once(store, text, person=who, chat=chat, group=group, at=moment(at))
        finally:
            await store.close()

    with told_in_one_line(), database_told():
        said = asyncio.run(once())
    print(json.dumps(as_json(said), indent=2, ensure_ascii=False) if as_data else as_text(said))


@app.command()
def parse(
    text: Annotated[str | None, typer.Argument(help="One message; leave it out with --jsonl.")] = None,
    now: Annotated[str | None, typer.Option("--now", help="When it was sent, ISO 8601.")] = None,
    tz: Annotated[str, typer.Option("--tz", help="The household's time zone, e.g. Europe/Lisbon.")] = "UTC",
    jsonl: Annotated[
        bool, typer.Option("--jsonl", help="Read JSON lines from standard input, write JSON lines.")
    ] = False,
) -> None:
    """Read texts as the assistant would, and show the facts. Nothing is kept."""
    from bot.reader import read
    from bot.reader.lines import parse_line

    with told_in_one_line():
        if jsonl:
            for line in with_progress(sys.stdin):
                if line.strip():
                    print(json.dumps(parse_line(line), ensure_ascii=False))
            return
        if text is None:
            raise Trouble('give a text to read, e.g. rillkeeper parse "ph 5.9", or --jsonl')
        try:
            zone = ZoneInfo(tz)
        except (ZoneInfoNotFoundError, ValueError):
            raise Trouble(f"{tz!r} is no time zone; write it as Europe/Lisbon") from None
        taken = read(text, now=moment(now, zone).astimezone(zone), zone=zone)
        print(json.dumps(taken.as_json(), indent=2, ensure_ascii=False))


@app.command(
    epilog="Try: rillkeeper dose --volume 40L --ph 6.8 --to 5.9 --alkalinity '100 mg/L CaCO3' --ec 1.4 "
    "--adjuster 'phosphoric acid 10% w/w'"
)
def dose(
    volume: Annotated[str | None, typer.Option(help="Of the water: 40L, '10 gal'. Needed.")] = None,
    ph: Annotated[str | None, typer.Option(help="What it shows now. Needed.")] = None,
    to: Annotated[str | None, typer.Option(help="The pH wanted; default: mid-band of a mixed tank.")] = None,
    adjuster: Annotated[
        str | None,
        typer.Option(help="Its label: 'phosphoric acid 10% w/w', 'KOH 1 N'; default: not known, so a test."),
    ] = None,
    alkalinity: Alkalinity = None,
    ec: Ec = None,
    phosphate: Phosphate = None,
    calcium: Calcium = None,
    temperature: Temperature = None,
    aired: Aired = False,
    closed: Closed = False,
    fresh: Annotated[bool, typer.Option("--fresh", help="A fresh fill, before plants stand in it.")] = False,
    why: Annotated[bool, typer.Option("--why", help="Show the working.")] = False,
    as_data: AsData = False,
) -> None:
    """How much adjuster takes a water to a pH: a first portion that is safe, and the whole as a range.

    Say what you know; the rest is reckoned with over its usual range, which makes the first portion smaller.
    """
    from bot.water_desk import Refused
    from bot.water_desk import dose as answer_to

    with told_in_one_line():
        try:
            answer = answer_to(
                now=datetime.now(UTC),
                volume=volume,
                ph=ph,
                to=to,
                label=adjuster,
                air=air_of(aired, closed),
                fresh=fresh,
                alkalinity=alkalinity,
                ec=ec,
                phosphate=phosphate,
                calcium=calcium,
                temperature=temperature,
            )
        except Refused as refused:
            raise Trouble(str(refused)) from None
    print(json.dumps(answer.as_json(), indent=2, ensure_ascii=False) if as_data else answer.text(why=why))


@app.command(
    epilog="Try: rillkeeper water --alkalinity '100 mg/L CaCO3' --ph 7.5 --volume 40L "
    "--add '2 ml phosphoric acid 10%'"
)
def water(
    alkalinity: Alkalinity = None,
    ph: Annotated[
        str | None, typer.Option(help="What it shows now; default: at rest with the outdoor air.")
    ] = None,
    ec: Ec = None,
    phosphate: Phosphate = None,
    calcium: Calcium = None,
    temperature: Temperature = None,
    add: Annotated[
        list[str] | None,
        typer.Option(help="'2 ml phosphoric acid 10%', '3 g citric acid', '1 mmol/L KOH'; may be repeated."),
    ] = None,
    volume: Annotated[str | None, typer.Option(help="What it is added to; default: 1L.")] = None,
    aired: Aired = False,
    closed: Closed = False,
    as_data: AsData = False,
) -> None:
    """The pH of a water that you describe, as it is and after each addition.

    Two figures: with its CO2 kept in, and once it is at rest with the air. In brackets the range that a home
    kit (alkalinity 15 %, pH 0.07) and a syringe leave open.
    """
    from bot.water_desk import Refused
    from bot.water_desk import water as answer_to

    with told_in_one_line():
        try:
            answer = answer_to(
                add=add or (),
                volume=volume,
                air=air_of(aired, closed),
                ph=ph,
                alkalinity=alkalinity,
                ec=ec,
                phosphate=phosphate,
                calcium=calcium,
                temperature=temperature,
            )
        except Refused as refused:
            raise Trouble(str(refused)) from None
    print(json.dumps(answer.as_json(), indent=2, ensure_ascii=False) if as_data else answer.text())


def with_progress(lines: Any) -> Iterator[str]:
    """The lines, with a bar on standard error where that is a terminal and the output is not."""
    if not sys.stderr.isatty() or sys.stdin.isatty():
        yield from lines
        return
    from rich.console import Console
    from rich.progress import Progress

    everything = list(lines)
    with Progress(console=Console(stderr=True), transient=True, redirect_stdout=False) as progress:
        task = progress.add_task("Reading", total=len(everything))
        for count, line in enumerate(everything, 1):
            yield line
            if count % LINES_A_STEP == 0:
                progress.update(task, completed=count)


@app.command()
def room(
    port: Annotated[int, typer.Option(help="Where the page is served on this machine.")] = 8765,
    home: Annotated[Path, typer.Option(help="Where the room keeps its state.")] = Path(".room"),
) -> None:
    """Open the room: an invented household in a browser page, with the real bot behind it."""
    from demo.room.serve import RoomError, serve

    with told_in_one_line():
        try:
            asyncio.run(serve(port=port, home=home, announce=print))
        except RoomError as error:
            raise Trouble(str(error)) from None
        except KeyboardInterrupt:
            print("The room is closed; what was said is kept for next time.")


data_commands.add_to(app)


@db_app.command("upgrade")
def db_upgrade(db: Database = None) -> None:
    """Bring the database to the tables this version needs. Does nothing where it is up to date."""
    from storage.engine import open_store

    async def once() -> None:
        store = open_store(database_url(db))
        try:
            await store.upgrade()
        finally:
            await store.close()

    with told_in_one_line(), database_told():
        asyncio.run(once())
    print("The database is up to date.")


def main() -> None:
    """The entry point of the ``rillkeeper`` command."""
    app()


if __name__ == "__main__":
    main()
