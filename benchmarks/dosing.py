"""How well doses work out on tanks whose water is PHREEQC's, not ours.

    python -m benchmarks.dosing [tanks]

Each simulated tank has its own alkalinity, feed, phosphate, air exchange, true volume and bottle. The plan
sees what a household would: a tester that is off by 0.1 pH and 2 % of EC, and as much of the labels as the
regime gives:

    a  source water and label known      b  label known      c  neither

Beside the plan stand two rules that growers use: a fixed rate (1 ml of bottle per 10 L for each half pH off),
and the whole dose that brings the aired water to the target, worked out for usual water, given at once.

A tank counts as in band after n doses if the rule then asks for no more and the true pH still stands in the
tolerable band a day later. An overshoot is a true pH past 5.2 (acid) or 7.0 (base) at any time, or one beyond
the far tolerable edge a day after a dose.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import phreeqpython
from phreeqpython.viphreeqc import VIPhreeqc

from domain.bottles import bottle_of
from domain.chemistry.solution import mol_to_reach, source_water, with_nutrient
from domain.dosing import Aim, plan
from domain.facts import Dose, Fact, Product, Reading, Setting, WaterChange
from domain.journal import Entry
from domain.tank import DEFAULTS, TankState, tank_state

__all__ = ["Outcome", "measure"]

AIM = Aim(5.4, 5.6, 6.2, 6.5, 0.6, 0.8, 2.2, 2.6)
START = datetime(2026, 5, 4, 8, 0, tzinfo=UTC)
MOST_DOSES = 4
PATIENCE = timedelta(days=8)
ACID_FORMULA = {"phosphoric acid": "H3PO4", "nitric acid": "HNO3", "sulfuric acid": "H2SO4"}
BASE_FORMULA = {
    "potassium hydroxide": "KOH",
    "potassium carbonate": "K2CO3",
    "potassium bicarbonate": "KHCO3",
}
FORMULA = {**ACID_FORMULA, **BASE_FORMULA}


class Phreeqc:
    """One litre of water in PHREEQC (phreeqc.dat as the wheel ships it), kept as solution 1."""

    def __init__(self) -> None:
        self.engine = VIPhreeqc()
        self.engine.load_database(Path(phreeqpython.__file__).parent / "database" / "phreeqc.dat")
        self.temperature_c = 20.0

    def fill(self, alkalinity_mg_l: float, ph: float, temperature_c: float) -> None:
        """Tap water by the recipe of the published checks: calcium 0.35, magnesium 0.1 mol an equivalent."""
        a = alkalinity_mg_l / 50.045
        self.temperature_c = temperature_c
        self._run(
            f"SOLUTION 1\n temp {temperature_c}\n pH {ph}\n units mmol/kgw\n Ca {0.35 * a}\n Mg {0.1 * a}\n"
            f" Na {0.5 + 0.2 * a}\n Cl 0.5 charge\n Alkalinity {a}\n O(0) 0.5\nSAVE SOLUTION 1\nEND\n"
        )

    def add(self, moles: dict[str, float]) -> None:
        """Adds (or with a minus sign takes away) moles of neutral formulas. [mol/L]"""
        rows = "".join(f" {formula} {amount:.9g}\n" for formula, amount in moles.items() if amount)
        if rows:
            self._run(
                f"USE SOLUTION 1\nREACTION_TEMPERATURE 1\n {self.temperature_c}\nREACTION 1\n{rows} 1 moles\n"
                "SAVE SOLUTION 1\nEND\n"
            )

    def keep(self) -> None:
        """Sets a copy of the water aside."""
        self._run("COPY SOLUTION 1 9\nEND\n")

    def back(self) -> None:
        """Returns to the copy."""
        self._run("COPY SOLUTION 9 1\nEND\n")

    def read(self) -> tuple[float, float]:
        """pH and dissolved CO2. [mol/L]"""
        self._run(
            "SELECTED_OUTPUT 1\n -reset false\nUSER_PUNCH 1\n -headings pH co2\n"
            ' 10 PUNCH -LA("H+"), MOL("CO2")\n'
            f"USE SOLUTION 1\nREACTION_TEMPERATURE 1\n {self.temperature_c}\nEND\n"
        )
        ph, co2 = self.engine.get_selected_output_array()[-1]
        return float(ph), float(co2)

    def rest(self, hours: float, rate_per_h: float, log_pco2: float) -> None:
        """CO2 moves between water and air, in small steps of a first-order law."""
        self.keep_air(log_pco2)
        left = hours * rate_per_h
        while left > 1e-6:
            _, co2 = self.read()
            fold = min(left, 0.25 if left < 6 else 0.5)
            moved = (co2 - self.co2_in_air) * (1 - np.exp(-fold))
            if abs(moved) < 2e-7:
                break
            self.add({"CO2": -moved})
            left -= fold

    def keep_air(self, log_pco2: float) -> None:
        kelvin = self.temperature_c + 273.15
        log_kh = (
            108.3865
            + 0.01985076 * kelvin
            - 6919.53 / kelvin
            - 40.45154 * np.log10(kelvin)
            + 669365 / kelvin**2
        )
        self.co2_in_air = 10 ** (log_kh + log_pco2)

    def _run(self, text: str) -> None:
        self.engine.run_string(text)


@dataclass(frozen=True)
class Bottle:
    """What the household has by this role: the label as told, and what is really in it. [mol/L]"""

    product: Product
    reagent: str
    strength: float


@dataclass
class Tank:
    """One simulated tank and what its household knows."""

    said_volume_l: float
    volume_l: float
    alkalinity_mg_l: float
    ec_feed: float
    phosphate: float
    rate_per_h: float
    log_pco2: float
    temperature_c: float
    source_ph: float
    lowers: bool
    bottles: dict[str, Bottle]
    hours_since_fill: float
    start_ph: float | None
    water: Phreeqc
    noise: np.random.Generator

    def begin(self) -> None:
        """Fresh water and feed; an older tank has had its alkalinity taken by acid and stands in the air."""
        w, ec = self.water, self.ec_feed / 1.25
        w.fill(self.alkalinity_mg_l, self.source_ph, self.temperature_c)
        w.add(
            {
                "Ca(NO3)2": 2.5e-3 * ec,
                "KNO3": 3e-3 * ec,
                "MgSO4": 1e-3 * ec,
                "KH2PO4": self.phosphate * 1e-3,
            }
        )
        if self.start_ph is not None:
            self._set_aired_ph(self.start_ph)
        w.rest(min(self.hours_since_fill, 24.0), self.rate_per_h, self.log_pco2)

    def _set_aired_ph(self, target: float) -> None:
        """Nitric acid (earlier doses, plants) until the water shows this pH in the air of the room."""
        w = self.water
        w.keep()
        low, high = -2e-3, self.alkalinity_mg_l / 50_045 + 3e-3
        for _ in range(14):
            middle = (low + high) / 2
            w.back()
            w.add({"HNO3" if middle > 0 else "KOH": abs(middle)})
            w._run(
                f"USE SOLUTION 1\nEQUILIBRIUM_PHASES 1\n CO2(g) {self.log_pco2} 10\nREACTION_TEMPERATURE 1\n"
                f" {self.temperature_c}\nSAVE SOLUTION 1\nEND\n"
            )
            low, high = (middle, high) if w.read()[0] > target else (low, middle)


@dataclass
class Outcome:
    """What became of one tank. ``doses_to_band``: ``None`` where it was not in band after the last one."""

    doses_to_band: int | None = None
    doses: int = 0
    overshoots: int = 0
    worst: list[str] = field(default_factory=list)
    trail: list[str] = field(default_factory=list)


Advice = tuple[str, float, timedelta] | None
"""Which bottle, how much of it [ml] and when to read again; ``None`` for nothing. Zero ml: only wait."""
Rule = Callable[[TankState, Tank, datetime], Advice]


def by_plan(state: TankState, tank: Tank, now: datetime) -> Advice:
    found = plan(state, AIM, now=now)
    dose = next(
        (s for s in found.steps if s.action in ("add", "test_portion") and s.role != "nutrient"), None
    )
    if dose is not None and dose.first is not None:
        return str(dose.role), dose.first / dose.dilution, found.retest_after or timedelta(hours=12)
    if found.outcome == "nothing":
        return None
    return "ph_down", 0.0, found.retest_after or timedelta(hours=4)


def by_fixed_rate(state: TankState, tank: Tank, now: datetime) -> Advice:
    if state.ph is None or AIM.ph_low <= state.ph.value <= AIM.ph_high:
        return None
    off = abs(state.ph.value - AIM.ph_target)
    return _side(state), 0.1 * state.volume_l.value * off / 0.5, timedelta(hours=1)


def by_whole_dose(state: TankState, tank: Tank, now: datetime) -> Advice:
    if state.ph is None or AIM.ph_low <= state.ph.value <= AIM.ph_high:
        return None
    role = _side(state)
    bottle = bottle_of(tank.bottles[role].product)
    water = source_water(
        ph=DEFAULTS.source_ph, alkalinity_eq_l=state.source.alkalinity_eq_l.value, temperature_c=20.0
    )
    fed = with_nutrient(water, ec_ms_cm=1.2)
    if role == "ph_up":
        # Half a millimole a litre: what lifts usual feed from 5 to the target.
        return role, 0.5e-3 * state.volume_l.value / bottle.middle, timedelta(hours=1)
    whole = float(mol_to_reach(fed, bottle.reagent, AIM.ph_target, aired=True))
    return role, whole * state.volume_l.value / bottle.middle, timedelta(hours=1)


def _side(state: TankState) -> str:
    return "ph_down" if state.ph is not None and state.ph.value > AIM.ph_target else "ph_up"


RULES: dict[str, Rule] = {"plan": by_plan, "fixed rate": by_fixed_rate, "whole dose": by_whole_dose}


def draw_tank(index: int, regime: str, water: Phreeqc) -> Tank:
    """A tank that depends on its number alone, so that every rule meets the same ones."""
    r = np.random.default_rng(index)
    said = float(np.exp(r.uniform(np.log(15), np.log(120))))
    lowers = r.random() < 0.75
    bottles = {}
    for role, reagents in (("ph_down", ("phosphoric acid", "nitric acid")), ("ph_up", tuple(BASE_FORMULA))):
        reagent = str(r.choice(reagents))
        strength = float(np.exp(r.uniform(np.log(0.4), np.log(4.5))))
        product = Product(role=role, name=f"{role} bottle")  # type: ignore[arg-type]
        if regime in "ab":
            product = replace(product, reagent=reagent, molar_mol_l=strength)
        bottles[role] = Bottle(product, reagent, strength * float(np.exp(0.03 * r.standard_normal())))
    ec = float(r.uniform(0.8, 2.0))
    fresh = lowers and r.random() < 0.4
    return Tank(
        said_volume_l=round(said),
        volume_l=said * float(np.exp(0.05 * r.standard_normal())),
        alkalinity_mg_l=float(np.exp(r.uniform(np.log(20), np.log(280)))),
        ec_feed=ec,
        phosphate=float(np.exp(r.uniform(np.log(0.4), np.log(1.1))))
        * ec
        * (1.0 if fresh else r.uniform(0.1, 1)),
        rate_per_h=float(np.exp(r.uniform(np.log(0.03), np.log(2)))),
        log_pco2=float(r.uniform(-3.4, -3.05)),
        temperature_c=float(r.uniform(17, 25)),
        source_ph=float(r.uniform(7.1, 8.1)),
        lowers=lowers,
        bottles=bottles,
        hours_since_fill=float(r.uniform(0.5, 3)) if fresh else float(r.uniform(24, 200)),
        start_ph=None if fresh else float(r.uniform(6.65, 7.6) if lowers else r.uniform(4.7, 5.3)),
        water=water,
        noise=r,
    )


def simulate(tank: Tank, rule: Rule, regime: str) -> Outcome:
    """The household and the tank, until the band is reached or patience ends."""
    tank.begin()
    said = _Journal(tank, regime)
    now, outcome = START, Outcome()
    while now - START < PATIENCE:
        true_ph, _ = tank.water.read()
        said.read(now, tank, true_ph)
        advised = rule(tank_state(said.entries, now), tank, now)
        if advised is None:
            outcome.trail.append(f"{true_ph:.2f} ok")
            now += _wait(tank, timedelta(hours=24))
            if AIM.ph_low <= tank.water.read()[0] <= AIM.ph_high:
                outcome.doses_to_band = outcome.doses
                break
            continue
        role, amount, wait = advised
        if amount > 0:
            if outcome.doses >= MOST_DOSES:
                break
            _pour(tank, outcome, role, amount)
            said.dose(now, role, amount)
            outcome.trail.append(f"{true_ph:.2f} {role} {amount:.2f} -> {tank.water.read()[0]:.2f}")
        now += _wait(tank, wait)
    return outcome


class _Journal:
    """What the household writes down."""

    def __init__(self, tank: Tank, regime: str) -> None:
        self.entries: list[Entry] = []
        before = START - timedelta(hours=tank.hours_since_fill)
        self.put(before, Setting(name="tank_volume_l", value=str(tank.said_volume_l)))
        if regime == "a":
            kit = round(tank.alkalinity_mg_l / 17.8) * 17.8
            self.put(before, Setting(name="source_alkalinity_mg_l_caco3", value=str(max(kit, 9.0))))
        for bottle in tank.bottles.values():
            self.put(before, bottle.product)
        self.put(before, WaterChange(feed="full"))

    def put(self, at: datetime, fact: Fact) -> None:
        number = len(self.entries) + 1
        self.entries.append(Entry(number, fact, at, at, "Ana", f"m{number}"))

    def read(self, at: datetime, tank: Tank, true_ph: float) -> None:
        shown = round(true_ph + float(np.clip(0.05 * tank.noise.standard_normal(), -0.1, 0.1)), 1)
        ec = (tank.ec_feed + tank.alkalinity_mg_l / 500) * (1 + 0.02 * tank.noise.standard_normal())
        self.put(at, Reading(ph=shown, ec_ms_cm=round(ec, 2), water_temp_c=round(tank.temperature_c)))

    def dose(self, at: datetime, role: str, amount: float) -> None:
        self.put(at, Dose(product=role, amount=amount, unit="ml"))  # type: ignore[arg-type]


def _pour(tank: Tank, outcome: Outcome, role: str, amount_ml: float) -> None:
    outcome.doses += 1
    bottle, lowers = tank.bottles[role], role == "ph_down"
    poured = amount_ml * (1 + 0.03 * tank.noise.standard_normal())
    tank.water.add({FORMULA[bottle.reagent]: poured * 1e-3 * bottle.strength / tank.volume_l})
    after, _ = tank.water.read()
    passed = after < 5.2 if lowers else after > 7.0
    # A day later, by the same air; the tank itself goes on from here.
    tank.water.keep()
    tank.water.rest(24, tank.rate_per_h, tank.log_pco2)
    settled, _ = tank.water.read()
    tank.water.back()
    beyond = settled < AIM.ph_low if lowers else settled > AIM.ph_high
    outcome.overshoots += passed or beyond
    outcome.worst.append(f"{role} {after:.2f} {settled:.2f}" if passed or beyond else "")


def _wait(tank: Tank, time_passed: timedelta) -> timedelta:
    tank.water.rest(time_passed.total_seconds() / 3600, tank.rate_per_h, tank.log_pco2)
    return time_passed


def measure(
    tanks: int = 60, *, regimes: str = "abc", rules: tuple[str, ...] = tuple(RULES), first: int = 0
) -> dict[tuple[str, str], dict[str, float]]:
    """Shares of tanks, in percent, by regime and rule; prints a line for each.

    tanks : how many; each rule meets the same ones. regimes : letters of a, b, c.
    Returns in band within 2, 3, 4 doses, share of doses and of tanks with an overshoot.
    """
    water = Phreeqc()
    table: dict[tuple[str, str], dict[str, float]] = {}
    for regime in regimes:
        for name in rules:
            began = time.perf_counter()
            outcomes = [_one(index, regime, name, water) for index in range(first, first + tanks)]
            table[regime, name] = row = _shares(outcomes)
            said = "  ".join(f"{key} {value:5.1f}" for key, value in row.items())
            print(f"{regime}  {name:10s} {said}   ({time.perf_counter() - began:.0f} s)", flush=True)
    return table


def _one(index: int, regime: str, rule: str, water: Phreeqc) -> Outcome:
    return simulate(draw_tank(index, regime, water), RULES[rule], regime)


def _shares(outcomes: list[Outcome]) -> dict[str, Any]:
    n = len(outcomes)

    def within(most: int) -> float:
        return 100 * sum(o.doses_to_band is not None and o.doses_to_band <= most for o in outcomes) / n

    doses = max(sum(o.doses for o in outcomes), 1)
    return {
        "within 2": within(2),
        "within 3": within(3),
        "within 4": within(4),
        "overshoot % of doses": 100 * sum(o.overshoots for o in outcomes) / doses,
        "% of tanks": 100 * sum(o.overshoots > 0 for o in outcomes) / n,
    }


if __name__ == "__main__":
    measure(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
