"""How fast letters may leave, checked against the limits as the platform words them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from storage.pace import earliest_next

NOW = datetime(2026, 5, 4, 19, 5, tzinfo=UTC)
SECOND, MINUTE = timedelta(seconds=1), timedelta(seconds=60)

gaps = st.lists(
    st.integers(0, 20_000_000).map(lambda microseconds: timedelta(microseconds=microseconds)), max_size=90
)


def sends(wanted_after: list[timedelta], *, private: bool) -> list[datetime]:
    """When letters leave that are wanted one after another, each as early as it may."""
    now, sent = NOW, list[datetime]()
    for gap in wanted_after:
        now += gap
        may = earliest_next(sent[::-1], private=private)
        now = now if may is None else max(now, may)
        sent.append(now)
    return sent


@given(gaps, st.booleans())
def test_never_more_than_one_a_second(wanted_after: list[timedelta], private: bool) -> None:
    sent = sends(wanted_after, private=private)
    assert all(after - before >= SECOND for before, after in pairwise(sent))


@given(gaps)
@example([timedelta()] * 70)
@example([timedelta(seconds=2)] * 70)
def test_never_more_than_twenty_in_any_minute_to_a_group(wanted_after: list[timedelta]) -> None:
    sent = sends(wanted_after, private=False)
    for first in sent:
        assert sum(first <= other < first + MINUTE for other in sent) <= 20


@given(gaps, st.booleans())
def test_no_letter_waits_longer_than_it_must(wanted_after: list[timedelta], private: bool) -> None:
    wanted, sent = NOW, list[datetime]()
    for gap, left in zip(wanted_after, sends(wanted_after, private=private), strict=True):
        wanted += gap
        if left > wanted:
            earlier = left - timedelta(microseconds=1)
            too_soon = bool(sent) and earlier - sent[-1] < SECOND
            too_many = not private and sum(earlier - other < MINUTE for other in sent) >= 20
            assert too_soon or too_many
        wanted = left
        sent.append(left)


# Source of the limits: core.telegram.org/bots/faq, "My bot is hitting limits, how do I avoid this?"
@pytest.mark.parametrize(
    ("sent_before_s", "private", "wait_s"),
    [
        ([], True, None),
        ([0], True, 1),
        ([0] * 30, True, 1),
        ([5], False, -4),
        (range(20), False, 60 - 19),
        (range(0, 38, 2), False, 1),  # 19 letters: one more fits
        (range(20, 60, 2), False, 60 - 58),
        (range(1, 61, 3), False, 60 - 58),
    ],
)
def test_the_wait_for_the_next_letter(sent_before_s: list[int], private: bool, wait_s: int | None) -> None:
    sent = [NOW - timedelta(seconds=before) for before in sent_before_s]
    expected = None if wait_s is None else NOW + timedelta(seconds=wait_s)
    assert earliest_next(sent, private=private) == expected
