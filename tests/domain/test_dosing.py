"""Plans: their order, their holds, and what they say beside the amounts."""

import json
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from tank_journal import ACID, AIM, BASE, FEED, NOON, household, journal

from domain.dosing import Aim, Plan, plan, question_plan, what_if
from domain.facts import Dose, Fact, Observation, Product, Question, Reading
from domain.safety import CAUTIONS
from domain.tank import UNLABELLED, TankState, tank_state

HIGH = Reading(ph=6.9, ec_ms_cm=1.4)
LOW = Reading(ph=5.0, ec_ms_cm=1.4)
FINE = Reading(ph=5.9, ec_ms_cm=1.4)


def tank(
    *said: Fact | tuple[float, Fact], products: tuple[Product, ...] = (), volume_l: float = 40.0
) -> TankState:
    """The state after these facts, said at noon where no hour is given."""
    timed = [fact if isinstance(fact, tuple) else (0.0, fact) for fact in said]
    return tank_state(journal(*household(volume_l, *products, alkalinity=100.0), *timed), NOON)


def planned(*said: Fact | tuple[float, Fact], aim: Aim = AIM, **asked: Any) -> Plan:
    products = asked.pop("products", ())
    return plan(tank(*said, products=products), aim, now=NOON, **asked)


def actions(found: Plan) -> list[str]:
    return [step.action for step in found.steps]


# -- what a reading calls for -------------------------------------------------------------------------------


def test_in_band_nothing_is_added():
    found = planned(FINE)
    assert (found.outcome, found.reason, found.steps) == ("nothing", "in_band", ())


def test_between_ideal_and_tolerable_nothing_is_added_either():
    assert planned(Reading(ph=6.4, ec_ms_cm=1.7)).reason == "tolerable"


@pytest.mark.parametrize(("reading", "role"), [(HIGH, "ph_down"), (LOW, "ph_up")])
def test_ph_out_of_band_calls_for_the_bottle_that_moves_it_back(reading: Reading, role: str):
    found = planned(reading)
    step = found.steps[0]
    assert (step.action, step.role, step.unit) == ("add", role, "ml")
    assert step.first is not None
    assert step.low is not None
    assert step.high is not None
    assert step.first > 0
    assert step.low <= step.high
    assert found.steps[-1].action == "read"
    assert found.retest_after is not None
    assert found.cautions[:2] == ("adjuster", "never_mix")


def test_a_dose_comes_with_what_it_assumed_and_what_bound_it():
    basis = planned(HIGH).basis
    assert {item.name for item in basis.inputs} >= {"ph", "ec", "water", "source_alkalinity"}
    assert {item.basis for item in basis.inputs} >= {"read", "said"}
    assert all(assumed.low <= assumed.high and assumed.source for assumed in basis.assumptions)
    assert basis.overshoot is not None
    assert basis.overshoot <= 0.01


def test_strength_comes_before_ph_with_a_wait_and_a_reading_between():
    found = planned(Reading(ph=7.4, ec_ms_cm=2.4, level_l=25.0))
    assert actions(found)[:3] == ["top_up", "wait", "read"]
    assert actions(found)[3] == "add"
    assert found.steps[3].role == "ph_down"


def test_a_low_level_is_filled_before_strength_is_judged():
    found = planned(Reading(ph=5.9, ec_ms_cm=2.0, level_l=24.0))
    assert actions(found)[0] == "top_up"
    assert not any(step.action == "drain_refill" or step.role == "nutrient" for step in found.steps)
    # (2.0 x 24 + 0.35 x 16) / 40 by mass balance.
    ec = found.steps[0].predicted.ec_ms_cm if found.steps[0].predicted else None
    assert ec is not None
    assert ec.middle == pytest.approx(1.34, abs=0.01)
    assert found.steps[0].first == pytest.approx(16.0)


def test_weak_water_is_fed_at_most_by_the_cap_of_one_step():
    found = planned(Reading(ph=5.9, ec_ms_cm=0.4))
    step = found.steps[0]
    assert (step.action, step.role, step.unit, step.bound_by) == ("add", "nutrient", "ml", "ec_rise")
    assert step.predicted is not None
    assert step.predicted.ec_ms_cm is not None
    assert step.predicted.ec_ms_cm.high <= 0.4 + 0.4 + 0.01
    assert step.predicted.ph_now is not None


