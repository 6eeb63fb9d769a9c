"""Whatever a household writes down, a plan comes back: plain numbers, no crash, nothing beyond the caps."""

import json
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from tank_journal import AIM, NOON, journal

from domain.dosing import plan, what_if
from domain.facts import Dose, Fact, Product, Reading, Setting, TopUp, WaterChange
from domain.tank import tank_state

REAGENTS = (
    "phosphoric acid",
    "nitric acid",
    "sulfuric acid",
    "citric acid",
    "acetic acid",
    "potassium hydroxide",
    "potassium carbonate",
    "potassium bicarbonate",
    None,
)

maybe = st.none()
readings = st.builds(
    Reading,
    ph=maybe | st.floats(2.0, 12.0),
    ec_ms_cm=maybe | st.floats(0.0, 10.0),
    water_temp_c=maybe | st.floats(0.0, 45.0),
    level_l=maybe | st.floats(0.0, 300.0),
    approx=maybe | st.just(True),
    ph_span=maybe | st.floats(0.1, 2.0),
)
doses = st.builds(
    Dose,
    product=st.sampled_from(["ph_down", "ph_up", "nutrient", "other"]),
    amount=st.floats(0.0, 1000.0),
    unit=st.sampled_from(["ml", "g", "drop", "scoop", "capful", "squirt", "pump"]),
)
waters = st.builds(
    TopUp, litres=maybe | st.floats(0.0, 200.0), feed=maybe | st.sampled_from(["plain", "full"])
)
changes = st.builds(WaterChange, litres=maybe | st.floats(0.0, 200.0), fraction=maybe | st.floats(0.0, 1.0))
products = st.builds(
    Product,
    role=st.sampled_from(["ph_down", "ph_up", "nutrient"]),
    name=maybe | st.sampled_from(["a", "b"]),
    reagent=st.sampled_from(REAGENTS),
    percent_w_w=maybe | st.floats(0.0, 100.0),
    dose_per_litre=maybe | st.floats(0.0, 20.0),
    dose_unit=maybe | st.sampled_from(["ml", "g"]),
)
choices = st.one_of(
    st.floats(0.5, 2000.0).map(lambda v: Setting(name="tank_volume_l", value=str(v))),
    st.floats(0.0, 500.0).map(lambda v: Setting(name="source_alkalinity_mg_l_caco3", value=str(v))),
    st.floats(4.5, 9.5).map(lambda v: Setting(name="source_ph", value=str(v))),
    st.floats(0.0, 3.0).map(lambda v: Setting(name="source_ec_ms_cm", value=str(v))),
)
journals = st.lists(
    st.tuples(
        st.floats(-400.0, 0.0), st.one_of(readings, readings, doses, waters, changes, products, choices)
    ),
    max_size=12,
).map(lambda said: sorted(said, key=lambda one: one[0]))


def only_plain(value: Any) -> None:
    """Raises where JSON would need NaN or infinity."""
    json.dumps(value, allow_nan=False)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(said=journals, last=readings, insist=st.booleans())
def test_any_journal_gives_a_plan_in_plain_numbers(
    said: list[tuple[float, Fact]], last: Reading, insist: bool
):
    state = tank_state(journal(*said, (0.0, last)), NOON)
    found = plan(state, AIM, now=NOON, insist=insist)
    only_plain(found.as_json())
    assert (found.outcome == "steps") == (bool(found.steps) and found.reason != "unlabelled_bottle")
    for step in found.steps:
        if step.role in ("ph_down", "ph_up") and step.action == "add":
            assert step.first is not None
            assert 0 < step.first / step.dilution <= 1.01 * state.volume_l.value


@settings(max_examples=30, deadline=None, derandomize=True)
@given(
    said=journals,
    role=st.sampled_from(["ph_down", "ph_up", "nutrient", "other", None]),
    amount=st.floats(0.0, 2000.0),
)
def test_any_supposed_dose_is_foretold_or_asked_about(
    said: list[tuple[float, Fact]], role: Any, amount: float
):
    state = tank_state(journal(*said), NOON)
    found = what_if(state, role=role, amount=amount, unit="l" if role is None else "ml", now=NOON)
    only_plain(found.as_json())
    assert found.outcome in ("steps", "ask", "hold")
