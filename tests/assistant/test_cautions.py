"""What is said before anything has happened: of mixing, of bleach in the water, to an emergency number."""

from __future__ import annotations

import pytest

from bot.assistant.cases import caution_code
from bot.assistant.replies import Advice, EmergencyAdvice, Logged
from domain.safety import EMERGENCY
from tests.assistant.talk import Talk


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("can I pour ph down and bleach together", "caution_mix"),
        ("can I mix ph up and ph down", "caution_mix"),
        ("Is it safe to mix pH up with pH down?", "caution_mix"),
        ("can i add bleach to the tank?", "caution_mix"),
        ("what if I get ph down in my eye", "exposure_eye_skin"),
        ("what do I do if a child drinks ph up", "exposure_swallowed"),
        ("added 5 ml bleach", "caution_bleach"),
        ("added bleach to the tank", "caution_bleach"),
        ("911", "caution_number"),
        ("112", "caution_number"),
        ("call 112!", "caution_number"),
        ("can I mix part A and part B", None),
        ("how much ph down", None),
        ("cleaned the tank with bleach", None),
        ("added bleach to the laundry", None),
        ("keep an eye on ph down if you can", None),
        ("1120", None),
        ("ppm 911", None),
    ],
)
def test_a_text_that_may_lead_to_harm_is_known_by_its_words(text: str, code: str | None) -> None:
    assert caution_code(text) == code


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("can I pour ph down and bleach together", "caution_mix"),
        ("can I mix ph up and ph down", "caution_mix"),
        ("what if I get ph down in my eye", "exposure_eye_skin"),
        ("added bleach to the tank", "caution_bleach"),
    ],
)
async def test_a_question_about_mixing_is_answered_with_the_caution_and_no_dose(
    talk: Talk, text: str, code: str
) -> None:
    await talk.say("tank holds 40 L")
    await talk.say("ph 6.9 ec 1.4")
    (reply,) = (await talk.say(text)).replies
    assert isinstance(reply, EmergencyAdvice)
    assert reply.code == code
    assert talk.text.splitlines()[0] == EMERGENCY[code].lines[0]
    assert "Leave the room now" not in talk.text
    assert len(talk.text.splitlines()) <= 7


async def test_bleach_that_went_in_is_noted_and_warned_of_first(talk: Talk) -> None:
    warned, noted = (await talk.say("added 5 ml bleach")).replies
    assert isinstance(warned, EmergencyAdvice)
    assert isinstance(noted, Logged)
    assert talk.text.splitlines()[0] == EMERGENCY["caution_bleach"].lines[0]


async def test_a_bare_emergency_number_asks_who_is_hurt_and_may_still_be_a_strength(talk: Talk) -> None:
    outcome = await talk.say("112")
    assert isinstance(outcome.replies[0], EmergencyAdvice)
    assert "somebody hurt" in talk.text
    assert "rinse 15 to 20 minutes" in talk.text
    assert outcome.unclear == (("112", "ambiguous"),)
    assert talk.text.splitlines()[-1].endswith("Did you mean:"), "its buttons are below"


async def test_a_dose_is_still_worked_out_for_whoever_asks_for_one(talk: Talk) -> None:
    await talk.say("ph 6.9 ec 1.4")
    (reply,) = (await talk.say("how much ph down?")).replies
    assert isinstance(reply, Advice)
