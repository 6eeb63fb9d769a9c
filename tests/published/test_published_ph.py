"""pH, its constants, and doses that reach one: against published tables and PHREEQC's results in
checks.csv."""

import math
import re
from dataclasses import replace

import numpy as np
from published_rows import ROWS, Case, Row, each, rows_of

from domain.chemistry.meters import ph_shown_uncompensated
from domain.chemistry.reagents import reagent_named
from domain.chemistry.solution import (
    Solution,
    aired,
    mol_to_reach,
    ph,
    source_water,
    with_reagent,
)
from domain.chemistry.species import co2_solubility_mol_l_atm, log_gamma_per_charge, p_kw, pka

MG_CACO3_PER_EQ = 50045.0
"""What the table's own tap waters were made with."""


CONSTANTS = {
    "pK1": lambda t: float(pka("CO2", t)),
    "pK2": lambda t: float(pka("HCO3-", t)),
    "pKh": lambda t: -math.log10(float(co2_solubility_mol_l_atm(t))),
    "pKw": lambda t: float(p_kw(t)),
}


def tap(alkalinity_mg_l: float, water_ph: float, temperature_c: float) -> Solution:
    return source_water(
        ph=water_ph, alkalinity_eq_l=alkalinity_mg_l / MG_CACO3_PER_EQ, temperature_c=temperature_c
    )


def fed(water: Solution, phosphate_mmol_l: float, *, nutrient: bool) -> Solution:
    """With Ca(NO3)2 2.5, KNO3 3, MgSO4 1 mmol/L where nutrient, and so much KH2PO4."""
    p = phosphate_mmol_l * 1e-3
    salts = 1.0 if nutrient else 0.0
    return replace(
        water,
        strong_charge_eq_l=water.strong_charge_eq_l + p,
        phosphate_mol_l=p,
        other_ions_mol_l=water.other_ions_mol_l + p + salts * 11e-3,
        calcium_mol_l=water.calcium_mol_l + salts * 2.5e-3,
        magnesium_mol_l=water.magnesium_mol_l + salts * 1e-3,
        sulfate_mol_l=salts * 1e-3,
    )


def numbers(row: Row) -> dict[str, float]:
    """What stands as ``name=value`` in a row."""
    return {key: float(value) for key, value in re.findall(r"(\w+)=([\d.]+)", row.inputs)}


def named(text: str) -> str:
    name = reagent_named(text)
    assert name is not None, text
    return name


def start_of(row: Row) -> Solution:
    """The water of a dosing row, before its dose."""
    said = numbers(row)
    water = fed(tap(said["alk"], said["pH0"], said["T"]), said["P"], nutrient=said["nutrient"] == 1)
    first = re.search(r"first (\w+) ([\d.]+) mmol/L (then open to air|\(closed\))", row.inputs)
    if first:
        water = with_reagent(water, named(first[1]), float(first[2]) * 1e-3)
        if first[3] == "then open to air":
            water = aired(water)
    return water


@each(row.id for row in rows_of("carbonate-constants"))
def test_constant_of_carbonate(row: Row) -> None:
    name, temperature = re.fullmatch(r"CA-(\w+)-(\d+)", row.id).groups()
    row.holds(CONSTANTS[name](float(temperature)))


@each(row.id for row in rows_of("activity"))
def test_activity_coefficient(row: Row) -> None:
    ionic, charge = re.fullmatch(r"CA-gam-([\d.]+)-(\d)", row.id).groups()
    row.holds(math.exp(-float(log_gamma_per_charge(float(ionic), 0.5)) * int(charge) ** 2))


ACID_FORMS = {
    "AB-ace": "HAc",
    "AB-cit1": "H3Cit",
    "AB-cit2": "H2Cit-",
    "AB-cit3": "HCit--",
    "AB-cit3m": "HCit--",
    "AB-car1": "CO2",
    "AB-car2": "HCO3-",
    "AB-p1": "H3PO4",
    "AB-p2": "H2PO4-",
    "AB-p3": "HPO4--",
    "AB-s2": "HSO4-",
}


@each(ACID_FORMS)
def test_dissociation_constant(row: Row) -> None:
    row.holds(float(pka(ACID_FORMS[row.id], 25.0)))


PURE = Solution(25.0, 0.0, 0.0)
BUFFERED = {"NISTP": {"phosphate_mol_l": 0.05, "carbon_mol_l": 0.0}, "NISTC": {"carbon_mol_l": 0.05}}


