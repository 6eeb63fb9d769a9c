"""What a household tells of its water, its animals and its units, in words of its own."""

from __future__ import annotations

import pytest

from domain.household import choices
from tests.assistant.talk import Talk


@pytest.mark.parametrize(
    ("text", "mg_l"),
    [
        ("my tap water has 100 mg/L CaCO3 alkalinity", 100),
        ("alkalinity 100 mg/L CaCO3", 100),
        ("tap water alkalinity 100 mg/L", 100),
        # One German degree is 17.848 mg/L as CaCO3 (DIN 38409-6, from memory).
        ("KH 5", 89.2),
        ("tap water KH 5", 89.2),
        ("tap water 5 dkh", 89.2),
        ("our tap water has a kh", None),
    ],
)
async def test_the_alkalinity_of_the_tap(talk: Talk, text: str, mg_l: float | None) -> None:
    await talk.say(text)
    assert choices(await talk.journal()).source_alkalinity_mg_l_caco3 == pytest.approx(mg_l, abs=0.2)


async def test_a_water_report_in_one_line(talk: Talk) -> None:
    await talk.say("tap water: ph 7.8, EC 0.4, 120 mg/L CaCO3")
    chosen = choices(await talk.journal())
    assert (chosen.source_ph, chosen.source_ec_ms_cm) == (7.8, 0.4)
    assert chosen.source_alkalinity_mg_l_caco3 == pytest.approx(120, abs=0.1)
    await talk.say("/settings")
    assert "Tap water: alkalinity 120 mg/L" in talk.text


@pytest.mark.parametrize("text", ["we use RO water", "rain water", "we only use rainwater"])
async def test_soft_water_is_taken_as_nearly_none_and_that_is_said(talk: Talk, text: str) -> None:
    await talk.say(text)
    assert choices(await talk.journal()).source_alkalinity_mg_l_caco3 == 5
    assert "0-10 mg/L" in talk.text


@pytest.mark.parametrize("text", ["tap water hardness 12 dH", "hardness 12 dH", "tap water 12 dgh"])
async def test_hardness_is_never_alkalinity(talk: Talk, text: str) -> None:
    await talk.say(text)
    assert await talk.journal() == []
    assert "hardness is not alkalinity" in talk.prose


@pytest.mark.parametrize("text", ["no fish in the tank", "we have no fish", "the fish are gone"])
async def test_animals_are_taken_back(talk: Talk, text: str) -> None:
    await talk.say("fish in the tank")
    await talk.say("/settings")
    assert "Fish: in the tank" in talk.text
    outcome = await talk.say(text)
    assert not outcome.scene.tank.fish
    await talk.say("/settings")
    assert "Fish:" not in talk.text


@pytest.mark.parametrize(
    ("text", "units"),
    [
        ("use gallons and fahrenheit", "us"),
        ("units us", "us"),
        ("metric units", "metric"),
        ("units: litres", "metric"),
    ],
)
async def test_units(talk: Talk, text: str, units: str) -> None:
    await talk.say(text)
    assert choices(await talk.journal()).units == units


@pytest.mark.parametrize("text", ["nobody wants rain", "is there no fish?", "us", "the tap is dripping"])
async def test_talk_is_none_of_it(talk: Talk, text: str) -> None:
    await talk.say(text)
    assert await talk.journal() == []
