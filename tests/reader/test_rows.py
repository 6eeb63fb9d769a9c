"""The corpus: every row is one message and exactly what it says."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
import rows_all_at_once
import rows_asked_and_set
import rows_bought
import rows_calendar
import rows_called_off
import rows_charts
import rows_clock_changes
import rows_contract
import rows_corrected
import rows_elsewhere
import rows_emergencies
import rows_evening_rounds
import rows_foreign_days
import rows_green_thumbs
import rows_half_and_full
import rows_hostile
import rows_house_rules
import rows_household
import rows_household_group
import rows_in_passing
import rows_limits
import rows_lists_and_shares
import rows_logs
import rows_looks
import rows_mishaps
import rows_named
import rows_odd_ones
import rows_order
import rows_orders
import rows_other_waters
import rows_own_crops
import rows_plans
import rows_plants
import rows_poured
import rows_poured_at_home
import rows_poured_how
import rows_questions
import rows_readings
import rows_reminders
import rows_rough
import rows_second_language
import rows_seed_stock
import rows_seed_to_salad
import rows_short
import rows_sites
import rows_slips
import rows_spelled_out
import rows_talk
import rows_tanks
import rows_terse
import rows_thinned
import rows_times
import rows_values
import rows_water
from rows import Row

from bot.reader import ReaderSettings, read

CORPUS = {
    module.__name__.removeprefix("rows_"): module.ROWS
    for module in (
        rows_contract,
        rows_readings,
        rows_values,
        rows_spelled_out,
        rows_times,
        rows_clock_changes,
        rows_rough,
        rows_second_language,
        rows_seed_stock,
        rows_water,
        rows_poured,
        rows_plants,
        rows_sites,
        rows_questions,
        rows_talk,
        rows_elsewhere,
        rows_plans,
        rows_other_waters,
        rows_own_crops,
        rows_corrected,
        rows_thinned,
        rows_called_off,
        rows_charts,
        rows_household,
        rows_emergencies,
        rows_reminders,
        rows_short,
        rows_logs,
        rows_limits,
        rows_looks,
        rows_order,
        rows_named,
        rows_hostile,
        rows_all_at_once,
        rows_asked_and_set,
        rows_household_group,
        rows_half_and_full,
        rows_seed_to_salad,
        rows_terse,
        rows_calendar,
        rows_evening_rounds,
        rows_green_thumbs,
        rows_house_rules,
        rows_mishaps,
        rows_orders,
        rows_poured_at_home,
        rows_foreign_days,
        rows_odd_ones,
        rows_poured_how,
        rows_slips,
        rows_lists_and_shares,
        rows_tanks,
        rows_in_passing,
        rows_bought,
    )
}


def _cases():
    return [
        pytest.param(row, id=f"{name}: {row.text[:60]!r} {row.settings or ''}")
        for name, rows in CORPUS.items()
        for row in rows
    ]


@pytest.mark.parametrize("row", _cases())
def test_a_message_says_this_and_nothing_else(row: Row) -> None:
    said = read(
        row.text,
        now=datetime.fromisoformat(row.now),
        zone=ZoneInfo(row.tz),
        settings=ReaderSettings.from_json(row.settings),
    ).as_json()
    assert said["facts"] == [_plain(fact) for fact in row.facts]
    assert [bit["reason"] for bit in said["unclear"]] == list(row.unclear)


def _plain(fact: dict) -> dict:
    return {key: round(value, 4) if isinstance(value, float) else value for key, value in fact.items()}


@pytest.mark.parametrize("row", [case for case in _cases() if case.values[0].unclear])
def test_what_is_offered_instead_would_be_read(row: Row) -> None:
    given = {
        "now": datetime.fromisoformat(row.now),
        "zone": ZoneInfo(row.tz),
        "settings": ReaderSettings.from_json(row.settings),
    }
    for bit in read(row.text, **given).unclear:
        for suggestion in bit.suggestions:
            said = read(suggestion, **given)
            assert said.facts, suggestion
            assert not said.unclear, suggestion