def test_strong_water_is_swapped_by_mass_balance():
    found = planned(Reading(ph=5.9, ec_ms_cm=2.1))
    step = found.steps[0]
    assert (step.action, step.unit) == ("drain_refill", "l")
    # f = (C - Ct) / (C - Cw) = (2.1 - 1.3) / (2.1 - 0.35) = 0.457 of 40 L, rounded down to half a litre.
    assert step.first == pytest.approx(18.0, abs=0.5)
    assert "unplug" in found.cautions


def test_half_the_water_is_the_most_that_is_swapped_at_once():
    step = planned(Reading(ph=5.9, ec_ms_cm=3.5)).steps[0]
    assert (step.first, step.bound_by) == (20.0, "half_at_once")


def test_water_that_is_too_strong_itself_dilutes_nothing():
    weak = Aim(5.4, 5.6, 6.2, 6.5, 0.1, 0.15, 0.2, 0.3)
    found = planned(Reading(ph=5.9, ec_ms_cm=0.6), aim=weak)
    assert (found.outcome, found.reason) == ("hold", "source_too_strong")


# -- bottles ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("products", [(FEED,), (Product(role="ph_down", name="some brand"), FEED)])
def test_a_bottle_of_unknown_strength_gets_a_test_portion_and_a_better_way(products: tuple[Product, ...]):
    found = planned(HIGH, products=products)
    assert actions(found)[:2] == ["test_portion", "jar_test"]
    step = found.steps[0]
    assert step.first is not None
    assert (step.low, step.high) == (None, None)
    assert found.needs[0] == "label_strength"
    assert "unknown_bottle" in found.cautions
    assert found.retest_after == timedelta(minutes=30)


def test_a_test_portion_is_harmless_even_from_the_strongest_bottle_sold():
    found = planned(HIGH, products=(FEED,))
    step = found.steps[0]
    assert step.first is not None
    strongest = Product(role="ph_down", name="strong", reagent="phosphoric acid", percent_w_w=85.0)
    effect = what_if(
        tank(HIGH), role="ph_down", amount=step.first / step.dilution, unit="ml", now=NOON, product=strongest
    )
    predicted = effect.steps[0].predicted
    assert predicted is not None
    assert predicted.ph_now is not None
    assert predicted.ph_now.low > 5.2


def test_a_bottle_without_any_label_is_not_used():
    found = planned(HIGH, products=(Product(role="ph_down", name=UNLABELLED), FEED))
    assert (found.outcome, found.reason) == ("hold", "unlabelled_bottle")
    assert not any(step.action in ("add", "test_portion") for step in found.steps)


def test_answered_test_portions_teach_the_bottle_until_it_is_dosed_like_a_labelled_one():
    unknown = Product(role="ph_down", name="some brand")
    said: list[tuple[float, Fact]] = []
    for number, shown in enumerate((7.2, 7.0, 6.8, 6.6)):
        said += [(number - 30, Reading(ph=shown, ec_ms_cm=1.4))]
        said += [(number - 30, Dose(product="ph_down", amount=4.0, unit="ml"))]
    found = planned(*said[:-1], (0, Reading(ph=6.6, ec_ms_cm=1.4)), products=(unknown, FEED))
    assert found.steps[0].action == "add"
    assert found.basis.answers == 3


def test_small_doses_are_given_diluted_so_that_a_syringe_can_measure_them():
    strong = Product(role="ph_down", name="strong", reagent="phosphoric acid", percent_w_w=75.0)
    step = planned(Reading(ph=6.6, ec_ms_cm=1.4), products=(strong, FEED)).steps[0]
    assert step.dilution == 10
    assert step.first is not None
    assert step.first >= 0.05


def test_a_powder_is_weighed():
    powder = Product(role="ph_down", name="citric", reagent="citric acid", percent_w_w=100.0)
    step = planned(Reading(ph=7.4, ec_ms_cm=1.4), products=(powder, FEED)).steps[0]
    assert step.unit == "g"


