"""What it costs to answer ``plants`` over a long journal, beside a plain count of what stands.

    python -m benchmarks.garden

The plain way walks the same entries and keeps one dictionary of sites; it knows no stages and no packets.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from bot.assistant.replies import PlantsShown
from bot.rendering import Voice, render
from domain.facts import Emerged, Fact, Harvest, Reading, Removed, Sow
from domain.household import choices
from domain.journal import Entry
from domain.plantings import garden
from domain.routine import due_dates
from domain.seeds import records
from domain.sites import spots

__all__ = ["measure"]

ENTRIES = 20_000
PLANT_SHARE = 0.25
"""A quarter of what is logged is about plants, the rest about the water."""
SITES = [f"{row}{place}" for row in "ABCDE" for place in range(1, 9)]
CROPS = ("basil", "lettuce", "dill", "pak choi", "kale")
BEGAN = datetime(2020, 1, 1, tzinfo=UTC)
RUNS = 12


def measure() -> list[tuple[str, float, float, str]]:
    """The figures: what is measured, ours, the plain way's, unit."""
    entries = journal()
    now = entries[-1].happened_at
    zone = ZoneInfo("UTC")
    plain = _best(lambda: _plain(entries))
    grown = garden(entries, now)
    return [
        ("plants answered over 20,000 entries", _best(lambda: _answered(entries, now)), plain, "ms"),
        (
            "seed packets over 20,000 entries",
            _best(lambda: records(garden(entries, now).sowings, now)),
            plain,
            "ms",
        ),
        (
            "due dates over 20,000 entries, plants folded",
            _best(lambda: due_dates(entries, now=now, zone=zone, garden=grown)),
            plain,
            "ms",
        ),
    ]


def journal() -> list[Entry]:
    """A household of forty sites over years: readings, and at each site one crop after the other."""
    rng = random.Random(7)
    stage: dict[str, int] = {}
    entries = []
    for number in range(1, ENTRIES + 1):
        at = BEGAN + timedelta(hours=2.5 * number)
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


def _answered(entries: Sequence[Entry], now: datetime) -> object:
    grown = garden(entries, now)
    chosen = choices(entries)
    shown = PlantsShown(plantings=grown.plantings, now=now, spots=spots(grown, chosen.sites))
    return render(shown, Voice.of(chosen))


def _plain(entries: Sequence[Entry]) -> dict[str, str]:
    standing: dict[str, str] = {}
    for entry in entries:
        fact = entry.fact
        if isinstance(fact, Sow):
            standing |= dict.fromkeys(fact.sites or (), fact.crop or "")
        elif isinstance(fact, Removed):
            for site in fact.sites or ():
                standing.pop(site, None)
    return standing


def _best(work: Callable[[], object], runs: int = RUNS) -> float:
    """The quickest of a few runs. [ms]"""
    times = []
    for _ in range(runs):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return min(times) * 1000.0


if __name__ == "__main__":
    for what, ours, plain, unit in measure():
        print(f"{what}: {ours:.3g} {unit} (plain {plain:.3g})")
