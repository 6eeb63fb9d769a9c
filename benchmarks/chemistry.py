"""What the water chemistry costs, beside PHREEQC (through phreeqpython) on the same tanks in the same run.

    python -m benchmarks.chemistry

Times are the best of a few runs, for everybody uses the machine. PHREEQC is asked as a Python program asks
it: one tank after the other. Of the larger figures it does a part, and the time is carried over to the whole.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import phreeqpython
from numpy.typing import NDArray
from phreeqpython.viphreeqc import VIPhreeqc

from domain.chemistry.solution import Solution, aired, exchanged, mol_to_reach, ph, source_water, with_reagent
from domain.chemistry.species import co2_solubility_mol_l_atm

__all__ = ["measure"]

Array = NDArray[np.float64]

TANKS = 1000
PART = 60
"""Tanks that PHREEQC does for the larger figures."""
TARGET_PH = 5.8
BISECTIONS = 14
"""Halvings that bring PHREEQC's dose within 0.001 mmol/L of its target."""
LOG_PCO2 = -3.4
RATE_PER_H, HOURS = 0.3, 5.0
RUNS = 5


def measure() -> list[tuple[str, float, float, str]]:
    """The figures: what is measured, ours, PHREEQC's, unit."""
    rng = np.random.default_rng(1)
    alkalinity = rng.uniform(0.4e-3, 5e-3, TANKS)
    water_ph = rng.uniform(7.0, 8.2, TANKS)
    dose = alkalinity * rng.uniform(0.1, 0.7, TANKS)
    reference = _Phreeqc(alkalinity, water_ph, dose)
    water = source_water(ph=water_ph, alkalinity_eq_l=alkalinity, temperature_c=20.0)
    dosed = with_reagent(water, "nitric acid", dose)
    first = source_water(ph=float(water_ph[0]), alkalinity_eq_l=float(alkalinity[0]), temperature_c=20.0)
    carried = TANKS / PART * 1000.0

    closed, open_air = reference.answers(PART)
    apart = np.abs(np.asarray(ph(_first(dosed, PART))) - closed)
    apart_aired = np.abs(np.asarray(ph(aired(_first(dosed, PART), 10**LOG_PCO2))) - open_air)
    one, thousand, to_target = (
        _best(lambda: reference.answer(0, aired=False)) * 1000.0,
        _best(lambda: reference.answers(PART, aired=False), runs=2) * carried,
        _best(lambda: reference.doses_to_target(PART), runs=1) * carried,
    )
    rest = _best(lambda: reference.answers(PART, closed=False), runs=2) * carried
    return [
        ("pH of one tank", _best(lambda: ph(first)) * 1000.0, one, "ms"),
        ("pH of 1,000 tanks", _best(lambda: ph(dosed)) * 1000.0, thousand, "ms"),
        ("1,000 tanks, aired", _best(lambda: aired(dosed)) * 1000.0, rest, "ms"),
        (
            "1,000 doses to pH 5.8",
            _best(lambda: mol_to_reach(water, "nitric acid", TARGET_PH)) * 1000.0,
            to_target,
            "ms",
        ),
        (
            "1,000 tanks, 5 h under the air",
            _best(lambda: exchanged(dosed, rate_per_h=RATE_PER_H, hours=HOURS)) * 1000.0,
            _best(lambda: reference.under_the_air(PART), runs=1) * carried,
            "ms",
        ),
        ("farthest from PHREEQC, closed", float(apart.max()), 0.0, "pH"),
        ("farthest from PHREEQC, aired", float(apart_aired.max()), 0.0, "pH"),
    ]


def _first(solution: Solution, count: int) -> Solution:
    names = Solution.__dataclass_fields__
    values = {name: getattr(solution, name) for name in names}
    return Solution(**{name: value[:count] if np.ndim(value) else value for name, value in values.items()})


def _best(run: Callable[[], object], runs: int = RUNS) -> float:
    """Seconds of the quickest run."""
    taken = []
    for _ in range(runs):
        start = time.perf_counter()
        run()
        taken.append(time.perf_counter() - start)
    return min(taken)


class _Phreeqc:
    """The same tanks in PHREEQC: the tap waters that ``source_water`` makes, dosed with nitric acid."""

    def __init__(self, alkalinity: Array, water_ph: Array, dose: Array) -> None:
        self.alkalinity, self.water_ph, self.dose = alkalinity * 1e3, water_ph, dose
        self.engine = VIPhreeqc()
        self.engine.load_database(Path(phreeqpython.__file__).parent / "database" / "phreeqc.dat")
        self.engine.run_string(
            'SELECTED_OUTPUT 1\n-reset false\nUSER_PUNCH 1\n-headings pH\n10 PUNCH -LA("H+")\nEND\n'
        )

    def answer(self, tank: int, *, aired: bool, dose: float | None = None, also: str = "") -> float:
        """pH of one tank after its dose. [mol/L]"""
        alkalinity = self.alkalinity[tank]
        air = f"EQUILIBRIUM_PHASES 1\n CO2(g) {LOG_PCO2} 10\n" if aired else ""
        acid = self.dose[tank] if dose is None else dose
        self.engine.run_string(
            f"SOLUTION 1\n temp 20\n pH {self.water_ph[tank]}\n units mmol/kgw\n Ca {0.35 * alkalinity}\n"
            f" Mg {0.1 * alkalinity}\n Na {0.5 + 0.2 * alkalinity}\n Cl 1 charge\n Alkalinity {alkalinity}\n"
            f"REACTION 1\n HNO3 1\n {acid} moles\nREACTION_TEMPERATURE 1\n 20\n{air}{also}END\n"
        )
        return float(self.engine.get_selected_output_array()[-1][0])

    def answers(self, count: int, *, closed: bool = True, aired: bool = True) -> tuple[Array, Array]:
        """pH of the first tanks, closed and aired, as far as asked for."""
        tanks = range(count)
        return (
            np.array([self.answer(tank, aired=False) for tank in tanks] if closed else []),
            np.array([self.answer(tank, aired=True) for tank in tanks] if aired else []),
        )

    def under_the_air(self, count: int) -> None:
        """The first tanks after some hours in which carbon dioxide left, integrated by PHREEQC."""
        rest = 10**LOG_PCO2 * float(co2_solubility_mol_l_atm(20.0))
        self.engine.run_string(
            'RATES\nLeaving\n-start\n10 SAVE PARM(1) / 3600 * (MOL("CO2") - PARM(2)) * TIME\n-end\nEND\n'
        )
        for tank in range(count):
            self.answer(
                tank,
                aired=False,
                also=f"KINETICS 1\nLeaving\n -formula CO2 -1\n -m 1\n -m0 1\n -tol 1e-8\n"
                f" -parms {RATE_PER_H} {rest}\n -steps {HOURS * 3600}\n",
            )

    def doses_to_target(self, count: int) -> Array:
        """Acid that brings each of the first tanks to the target, found by halving. [mol/L]"""
        found = []
        for tank in range(count):
            low, high = 0.0, 1.2 * self.alkalinity[tank] / 1e3
            for _ in range(BISECTIONS):
                middle = 0.5 * (low + high)
                too_high = self.answer(tank, aired=False, dose=middle) > TARGET_PH
                low, high = (middle, high) if too_high else (low, middle)
            found.append(0.5 * (low + high))
        return np.array(found)


if __name__ == "__main__":
    for what, ours, theirs, unit in measure():
        print(f"{what:32} {ours:10.3g} {theirs:10.3g} {unit}")