# -- holds --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ([Observation(text="our goldfish like it"), HIGH], "fish"),
        ([(-30.0, HIGH)], "reading_old"),
        ([Reading(ph=11.0, ec_ms_cm=1.4)], "reading_implausible"),
        ([Reading(ph=2.5, ec_ms_cm=1.4)], "reading_implausible"),
        ([(-0.2, HIGH), (-0.1, Dose(product="ph_down", amount=2.0, unit="ml"))], "await_retest"),
        ([(-1.0, HIGH), (-0.1, Dose(product="ph_down", amount=2.0, unit="ml")), HIGH], "await_retest"),
    ],
)
def test_a_dose_is_held_back(said: list[Any], code: str):
    found = planned(*said)
    assert (found.outcome, found.reason) == ("hold", code)
    assert found.hold is not None
    assert not any(step.action == "add" for step in found.steps)


def test_a_reading_far_from_what_the_tank_should_show_is_taken_again():
    steady = [(-50.0, FINE), (-26.0, FINE), (-2.0, FINE)]
    odd = Reading(ph=8.4, ec_ms_cm=1.4)
    assert planned(*steady, odd).reason == "reading_far_from_model"
    confirmed = planned(*steady, (-0.5, odd), odd)
    assert confirmed.reason != "reading_far_from_model"


def test_an_odd_reading_inside_the_band_holds_nothing_up():
    steady = [(hours, Reading(ph=7.4, ec_ms_cm=1.4)) for hours in (-50.0, -26.0, -2.0)]
    assert planned(*steady, FINE).outcome == "nothing"


def test_without_a_reading_it_asks_for_one():
    found = planned(direction="adjuster")
    assert (found.outcome, found.reason) == ("ask", "no_ph_reading")
    assert "reading" in found.needs


def test_a_tested_dose_is_left_to_settle_before_the_next():
    """Once mixed the reading is taken, for what it teaches; the next portion waits until the CO2 has left."""
    poured = Dose(product="ph_down", amount=2.0, unit="ml")
    tested = [(-1.0, HIGH), (-1.0, poured), (0.0, Reading(ph=6.8, ec_ms_cm=1.4))]
    early = planned(*tested)
    assert (early.outcome, early.reason) == ("hold", "await_retest")
    assert early.hold is not None
    assert early.hold.data["read_at"] == NOON + timedelta(hours=7)
    assert early.retest_after == timedelta(hours=7)
    assert early.basis.answers == 1
    assert planned(*tested, insist=True).outcome == "steps"
    assert planned(*((hours - 8.0, fact) for hours, fact in tested[:2]), tested[2]).outcome == "steps"


def test_what_is_left_of_the_days_shift_is_not_worth_a_dose():
    """From 7.6 one pH a day: what brought 6.8 by the evening leaves two tenths; tomorrow takes a whole."""
    poured = Dose(product="ph_down", amount=9.0, unit="ml")
    evening = [(-9.0, Reading(ph=7.6, ec_ms_cm=1.4)), (-9.0, poured), (0.0, Reading(ph=6.8, ec_ms_cm=1.4))]
    found = planned(*evening)
    assert (found.outcome, found.reason) == ("hold", "wait_and_read")
    assert found.hold is not None
    assert found.hold.data["limit"] == "settled_shift"
    morning = [(hours - 16.0, fact) for hours, fact in evening[:2]]
    assert planned(*morning, evening[2]).outcome == "steps"


def test_who_insists_gets_a_second_portion_within_the_caps_and_its_warning():
    said = [(-0.2, HIGH), (-0.1, Dose(product="ph_down", amount=0.5, unit="ml"))]
    found = planned(*said, insist=True)
    assert found.outcome == "steps"
    assert found.cautions[0] == "second_dose"


def test_a_feed_is_learned_from_what_it_did():
    """40 ml raised 0.2 mS/cm twice: the next portion leaves the usual figure behind."""
    said: list[Any] = []
    for number in range(3):
        said.append((number - 3.0, Reading(ph=5.9, ec_ms_cm=0.4 + 0.2 * number)))
        if number < 2:
            said.append((number - 3.0, Dose(product="nutrient", amount=40.0, unit="ml")))
    learned = planned(*said, (0.0, Reading(ph=5.9, ec_ms_cm=0.7)), direction="nutrient").steps[0]
    fresh = planned((0.0, Reading(ph=5.9, ec_ms_cm=0.7)), direction="nutrient").steps[0]
    assert fresh.assumption == "feed_strength"
    assert learned.assumption is None
    assert learned.high is not None
    assert learned.low is not None
    # 0.6 mS/cm at 0.2 mS/cm for 40 ml are 120 ml.
    assert learned.low <= 120 <= learned.high
    assert fresh.high is not None
    assert fresh.low is not None
    assert learned.high / learned.low < fresh.high / fresh.low


