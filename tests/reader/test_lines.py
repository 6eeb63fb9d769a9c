"""Lines of ``parse --jsonl``: one in, one out, whatever stands in it."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.reader.lines import parse_line

GOOD = {"id": 7, "text": "ph 5.9", "now": "2026-05-04T19:05:00", "tz": "Europe/Lisbon"}


def _line(**changes) -> str:
    return json.dumps({**GOOD, **changes})


def test_a_naive_now_is_local_time() -> None:
    assert parse_line(_line()) == {
        "id": 7,
        "facts": [{"kind": "reading", "when": "2026-05-04T19:05:00+01:00", "ph": 5.9}],
        "unclear": [],
    }


def test_an_aware_now_is_taken_into_the_zone() -> None:
    fact = parse_line(_line(now="2026-05-04T18:05:00Z"))["facts"][0]
    assert fact["when"] == "2026-05-04T19:05:00+01:00"


def test_a_naive_now_that_no_clock_shows_moves_forward() -> None:
    # Lisbon goes from 01:00 to 02:00 on 29 March 2026 (IANA time zone database).
    fact = parse_line(_line(now="2026-03-29T01:30:00"))["facts"][0]
    assert fact["when"] == "2026-03-29T02:30:00+01:00"


def test_settings_are_used() -> None:
    said = parse_line(_line(text="topped up 2", settings={"units": "us"}))
    assert said["facts"][0]["litres"] == pytest.approx(7.5708, rel=1e-4)


@pytest.mark.parametrize(
    "line",
    [
        "",
        "nonsense",
        "[]",
        "3",
        "null",
        _line(text=5),
        _line(text=None),
        _line(now="yesterday"),
        _line(now=None),
        _line(tz="Mars/Olympus"),
        _line(tz=""),
        _line(tz="../../etc/passwd"),
        _line(settings=[]),
        _line(settings={"units": "furlongs"}),
        _line(settings={"ppm_scale": 600}),
        _line(settings={"ppm_scale": True}),
        _line(settings={"tanks": "one"}),
        _line(settings={"products": {"x": "poison"}}),
        _line(settings={"colour": "green"}),
        "[" * 100_000,
    ],
)
def test_a_bad_line_comes_back_with_its_error(line: str) -> None:
    said = parse_line(line)
    assert set(said) == {"id", "error"}
    assert said["error"]


def test_the_error_carries_the_id() -> None:
    assert parse_line(_line(tz="Mars/Olympus"))["id"] == 7


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@given(st.dictionaries(st.sampled_from(["id", "text", "now", "tz", "settings"]), json_values))
def test_no_json_object_raises(said: dict) -> None:
    answer = parse_line(json.dumps(said))
    assert ("error" in answer) != ("facts" in answer)


@given(st.text())
def test_no_line_raises(line: str) -> None:
    assert "id" in parse_line(line)
