"""Conductivity: temperature, ppm scales, salts, labels, and what a dose of acid does to it."""

import re
from collections.abc import Mapping

from published_rows import ROWS, Case, Row, each

from domain.chemistry import conductivity
from domain.chemistry.conductance import SALTS, ec_of_grade, ec_of_ions, ec_of_salts
from domain.chemistry.label import nitrogen_mg_l_from_ec

RECIPE_MMOL = {"Ca": 2.5, "NO3": 8.0, "K": 4.0, "Mg": 1.0, "SO4": 1.0, "phosphate": 1.0}
RECIPE_SALTS_MMOL = {"Ca(NO3)2": 2.5, "KNO3": 3.0, "MgSO4": 1.0, "KH2PO4": 1.0}
NITROGEN_G_MOL = 14.007


def kcl_at(row: Row) -> float:
    """The row's temperature and rise, which the standard gives beside it, applied to its value at 25 degC."""
    temperature = float(re.search(r"at (\d+) C", row.inputs)[1])
    rise = re.search(r"= ([\d.]+) %/C", row.note)
    at_25 = ROWS["EC-KCl-25"].wanted[0]
    ours_at_25 = conductivity.to_25c_linear(
        row.wanted[0], temperature, float(rise[1]) / 100 if rise else conductivity.LINEAR_PER_DEGREE
    )
    return row.wanted[0] * at_25 / ours_at_25


@each(f"EC-KCl-{t}" for t in (10, 15, 20, 25, 30))
def test_potassium_chloride_standard(row: Row) -> None:
    row.holds(kcl_at(row))


@each(f"EC-KCl-{t}" for t in (10, 15, 20, 30))
def test_the_usual_rise_is_right_within_one_percent(row: Row) -> None:
    temperature = float(re.search(r"at (\d+) C", row.inputs)[1])
    ours = conductivity.to_25c_linear(row.wanted[0], temperature)
    assert abs(ours / ROWS["EC-KCl-25"].wanted[0] - 1.0) < 0.01, row.source


def mixture(shares: Mapping[str, float], total: float = 1.0) -> float:
    return ec_of_salts({formula: total * share for formula, share in shares.items()})


def tap_ions(alkalinity_mg_l: float) -> dict[str, float]:
    """mmol/L of the table's tap water at pH 7.5, carbonate with its share of carbon dioxide (1.07 of
    alkalinity)."""
    alkalinity = alkalinity_mg_l / 50.045
    calcium, magnesium, sodium = 0.35 * alkalinity, 0.1 * alkalinity, 0.5 + 0.2 * alkalinity
    chloride = 2 * (calcium + magnesium) + sodium - alkalinity
    return {"Ca": calcium, "Mg": magnesium, "Na": sodium, "Cl": chloride, "carbonate": 1.07 * alkalinity}


def ec_of(*mmol: Mapping[str, float]) -> float:
    together: dict[str, float] = {}
    for ions in mmol:
        for ion, amount in ions.items():
            together[ion] = together.get(ion, 0.0) + amount / 1000.0
    return ec_of_ions(together)


def change_by(acid: Mapping[str, float]) -> float:
    """What an acid does to the conductivity of alkalinity-100 tap water. [uS/cm]"""
    return 1000.0 * (ec_of(tap_ions(100), acid) - ec_of(tap_ions(100)))


def recipe_mg_l() -> float:
    return sum(amount * SALTS[formula][0] for formula, amount in RECIPE_SALTS_MMOL.items())


def sum_of_singles() -> float:
    return sum(ec_of_salts({f: n * SALTS[f][0] / 1000.0}) for f, n in RECIPE_SALTS_MMOL.items())


def nitrogen_100(formula: str, atoms: int) -> float:
    """Conductivity of the salt that brings 100 mg/L of nitrogen."""
    return ec_of_salts({formula: 0.1 / NITROGEN_G_MOL / atoms * SALTS[formula][0]})


