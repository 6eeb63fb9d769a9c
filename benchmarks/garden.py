"""What it costs to answer over ten years of journal, beside the same assistant with an empty one.

    python -m benchmarks.garden

Two households say the same to the same assistant in one run, by turns: one has 20,000 entries behind it, the
other none. Their answers go the whole way that a message goes: read, kept, folded, rendered, and posted into
the outbox of a real database. ``python -m benchmarks.garden profile`` shows where the time goes.
"""

from __future__ import annotations

import asyncio
import cProfile
import pstats
import random
import statistics
import sys
import tempfile
import time
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from bot.assistant.assistant import Assistant
from bot.assistant.exchange import ChatRef, Heard, PersonRef
from domain.facts import Emerged, Fact, Harvest, Reading, Removed, Sow
from domain.journal import Entry
from storage.engine import Store, open_store
from storage.journal import Recorded, Revision

__all__ = ["measure"]

ENTRIES = 20_000
PLANT_SHARE = 0.25
"""A quarter of what is logged is about plants, the rest about the water."""
SITES = [f"{row}{place}" for row in "ABCDE" for place in range(1, 9)]
CROPS = ("basil", "lettuce", "dill", "pak choi", "kale")
BEGAN = datetime(2020, 1, 1, tzinfo=UTC)
ROUNDS = 12
FACTS_A_MESSAGE = 40
"""Written in fewer, longer messages than a household's, which changes nothing for what is measured."""
SAID = (
    ("a reading", "ph 5.9 ec 1.4 temp 19"),
    ("a reading out of band", "ph 7.1 ec 1.4 temp 19"),
    ("plants, without its picture", "/plants"),
    ("a harvest", "picked 20 g basil A1"),
)


class Household:
    """One household that talks to the assistant, and how long each answer took."""

    def __init__(self, assistant: Assistant, clock: list[datetime], name: str) -> None:
        self._assistant, self._clock = assistant, clock
        self.chat = ChatRef("terminal", name, private=True, title=name)
        self.person = PersonRef(name, "Mina")
        self._count = 0

    async def say(self, text: str) -> float:
        """Says something; gives the time until it is answered. [ms]"""
        self._count += 1
        self._clock[0] += timedelta(minutes=40)
        heard = Heard(
            chat=self.chat,
            person=self.person,
            message=f"now {self._count}",
            said_at=self._clock[0],
            text=text,
            command=text[1:] if text.startswith("/") else None,
        )
        began_s = time.perf_counter()
        await self._assistant.hear(heard)
        return (time.perf_counter() - began_s) * 1000.0


def measure() -> list[tuple[str, float, float, str]]:
    """The figures: what is measured, ours, the empty journal's, unit."""
    return asyncio.run(_measured())


async def _measured() -> list[tuple[str, float, float, str]]:
    async with _households() as (long, empty):
        figures = []
        for what, text in SAID:
            took = [(await long.say(text), await empty.say(text)) for _ in range(ROUNDS)]
            ours, plain = (statistics.median(column) for column in zip(*took, strict=True))
            figures.append((f"{what}, answered over {ENTRIES:,} entries", ours, plain, "ms"))
        return figures


@asynccontextmanager
async def _households() -> AsyncIterator[tuple[Household, Household]]:
    """A household with ten years behind it and one with none, both heard: the first time reads it all."""
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(f"sqlite:///{Path(folder) / 'bench.db'}")
        await store.upgrade()
        clock = [BEGAN]
        assistant = Assistant(store, lambda: clock[0])
        long, empty = (Household(assistant, clock, name) for name in ("long", "empty"))
        entries = journal()
        await long.say("tank holds 40 L")
        await _write(store, long, entries)
        clock[0] = entries[-1].happened_at + timedelta(hours=1)
        await empty.say("tank holds 40 L")
        await empty.say("sowed basil in A1")
        for household in (long, empty):
            await household.say("ph 6.0 ec 1.4 temp 19")
        yield long, empty
        await store.close()


async def _write(store: Store, household: Household, entries: Sequence[Entry]) -> None:
    async with store.write() as tx:
        chat = await tx.households.find_chat(household.chat.platform, household.chat.address)
        if chat is None:
            raise LookupError("the household has not been heard from")
        for first in range(0, len(entries), FACTS_A_MESSAGE):
            told = entries[first : first + FACTS_A_MESSAGE]
            await tx.journal.append(
                Revision(
                    household_id=chat.household_id,
                    chat_id=chat.id,
                    message=f"then {first}",
                    edited_at=None,
                    person_id=None,
                    author="Mina",
                    said_at=told[-1].said_at,
                    recorded_at=told[-1].said_at,
                    action="said",
                    text="",
                    facts=tuple(Recorded(entry.fact, entry.happened_at) for entry in told),
                )
            )


def journal() -> list[Entry]:
    """A household of forty sites over years: readings, and at each site one crop after the other."""
    rng = random.Random(7)
    stage: dict[str, int] = {}
    entries = []
    for number in range(1, ENTRIES + 1):
        at = BEGAN + timedelta(hours=4.4 * number)
        fact = (
            _of_plants(rng, stage)
            if rng.random() < PLANT_SHARE
            else Reading(ph=5.9, ec_ms_cm=1.4, water_temp_c=19.0)
        )
        entries.append(Entry(number, fact, at, at, "Mina", f"1:{number}"))
    return entries


def _of_plants(rng: random.Random, stage: dict[str, int]) -> Fact:
    site = rng.choice(SITES)
    step = stage.get(site, 0)
    stage[site] = (step + 1) % 8
    if step == 0:
        return Sow(crop=rng.choice(CROPS), sites=(site,), lot=f"Green Gate {rng.randint(1, 9)}")
    if step == 1:
        return Emerged(sites=(site,))
    return Removed(sites=(site,)) if step == 7 else Harvest(sites=(site,), grams=30.0)


async def _profiled(text: str) -> None:
    async with _households() as (long, _):
        with cProfile.Profile() as profile:
            for _ in range(ROUNDS):
                await long.say(text)
        pstats.Stats(profile).sort_stats("tottime").print_stats(25)


if __name__ == "__main__":
    if "profile" in sys.argv:
        asyncio.run(_profiled(SAID[0][1]))
    else:
        for what, ours, plain, unit in measure():
            print(f"{what}: {ours:.3g} {unit} (empty journal {plain:.3g})")
