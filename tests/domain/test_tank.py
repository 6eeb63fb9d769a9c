"""The tank as the journal leaves it."""

from dataclasses import replace
from datetime import timedelta

import pytest
from tank_journal import ACID, FEED, NOON, household, journal

from domain.facts import Dose, Observation, Product, Reading, Setting, TopUp, WaterChange
from domain.happenings import Read
from domain.response import beliefs
from domain.tank import DEFAULTS, Dosed, Watered, tank_state


def test_an_empty_journal_leaves_nothing_but_assumptions():
    state = tank_state([], NOON)
    assert state.ph is None
    assert state.ec_ms_cm is None
    assert state.volume_l.value == DEFAULTS.volume_l
    assert state.volume_l.is_assumed
    assert state.source.alkalinity_eq_l.is_assumed
    assert state.needs == ("tank_volume", "alkalinity", "ph_product")


def test_what_was_said_is_marked_as_said():
    state = tank_state(journal(*household(55.0, alkalinity=120.0)), NOON)
    assert (state.volume_l.value, state.volume_l.basis) == (55.0, "said")
    # 120 mg/L as calcium carbonate are 2.4 meq/L: 50.04 mg a milliequivalent, by definition.
    assert state.source.alkalinity_eq_l.value == pytest.approx(2.4e-3, rel=2e-3)
    assert state.needs == ()


def test_the_last_value_of_each_kind_counts_with_its_own_time():
    state = tank_state(
        journal((-5, Reading(ph=6.4, ec_ms_cm=1.5)), (-1, Reading(ph=6.0, water_temp_c=19.0))), NOON
    )
    assert state.ph is not None
    assert state.ec_ms_cm is not None
    assert (state.ph.value, state.ph.at) == (6.0, NOON - timedelta(hours=1))
    assert (state.ec_ms_cm.value, state.ec_ms_cm.at) == (1.5, NOON - timedelta(hours=5))
    assert (state.temperature_c.value, state.temperature_c.basis) == (19.0, "read")


def test_doubted_and_future_entries_are_left_out():
    entries = journal((-1, Reading(ph=6.4)), (0, Reading(ph=9.0)), (2, Reading(ph=4.0)))
    entries[1] = replace(entries[1], doubted=True)
    state = tank_state(entries, NOON)
    assert state.ph is not None
    assert state.ph.value == 6.4


def test_an_edit_refolds_what_followed():
    entries = journal((-2, TopUp(litres=4.0)), (0, Reading(ph=6.0, level_l=30.0)))
    edited = [replace(entries[0], fact=TopUp(litres=8.0)), entries[1]]
    first, second = (tank_state(e, NOON).happenings[0] for e in (entries, edited))
    assert isinstance(first, Watered)
    assert isinstance(second, Watered)
    assert (first.added_l, second.added_l) == (4.0, 8.0)


@pytest.mark.parametrize(
    ("mark", "litres"), [("half", 20.0), ("the line", 40.0), ("3/4", 30.0), ("three quarters", 30.0)]
)
def test_a_mark_is_a_share_of_what_the_tank_holds(mark: str, litres: float):
    state = tank_state(journal(*household(40.0), (0, Reading(ph=6.0, level_mark=mark))), NOON)
    assert state.level_l.value == pytest.approx(litres)
    assert not state.level_l.is_assumed


def test_a_mark_in_centimetres_says_no_litres():
    state = tank_state(journal(*household(40.0), (0, Reading(ph=6.0, level_mark="12 cm"))), NOON)
    assert state.level_l.is_assumed


def test_a_top_up_raises_the_level_at_most_to_the_line():
    low = (-3, Reading(ph=6.0, level_l=30.0))
    assert tank_state(journal(*household(40.0), low, (-1, TopUp(litres=4.0))), NOON).level_l.value == 34.0
    assert tank_state(journal(*household(40.0), low, (-1, TopUp(litres=40.0))), NOON).level_l.value == 40.0
    assert (
        tank_state(journal(*household(40.0), low, (-1, TopUp(to_mark="the line"))), NOON).level_l.value
        == 40.0
    )


@pytest.mark.parametrize(
    ("change", "whole", "added_l"),
    [
        (WaterChange(), True, 40.0),
        (WaterChange(fraction=0.5), False, 20.0),
        (WaterChange(litres=10.0), False, 10.0),
    ],
)
def test_a_water_change_is_whole_or_a_part(change: WaterChange, whole: bool, added_l: float):
    state = tank_state(journal(*household(40.0), (-1, change)), NOON)
    watered = state.happenings[-1]
    assert isinstance(watered, Watered)
    assert (watered.whole, watered.added_l) == (whole, added_l)
    assert (state.filled_at is not None) == whole


def test_a_dose_comes_from_the_bottle_of_its_name_or_the_newest_of_its_role():
    other = Product(role="ph_down", name="citric", reagent="citric acid", percent_w_v=10.0)
    said = household(40.0, ACID, other)
    doses = [
        Dose(product="ph_down", amount=2, unit="ml", name="Acid"),
        Dose(product="ph_down", amount=2, unit="ml"),
    ]
    state = tank_state(journal(*said, *((-1, dose) for dose in doses)), NOON)
    poured = [h for h in state.happenings if isinstance(h, Dosed)]
    assert [h.product for h in poured] == [ACID, other]


