"""Every code that can reach a household has words, and every word on a small screen has its place."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import domain
from bot.assistant.orders import COMMANDS
from bot.assistant.setup import STEPS
from bot.rendering import words
from bot.rendering.standing_texts import MENU
from domain.facts import ChoreTask, EmergencyAbout, ProductRole, TendTask, names_of
from domain.safety import CAUTIONS, EMERGENCY

DOMAIN = Path(domain.__file__).parent


def first_strings_of(call: str) -> Iterator[str]:
    """The literal first argument of every call of this name in the domain."""
    for path in DOMAIN.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Name)
                and node.func.id == call
                and node.args
                and isinstance(node.args[0], ast.Constant)
            ):
                yield str(node.args[0].value)


def test_every_reason_to_hold_back_has_words() -> None:
    codes = set(first_strings_of("Hold"))
    assert codes
    assert codes <= words.HOLDS.keys()


@pytest.mark.parametrize(
    ("choices", "table"),
    [
        (ChoreTask, words.CHORES),
        (TendTask, words.TENDED),
        (ProductRole, words.ROLES),
        (EmergencyAbout, EMERGENCY),
    ],
    ids=["chores", "tending", "roles", "emergencies"],
)
def test_every_choice_of_the_vocabulary_has_words(choices: object, table: dict[str, object]) -> None:
    assert set(names_of(choices)) <= table.keys()


def test_every_step_of_the_set_up_has_a_question_a_second_try_and_a_key() -> None:
    names = {step.name for step in STEPS}
    assert names == words.STEP_QUESTIONS.keys() == words.STEP_AGAIN.keys() == words.STEP_TITLES.keys()


def test_the_menu_lists_every_command_and_no_other() -> None:
    assert MENU.keys() == COMMANDS.keys()


def test_brief_cautions_fit_a_narrow_line() -> None:
    for caution in CAUTIONS.values():
        assert len(caution.brief) <= 60, caution.code
        assert caution.source


def test_warnings_of_an_emergency_are_short_orders() -> None:
    for advice in EMERGENCY.values():
        assert len(advice.lines) <= 7
        assert all(len(line) <= 90 for line in advice.lines)
