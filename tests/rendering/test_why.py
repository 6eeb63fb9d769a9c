"""The working behind a reply, in plain words."""

from zoneinfo import ZoneInfo

import pytest

from bot.rendering.markup import to_html, to_plain
from bot.rendering.voice import Voice
from bot.rendering.working import why_lines
from domain.dosing import Basis, Moves, Plan


@pytest.mark.parametrize(
    ("answers", "units", "said"),
    [
        (6, "metric", "this tank has answered 6 doses; 1 ml pH down moves 40 L by 0.11 ± 0.02"),
        (1, "us", "this tank has answered 1 dose; 1 ml pH down moves 10.6 gal by 0.11 ± 0.02"),
        (
            0,
            "metric",
            "this tank has answered no dose yet; by usual ranges 1 ml pH down moves 40 L by 0.11 ± 0.02",
        ),
    ],
)
def test_what_the_tank_has_taught(answers: int, units: str, said: str) -> None:
    moves = Moves("ph_down", "ml", 40.0, 0.11, 0.02)
    voice = Voice(units=units, ppm_scale=None, zone=ZoneInfo("UTC"))
    lines = why_lines(Plan("steps", basis=Basis(answers=answers, moves=moves)), None, voice)
    assert f"· {said}" in to_plain(to_html(lines)).splitlines()
