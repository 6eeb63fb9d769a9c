"""``rillkeeper dose``: amounts of the published table, the limits of a portion, what cannot be used."""

import json
import re
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from bot.__main__ import app
from domain.safety import CAUTIONS

TANK = ("--volume", "40L", "--ph", "6.8", "--to", "5.9")
KNOWN = (*TANK, "--alkalinity", "100 mg/L CaCO3", "--ec", "1.4")
ACID = ("--adjuster", "phosphoric acid 10% w/w")


def run(*words: str) -> Any:
    return CliRunner().invoke(app, ["dose", *words])


def answer(*words: str) -> dict[str, Any]:
    ran = run(*words, "--json")
    assert ran.exit_code == 0, ran.stderr
    found: dict[str, Any] = json.loads(ran.stdout)
    return found


def portion_of(said: dict[str, Any]) -> dict[str, Any]:
    step: dict[str, Any] = next(
        step for step in said["plan"]["steps"] if step["action"] in ("add", "test_portion")
    )
    return step


def neat(step: dict[str, Any]) -> float:
    return float(step["first"]) / float(step.get("dilution", 1))


@pytest.mark.parametrize(
    ("alkalinity", "ph", "label", "closed", "aired"),
    # PHREEQC, rows PH-T01 to T09 of checks.csv: plain tap water from this pH to 5.8 at 20 degC. [mmol/L]
    [
        (50, 7.5, "nitric acid 1 M", 0.769, 0.996),
        (100, 7.5, "nitric acid 1 M", 1.531, 1.995),
        (200, 7.5, "nitric acid 1 M", 3.043, 3.994),
        (300, 7.5, "nitric acid 1 M", 4.543, 5.992),
        (100, 7.0, "nitric acid 1 M", 1.463, 1.995),
        (100, 8.3, "nitric acid 1 M", 1.564, 1.995),
        (100, 7.5, "phosphoric acid 1 M", 1.452, 1.892),
        (100, 7.5, "sulfuric acid 1 M", 0.765, 0.998),
        (100, 7.5, "citric acid 1 M", 0.543, 0.714),
    ],
)
def test_the_whole_amount_in_a_described_water_is_the_published_one(
    alkalinity: int, ph: float, label: str, closed: float, aired: float
):
    said = answer(
        *("--volume", "1 L", "--ph", str(ph), "--to", "5.8", "--alkalinity", f"{alkalinity} mg/L CaCO3"),
        *("--phosphate", "0 mmol/L", "--temperature", "20 C", "--adjuster", label),
    )["as_described"]
    assert said["closed_mmol_l"] == pytest.approx(closed, rel=0.03)
    assert said["aired_mmol_l"] == pytest.approx(aired, rel=0.03)
    # A litre of water and a bottle of one mole a litre: as many millilitres as millimoles.
    assert said["closed"] == pytest.approx(said["closed_mmol_l"], rel=1e-3)


def test_a_known_water_gets_a_portion_within_its_whole_and_cautions_beside_it():
    said = answer(*KNOWN, *ACID)
    step = portion_of(said)
    assert step["action"] == "add"
    assert 0 < step["first"] <= step["high"]
    assert (
        step["low"] < said["as_described"]["closed"] < step["high"]
        or step["low"] < said["as_described"]["aired"]
    )
    assert step["predicted"]["ph_now"]["low"] >= 5.2
    assert {caution["code"] for caution in said["cautions"]} >= {"adjuster", "never_mix"}
    shown = run(*KNOWN, *ACID).stdout
    for code in ("adjuster", "never_mix"):
        assert CAUTIONS[code].text in shown


def test_water_kept_from_the_air_takes_less_than_water_left_to_it():
    shut, left = (portion_of(answer(*KNOWN, *ACID, air)) for air in ("--closed", "--aired"))
    assert shut["low"] < left["low"]
    assert shut["high"] < left["high"]
    shut_later = shut["predicted"]["ph_later"]["middle"] - shut["predicted"]["ph_now"]["middle"]
    left_later = left["predicted"]["ph_later"]["middle"] - left["predicted"]["ph_now"]["middle"]
    assert abs(shut_later) < 0.05 < left_later


def test_saying_more_narrows_the_range():
    def ratio(*words: str) -> float:
        step = portion_of(answer(*words, *ACID))
        return float(step["high"]) / float(step["low"])

    assert ratio(*KNOWN) < ratio(*TANK)


