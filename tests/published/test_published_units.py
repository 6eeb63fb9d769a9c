"""Units of alkalinity, labels, mass balances, dissolved oxygen."""

import re

import pytest
from published_rows import Case, Row, each, rows_of

from domain.chemistry import label, mixing
from domain.chemistry.conductance import SALTS, solution_of_ions
from domain.chemistry.gases import oxygen_saturation_mg_l, pressure_at_altitude_atm
from domain.chemistry.solution import alkalinity_eq_l
from domain.units import OUNCE_G, US_GALLON_L, alkalinity_eq_l_from

CACO3_MG_PER_EQ = 1.0 / alkalinity_eq_l_from("1 mg/L")


def caco3(text: str) -> float:
    return CACO3_MG_PER_EQ * alkalinity_eq_l_from(text)


def bicarbonate_mg_l(salt_mg: float) -> float:
    """mg/L CaCO3 of so much NaHCO3 in a litre."""
    amount = salt_mg / 1000.0 / SALTS["NaHCO3"][0]
    return CACO3_MG_PER_EQ * float(alkalinity_eq_l(solution_of_ions({"Na": amount, "carbonate": amount})))


ALKALINITY: dict[str, Case] = {
    "AL-meq": lambda: caco3("1 meq/L"),
    "AL-hco3": lambda: alkalinity_eq_l_from("100 mg/L") / alkalinity_eq_l_from("1 mg/L bicarbonate"),
    "AL-dkh-ca": lambda: caco3("1 dKH"),
    "AL-dkh-meq": lambda: 1e3 * alkalinity_eq_l_from("1 dH"),
    "AL-fr": lambda: caco3("1 fH"),
    "AL-clark": lambda: caco3("1 Clark"),
    "AL-gpg": lambda: caco3("1 gpg"),
    "AL-8dkh": lambda: caco3("8 dKH"),
    "AL-titr": lambda: CACO3_MG_PER_EQ * 18 * 2 * 0.01 / 50,
    "AL-na": lambda: bicarbonate_mg_l(84.0),
}


@each(ALKALINITY)
def test_alkalinity(row: Row) -> None:
    row.holds(ALKALINITY[row.id]())


def grade(n: float, p2o5: float, k2o: float, g_per_litre: float) -> tuple[float, float, float]:
    found = label.elements_of_grade(n, p2o5, k2o)
    n_mg, p_mg, k_mg = (label.mg_l_from_label(g_per_litre, share) for share in (found.n, found.p, found.k))
    return n_mg, p_mg, k_mg


def of_salt(formula: str, molar_masses: tuple[float, ...], g_per_litre: float) -> tuple[float, ...]:
    return tuple(1e3 * g_per_litre * mass / SALTS[formula][0] for mass in molar_masses)


LABELS: dict[str, Case] = {
    "LB-P": lambda: label.OXIDES["P2O5"],
    "LB-K": lambda: label.OXIDES["K2O"],
    "LB-inv": lambda: (label.oxide_from_element("P2O5", 1), label.oxide_from_element("K2O", 1)),
    "LB-umn": lambda: (
        label.element_from_oxide("P2O5", 60 * 0.04),
        label.element_from_oxide("K2O", 60 * 0.04),
    ),
    "LB-185120": lambda: (
        18.0,
        label.elements_of_grade(18, 51, 20).p,
        label.elements_of_grade(18, 51, 20).k,
    ),
    "LB-msu": lambda: label.grams_for(100, 20, 5 * US_GALLON_L) / OUNCE_G,
    "LB-1": lambda: grade(15, 5, 15, 0.8),
    "LB-2": lambda: grade(5, 12, 26, 1.0),
    "LB-3": lambda: (label.mg_l_from_label(0.65, 15.5), label.mg_l_from_label(0.65, 19)),
    "LB-4": lambda: of_salt("MgSO4.7H2O", (24.305, 32.06), 0.5),
    "LB-5": lambda: (
        label.element_from_oxide("MgO", 3),
        label.element_from_oxide("SO3", 10),
        label.element_from_oxide("CaO", 14),
    ),
}


@each(LABELS)
def test_label(row: Row) -> None:
    # The Minnesota table works with 0.44 and prints one decimal: 1.056 becomes 1.1, the exact share is 1.047.
    row.holds(LABELS[row.id](), allowance=0.06 if row.id == "LB-umn" else None)


BALANCES: dict[str, Case] = {
    "MB-dil": lambda: 40 * mixing.swap_fraction(2.4, 0.4, 1.6),
    "MB-pwc1": lambda: mixing.after_swaps(200, 150, 0.25),
    "MB-pwc4": lambda: mixing.after_swaps(100, 0, 0.25, times=4),
    "MB-pwcN": lambda: mixing.swaps_to_leave(0.1, 0.3),
    "MB-top": lambda: mixing.after_evaporation(1.5, 20, 4),
    "MB-top2": lambda: mixing.after_top_up(mixing.after_evaporation(1.5, 20, 4), 16, 0.4, 4),
    "MB-na": lambda: sodium_after(days=20),
    "MB-stock": lambda: mixing.stock_ml(60, 0.3, 0.8),
    "MB-cont": lambda: mixing.bleed_half_time(50, 5),
    "MB-uptake": lambda: mixing.refill_strength(40, 3),
}


def sodium_after(days: int) -> float:
    """A 20 L tank that loses 2 L a day and is filled up with water of 30 mg/L sodium, from 30 mg/L on."""
    sodium = 30.0
    for _ in range(days):
        sodium = mixing.after_top_up(mixing.after_evaporation(sodium, 20, 2), 18, 30, 2)
    return sodium


@each(BALANCES)
def test_mass_balance(row: Row) -> None:
    row.holds(BALANCES[row.id]())


@each(row.id for row in rows_of("DO-saturation"))
def test_oxygen(row: Row) -> None:
    temperature = float(re.match(r"(\d+) C", row.inputs)[1])
    pressure = re.search(r"total pressure ([\d.]+) atm", row.inputs)
    altitude = re.search(r"at (\d+) m", row.inputs)
    air = float(pressure[1]) if pressure else 1.0
    if altitude:
        air = pressure_at_altitude_atm(float(altitude[1]))
    row.holds(oxygen_saturation_mg_l(temperature, air))


@pytest.mark.parametrize(("temperature", "air"), [(-0.1, 1.0), (40.1, 1.0), (20.0, 0.49), (20.0, 1.11)])
def test_oxygen_is_refused_outside_its_range(temperature: float, air: float) -> None:
    """Benson & Krause give 0 to 40 degC and 0.5 to 1.1 atm."""
    with pytest.raises(ValueError, match="oxygen saturation"):
        oxygen_saturation_mg_l(temperature, air)
