"""Folding on from a checkpoint comes to what folding from the first entry comes to."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from garden_journal import day, journal
from hypothesis import given, settings
from hypothesis import strategies as st
from test_garden_any_journal import FACTS

from domain import checkpoints
from domain.checkpoints import Checkpoint, checkpoint
from domain.facts import Dose, Fact, Reading, Reminder, Setting, Sow, TopUp, WaterChange
from domain.household import choices
from domain.journal import Entry
from domain.plantings import garden
from domain.routine import due_dates
from domain.supplies import supplies
from domain.tank import tank_state

LISBON = ZoneInfo("Europe/Lisbon")
OF_THE_WATER: st.SearchStrategy[Fact] = st.one_of(
    st.builds(Reading, ph=st.floats(4, 9), ec_ms_cm=st.none() | st.floats(0.2, 3)),
    st.builds(Reading, level_l=st.floats(1, 40)),
    st.builds(Dose, product=st.just("ph_down"), amount=st.floats(1, 9), unit=st.just("ml")),
    st.builds(TopUp, litres=st.none() | st.floats(1, 9)),
    st.builds(WaterChange, fraction=st.sampled_from([None, 0.5])),
    st.builds(Setting, name=st.just("tank_volume_l"), value=st.sampled_from(["20", "40"])),
    st.builds(Setting, name=st.just("band"), crop=st.just("basil"), what=st.just("ph"), low=st.just(5.9)),
    st.builds(
        Reminder, text=st.just("look"), at=st.just(day(30)), rrule=st.sampled_from([None, "FREQ=WEEKLY"])
    ),
)
TOLD = st.lists(st.tuples(st.floats(0, 90), FACTS | OF_THE_WATER), min_size=2, max_size=16)


@pytest.fixture(autouse=True)
def _short_journals(monkeypatch: pytest.MonkeyPatch) -> None:
    """Checkpoints from the second entry on, so that short journals have them too."""
    monkeypatch.setattr(checkpoints, "MOST_AFTER", 1)
    monkeypatch.setattr(checkpoints, "LEFT_OUT", 1)


def everything(entries: list[Entry], now: datetime, start: Checkpoint | None) -> tuple[object, ...]:
    """All that is folded from a journal."""
    chosen = choices(entries, start.told if start else None)
    grown = garden(entries, now, start.bed if start else None)
    return (
        chosen,
        grown,
        tank_state(entries, now, chosen=chosen, start=start.tank if start else None),
        supplies(entries, now, start.supplies if start else None),
        due_dates(
            entries,
            now=now,
            zone=LISBON,
            garden=grown,
            start=start.routine if start else None,
            supplied=start.supplies if start else None,
        ),
    )


@settings(max_examples=60, deadline=None)
@given(TOLD, st.integers(2, 16), st.floats(0, 60))
def test_it_makes_no_difference_where_the_fold_started(
    told: list[tuple[float, Fact]], cut: int, later: float
) -> None:
    entries, now = journal(*told), day(90 + later)
    early = checkpoint(entries[:cut])
    late = checkpoint(entries, early)
    whole = everything(entries, now, None)
    for start in (early, late, early):  # the early one once more: going on from it has not changed it
        assert everything(entries, now, start) == whole


@settings(max_examples=30, deadline=None)
@given(TOLD, st.floats(0, 90))
def test_a_moment_before_its_end_is_folded_right_too(told: list[tuple[float, Fact]], when: float) -> None:
    entries = journal(*told)
    start = checkpoint(entries)
    assert tank_state(entries, day(when), start=start.tank if start else None) == tank_state(
        entries, day(when)
    )


def long_journal(days: int = 6) -> list[Entry]:
    return journal(*((float(at), Sow(crop="basil", sites=(f"A{at + 1}",))) for at in range(days)))


def test_what_is_amended_or_added_before_its_end_leaves_it_unfit() -> None:
    entries = long_journal()
    start = checkpoint(entries)
    assert start is not None
    assert start.holds_for(entries)
    amended = [replace(entries[0], fact=Sow(crop="dill", sites=("A1",))), *entries[1:]]
    undone = entries[1:]
    told_late = [entries[0], replace(entries[0], id=99), *entries[1:]]
    for other in (amended, undone, told_late, entries[:2]):
        assert not start.holds_for(other)
        assert checkpoint(other, start) is not start


def test_what_is_added_behind_it_leaves_it_fit() -> None:
    entries = long_journal()
    start = checkpoint(entries)
    assert start is not None
    more = [*entries, replace(entries[-1], id=99)]
    assert start.holds_for(more)


def test_a_household_that_changes_its_tank_gets_another_one() -> None:
    entries = long_journal()
    start = checkpoint(entries)
    said = journal((9.0, Setting(name="tank_volume_l", value="60")))
    after = checkpoint([*entries, replace(said[0], id=99)], start)
    assert after is not None
    assert after.tank.fold.volume.value == 60


def test_a_short_journal_has_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(checkpoints, "MOST_AFTER", 500)
    assert checkpoint(long_journal()) is None
