"""What is said beside the question of a name, a setting asked for by its button, a jar test that is typed."""

from __future__ import annotations

import pytest

from domain.facts import JarTest
from domain.household import choices
from tests.assistant.talk import Talk


@pytest.mark.parametrize(
    "text",
    [
        "ph down is 10% phosphoric acid",
        "ph down is the green bottle",
        "basil",
        "growing lettuce and basil",
        "tap water KH 5",
        "we use RO water",
        "no fish in the tank",
        "units us",
        "45 L",
        "status",
        "jar test",
    ],
)
async def test_what_is_understood_is_never_taken_for_a_name(talk: Talk, text: str) -> None:
    await talk.say("/start")
    await talk.say(text)
    assert choices(await talk.journal()).system_name is None


async def test_a_crop_said_to_the_question_of_a_name_grows_and_the_name_is_asked_for(talk: Talk) -> None:
    await talk.say("/start")
    await talk.say("basil")
    assert [growing.crop for growing in choices(await talk.journal()).growing] == ["basil"]
    await talk.say("kitchen tower")
    assert choices(await talk.journal()).system_name == "kitchen tower"


async def test_a_button_of_the_settings_asks_one_thing(talk: Talk) -> None:
    await talk.say("/settings")
    await talk.press("Units")
    await talk.press("US gallons, °F", press="p2")
    assert choices(await talk.journal()).units == "us"
    assert "?" not in talk.text
    await talk.say("Tower")
    assert choices(await talk.journal()).system_name is None


async def test_a_jar_test_is_begun_and_answered_in_words(talk: Talk) -> None:
    await talk.say("ph 6.9")
    await talk.say("jar test")
    assert "9 parts tank water" in talk.text
    await talk.say("3 ml to 6.0")
    (jar,) = [entry.fact for entry in await talk.journal() if isinstance(entry.fact, JarTest)]
    assert (jar.role, jar.ph_from, jar.ph_to) == ("ph_down", 6.9, 6.0)
    assert jar.ml_per_l == pytest.approx(0.3)


async def test_what_a_jar_showed_counts_whoever_of_the_household_sends_it(talk: Talk) -> None:
    group = talk.elsewhere("flat", private=False)
    await group.say("ph 6.9")
    await group.say("jar test")
    await group.someone("Maud", "8").say("3 ml to 6.0")
    assert any(isinstance(entry.fact, JarTest) for entry in await group.journal())
