"""How well doses work out on tanks whose water is PHREEQC's, not ours.

    python -m benchmarks.dosing [--tanks 1000] [--regimes abcjl] [--first 10000] [--trade-off]

Each simulated tank has its own alkalinity, feed, phosphate, air exchange, true volume and bottle
(``simulated_tank.draw_tank`` says from which ranges). The household has a tester that is off by 0.1 pH and
2 % of EC, a syringe that is off by 3 %, and as much of the labels as the regime gives:

    a  source water and label known      b  label known      c  neither
    j  neither, and the jar test that the plan offers is done first
    l  as b, once the tank has answered five doses

Beside the plan stand two rules that growers use, and somebody who knows everything about the tank and still
keeps the caps on a dose: what is out of that one's reach is out of anybody's.

In band within n: a day after the n-th dose (or the last, where a tank needed fewer) the true pH stands inside
the tolerable edges. An overshoot: a true pH past 5.2 (acid) or 7.0 (base) at any time, or one beyond the far
tolerable edge a day after a dose. The decision rule was tuned on tanks 0 to 199; figures are reported from
tank 10,000 on.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from unittest.mock import patch

from rich.console import Console
from rich.table import Table

from benchmarks.dosing_rules import PLAN, RULES, Advice, Rule
from benchmarks.simulated_tank import AIM, START, Diary, Phreeqc, Tank, draw_tank
from domain.dosing import acidity
from domain.tank import tank_state

__all__ = ["Outcome", "Poured", "followed", "measure", "shares", "simulate"]

MOST_DOSES = 4
PATIENCE = timedelta(days=12)
HELD_OUT = 10_000
ANSWERED_BEFORE = 5
LIMITS = (0.0025, 0.005, 0.01, 0.02, 0.05)
"""Chances of going too far that a portion may carry, for the curve of what is traded for what; the rule takes
the first."""


@dataclass(frozen=True)
class Poured:
    """One dose: the true pH before, just after and a day later, and what kept it small."""

    role: str
    before: float
    just_after: float
    settled: float
    bound_by: str | None

    @property
    def is_overshoot(self) -> bool:
        if self.role == "ph_down":
            return self.just_after < 5.2 or self.settled < AIM.ph_low
        return self.just_after > 7.0 or self.settled > AIM.ph_high


@dataclass
class Outcome:
    """What became of one tank. ``final``: the true pH a day after the last word on it."""

    poured: list[Poured] = field(default_factory=list)
    final: float = 0.0

    def is_in_band_within(self, doses: int) -> bool:
        last = self.poured[:doses]
        settled = last[-1].settled if last else self.final
        return AIM.ph_low <= settled <= AIM.ph_high


def simulate(tank: Tank, rule: Rule, regime: str) -> Outcome:
    """The household and the tank, until nothing more is asked for, four doses are given or patience ends."""
    tank.begin()
    diary, now = Diary(tank, regime), START
    if regime == "l":
        now = _learned(tank, diary, rule)
    return _corrected(tank, diary, rule, now, MOST_DOSES, regime == "j")


def _corrected(tank: Tank, diary: Diary, rule: Rule, start: datetime, most: int, in_jar: bool) -> Outcome:
    outcome, now = Outcome(), start
    while now - start < PATIENCE:
        diary.read(now)
        advised = rule(tank_state(diary.entries, now), tank, now)
        if advised is None:
            now += tank.wait(timedelta(hours=24))
            outcome.final = tank.true_ph()
            if AIM.ph_low <= outcome.final <= AIM.ph_high:
                break
            continue
        if advised.amount_ml > 0:
            if in_jar:
                in_jar = False
                diary.try_in_jar(now, advised.role)
                continue
            if len(outcome.poured) >= most:
                break
            outcome.poured.append(_given(tank, diary, advised, now))
        now += tank.wait(advised.read_after)
        outcome.final = tank.true_ph()
    return outcome


def _given(tank: Tank, diary: Diary, advised: Advice, now: datetime) -> Poured:
    before = tank.true_ph()
    tank.pour(advised.role, advised.amount_ml)
    diary.dose(now, advised.role, advised.amount_ml)
    return Poured(advised.role, before, tank.true_ph(), tank.ph_in_a_day(), advised.bound_by)


def _learned(tank: Tank, diary: Diary, rule: Rule) -> datetime:
    """Five doses given and answered; then plants take the water to where another tank of its kind starts."""
    now = START
    for _ in range(4 * ANSWERED_BEFORE):
        missing = ANSWERED_BEFORE - diary.doses
        if missing <= 0:
            break
        _corrected(tank, diary, rule, now, missing, False)
        now = diary.entries[-1].happened_at + timedelta(days=2)
        tank.drift_to(tank.kind_start_ph())
    return now


def followed(
    tanks: int = 60,
    *,
    regimes: str = "abc",
    rules: Sequence[str] = tuple(RULES),
    first: int = HELD_OUT,
    console: Console | None = None,
) -> dict[tuple[str, str], dict[str, float]]:
    """Shares by regime and rule, in percent: see ``shares``. Each rule meets the same tanks.

    tanks : how many, from number ``first`` on. regimes : letters, as in the module's first lines.
    console : prints each row as soon as it is known.
    """
    water = Phreeqc()
    rows: dict[tuple[str, str], dict[str, float]] = {}
    for regime in regimes:
        for name in rules:
            began = time.perf_counter()
            outcomes = [
                simulate(draw_tank(index, regime, water), RULES[name], regime)
                for index in range(first, first + tanks)
            ]
            rows[regime, name] = row = shares(outcomes)
            if console is not None:
                said = "  ".join(f"{key} {value:.1f}" for key, value in row.items())
                console.print(f"{regime} {name:12}{said}  ({time.perf_counter() - began:.0f} s)")
                console.print(f"  {'':12}{_bound(outcomes)}", style="dim")
    return rows


def shares(outcomes: Sequence[Outcome]) -> dict[str, float]:
    """In band within 1 to 4 doses, overshoots of doses and of tanks [%]; doses a tank."""
    count, doses = len(outcomes), max(sum(len(o.poured) for o in outcomes), 1)
    over = [sum(p.is_overshoot for p in o.poured) for o in outcomes]
    within = {
        f"within {n}": 100 * sum(o.is_in_band_within(n) for o in outcomes) / count
        for n in range(1, MOST_DOSES + 1)
    }
    return {
        **within,
        "overshoot % of doses": 100 * sum(over) / doses,
        "% of tanks": 100 * sum(passed > 0 for passed in over) / count,
        "doses a tank": doses / count,
    }


def _bound(outcomes: Sequence[Outcome]) -> str:
    """In what share of tanks each limit kept a dose below the whole amount."""
    limits = Counter(limit for o in outcomes for limit in {p.bound_by for p in o.poured} if limit)
    said = ", ".join(f"{limit} {100 * n / len(outcomes):.0f} %" for limit, n in limits.most_common())
    return f"kept small in tanks by: {said}" if said else ""


def trade_off(tanks: int, regimes: str, first: int, console: Console) -> None:
    """What a higher chance of going too far would buy."""
    table = Table("regime", "limit", *(f"within {n}" for n in range(1, MOST_DOSES + 1)), "% of tanks over")
    for regime in regimes:
        for limit in LIMITS:
            with patch.object(acidity, "OVERSHOOT", limit):
                row = followed(tanks, regimes=regime, rules=(PLAN,), first=first)[regime, PLAN]
            within = (f"{row[f'within {n}']:.0f}" for n in range(1, MOST_DOSES + 1))
            table.add_row(regime, f"{100 * limit:g} %", *within, f"{row['% of tanks']:.1f}")
    console.print(table)


def measure(tanks: int = 24) -> list[tuple[str, float, float, str]]:
    """A short form: the plan beside the fixed rate."""
    rows = followed(tanks, rules=(PLAN, "fixed rate"))
    found = []
    for regime, most in (("a", 2), ("b", 3), ("c", 4)):
        ours, theirs = rows[regime, PLAN], rows[regime, "fixed rate"]
        key = f"within {most}"
        found.append((f"{regime}: in band within {most} doses", ours[key], theirs[key], "% of tanks"))
        found.append((f"{regime}: gone too far", ours["% of tanks"], theirs["% of tanks"], "% of tanks"))
    return found


def main() -> None:
    asked = argparse.ArgumentParser(description="Doses on tanks whose water is PHREEQC's.")
    asked.add_argument("--tanks", type=int, default=60)
    asked.add_argument("--regimes", default="abcjl")
    asked.add_argument("--rules", default=",".join(RULES), help="comma-separated")
    asked.add_argument("--first", type=int, default=HELD_OUT, help="number of the first tank")
    asked.add_argument("--trade-off", action="store_true", help="the curve of limits alone")
    said = asked.parse_args()
    console = Console(width=150)
    if said.trade_off:
        trade_off(said.tanks, said.regimes, said.first, console)
    else:
        followed(
            said.tanks,
            regimes=said.regimes,
            rules=said.rules.split(","),
            first=said.first,
            console=console,
        )


if __name__ == "__main__":
    main()
