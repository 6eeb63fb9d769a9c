"""PHREEQC, run in this process, as an independent opinion on the pH of a dosed tank.

Its own database lacks citrate and acetate; they are added with the constants of its sister database
minteq.v4.dat (NIST 46). Ammonium is left out: that database would let it
react with nitrate.
"""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import phreeqpython
from phreeqpython.viphreeqc import VIPhreeqc

ORGANIC_ACIDS = """
SOLUTION_MASTER_SPECIES
    Cit  Cit-3  2.0  C6H5O7  189.102
    Ace  Ace-   1.0  C2H3O2  59.045
    Amm  AmmH+  0.0  AmmH    17.0
SOLUTION_SPECIES
Cit-3 = Cit-3
    log_k 0
H+ + Cit-3 = HCit-2
    log_k 6.396
    delta_h 3.3472 kJ
2H+ + Cit-3 = H2Cit-
    log_k 11.157
    delta_h 1.297 kJ
3H+ + Cit-3 = H3Cit
    log_k 14.285
    delta_h -2.7614 kJ
Ca+2 + Cit-3 = CaCit-
    log_k 4.87
    delta_h -8.368 kJ
Ca+2 + Cit-3 + H+ = CaHCit
    log_k 9.26
    delta_h -0.8368 kJ
Ca+2 + Cit-3 + 2H+ = CaH2Cit+
    log_k 12.257
Mg+2 + Cit-3 = MgCit-
    log_k 4.89
    delta_h 8.368 kJ
Mg+2 + Cit-3 + H+ = MgHCit
    log_k 8.91
    delta_h 3.3472 kJ
Mg+2 + Cit-3 + 2H+ = MgH2Cit+
    log_k 12.2
Na+ + Cit-3 = NaCit-2
    log_k 1.03
    delta_h -2.8033 kJ
K+ + Cit-3 = KCit-2
    log_k 1.1
    delta_h 5.4392 kJ
AmmH+ = AmmH+
    log_k 0
    -gamma 2.5 0
AmmH+ = Amm + H+
    -analytic 0.6322 -0.001225 -2835.76
Ace- = Ace-
    log_k 0
H+ + Ace- = HAce
    log_k 4.757
    delta_h 0.41 kJ
Ca+2 + Ace- = CaAce+
    log_k 1.18
    delta_h 4 kJ
Mg+2 + Ace- = MgAce+
    log_k 1.27
END
"""

FORMULAS = {
    "phosphoric acid": "H3PO4",
    "nitric acid": "HNO3",
    "sulfuric acid": "H2SO4",
    "citric acid": "H3Cit",
    "acetic acid": "HAce",
    "potassium hydroxide": "KOH",
    "potassium carbonate": "K2CO3",
    "potassium bicarbonate": "KHCO3",
}
LOG_PCO2 = -3.4


@dataclass(frozen=True)
class Tank:
    """A tank to be dosed: water of some alkalinity and pH, KH2PO4, NH4Cl, and a dose. mmol/L, meq/L,
    degC."""

    alkalinity: float
    water_ph: float
    temperature_c: float
    calcium: float
    magnesium: float
    sodium: float
    sulfate: float
    phosphate: float
    ammonium: float
    reagent: str
    dose: float

    @property
    def chloride(self) -> float:
        cations = 2.0 * (self.calcium + self.magnesium) + self.sodium
        return cations - 2.0 * self.sulfate - self.alkalinity


@dataclass(frozen=True)
class Opinion:
    """pH just after the dose and once at rest with the air, and the highest pressure of CO2 on the way.
    [atm]"""

    closed_ph: float
    aired_ph: float
    highest_pco2_atm: float


@cache
def _engine() -> VIPhreeqc:
    engine = VIPhreeqc()
    engine.load_database(Path(phreeqpython.__file__).parent / "database" / "phreeqc.dat")
    engine.run_string(ORGANIC_ACIDS)
    engine.run_string(
        "SELECTED_OUTPUT 1\n-reset false\nUSER_PUNCH 1\n-headings pH pco2\n"
        '10 PUNCH -LA("H+"), SI("CO2(g)")\nEND\n'
    )
    return engine


def _as_phreeqc(tank: Tank) -> str:
    """The water, and the reaction that makes it the dosed tank."""
    return f"""
SOLUTION 1
 temp {tank.temperature_c}
 pH {tank.water_ph}
 units mmol/kgw
 Ca {tank.calcium}
 Mg {tank.magnesium}
 Na {tank.sodium}
 S(6) {tank.sulfate}
 Cl 1 charge
 Alkalinity {tank.alkalinity}
REACTION 1
 KH2PO4 {tank.phosphate}
 AmmHCl {tank.ammonium}
 {FORMULAS[tank.reagent]} {tank.dose}
 0.001 moles
REACTION_TEMPERATURE 1
 {tank.temperature_c}
SAVE SOLUTION 1
END
USE SOLUTION 1
REACTION_TEMPERATURE 1
 {tank.temperature_c}
"""


def opinion(tank: Tank) -> Opinion | None:
    """What PHREEQC says; ``None`` where it finds no such water."""
    engine = _engine()
    text = f"{_as_phreeqc(tank)}EQUILIBRIUM_PHASES 1\n CO2(g) {LOG_PCO2} 10\nEND\nDELETE\n -all\nEND\n"
    try:
        engine.run_string(text)
    except Exception as trouble:  # the library raises a bare Exception
        if "not converge" in str(trouble):
            return None
        raise
    _, water, closed, open_air = engine.get_selected_output_array()[:4]
    return Opinion(closed[0], open_air[0], 10 ** max(water[1], closed[1]))


def ph_under_the_air(tank: Tank, rate_per_h: float, hours: float, co2_at_rest_mol_l: float) -> float:
    """pH of the dosed tank after some hours in which carbon dioxide left at a rate; PHREEQC integrates it."""
    engine = _engine()
    engine.run_string(
        'RATES\nLeaving\n-start\n10 SAVE PARM(1) / 3600 * (MOL("CO2") - PARM(2)) * TIME\n-end\nEND\n'
    )
    engine.run_string(
        f"{_as_phreeqc(tank)}KINETICS 1\nLeaving\n -formula CO2 -1\n -m 1\n -m0 1\n -tol 1e-8\n"
        f" -parms {rate_per_h} {co2_at_rest_mol_l}\n -steps {hours * 3600}\nEND\nDELETE\n -all\nEND\n"
    )
    return float(engine.get_selected_output_array()[-1][0])
