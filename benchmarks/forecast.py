"""How honest the forecast is: of the true crossings in simulated tanks, how many its 80 % interval holds.

    python -m benchmarks.forecast

A tank is left alone from the last hand in its water on (``benchmarks.water_season``); its household reads it
every half to two days with a tester that errs. For each tank whose true value leaves its band within two
weeks, one forecast is asked for at one of the readings before that, drawn by lot. The widths of the forecast
were set on seeds below ``FIRST_UNSEEN``; what is printed comes from seeds that had no part in it.

The plain way beside it is the least-squares line through the same readings, with its textbook interval.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

from benchmarks.water_season import HOURS, Season, simulate, testers
from domain.forecast import FARTHEST, Leaves, Trend, trend
from domain.history import Point, Quantity

__all__ = ["Case", "cases", "measure"]

START = datetime(2026, 5, 4, 7, 0, tzinfo=UTC)
FIRST_UNSEEN = 2000
TANKS = 900
QUANTITIES: tuple[Quantity, ...] = ("ph", "ec_ms_cm", "level_l")


@dataclass(frozen=True)
class Case:
    """One true crossing, and the readings that a forecast of it has."""

    what: Quantity
    points: tuple[Point, ...]
    low: float
    high: float
    crossed_at: datetime


def cases(what: Quantity, tanks: int, seed: int) -> Iterator[Case]:
    """The crossings of so many tanks."""
    truth = simulate(tanks, seed)
    shown = testers(truth, seed + 1)
    r = np.random.default_rng(seed + 2)
    for tank in range(tanks):
        case = _case(what, _row(truth, what, tank), _row(shown, what, tank), r)
        if case is not None:
            yield case


def _row(season: Season, what: Quantity, tank: int) -> np.ndarray:
    row: np.ndarray = getattr(season, what)[tank]
    return row


def _case(what: Quantity, truth: np.ndarray, shown: np.ndarray, r: np.random.Generator) -> Case | None:
    low, high = _band(what, truth[0], r)
    hours = [int(r.uniform(1, 12))]
    pace = r.choice([12.0, 24.0, 24.0, 36.0, 48.0])
    while hours[-1] < HOURS:
        hours.append(hours[-1] + max(2, int(pace * r.uniform(0.8, 1.2))))
    outside = np.flatnonzero((truth < low) | (truth > high))
    if outside.size == 0 or outside[0] > FARTHEST / timedelta(hours=1):
        return None
    before = [hour for hour in hours if hour < outside[0]]
    if len(before) < 3:
        return None
    asked = before[: r.integers(3, len(before) + 1)]
    points = tuple(Point(START + timedelta(hours=hour), float(shown[hour])) for hour in asked)
    return Case(what, points, low, high, START + timedelta(hours=int(outside[0])))


def _band(what: Quantity, start: float, r: np.random.Generator) -> tuple[float, float]:
    if what == "ph":
        return 5.4, float(r.uniform(6.3, 7.0))
    if what == "level_l":
        return float(start * r.uniform(0.6, 0.85)), 1e9
    return float(start * r.uniform(0.75, 0.92)), float(start * r.uniform(1.08, 1.3))


def by_trend(case: Case) -> Leaves | None:
    """The forecast that a household gets."""
    found = trend(case.points, (), case.what, case.points[-1].at)
    return found.leaves(case.low, case.high) if isinstance(found, Trend) else None


def by_least_squares(case: Case) -> Leaves | None:
    """A straight line by least squares, its interval by the textbook (normal errors, t for few readings)."""
    from scipy.stats import t as student

    last_at = case.points[-1].at
    days = np.array([(point.at - last_at) / timedelta(days=1) for point in case.points])
    values = np.array([point.value for point in case.points])
    slope, level = np.polyfit(days, values, 1)
    if slope == 0:
        return None
    freedom = len(days) - 2
    noise = np.sqrt(np.sum((values - level - slope * days) ** 2) / freedom)
    ahead = np.arange(0.0, FARTHEST / timedelta(days=1), 1 / 48)
    spread = noise * np.sqrt(
        1 / len(days) + (ahead - days.mean()) ** 2 / np.sum((days - days.mean()) ** 2)
    ) * student.ppf(0.9, freedom)  # fmt: skip
    sign, edge = (1.0, case.high) if slope > 0 else (-1.0, case.low)
    past = sign * (level + slope * ahead - edge)

    def first(is_past: np.ndarray) -> datetime | None:
        return last_at + timedelta(days=float(ahead[np.argmax(is_past)])) if is_past.any() else None

    at = first(past >= 0)
    if at is None:
        return None
    side = "high" if slope > 0 else "low"
    return Leaves(side, edge, at, first(past + spread >= 0) or at, first(past - spread >= 0))  # type: ignore[arg-type]


@dataclass
class Score:
    """What became of the crossings: forecast and held, forecast and missed early or late, not forecast."""

    held: int = 0
    earlier: int = 0
    later: int = 0
    silent: int = 0
    open_ended: int = 0

    @property
    def forecast(self) -> int:
        return self.held + self.earlier + self.later

    def take(self, case: Case, leaves: Leaves | None) -> None:
        if leaves is None:
            self.silent += 1
            return
        self.open_ended += leaves.latest is None
        hour = timedelta(hours=1)
        if case.crossed_at < leaves.soonest - hour:
            self.earlier += 1
        elif leaves.latest is not None and case.crossed_at > leaves.latest + hour:
            self.later += 1
        else:
            self.held += 1


def scored(what: Quantity, forecast: Callable[[Case], Leaves | None], tanks: int, seed: int) -> Score:
    """The score of one way to forecast."""
    score = Score()
    for case in cases(what, tanks, seed):
        score.take(case, forecast(case))
    return score


def measure(tanks: int = TANKS, seed: int = FIRST_UNSEEN) -> list[tuple[str, float, float, str]]:
    """The figures: what is measured, ours, the least-squares line's, unit."""
    figures = []
    ours, plain = Score(), Score()
    for what in QUANTITIES:
        one, other = (scored(what, way, tanks, seed) for way in (by_trend, by_least_squares))
        figures.append((f"{what} crossings held", _share(one), _share(other), f"% of {one.forecast}"))
        for whole, part in ((ours, one), (plain, other)):
            for name in ("held", "earlier", "later", "silent", "open_ended"):
                setattr(whole, name, getattr(whole, name) + getattr(part, name))
    return [
        *figures,
        ("all crossings held", _share(ours), _share(plain), f"% of {ours.forecast}"),
        ("came before", 100 * ours.earlier / ours.forecast, 100 * plain.earlier / plain.forecast, "%"),
        ("came after", 100 * ours.later / ours.forecast, 100 * plain.later / plain.forecast, "%"),
        ("no end told", 100 * ours.open_ended / ours.forecast, 100 * plain.open_ended / plain.forecast, "%"),
        ("not foretold", 100 * _silence(ours), 100 * _silence(plain), "% of crossings"),
    ]


def _share(score: Score) -> float:
    return 100 * score.held / max(score.forecast, 1)


def _silence(score: Score) -> float:
    return score.silent / max(score.silent + score.forecast, 1)


if __name__ == "__main__":
    for what, ours, plain, unit in measure():
        print(f"{what:24} {ours:8.1f} {plain:8.1f} {unit}")
