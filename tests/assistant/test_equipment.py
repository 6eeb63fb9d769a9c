"""What a note about the lamp or the pump means."""

from __future__ import annotations

import pytest

from bot.assistant.replies import Logged
from tests.assistant.talk import Talk


async def _notes(talk: Talk, text: str):  # type: ignore[no-untyped-def]
    (reply,) = (await talk.say(text)).replies
    assert isinstance(reply, Logged)
    return reply.plants


async def test_light_of_a_day_is_held_against_what_stands(talk: Talk) -> None:
    """LT-dli1: 200 umol/m2/s over 16 h give 11.52 mol/m2; lettuce seedlings want 10 to 14 (stages.csv)."""
    await talk.say("sowed lettuce in A1-A3")
    await talk.say("A1-A3 are up")
    notes = await _notes(talk, "note: lamp at 200 ppfd 16 h")
    assert notes.lamp.dli_mol_m2 == pytest.approx(11.52)
    assert notes.lamp.wanted_dli == (10, 14)
    assert "11.5 mol/m²" in talk.text


async def test_too_little_light_is_told_with_the_hours_that_would_do(talk: Talk) -> None:
    """10 mol/m2 at 150 umol/m2/s take 10 / (150 x 0.0036) = 18.5 h."""
    await talk.say("sowed lettuce in A1")
    await talk.say("A1 is up")
    notes = await _notes(talk, "note: lights 150 umol for 12 hours")
    assert notes.lamp.hours_wanted == pytest.approx(18.5, abs=0.1)
    assert "18.5 h would do" in talk.text


async def test_long_days_are_said_to_make_long_day_plants_bolt(talk: Talk) -> None:
    await talk.say("sowed spinach in A1")
    await talk.say("sowed basil in A2")
    notes = await _notes(talk, "note: lamp on 16 h a day")
    assert [crop for crop, _ in notes.lamp.bolting] == ["spinach"]
    assert "spinach (from 13 h)" in talk.text
    assert (await _notes(talk, "note: lamp on 12 h a day")).lamp.bolting == ()


async def test_turnovers_and_dry_spells(talk: Talk) -> None:
    """PU-1: 600 L/h, 15 min on, 15 off, 40 L give 7.5 turnovers an hour."""
    assert (await _notes(talk, "note: pump 600 l/h, 15 min on 15 min off")).pump.needs_volume
    await talk.say("tank holds 40 L")
    notes = await _notes(talk, "note: pump 600 l/h, 15 min on, 15 off")
    assert notes.pump.turnovers_per_hour == pytest.approx(7.5)
    assert notes.pump.dry_min == 15
    assert "7.5 times an hour" in talk.text


@pytest.mark.parametrize(
    "text",
    ["note: lamp on 30 h", "note: pump 0 min on 45 off", "note: light 99999 ppfd 16 h", "note: pump hums"],
)
async def test_nonsense_is_kept_and_not_reckoned_with(talk: Talk, text: str) -> None:
    notes = await _notes(talk, text)
    assert notes is not None
    assert notes.lamp is None
    assert notes.pump is None