def test_a_printed_grade_narrows_what_a_feed_is_taken_to_add():
    graded = replace(FEED, dose_per_litre=1.0, dose_unit="g", n_pct=20.0, p2o5_pct=20.0, k2o_pct=20.0)
    plain = replace(graded, n_pct=None)
    weak = Reading(ph=5.9, ec_ms_cm=0.6)
    by_grade, by_dose = (planned(weak, products=(ACID, feed)).steps[0] for feed in (graded, plain))
    assert by_grade.unit == by_dose.unit == "g"
    assert by_grade.low is not None
    assert by_grade.high is not None
    assert by_dose.low is not None
    assert by_dose.high is not None
    assert by_grade.high / by_grade.low < by_dose.high / by_dose.low


def test_the_label_is_the_most_that_a_feed_is_given():
    fed = [(-3.0 + n, Dose(product="nutrient", amount=80.0, unit="ml")) for n in range(2)]
    found = planned(*fed, Reading(ph=5.9, ec_ms_cm=0.5), direction="nutrient")
    assert (found.outcome, found.reason) == ("hold", "label_maximum")


# -- questions ----------------------------------------------------------------------------------------------


def asked(question: Question, *said: Fact, aim: Aim = AIM) -> Plan:
    return question_plan(tank(*said), aim, question, now=NOON)


def test_adjuster_for_a_volume_is_for_that_volume():
    small = asked(Question(about="adjuster", volume_l=10.0), HIGH).steps[0]
    large = asked(Question(about="adjuster", volume_l=80.0), HIGH).steps[0]
    assert small.role == large.role == "ph_down"
    assert small.high is not None
    assert large.high is not None
    assert large.high == pytest.approx(8 * small.high, rel=0.1)


def test_both_ends_given_need_no_reading():
    found = asked(Question(about="ph_down", volume_l=37.9, ph_from=6.8, ph_to=5.9))
    assert (found.steps[0].action, found.steps[0].role) == ("add", "ph_down")
    assert found.basis.inputs[0].value == 6.8


def test_a_supposed_reading_is_no_answer_to_the_last_dose():
    """Ten millilitres are in and not tested: a question that starts from 6.8 says nothing of the bottle."""
    unknown = Product(role="ph_down", name="some brand")
    untested = [(-0.2, HIGH), (-0.1, Dose(product="ph_down", amount=10.0, unit="ml"))]
    question = Question(about="ph_down", volume_l=38.0, ph_from=6.8, ph_to=5.9)
    before = question_plan(tank(products=(unknown, FEED)), AIM, question, now=NOON).steps[0]
    after = question_plan(tank(*untested, products=(unknown, FEED)), AIM, question, now=NOON).steps[0]
    assert before.action == after.action == "test_portion"
    assert before.first is not None
    assert after.first is not None
    assert after.first / after.dilution == pytest.approx(before.first / before.dilution, rel=0.5)


def test_a_volume_that_was_asked_for_leaves_what_the_tank_taught_alone():
    poured = Dose(product="ph_down", amount=4.0, unit="ml")
    answered = [(-9.0, HIGH), (-9.0, poured), (0.0, Reading(ph=6.7, ec_ms_cm=1.4))]
    own = question_plan(tank(*answered), AIM, Question(about="adjuster"), now=NOON).steps[0]
    double = question_plan(tank(*answered), AIM, Question(about="adjuster", volume_l=80.0), now=NOON).steps[0]
    assert own.high is not None
    assert double.high is not None
    assert double.high == pytest.approx(2 * own.high, rel=0.15)


@pytest.mark.parametrize("ph_to", [4.5, 7.5])
def test_an_end_that_no_plant_stands_is_refused(ph_to: float):
    assert asked(Question(about="adjuster", ph_from=6.0, ph_to=ph_to)).reason == "target_unsafe"


def test_the_wrong_bottle_for_the_side_is_not_dosed():
    assert asked(Question(about="ph_up"), HIGH).reason == "wrong_direction"