def test_an_unknown_bottle_gets_a_test_no_larger_than_a_known_portion():
    test = portion_of(answer(*KNOWN))
    assert test["action"] == "test_portion"
    assert neat(test) < neat(portion_of(answer(*KNOWN, *ACID)))
    assert "label" in run(*KNOWN).stdout


def test_more_phosphate_takes_more_acid():
    """With its carbon dioxide kept in; once that leaves, the alkalinity alone decides."""
    little, much = (
        answer(*KNOWN, *ACID, "--closed", "--phosphate", said) for said in ("0.2 mmol/L", "2 mmol/L")
    )
    assert little["as_described"]["closed_mmol_l"] < much["as_described"]["closed_mmol_l"]
    assert portion_of(little)["high"] < portion_of(much)["high"]


def test_plants_that_stand_bind_the_day_and_a_fresh_fill_is_freer():
    soft = ("--volume", "40L", "--ph", "7.4", "--to", "5.8", "--alkalinity", "90 mg/L", "--ec", "1.4", *ACID)
    standing, fresh = portion_of(answer(*soft)), portion_of(answer(*soft, "--fresh"))
    assert neat(standing) <= neat(fresh)


@pytest.mark.parametrize("volume", ["40L", "40000 ml", "40 litres"])
def test_the_spelling_of_the_volume_changes_nothing(volume: str):
    words = ("--volume", volume, *KNOWN[2:], *ACID)
    assert portion_of(answer(*words)) == portion_of(answer(*KNOWN, *ACID))


def test_at_the_target_nothing_is_added_and_an_unsafe_target_is_refused():
    assert answer("--volume", "40L", "--ph", "6", "--to", "6")["plan"]["outcome"] == "nothing"
    refused = answer("--volume", "40L", "--ph", "6", "--to", "4")
    assert refused["plan"]["outcome"] == "hold"
    assert "no aim for roots" in run("--volume", "40L", "--ph", "6", "--to", "4").stdout


def test_what_was_not_said_is_named():
    assert answer(*TANK)["not_said"] == ["--alkalinity", "--ec", "--temperature"]
    assert "--alkalinity" in run(*TANK).stdout
    assert answer(*KNOWN, "--temperature", "20C")["not_said"] == []


def test_the_working_is_shown_on_request():
    assert "Working" not in run(*KNOWN, *ACID).stdout
    shown = run(*KNOWN, *ACID, "--why").stdout
    assert "Working" in shown
    assert "alkalinity left" in shown


@pytest.mark.parametrize(
    ("words", "option"),
    [
        ((), "--ph"),
        (("--ph", "6.8"), "--volume"),
        (("--ph", "6.8", "--volume", "forty"), "--volume"),
        (("--ph", "68", "--volume", "40L"), "--ph"),
        ((*TANK, "--adjuster", "lemonade"), "--adjuster"),
        ((*TANK, "--adjuster", "KOH 10%"), "--adjuster"),
        ((*TANK, "--adjuster", "phosphoric acid 300%"), "--adjuster"),
        ((*TANK, "--aired", "--closed"), "--aired"),
        ((*TANK, "--ec", "720 ppm"), "--ec"),
        (("--volume", "40L", "--ph", "8.9", "--to", "6", "--alkalinity", "0 mg/L"), "alkalinity"),
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
    for word in ("--alkalinity", "mg/L CaCO3", "--adjuster", "rillkeeper dose"):
        assert word in shown


@settings(max_examples=12, deadline=None)
@given(
    volume=st.floats(5, 200).map(lambda litres: f"{litres:.1f} L"),
    ph=st.floats(5.0, 8.4).map(lambda value: f"{value:.1f}"),
    alkalinity=st.floats(10, 300).map(lambda value: f"{value:.0f} mg/L"),
)
def test_no_portion_passes_the_caps_in_any_water(volume: str, ph: str, alkalinity: str):
    ran = run(
        "--volume", volume, "--ph", ph, "--to", "5.9", "--alkalinity", alkalinity, "--ec", "1.4", "--json"
    )
    if ran.exit_code == 2:
        assert "check" in ran.stderr
        return
    said = json.loads(ran.stdout)
    for step in said["plan"].get("steps", ()):
        if step["action"] in ("add", "test_portion") and "predicted" in step:
            assert step["predicted"]["ph_now"]["low"] >= min(5.2, float(ph)) - 0.15
            assert neat(step) <= said["volume_l"]
