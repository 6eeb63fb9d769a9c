"""No text takes long: judged against a fixed piece of plain work in the same process, not against a clock."""

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from test_properties import WORDS, households, say

from benchmarks.longest import BOUND, HEAVY, HEAVY_PIECES, MOST_CHARACTERS, plain_work, times_plain_work


def test_the_measure_can_fail() -> None:
    """A text that takes twice the bound is found out."""
    too_long = times_plain_work(lambda: [plain_work() for _ in range(2 * BOUND)], rounds=2)
    assert too_long > BOUND


@pytest.mark.parametrize("text", HEAVY, ids=[repr(piece) for piece in HEAVY_PIECES])
def test_no_message_is_slow(text: str) -> None:
    say(text)
    assert times_plain_work(lambda: say(text)) < BOUND


jumbles = st.lists(st.sampled_from(WORDS), min_size=1, max_size=8).map(" ".join)
anything = st.text(min_size=1, max_size=12)


@given(st.one_of(jumbles, anything), st.sampled_from([" ", ", ", "\n", ""]), households)
@settings(max_examples=40, phases=(Phase.explicit, Phase.generate))  # a slow text is slow to shrink
def test_any_text_said_over_and_over_is_within_the_bound(piece, between, household) -> None:
    text = ((piece + between) * MOST_CHARACTERS)[:MOST_CHARACTERS]
    for rounds in (1, 5, 15):  # what is over the bound once may have been disturbed
        if times_plain_work(lambda: say(text, household), rounds) < BOUND:
            return
    pytest.fail(f"slow: {piece + between!r}")