def buffer(kind: str, temperature_c: float) -> float:
    salt = Solution(
        temperature_c=temperature_c, strong_charge_eq_l=0.075, other_ions_mol_l=0.075, **BUFFERED[kind]
    )
    return float(ph(salt))


@each(row.id for row in rows_of("buffer-standard"))
def test_standard_buffer(row: Row) -> None:
    _, kind, temperature = row.id.split("-")
    # The phosphate rows name two tolerances; the second is for a solver with plain Davies activities.
    row.holds(buffer(kind, float(temperature)), allowance=0.03 if kind == "NISTP" else 0.02)


def half_neutralised(calcium: float, magnesium: float, ionic_strength: float) -> float:
    """pH of 1 mmol/L phosphate with a proton and a half each, at 20 degC. [mmol/L]"""
    others = 2.0 * ionic_strength - 4e-3 * (calcium + magnesium) - 2.5e-3
    return float(
        ph(
            Solution(
                temperature_c=20.0,
                strong_charge_eq_l=1.5e-3,
                carbon_mol_l=0.0,
                phosphate_mol_l=1e-3,
                calcium_mol_l=calcium * 1e-3,
                magnesium_mol_l=magnesium * 1e-3,
                other_ions_mol_l=others,
            )
        )
    )


EFFECTIVE: dict[str, Case] = {
    "AB-pk2eff-Konly": lambda: half_neutralised(0.0, 0.0, 0.012),
    "AB-pk2eff-Ca2.5": lambda: half_neutralised(2.5, 1.0, 0.015),
    "AB-pk2eff-Ca5": lambda: half_neutralised(5.0, 2.0, 0.028),
}


@each(EFFECTIVE)
def test_buffer_point_of_phosphate_in_a_nutrient_solution(row: Row) -> None:
    row.holds(EFFECTIVE[row.id]())


@each(row.id for row in rows_of("carbonate-open"))
def test_resting_ph(row: Row) -> None:
    if row.id == "CA-air-25":
        row.holds(float(ph(aired(PURE, 10**-3.4))))
        return
    alkalinity = float(re.search(r"alk=(\d+)", row.inputs)[1])
    pressure = float(re.search(r"log pCO2=(-[\d.]+)", row.inputs)[1])
    row.holds(float(ph(aired(tap(alkalinity, 7.5, 20.0), 10**pressure))))


@each(row.id for row in rows_of("temperature-of-sample"))
def test_same_liquid_at_another_temperature(row: Row) -> None:
    at_20 = with_reagent(fed(tap(100, 7.5, 20.0), 1.5, nutrient=True), "nitric acid", 1.368e-3)
    row.holds(float(ph(replace(at_20, temperature_c=float(row.id.rpartition("-")[2])))))


@each(row.id for row in rows_of("pH-electrode"))
def test_electrode_without_temperature_compensation(row: Row) -> None:
    temperature, sample = (float(part) for part in row.id.split("-")[2:])
    row.holds(ph_shown_uncompensated(sample, temperature) - sample)


DOSES = [row.id for topic in ("acid-dose", "base-dose") for row in rows_of(topic)]


@each(DOSES)
def test_ph_after_a_dose(row: Row) -> None:
    reagent, amount, air = re.search(r"([A-Za-z0-9]+) ([\d.]+) mmol/L; (CLOSED|OPEN)$", row.inputs).groups()
    dosed = with_reagent(start_of(row), named(reagent), float(amount) * 1e-3)
    row.holds(float(ph(aired(dosed) if air == "OPEN" else dosed)))


@each(row.id for row in rows_of("acid-to-target"))
def test_dose_to_a_target(row: Row) -> None:
    reagent, target, air = re.search(r"([A-Za-z0-9]+) to pH ([\d.]+); (CLOSED|OPEN)$", row.inputs).groups()
    row.holds(1e3 * float(mol_to_reach(start_of(row), named(reagent), float(target), aired=air == "OPEN")))


def test_all_doses_lie_close_to_phreeqc() -> None:
    """The rows allow 0.05 to 0.07 pH; most of that is room for rounding, so hold the mean well below."""
    errors = []
    for name in DOSES:
        row = ROWS[name]
        reagent, amount, air = re.search(
            r"([A-Za-z0-9]+) ([\d.]+) mmol/L; (CLOSED|OPEN)$", row.inputs
        ).groups()
        dosed = with_reagent(start_of(row), named(reagent), float(amount) * 1e-3)
        errors.append(abs(float(ph(aired(dosed) if air == "OPEN" else dosed)) - row.wanted[0]))
    assert np.mean(errors) < 0.01
    assert max(errors) < 0.02
