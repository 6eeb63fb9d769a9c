"""Which first aid a message is answered with: by its words alone, the most dangerous first."""

from __future__ import annotations

from itertools import product
from typing import get_args

import pytest

from bot.assistant.cases import Case, advice_code, case_of
from domain.facts import EmergencyAbout
from domain.safety import EMERGENCY
from tests.assistant.talk import Talk

TEXTS: tuple[tuple[str, Case], ...] = (
    ("electric shock from the tank", "electric"),
    ("I got a shock when I touched the water", "electric"),
    ("my wife was electrocuted at the pump", "electric"),
    ("the lamp fell into the tank", "electric"),
    ("dropped the lamp in the tank", "electric"),
    ("smoke from the pump", "electric"),
    ("the plug is sparking", "electric"),
    ("the power strip caught fire", "electric"),
    ("burning smell from the socket", "electric"),
    ("it smells like something burning near the plug", "electric"),
    ("the water tingles when I touch it", "electric"),
    ("got shocked, acid on my hand too", "electric"),
    ("mixed bleach with ph down", "gas"),
    ("put ph up into the ph down bottle", "gas"),
    ("mixed ph up and ph down, it is hot", "gas"),
    ("breathed in the fumes", "gas"),
    ("inhaled acid", "gas"),
    ("chlorine gas in the bathroom!!", "gas"),
    ("spilled bleach on my hand, now coughing", "gas"),
    ("it smells awful and we are coughing", "gas"),
    ("fumes in my eyes", "gas"),
    ("my son drank the plant food", "swallowed"),
    ("the toddler swallowed some", "swallowed"),
    ("got ph down in my mouth", "swallowed"),
    ("he drank bleach", "swallowed"),
    ("she drank ph up and is coughing", "swallowed"),
    ("baby licked it and has it on his hands", "swallowed"),
    ("the dog and my son drank the ph down", "swallowed"),
    ("the dog knocked it over, swallowed some", "swallowed"),
    ("it was in a pet bottle and got swallowed", "swallowed"),
    ("siphoned acid, some in my mouth", "swallowed"),
    ("got ph down in my eye", "eye_skin"),
    ("got bleach in my eye", "eye_skin"),
    ("my eyes are on fire, ph down", "eye_skin"),
    ("the pump splashed acid, my hand is burning", "eye_skin"),
    ("acid all over my shirt", "eye_skin"),
    ("spilled concentrate on me", "eye_skin"),
    ("the dog knocked it over, acid on my face", "eye_skin"),
    ("the dog licked the nutrient solution", "pet"),
    ("my cat drank ph down", "pet"),
    ("acid in the dog's eye", "pet"),
    ("the dog licked and swallowed some", "pet"),
    ("ph up got on the puppy", "pet"),
    ("chemical exposure, help", "unknown"),
    ("poisoned by nutrients?", "unknown"),
)


@pytest.mark.parametrize(("text", "case"), TEXTS)
def test_a_case_is_told_by_its_words(text: str, case: Case) -> None:
    assert case_of(text) == case
    assert case_of(text.upper().replace("'", "’")) == case


ALONE: dict[Case, str] = {
    "electric": "got an electric shock",
    "gas": "breathed in the fumes",
    "swallowed": "my son swallowed some",
    "eye_skin": "acid on my skin",
    "pet": "some on the cat",
}


@pytest.mark.parametrize(("worse", "milder"), [(a, b) for a, b in product(ALONE, ALONE) if a != b])
def test_of_two_cases_the_more_dangerous_is_answered_in_either_order(worse: Case, milder: Case) -> None:
    rank = list(ALONE)
    expected = min(worse, milder, key=rank.index)
    assert case_of(f"{ALONE[worse]}. {ALONE[milder]}") == expected


def test_every_case_has_its_advice() -> None:
    assert {advice_code("exposure", text) for text, _ in TEXTS} == {
        "exposure" if case == "unknown" else f"exposure_{case}" for case in get_args(Case)
    }
    assert {advice_code("exposure", text) for text, _ in TEXTS} <= EMERGENCY.keys()


@pytest.mark.parametrize(
    ("about", "text", "code"),
    [
        ("pump_stopped", "pump stopped, sparks from the plug", "exposure_electric"),
        ("pump_stopped", "pump stopped and there's smoke", "exposure_electric"),
        ("power_cut", "power cut after a spark", "exposure_electric"),
        ("pump_stopped", "pump died, no smoke, no sparks", "pump_stopped"),
        ("pump_stopped", "pump is dead no smoke", "pump_stopped"),
        ("pump_stopped", "the pump is burnt out", "pump_stopped"),
        ("leak", "the tank is leaking and I got a shock", "exposure_electric"),
        ("spill", "spilled acid on bleach", "exposure_gas"),
        ("spill", "spilled ph down, fumes everywhere", "exposure_gas"),
        ("pump_stopped", "pump stopped, my hands are wet", "pump_stopped"),
        ("leak", "water everywhere, the dog likes it", "leak"),
        ("overdose", "put in 50 ml ph down instead of 5", "overdose"),
        ("overdose", "ph shock, added too much ph down", "overdose"),
        ("power_cut", "power cut, the breaker tripped", "power_cut"),
        ("spill", "spilled ph down on the floor", "spill"),
    ],
)
def test_a_shock_or_a_gas_outranks_what_else_is_told(about: EmergencyAbout, text: str, code: str) -> None:
    assert advice_code(about, text) == code


@pytest.mark.parametrize(
    ("cry", "first"),
    [
        ("electric shock from the tank", "Power off"),
        ("I inhaled acid fumes", "Leave the room"),
        ("the toddler drank some ph down", "Call at once"),
        ("got ph down in my eye", "Rinse"),
        ("the dog licked the nutrient solution", "Call your vet"),
    ],
)
@pytest.mark.parametrize("zone", ["", "America/Chicago", "Europe/Dublin", "Europe/Amsterdam"])
async def test_the_answer_is_five_lines_with_the_first_thing_first(
    talk: Talk, cry: str, first: str, zone: str
) -> None:
    if zone:
        await talk.say(f"set time zone {zone}")
    await talk.say(cry)
    lines = talk.text.splitlines()
    assert lines[0].startswith(first)
    assert len(lines) <= 5
    assert all(len(line) <= 46 for line in lines)


@pytest.mark.parametrize(
    ("zone", "said"),
    # Each number as its source has it: tests/published/test_published_poison_centres.py.
    [
        ("Europe/Dublin", "Call 01 809 2166 (8 am to 10 pm); danger: 112."),
        ("Europe/Lisbon", "Call 800 250 250; life in danger: 112."),
        ("Europe/London", "Call 111 (not in N. Ireland); danger: 999."),
        ("Europe/Stockholm", "Call 112, ask for Giftinformation."),
        ("America/Chicago", "Call 1-800-222-1222; life in danger: 911."),
        ("Europe/Amsterdam", "Call 112 (emergency)."),
        ("Asia/Kolkata", "Call 112 (emergency)."),
    ],
)
async def test_who_to_call_stands_second_on_one_line(talk: Talk, zone: str, said: str) -> None:
    await talk.say(f"set time zone {zone}")
    await talk.say("got ph down in my eye")
    assert talk.text.splitlines()[1] == said


async def test_where_no_country_is_known_no_number_is_made_up(talk: Talk) -> None:
    await talk.say("got ph down in my eye")
    assert talk.text.splitlines()[1] == "Call your poison centre or emergency number."
    await talk.say("electric shock from the tank")
    assert talk.text.splitlines()[1] == "Call your local emergency number."
