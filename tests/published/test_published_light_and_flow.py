"""Light and pump flow against the rows of checks.csv; each row names its source."""

import pytest
from published_rows import Row, each

from domain.flow import Duty, litres_per_hour, minutes_to_mix, minutes_to_turn_over, turnovers_per_hour
from domain.light import LUX_PER_PPFD, daily_light_mol_m2, hours_for, ppfd_for, ppfd_from_lux, share_left

ALWAYS = Duty(1.0, 0.0)
LUX_OF_FOOT_CANDLE = 10.764

LIGHT = {
    "LT-dli1": lambda: daily_light_mol_m2(200, 16),
    "LT-dli2": lambda: daily_light_mol_m2(250, 14),
    "LT-dli3": lambda: ppfd_for(14, 16),
    "LT-dli4": lambda: daily_light_mol_m2(215, 16),
    "LT-hps": lambda: ppfd_from_lux(500 * LUX_OF_FOOT_CANDLE, "high-pressure sodium"),
    "LT-lux-sun": lambda: LUX_PER_PPFD["sun"],
    "LT-lux-metal-halide": lambda: LUX_PER_PPFD["metal halide"],
    "LT-lux-HPS": lambda: LUX_PER_PPFD["high-pressure sodium"],
    "LT-lux-cool-white-fluorescent": lambda: LUX_PER_PPFD["fluorescent"],
    "LT-lux-incandescent": lambda: LUX_PER_PPFD["incandescent"],
    "LT-line-60-15": lambda: share_left(15, 30, lamp_length_cm=60),
    "LT-line-60-30": lambda: share_left(30, 60, lamp_length_cm=60),
    "LT-line-60-120": lambda: share_left(120, 240, lamp_length_cm=60),
    "LT-inv": lambda: share_left(40, 60),
}
FLOW = {
    "PU-1": lambda: turnovers_per_hour(600, Duty(15, 15), 40),
    "PU-2": lambda: 24 * turnovers_per_hour(300, ALWAYS, 60),
    "PU-3": lambda: turnovers_per_hour(400, Duty(10, 50), 20, head_share=0.6),
    "PU-4": lambda: litres_per_hour(4 * 60, ALWAYS),
    "PU-5": lambda: minutes_to_turn_over(250, Duty(30, 30), 50),
    "PU-6": lambda: minutes_to_mix(2),
}


@each(LIGHT)
def test_light(row: Row) -> None:
    row.holds(LIGHT[row.id]())


@each(FLOW)
def test_flow(row: Row) -> None:
    row.holds(FLOW[row.id]())


@each(["LT-luxled"])
def test_lux_of_white_lamps_lies_in_the_span(row: Row) -> None:
    low, high = row.span
    assert low <= LUX_PER_PPFD["white LED"] <= high, row.source


@pytest.mark.parametrize("lamp_length_cm", [0, 30, 120])
@pytest.mark.parametrize(("from_cm", "to_cm"), [(10, 20), (15, 60), (50, 51)])
def test_farther_is_darker_and_never_below_inverse_square(
    lamp_length_cm: float, from_cm: float, to_cm: float
) -> None:
    left = share_left(from_cm, to_cm, lamp_length_cm)
    assert (from_cm / to_cm) ** 2 <= left < 1
    assert share_left(to_cm, from_cm, lamp_length_cm) == pytest.approx(1 / left)


def test_hours_undo_daily_light() -> None:
    assert hours_for(daily_light_mol_m2(180, 15), 180) == pytest.approx(15)
    assert hours_for(20, 150) is None  # 24 h of it give 13


@pytest.mark.parametrize("bad", [(-1, 16), (200, 25), (float("nan"), 16), (200, float("nan"))])
def test_light_refuses_what_no_room_has(bad: tuple[float, float]) -> None:
    with pytest.raises(ValueError):
        daily_light_mol_m2(*bad)


@pytest.mark.parametrize("times", [(0, 45), (-5, 45), (15, -1), (float("nan"), 1), (15, float("inf"))])
def test_a_pump_that_never_runs_is_none(times: tuple[float, float]) -> None:
    with pytest.raises(ValueError):
        Duty(*times)
