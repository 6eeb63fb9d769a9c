"""Home tanks whose water is PHREEQC's, not ours, and the households that read and dose them.

What a tank is and what its household knows are two things: the true alkalinity, volume, strength of bottle,
air and phosphate stand in ``Tank``; the label, the mark on the tank and the kit's colour in what ``Diary``
writes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import phreeqpython
from phreeqpython.viphreeqc import VIPhreeqc

from domain.dosing import Aim
from domain.facts import Dose, Fact, JarTest, Product, Reading, Setting, WaterChange
from domain.journal import Entry

__all__ = ["AIM", "START", "Bottle", "Diary", "Phreeqc", "Tank", "draw_tank"]

AIM = Aim(5.4, 5.6, 6.2, 6.5, 0.6, 0.8, 2.2, 2.6)
START = datetime(2026, 5, 4, 8, 0, tzinfo=UTC)
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
        self.run(
            f"SOLUTION 1\n temp {temperature_c}\n pH {ph}\n units mmol/kgw\n Ca {0.35 * a}\n Mg {0.1 * a}\n"
            f" Na {0.5 + 0.2 * a}\n Cl 0.5 charge\n Alkalinity {a}\n O(0) 0.5\nSAVE SOLUTION 1\nEND\n"
        )

    def add(self, moles: dict[str, float]) -> None:
        """Adds (or with a minus sign takes away) moles of neutral formulas. [mol/L]"""
        rows = "".join(f" {formula} {amount:.9g}\n" for formula, amount in moles.items() if amount)
        if rows:
            self.run(
                f"USE SOLUTION 1\nREACTION_TEMPERATURE 1\n {self.temperature_c}\nREACTION 1\n{rows} 1 moles\n"
                "SAVE SOLUTION 1\nEND\n"
            )

    def keep(self) -> None:
        """Sets a copy of the water aside."""
        self.run("COPY SOLUTION 1 9\nEND\n")

    def back(self) -> None:
        """Returns to the copy."""
        self.run("COPY SOLUTION 9 1\nEND\n")

    def read(self) -> tuple[float, float]:
        """pH and dissolved CO2. [mol/L]"""
        self.run(
            "SELECTED_OUTPUT 1\n -reset false\nUSER_PUNCH 1\n -headings pH co2\n"
            ' 10 PUNCH -LA("H+"), MOL("CO2")\n'
            f"USE SOLUTION 1\nREACTION_TEMPERATURE 1\n {self.temperature_c}\nEND\n"
        )
        ph, co2 = self.engine.get_selected_output_array()[-1]
        return float(ph), float(co2)

    def rest(self, hours: float, rate_per_h: float, log_pco2: float) -> None:
        """CO2 moves between water and air, in small steps of a first-order law."""
        in_air = self._co2_at(log_pco2)
        left = hours * rate_per_h
        while left > 1e-6:
            _, co2 = self.read()
            fold = min(left, 0.25 if left < 6 else 0.5)
            moved = (co2 - in_air) * (1 - np.exp(-fold))
            if abs(moved) < 2e-7:
                break
            self.add({"CO2": -moved})
            left -= fold

    def bring_to(self, aired_ph: float, log_pco2: float, most_acid_mol_l: float) -> None:
        """Nitric acid or lye (earlier doses, plants) until the water shows this pH at rest with that air."""
        self.keep()
        low, high = -2e-3, most_acid_mol_l
        for _ in range(14):
            middle = (low + high) / 2
            self.back()
            self.add({"HNO3" if middle > 0 else "KOH": abs(middle)})
            self.run(
                f"USE SOLUTION 1\nEQUILIBRIUM_PHASES 1\n CO2(g) {log_pco2} 10\nREACTION_TEMPERATURE 1\n"
                f" {self.temperature_c}\nSAVE SOLUTION 1\nEND\n"
            )
            low, high = (middle, high) if self.read()[0] > aired_ph else (low, middle)

    def run(self, text: str) -> None:
        self.engine.run_string(text)

    def _co2_at(self, log_pco2: float) -> float:
        kelvin = self.temperature_c + 273.15
        log_kh = (
            108.3865
            + 0.01985076 * kelvin
            - 6919.53 / kelvin
            - 40.45154 * np.log10(kelvin)
            + 669365 / kelvin**2
        )
        return float(10 ** (log_kh + log_pco2))


@dataclass(frozen=True)
class Bottle:
    """What the household has by this role: the label as told, and what is really in it. [mol/L]"""

    product: Product
    reagent: str
    strength: float


@dataclass
class Tank:
    """One simulated tank. ``noise``: of tester, syringe and plants, in the order in which they come."""

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
        salts = {"Ca(NO3)2": 2.5e-3 * ec, "KNO3": 3e-3 * ec, "MgSO4": 1e-3 * ec}
        w.add({**salts, "KH2PO4": self.phosphate * 1e-3})
        if self.start_ph is not None:
            w.bring_to(self.start_ph, self.log_pco2, self.alkalinity_mg_l / 50_045 + 3e-3)
        self.wait(timedelta(hours=min(self.hours_since_fill, 24.0)))

    def wait(self, time_passed: timedelta) -> timedelta:
        """Carbon dioxide leaves or enters for so long."""
        self.water.rest(time_passed.total_seconds() / 3600, self.rate_per_h, self.log_pco2)
        return time_passed

    def pour(self, role: str, amount_ml: float) -> None:
        """A syringe is off by 3 %."""
        bottle = self.bottles[role]
        poured = amount_ml * (1 + 0.03 * self.noise.standard_normal())
        self.water.add({FORMULA[bottle.reagent]: poured * 1e-3 * bottle.strength / self.volume_l})

    def true_ph(self) -> float:
        return self.water.read()[0]

    def supposed(self, role: str, amount_ml: float) -> tuple[float, float]:
        """The true pH just after such a dose, and a day later; the tank itself stays as it is."""
        self.water.keep()
        bottle = self.bottles[role]
        self.water.add({FORMULA[bottle.reagent]: amount_ml * 1e-3 * bottle.strength / self.volume_l})
        just_after = self.true_ph()
        self.wait(timedelta(hours=24))
        settled = self.true_ph()
        self.water.back()
        return just_after, settled

    def kind_start_ph(self) -> float:
        """Where a tank of this kind stands when it is first asked about."""
        return float(self.noise.uniform(6.65, 7.6) if self.lowers else self.noise.uniform(4.7, 5.3))

    def drift_to(self, aired_ph: float) -> None:
        """What plants do over days that nobody looks, until the water shows this pH in the air."""
        self.water.bring_to(aired_ph, self.log_pco2, self.alkalinity_mg_l / 50_045 + 3e-3)

    def ph_in_a_day(self) -> float:
        """What it shows a day later if nothing more is added; the tank itself stays as it is."""
        self.water.keep()
        self.wait(timedelta(hours=24))
        settled = self.true_ph()
        self.water.back()
        return settled


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


class Diary:
    """What the household writes down of its tank."""

    def __init__(self, tank: Tank, regime: str) -> None:
        self.tank = tank
        self.entries: list[Entry] = []
        self.doses = 0
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

    def read(self, at: datetime) -> None:
        """A tester of 0.1 pH and 2 % of EC, which shows one and two decimals."""
        tank, normal = self.tank, self.tank.noise.standard_normal
        shown = self._shown_ph()
        ec = (tank.ec_feed + tank.alkalinity_mg_l / 500) * (1 + 0.02 * normal())
        self.put(at, Reading(ph=shown, ec_ms_cm=round(ec, 2), water_temp_c=round(tank.temperature_c)))

    def dose(self, at: datetime, role: str, amount_ml: float) -> None:
        self.doses += 1
        self.put(at, Dose(product=role, amount=amount_ml, unit="ml"))  # type: ignore[arg-type]

    def try_in_jar(self, at: datetime, role: str) -> None:
        """A litre, 0.5 ml of one part in ten at a time until pH is right: the walk of the assistant."""
        tank, normal = self.tank, self.tank.noise.standard_normal
        bottle = tank.bottles[role]
        mixed = 0.05 * (1 + 0.08 * normal())
        tank.water.keep()
        before = shown = self._shown_ph()
        portions = 0
        while portions < _MOST_IN_JAR and not AIM.ph_ideal_low <= shown <= AIM.ph_ideal_high:
            tank.water.add({FORMULA[bottle.reagent]: mixed * 1e-3 * bottle.strength})
            shown, portions = self._shown_ph(), portions + 1
            if (shown < AIM.ph_target) == (role == "ph_down"):
                break
        tank.water.back()
        if portions:
            jar = JarTest(role=role, ph_from=before, ph_to=shown, ml_per_l=0.05 * portions)  # type: ignore[arg-type]
            self.put(at, jar)

    def _shown_ph(self) -> float:
        return round(
            self.tank.true_ph() + float(np.clip(0.05 * self.tank.noise.standard_normal(), -0.1, 0.1)), 1
        )


_MOST_IN_JAR = 10
