"""Which of the platform's cases are shown, and where: a case that nobody shows is seen here.

A test that shows a case names it in its docstring ("Case 5: ..."); those that are none of ours, or shown by
other means, stand below with the reason.
"""

from __future__ import annotations

import re
from pathlib import Path

TESTS = Path(__file__).parents[1]
CASES = range(1, 80)
NAMED = re.compile(r"\bCases? ((?:\d+(?:, | and )?)+)")

NOT_OURS = {
    76: "there is no mini app",
    79: "lengths, labels and captions of every reply are held by tests/rendering",
}


def _shown() -> set[int]:
    texts = [path.read_text() for path in TESTS.rglob("test_*.py") if path != Path(__file__)]
    found = [numbers for text in texts for numbers in NAMED.findall(text)]
    return {int(number) for numbers in found for number in re.findall(r"\d+", numbers)}


def test_every_case_is_shown_or_has_its_reason() -> None:
    assert sorted(set(CASES) - _shown() - NOT_OURS.keys()) == []


def test_no_reason_stands_for_what_is_shown() -> None:
    assert sorted(NOT_OURS.keys() & _shown()) == []
