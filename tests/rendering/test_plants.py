"""Replies about plants: short, every code in words, what is behind them with its source."""

from __future__ import annotations

from typing import get_args

import pytest

from bot.rendering.plants import CAUTIONS, CONFLICTS, ENDS
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