CASES: dict[str, Case] = {
    **{f"EC-ISO-{t}": lambda t=t: conductivity.to_25c_natural_water(1.0, t) for t in (10, 15, 20, 28, 30)},
    "EC-lin-15": lambda: conductivity.to_25c_linear(1.20, 15, 0.019),
    "EC-lin-30": lambda: conductivity.to_25c_linear(1.80, 30, 0.020),
    "EC-double": lambda: 100 * (conductivity.to_25c_linear(1.50, 18, 0.019) / 1.50 - 1),
    "EC-500": lambda: conductivity.ppm_from_ec(1.6, 500),
    "EC-640": lambda: conductivity.ppm_from_ec(1.6, 640),
    "EC-700": lambda: conductivity.ppm_from_ec(1.6, 700),
    "EC-f-NaCl": lambda: 1.0 / ec_of_salts({"NaCl": 1.0}),
    "EC-f-KCl": lambda: 1.0 / ec_of_salts({"KCl": 1.0}),
    "EC-f-442mix": lambda: 1.0 / mixture({"Na2SO4": 0.4, "NaHCO3": 0.4, "NaCl": 0.2}),
    "EC-f-nut": lambda: recipe_mg_l() / 1000.0 / ec_of(RECIPE_MMOL),
    "EC-I": lambda: conductivity.ionic_strength_from_ec(1.0) / 1000.0,
    **{
        f"EF-1-{salt}": lambda formula=formula: ec_of_salts({formula: 1.0})
        for salt, formula in {
            "KNO3": "KNO3",
            "Ca(NO3)2": "Ca(NO3)2.4H2O",
            "MgSO4": "MgSO4.7H2O",
            "KH2PO4": "KH2PO4",
            "K2SO4": "K2SO4",
            "KCl": "KCl",
            "NaCl": "NaCl",
            "KHCO3": "KHCO3",
        }.items()
    },
    **{
        f"EF-mem-{salt}": lambda formula=formula: ec_of_salts({formula: 1.0})
        for salt, formula in {
            "K2SO4": "K2SO4",
            "KNO3": "KNO3",
            "Ca(NO3)2.4H2O-type": "5Ca(NO3)2.NH4NO3.10H2O",
            "KH2PO4": "KH2PO4",
        }.items()
    },
    "EF-pu": lambda: nitrogen_mg_l_from_ec(1.80, 0.50, 0.64),
    "EF-100N-KNO3": lambda: nitrogen_100("KNO3", 1),
    "EF-100N-Ca(NO3)2": lambda: nitrogen_100("Ca(NO3)2", 2),
    "EF-add": lambda: 1000 * ec_of(tap_ions(150), RECIPE_MMOL),
    "EF-add2": lambda: sum_of_singles() / ec_of(RECIPE_MMOL),
    "EF-acidEC-HNO3": lambda: change_by({"NO3": 1.531}),
    "EF-acidEC-H3PO4": lambda: change_by({"phosphate": 1.452}),
    "EF-acidEC-H2SO4": lambda: change_by({"SO4": 0.765}),
}


@each(CASES)
def test_conductivity(row: Row) -> None:
    row.holds(CASES[row.id]())


RANGES: dict[str, Case] = {
    "EF-mem-NH4NO3": lambda: ec_of_salts({"NH4NO3": 1.0}),
    "EF-mem-(NH4)2SO4": lambda: ec_of_salts({"(NH4)2SO4": 1.0}),
    "EF-mem-NH4H2PO4": lambda: ec_of_salts({"NH4H2PO4": 1.0}),
}


@each(RANGES)
def test_salt_within_a_recalled_range(row: Row) -> None:
    low, high = row.span
    ours = RANGES[row.id]()
    assert 0.9 * low <= ours <= 1.1 * high, f"{row.id}: {ours} beside {row.expected}; source: {row.source}"


@each(["EF-mem-urea"])
def test_urea_does_not_conduct(row: Row) -> None:
    assert ec_of_salts({"urea": 1.0}) < 0.01, row.source


@each(["EC-Hay"])
def test_the_usual_rise_lies_among_natural_waters(row: Row) -> None:
    low, high = (float(end) for end in re.search(r"\((.+)-(.+)\)", row.expected).groups())
    assert low <= 100 * conductivity.LINEAR_PER_DEGREE <= high, row.source


GRADES = ["20-10-20", "15-5-15", "15-0-15", "21-5-20", "13-2-13"]


@each(f"EF-grade-{grade}" for grade in GRADES)
def test_grade_covers_what_bags_print(row: Row) -> None:
    """The bag's figure at 100 mg/L nitrogen lies in our range, but for the 6 % that our ions may be off."""
    n, p2o5, k2o = (float(part) for part in row.id.removeprefix("EF-grade-").split("-"))
    ours = ec_of_grade(n, p2o5, k2o, 10.0 / n)
    low, high = row.span
    assert ours.low_ms_cm * 0.94 <= high, row.source
    assert low <= ours.high_ms_cm * 1.06, row.source
