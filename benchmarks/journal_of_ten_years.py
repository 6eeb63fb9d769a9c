"""What a dose answer costs from a journal of ten years, beside the same answer from a journal of one week.

python -m benchmarks.journal_of_ten_years
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from domain.dosing import Aim, plan
from domain.facts import Dose, Fact, Product, Reading, Setting, WaterChange
from domain.journal import Entry
from domain.tank import tank_state

__all__ = ["measure"]

NOW = datetime(2026, 5, 1, 12, tzinfo=UTC)
AIM = Aim(5.4, 5.6, 6.2, 6.5, 0.8, 1.0, 1.6, 1.8)
DAYS, WEEK = 3650, 7
RUNS = 9


def measure() -> list[tuple[str, float, float, str]]:
    """The figures: what is measured, with ten years, with one week, unit. Processor time, best of a few."""
    whole, week = _journal(DAYS), _journal(WEEK)
    long, short = tank_state(whole, NOW), tank_state(week, NOW)
    return [
        (
            "the tank's state folded",
            _best(lambda: tank_state(whole, NOW)),
            _best(lambda: tank_state(week, NOW)),
            "ms",
        ),
        (
            "a dose planned on it",
            _best(lambda: plan(long, AIM, now=NOW)),
            _best(lambda: plan(short, AIM, now=NOW)),
            "ms",
        ),
    ]


def _journal(days: int) -> list[Entry]:
    """A reading a day, a dose where it is called for, fresh water every other week, and pH high today."""
    chance = random.Random(1)
    said: list[tuple[timedelta, Fact]] = [
        (timedelta(days=days + 1), Setting(name="tank_volume_l", value="40")),
        (timedelta(days=days + 1), Setting(name="source_alkalinity_mg_l_caco3", value="100")),
        (
            timedelta(days=days + 1),
            Product(role="ph_down", name="acid", reagent="phosphoric acid", percent_w_w=10.0),
        ),
    ]
    for day in range(days, 0, -1):
        shown = round(6.1 + chance.gauss(0, 0.3), 1)
        said.append((timedelta(days=day), Reading(ph=shown, ec_ms_cm=1.4, water_temp_c=20.0)))
        if shown > AIM.ph_high:
            said.append((timedelta(days=day), Dose(product="ph_down", amount=4.0, unit="ml")))
            said.append((timedelta(days=day, hours=-1), Reading(ph=6.2, ec_ms_cm=1.4)))
        if day % 14 == 3:
            said.append((timedelta(days=day, hours=-2), WaterChange(feed="full")))
    said.append((timedelta(), Reading(ph=6.9, ec_ms_cm=1.4, water_temp_c=20.0)))
    return [
        Entry(number, fact, at, at, "Ana", f"m{number}")
        for number, (ago, fact) in enumerate(said, 1)
        for at in [NOW - ago]
    ]


def _best(run: Callable[[], object]) -> float:
    """Milliseconds of the quickest run."""
    taken = []
    for _ in range(RUNS):
        start = time.process_time()
        run()
        taken.append(time.process_time() - start)
    return 1000.0 * min(taken)


if __name__ == "__main__":
    for what, ours, short, unit in measure():
        print(f"{what:28} {ours:8.3g} {short:8.3g} {unit}")