def test_bottles_of_one_feed_make_up_its_portions():
    pair = replace(FEED, name="pair", parts=("A", "B"))
    doses = [(-1, Dose(product="nutrient", amount=5.0, unit="ml", name=part)) for part in ("a", "B")]
    state = tank_state(journal(*household(40.0, pair), *doses), NOON)
    poured = [h for h in state.happenings if isinstance(h, Dosed)]
    assert {h.product.name for h in poured} == {"pair"}
    # 5 ml of A and 5 ml of B are one portion of 5 ml of each.
    assert sum(h.amount for h in poured) == 5.0


def test_household_measures_become_ml_with_a_wider_spread():
    drops = Dose(product="ph_down", amount=40, unit="drop")
    spoons = Dose(product="ph_down", amount=2, unit="ml")
    first, second = (
        tank_state(journal(*household(), (-1, dose)), NOON).happenings[-1] for dose in (drops, spoons)
    )
    assert isinstance(first, Dosed)
    assert isinstance(second, Dosed)
    # Twenty drops a millilitre: the pharmacists' rule.
    assert (first.amount, first.unit) == (2.0, "ml")
    assert first.share > second.share


def test_doses_wait_for_an_answer_until_ph_is_read():
    dose = (-2, Dose(product="ph_down", amount=2, unit="ml"))
    open_ = tank_state(journal((-3, Reading(ph=7.0)), dose), NOON)
    answered = tank_state(journal((-3, Reading(ph=7.0)), dose, (-1, Reading(ph=6.5))), NOON)
    only_ec = tank_state(journal((-3, Reading(ph=7.0)), dose, (-1, Reading(ec_ms_cm=1.2))), NOON)
    assert len(open_.unanswered) == 1
    assert answered.unanswered == ()
    assert len(only_ec.unanswered) == 1


def test_what_one_message_says_stands_in_its_order():
    state = tank_state(
        journal(
            (-1, Reading(ph=6.4)), (-1, Dose(product="ph_down", amount=3, unit="ml")), (-1, Reading(ph=5.9))
        ),
        NOON,
    )
    assert state.unanswered == ()
    assert state.ph is not None
    assert state.ph.value == 5.9


@pytest.mark.parametrize(
    ("text", "fish"),
    [
        ("two goldfish live in the tank now", True),
        ("we run aquaponics", True),
        ("smells fishy, like fish", False),
        ("fed fish emulsion", False),
        ("tips browning on B2", False),
    ],
)
def test_animals_in_the_water_are_noticed(text: str, fish: bool):
    assert tank_state(journal((-1, Observation(text=text))), NOON).fish is fish


def test_a_setting_has_the_last_word_on_fish():
    said = journal((-2, Observation(text="koi pond")), (-1, Setting(name="fish", value="no")))
    assert tank_state(said, NOON).fish is False


def test_facts_of_another_tank_do_not_count():
    said = journal((-2, Reading(ph=6.0, tank="Balcony")), (-1, Reading(ph=7.0, tank="kitchen")))
    state = tank_state(said, NOON, tank="balcony")
    assert state.ph is not None
    assert state.ph.value == 6.0


def test_a_strip_is_trusted_less_than_a_meter():
    strip = tank_state(journal((0, Reading(ph=6.25, ph_span=0.5))), NOON)
    rough = tank_state(journal((0, Reading(ph=6.25, approx=True))), NOON)
    meter = tank_state(journal((0, Reading(ph=6.25))), NOON)
    spreads = [s.ph.spread for s in (meter, strip, rough) if s.ph is not None]
    assert spreads == sorted(spreads)
    assert spreads[0] < spreads[1]


def test_the_newest_product_of_a_role_is_the_one_in_use():
    newer = replace(FEED, name="other feed")
    assert tank_state(journal(*household(40.0, FEED, newer)), NOON).product("nutrient") == newer
    assert tank_state(journal(*household(40.0, FEED)), NOON).product("ph_down") is None


def test_another_label_is_another_bottle_of_which_nothing_was_learned() -> None:
    old = Product(role="ph_down", reagent="phosphoric acid", percent_w_w=10.0)
    new = Product(role="ph_down", reagent="phosphoric acid", percent_w_w=75.0)
    said = [(-9, old), (-8, Reading(ph=7.2)), (-7, Dose(product="ph_down", amount=2.0, unit="ml"))]
    before = tank_state(journal(*said), NOON)
    after = tank_state(journal(*said, (-1, new)), NOON)
    assert [dose.product for dose in before.doses_since(None, "ph_down")] == [old]
    assert [dose.product for dose in after.doses_since(None, "ph_down")] == [old]
    assert after.product("ph_down") == new
    believed = beliefs(
        replace(after, happenings=(*after.happenings, Read(NOON, 99, 6.6, 0.06, None, None, False)))
    )
    assert believed is not None
    assert believed.has_answered(old)
    assert not believed.has_answered(new)
