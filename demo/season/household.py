"""What a household writes over a season, message by message, with the time of each."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from demo.season.tank import FULL_L, Tank

__all__ = ["DAYS", "Said", "season"]

DAYS = 60
TESTER_PH, TESTER_EC, TESTER_C = 0.05, 0.02, 0.3
"""How far a household's tester strays: pH, share of the strength, degrees; one standard deviation."""
TOO_HIGH_PH, WANTED_PH = 6.5, 5.9
MOST_ACID_ML = 12.0
SETTLES = timedelta(minutes=45)
CHANGE_EVERY_DAYS, FILTER_EVERY_DAYS = 14, 10
TOP_UP_BELOW_L = FULL_L - 3.5

FIRST_DAY = (
    "tank holds 40 L",
    "we use the 500 scale",
    "we have 30 plugs",
    "sowed lettuce in A1-A4, lot Ditch Lane 5",
    "sowed basil in B1-B3, lot Copper Gate 2",
    "sowed pak choi in C1-C2, lot Ditch Lane 5",
)
ON_DAYS = {
    3: ("A1, A2 and A4 are up",),
    5: ("C1 and C2 are up",),
    8: ("B1-B3 are up",),
    9: ("nothing in A3, gave up", "reseeded A3 with lettuce"),
    13: ("A3 is up",),
    21: ("raised the lights",),
    30: ("pinched the basil in B1-B3",),
    36: ("picked 60 g lettuce A1", "picked 55 g lettuce A2"),
    40: ("picked 40 g basil B1",),
    44: ("pulled C1, bolted", "note: aphids on C2"),
    47: ("picked 210 g pak choi C2",),
    50: ("picked 90 g lettuce A4",),
    55: ("picked 35 g basil B2", "we have 9 plugs"),
}
"""What happens to the plants, and what somebody writes of it, by the day of the season."""


@dataclass(frozen=True, slots=True)
class Said:
    """One message. at : when it was sent, aware. tank_ph : what the tank truly was then."""

    at: datetime
    text: str
    tank_ph: float


def season(start: datetime, *, days: int = DAYS, seed: int = 7) -> Iterator[Said]:
    """Everything that is written from ``start`` on, in order.

    start : the first evening, aware.
    days : 1 to 60.
    seed : for the tester's noise and the minutes of each evening.
    """
    rng = random.Random(seed)
    tank = Tank()
    tank.pass_time(2.0)
    for day in range(days):
        tank.temperature_c = 20.0 + 1.5 * math.sin(day / 6.0) + rng.uniform(-0.4, 0.4)
        evening = _Evening(start + timedelta(days=day, minutes=rng.randint(0, 50)), tank, rng)
        yield from evening.write(day)
        tank.pass_time(24.0 - evening.hours)


class _Evening:
    """The messages of one day, some minutes apart; the tank goes on meanwhile."""

    def __init__(self, at: datetime, tank: Tank, rng: random.Random) -> None:
        self._at, self._tank, self._rng = at, tank, rng
        self.hours = 0.0

    def write(self, day: int) -> Iterator[Said]:
        for text in FIRST_DAY if day == 0 else ON_DAYS.get(day, ()):
            yield self._say(text)
        if day and day % CHANGE_EVERY_DAYS == 0:
            self._tank.change()
            yield self._say("changed the water")
        elif self._tank.litres < TOP_UP_BELOW_L:
            litres = round(FULL_L - self._tank.litres, 1)
            self._tank.top_up(litres)
            yield self._say(f"topped up {litres} L")
        if day and day % FILTER_EVERY_DAYS == 0:
            yield self._say("rinsed the filter")
        if day % 2 == 0:
            yield from self._test(day)

    def _test(self, day: int) -> Iterator[Said]:
        shown = self._shown_ph()
        ppm = round(self._tank.ec_ms_cm * 500 * self._rng.gauss(1.0, TESTER_EC), -1)
        celsius = self._tank.temperature_c + self._rng.gauss(0.0, TESTER_C)
        yield self._say(f"ph {shown:.1f} ppm {ppm:.0f} temp {celsius:.0f}")
        portions = 0
        while shown > TOO_HIGH_PH and portions < 3:
            ml = self._portion()
            self._tank.add_acid(ml)
            yield self._say(f"added {ml:g} ml ph down")
            self._wait(SETTLES)
            shown = self._shown_ph()
            yield self._say(f"ph {shown:.1f}")
            portions += 1

    def _portion(self) -> float:
        """Small enough to stop well short of too far, as a household learns to pour. [mL]"""
        low, high = 0.0, MOST_ACID_ML
        for _ in range(12):
            middle = (low + high) / 2
            if self._after(middle) > WANTED_PH:
                low = middle
            else:
                high = middle
        return max(round(high * 2) / 2, 0.5)

    def _after(self, ml: float) -> float:
        kept = self._tank.water
        self._tank.add_acid(ml)
        reached = self._tank.ph
        self._tank.water = kept
        return reached

    def _shown_ph(self) -> float:
        return self._tank.ph + self._rng.gauss(0.0, TESTER_PH)

    def _say(self, text: str) -> Said:
        said = Said(self._at, text, self._tank.ph)
        self._wait(timedelta(minutes=self._rng.randint(1, 4)))
        return said

    def _wait(self, span: timedelta) -> None:
        self._at += span
        hours = span / timedelta(hours=1)
        self.hours += hours
        self._tank.pass_time(hours)
