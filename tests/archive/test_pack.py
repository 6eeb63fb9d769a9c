"""An archive: what lies in it, and that it is the same whenever the household is."""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import icalendar
import pytest

from bot.archive.pack import packed
from bot.assistant.assistant import Assistant
from bot.assistant.exchange import ChatRef, PersonRef
from demo.room.pictures import picture_size
from storage.engine import Store
from storage.transfer import Holdings
from tests.assistant.talk import Talk


@pytest.fixture
async def season(store: Store, clock: Any) -> Talk:
    """A household of two that has logged, changed its mind and asked to be reminded."""
    chat = ChatRef("telegram", "-100200300", private=False, title="Balcony")
    ana = Talk(store, clock, Assistant(store, clock), chat, PersonRef("5551234", "Ana"))
    ben = replace(ana, person=PersonRef("5559876", "Ben"), count=1000)
    await ana.say("set time zone Europe/Lisbon")
    await ana.say("ph 6.9 ppm 540 temp 23", message="m1")
    await ben.say("note: tips browning on B2 <b>ü</b>")
    await ben.say("remind us to rinse the filter every 2 weeks on sunday at 6pm")
    clock.now += timedelta(minutes=5)
    await ana.edit("m1", "ph 6.6 ppm 540 temp 23")
    await ben.say("topped up 4 L")
    await ben.say("/undo")
    return ana


async def holdings(store: Store) -> Holdings:
    async with store.read() as tx:
        (known,) = await tx.transfer.summaries()
        return await tx.transfer.holdings(known.household_id)


def parts(archive: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        return {name: opened.read(name) for name in opened.namelist()}


NOW = datetime(2026, 5, 6, 12, tzinfo=UTC)


async def test_it_holds_the_history_the_tables_the_dates_and_what_it_is(season: Talk) -> None:
    inside = parts(packed(await holdings(season.store), now=NOW))
    assert list(inside)[:4] == ["README.txt", "household.json", "journal.jsonl", "due.ics"]
    journal = [json.loads(row) for row in inside["journal.jsonl"].splitlines()]
    assert [row["action"] for row in journal].count("edited") == 1
    assert [row["action"] for row in journal].count("undone") == 1
    assert {"reading", "observation", "reminder", "setting"} == {
        name.removeprefix("sheets/").removesuffix(".csv") for name in inside if name.startswith("sheets/")
    }
    assert b"6.6" in inside["sheets/reading.csv"]
    assert b"6.9" not in inside["sheets/reading.csv"]
    (chart,) = [inside[name] for name in inside if name.startswith("pictures/")]
    assert picture_size(chart)[0] == 1080
    events = icalendar.Calendar.from_ical(inside["due.ics"]).walk("VEVENT")
    assert any("rinse the filter" in str(event["summary"]).lower() for event in events)


async def test_nobodys_account_is_in_it(season: Talk) -> None:
    everything = b"".join(parts(packed(await holdings(season.store), now=NOW)).values())
    assert b"Ana" in everything
    for address in (b"5551234", b"5559876", b"-100200300", b"telegram"):
        assert address not in everything


async def test_the_same_household_makes_the_same_bytes(season: Talk) -> None:
    first = packed(await holdings(season.store), now=NOW)
    assert packed(await holdings(season.store), now=NOW) == first
    await season.say("ph 6.1")
    assert packed(await holdings(season.store), now=NOW) != first


async def test_it_goes_into_another_database_and_out_again_without_loss(season: Talk) -> None:
    kept = await holdings(season.store)
    async with season.store.write() as tx:
        number = await tx.transfer.new_household(NOW)
        await tx.transfer.put(number, kept)
    async with season.store.read() as tx:
        again = await tx.transfer.holdings(number)
        old, new = [
            [(e.fact, e.happened_at, e.author, e.doubted) for e in await tx.journal.entries(household)]
            for household in (1, number)
        ]
    assert again == kept
    assert packed(again, now=NOW) == packed(kept, now=NOW)
    assert new == old
    with pytest.raises(ValueError, match="not empty"):
        async with season.store.write() as tx:
            await tx.transfer.put(number, kept)