def test_strength_to_a_value_that_was_asked_for():
    found = asked(Question(about="nutrient", ec_from=1.0, ec_to=1.3))
    step = found.steps[0]
    assert (step.action, step.role) == ("add", "nutrient")
    assert step.predicted is not None
    assert step.predicted.ec_ms_cm is not None
    assert step.predicted.ec_ms_cm.middle == pytest.approx(1.3, abs=0.1)


@pytest.mark.parametrize(
    ("about", "ec", "reason"),
    [
        ("nutrient", 1.4, "in_band"),
        ("dilute", 1.4, "in_band"),
        ("nutrient", 2.4, "wrong_direction"),
        ("dilute", 0.4, "wrong_direction"),
    ],
)
def test_feed_and_water_are_given_only_where_the_strength_calls_for_them(about: Any, ec: float, reason: str):
    found = asked(Question(about=about), Reading(ph=5.9, ec_ms_cm=ec))
    assert (found.outcome, found.reason) == ("nothing", reason)


def test_feed_comes_with_what_it_does_to_ph():
    predicted = asked(Question(about="nutrient"), Reading(ph=6.4, ec_ms_cm=0.5)).steps[0].predicted
    assert predicted is not None
    assert predicted.ph_now is not None
    # The feed's monopotassium phosphate is a weak acid at this pH.
    assert predicted.ph_now.middle < 6.4


def test_a_fresh_mix_is_fed_at_once_and_adjusted_last():
    found = asked(Question(about="mix", volume_l=20.0))
    assert actions(found) == ["add", "wait", "read"]
    assert found.steps[0].role == "nutrient"


@pytest.mark.parametrize("about", ["site", "due", "bands"])
def test_a_question_of_another_kind_is_refused(about: Any):
    with pytest.raises(ValueError, match="no dose"):
        asked(Question(about=about), HIGH)


def test_what_if_foretells_and_warns_without_advice_to_do_it():
    little = what_if(tank(HIGH), role="ph_down", amount=1.0, unit="ml", now=NOON)
    much = what_if(tank(HIGH), role="ph_down", amount=100.0, unit="ml", now=NOON)
    assert little.reason == much.reason == "what_if"
    first, second = little.steps[0].predicted, much.steps[0].predicted
    assert first is not None
    assert second is not None
    assert first.ph_now is not None
    assert second.ph_now is not None
    assert second.ph_now.middle < first.ph_now.middle < 6.9
    assert (little.steps[0].bound_by, much.steps[0].bound_by) == (None, "just_after")


def test_a_top_up_dilutes_and_lifts_ph_towards_the_tap():
    found = what_if(tank(FINE), role=None, amount=10.0, unit="l", now=NOON)
    predicted = found.steps[0].predicted
    assert predicted is not None
    assert predicted.ph_now is not None
    assert predicted.ec_ms_cm is not None
    # (1.4 x 40 + 0.35 x 10) / 50 by mass balance.
    assert predicted.ec_ms_cm.middle == pytest.approx(1.19, abs=0.01)
    assert predicted.ph_now.middle > 5.9


# -- the plan as data ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "said", [[FINE], [HIGH], [LOW], [Reading(ph=7.4, ec_ms_cm=2.4, level_l=25.0)], [(-30.0, HIGH)], []]
)
def test_a_plan_is_plain_json(said: list[Any]):
    found = planned(*said)
    written = json.loads(json.dumps(found.as_json()))
    assert written["outcome"] == found.outcome
    assert [step["action"] for step in written.get("steps", [])] == actions(found)


def test_every_caution_of_a_plan_is_known():
    for found in (planned(HIGH), planned(LOW), planned(HIGH, products=(FEED,))):
        assert set(found.cautions) <= set(CAUTIONS)


def test_an_aim_that_contradicts_itself_is_refused():
    with pytest.raises(ValueError, match="ideal pH"):
        Aim(5.8, 5.6, 6.2, 6.5)
    with pytest.raises(ValueError, match="rising order"):
        replace(AIM, ec_low=2.0)
    with pytest.raises(ValueError, match="all four"):
        replace(AIM, ec_low=None)


def test_base_and_acid_are_the_households_own():
    assert planned(HIGH, products=(ACID, BASE, FEED)).steps[0].product == "acid"
    assert planned(LOW, products=(ACID, BASE, FEED)).steps[0].product == "base"
