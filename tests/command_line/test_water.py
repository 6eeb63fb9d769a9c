"""``rillkeeper water``: waters of the published table, and what cannot be read."""

import json
import re
from typing import Any

import pytest
from typer.testing import CliRunner

from bot.__main__ import app


def run(*words: str) -> Any:
    return CliRunner().invoke(app, ["water", *words])


def states(*words: str) -> list[dict[str, Any]]:
    ran = run(*words, "--json")
    assert ran.exit_code == 0, ran.stderr
    found: list[dict[str, Any]] = json.loads(ran.stdout)["states"]
    return found


@pytest.mark.parametrize(
    ("alkalinity", "ph"),
    # PHREEQC, rows CA-open of checks.csv: tap waters at rest with the air, log pCO2 -3.4, 20 degC.
    [("20 mg/L CaCO3", 7.77), ("50 mg/L", 8.16), ("5.6 dKH", 8.44), ("4 meq/L", 8.70), ("6 meq/L", 8.84)],
)
def test_plain_tap_water_at_rest_with_the_air(alkalinity: str, ph: float):
    (state,) = states("--alkalinity", alkalinity)
    assert state["ph_aired"]["value"] == pytest.approx(ph, abs=0.05)


@pytest.mark.parametrize(
    ("alkalinity", "closed", "aired"),
    # PHREEQC, rows PH-T01 to T04: nitric acid that takes a tap water of pH 7.5 to 5.8. [mmol/L]
    [(50, 0.769, 0.996), (100, 1.531, 1.995), (200, 3.043, 3.994), (300, 4.543, 5.992)],
)
def test_the_published_amount_of_acid_lands_on_its_target(alkalinity: int, closed: float, aired: float):
    water = ("--alkalinity", f"{alkalinity} mg/L CaCO3", "--ph", "7.5", "--add")
    assert states(*water, f"{closed} mmol/L nitric acid")[1]["ph_closed"]["value"] == pytest.approx(
        5.8, abs=0.05
    )
    # Near the end point a hundredth of a millimole is a tenth of a pH.
    assert states(*water, f"{aired} mmol/L nitric acid")[1]["ph_aired"]["value"] == pytest.approx(
        5.8, abs=0.2
    )


def test_millilitres_of_a_label_go_into_the_volume():
    """10 % phosphoric acid of 1.0532 g/ml (ECHA dossier) holds 1.075 mol/L; 8 ml in 40 L are 0.215 mmol/L."""
    ten = "8 ml phosphoric acid 10%"
    _, by_label = states("--alkalinity", "2 meq/L", "--ph", "7.5", "--volume", "40L", "--add", ten)
    assert by_label["mmol_l"] == pytest.approx(0.215, rel=0.01)
    _, by_mole = states("--alkalinity", "2 meq/L", "--ph", "7.5", "--add", "0.215 mmol/L H3PO4")
    assert by_label["ph_closed"]["value"] == pytest.approx(by_mole["ph_closed"]["value"], abs=0.01)


def test_additions_go_in_one_after_the_other():
    shown = states(
        "--alkalinity", "100 mg/L", "--ph", "7.5", "--add", "1 mmol/L HNO3", "--add", "1 mmol/L KOH"
    )
    assert [state["added"] for state in shown] == [None, "1 mmol/L HNO3", "1 mmol/L KOH"]
    assert shown[1]["ph_closed"]["value"] < shown[0]["ph_closed"]["value"]
    # A strong base takes back what a strong acid did: charge is conserved.
    assert shown[2]["ph_closed"]["value"] == pytest.approx(7.5, abs=0.01)


def test_the_air_that_was_named_is_the_one_shown():
    water = ("--alkalinity", "100 mg/L", "--ph", "7.0")
    assert {"ph_closed", "ph_aired"} <= states(*water)[0].keys()
    assert "ph_aired" not in states(*water, "--closed")[0]
    assert "ph_closed" not in states(*water, "--aired")[0]


def test_cautions_stand_beside_what_is_added():
    ran = run("--alkalinity", "100 mg/L", "--ph", "7", "--add", "1 mmol/L nitric acid")
    assert "goggles" in ran.stdout
    assert "! " not in run("--alkalinity", "100 mg/L", "--ph", "7").stdout


@pytest.mark.parametrize(
    ("words", "option"),
    [
        ((), "--alkalinity"),
        (("--alkalinity", "100"), "--alkalinity"),
        (("--alkalinity", "100 mg/L", "--closed"), "--ph"),
        (("--alkalinity", "100 mg/L", "--closed", "--aired"), "--aired"),
        (("--alkalinity", "100 mg/L", "--ph", "acid"), "--ph"),
        (("--alkalinity", "100 mg/L", "--ph", "12"), "--ph"),
        (("--alkalinity", "100 mg/L", "--temperature", "20"), "--temperature"),
        (("--alkalinity", "100 mg/L", "--ec", "720 ppm"), "--ec"),
        (("--alkalinity", "100 mg/L", "--phosphate", "30 mg/L"), "--phosphate"),
        (("--alkalinity", "100 mg/L", "--volume", "40"), "--volume"),
        (("--alkalinity", "100 mg/L", "--volume", "0 L"), "--volume"),
        (("--alkalinity", "100 mg/L", "--add", "2 ml ph down"), "--add"),
        (("--alkalinity", "100 mg/L", "--add", "2 ml phosphoric acid"), "--add"),
        (("--alkalinity", "100 mg/L", "--add", "900 ml phosphoric acid 85%"), "--add"),
        (("--alkalinity", "0 mg/L", "--ph", "8.5"), "check"),
    ],
)
def test_what_cannot_be_used_is_one_line_that_says_what_to_do(words: tuple[str, ...], option: str):
    ran = run(*words)
    assert ran.exit_code == 2
    assert ran.stdout == ""
    assert len(ran.stderr.splitlines()) == 1
    assert option in ran.stderr


def test_help_shows_units_and_an_example():
    shown = re.sub(r"\x1b\[[0-9;]*m", "", run("--help").stdout)
    for word in ("--alkalinity", "mg/L CaCO3", "--add", "rillkeeper water"):
        assert word in shown
