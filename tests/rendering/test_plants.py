"""Replies about plants: short, every code in words, what is behind them with its source."""

from __future__ import annotations

from typing import get_args
from zoneinfo import ZoneInfo

import pytest

from bot.rendering.plants import CAUTIONS, CONFLICTS, ENDS, in_units
from bot.rendering.voice import Voice
from domain.germination import Caution
from domain.plots import ConflictCode, End
from domain.troubles import troubles


@pytest.mark.parametrize(("table", "codes"), [(CAUTIONS, Caution), (CONFLICTS, ConflictCode), (ENDS, End)])
def test_every_code_has_words(table: dict[str, str], codes: object) -> None:
    assert set(table) == set(get_args(codes))


def test_conflicts_ask_or_tell_what_to_say() -> None:
    for words in CONFLICTS.values():
        assert "?" in words or "Say" in words


def test_no_remedy_is_longer_than_two_lines_of_a_narrow_screen() -> None:
    for trouble in troubles():
        for text in (*trouble.causes, trouble.look, *trouble.remedies):
            assert len(text) <= 100, text


def test_degrees_of_a_table_are_told_in_the_units_of_the_household() -> None:
    """18 degC is 64.4 degF, 21 degC 69.8: exact by definition."""
    us, metric = (Voice(units, None, ZoneInfo("UTC")) for units in ("us", "metric"))
    assert in_units("keep seedlings at 18-21 °C", us) == "keep seedlings at 64–70 °F"
    assert in_units("cool to 18 °C, pH 5.6-6.2", us) == "cool to 64 °F, pH 5.6-6.2"
    assert in_units("keep seedlings at 18-21 °C", metric) == "keep seedlings at 18–21 °C"
