"""The set-up: short, every step can be skipped, nothing is asked twice."""

from __future__ import annotations

import pytest

from bot.assistant.replies import SetupAsked, SetupEnded
from bot.assistant.setup import STEPS
from domain.facts import Growing, Product, Setting
from domain.household import choices
from tests.assistant.talk import Talk

ANSWERS = {
    "name": "Kitchen tower",
    "volume": "12 gal",
    "units": "us",
    "meter": "ppm 700",
    "zone": "Lisbon",
    "crops": "basil, 4 lettuces and cherry tomato 2",
    "ph_down": "phosphoric acid 10%",
    "ph_up": "no label",
    "nutrient": "A and B 2.5 ml per litre, 4-3-6",
}


def step_of(outcome) -> str | None:  # type: ignore[no-untyped-def]
    (reply,) = outcome.replies
    return reply.step if isinstance(reply, SetupAsked) else None


async def test_all_steps_answered_in_words(talk: Talk) -> None:
    outcome = await talk.say("/start")
    asked = []
    while (step := step_of(outcome)) is not None:
        asked.append(step)
        outcome = await talk.say(ANSWERS[step])
    assert asked == [step.name for step in STEPS]
    assert isinstance(outcome.replies[0], SetupEnded)
    chosen = choices(await talk.journal())
    assert chosen.system_name == "Kitchen tower"
    assert chosen.tank_volume_l == pytest.approx(45.4, abs=0.05)
    assert (chosen.units, chosen.ppm_scale, chosen.zone_name) == ("us", 700, "Europe/Lisbon")
    assert [(g.crop, g.count) for g in chosen.growing] == [
        ("basil", None),
        ("lettuce", 4),
        ("cherry tomato", 2),
    ]
    down = chosen.product("ph_down")
    assert down is not None
    assert (down.reagent, down.percent_w_w) == ("phosphoric acid", 10)
    feed = chosen.product("nutrient")
    assert feed is not None
    assert (feed.dose_per_litre, feed.parts, feed.n_pct) == (2.5, ("A", "B"), 4)


async def test_every_step_can_be_skipped_and_is_not_asked_again(talk: Talk) -> None:
    outcome = await talk.say("/start")
    for place, step in enumerate(STEPS):
        assert step_of(outcome) == step.name if place == 0 else True
        await talk.press("Skip", press=f"s{place}")
    assert "That is all I need" in talk.text
    outcome = await talk.say("/start")
    assert isinstance(outcome.replies[0], SetupEnded)


async def test_what_is_known_is_not_asked(talk: Talk) -> None:
    await talk.say("tank holds 45 L")
    outcome = await talk.say("/start")
    assert step_of(outcome) == "name"
    outcome = await talk.say("Balcony")
    assert step_of(outcome) == "units"


async def test_a_reading_in_the_middle_is_kept_and_the_question_stays(talk: Talk) -> None:
    await talk.say("/start")
    await talk.say("ph 6.1")
    assert [e.fact.kind for e in await talk.journal()] == ["reading"]
    outcome = await talk.say("Kitchen tower")
    assert step_of(outcome) == "volume"


async def test_an_answer_that_is_none_is_asked_again_with_an_example(talk: Talk) -> None:
    await talk.say("tank holds 45 L")
    await talk.say("/start")
    await talk.say("Balcony")
    await talk.press("Litres, °C")
    await talk.press("ppm, 500 scale", press="p2")
    await talk.say("Atlantis")
    assert "I know no single zone by that name" in talk.text
    await talk.say("portugal")
    assert "nearest big city" in talk.text or "which" in talk.text.lower()


async def test_a_step_from_the_settings_is_asked_though_it_is_known(talk: Talk) -> None:
    await talk.say("tank holds 45 L")
    await talk.say("/settings")
    assert "45 L" in talk.text
    await talk.press("Tank")
    await talk.say("60 litres")
    assert choices(await talk.journal()).tank_volume_l == 60


async def test_a_crop_that_is_not_known_is_not_dropped_in_silence(talk: Talk) -> None:
    await talk.say("/settings")
    await talk.press("Growing")
    await talk.say("basil, dragonfruit")
    assert not [e for e in await talk.journal() if isinstance(e.fact, Growing)]
    assert "I know only crops by name" in talk.text


async def test_group_talk_is_no_answer_to_the_set_up(talk: Talk) -> None:
    from bot.assistant.exchange import Heard

    group = talk.elsewhere("flat", private=False)
    await group.say("/start")
    await group.hear(Heard(group.chat, group.person, "9", group.clock(), "dinner at home", addressed=False))
    assert not [e for e in await group.journal() if isinstance(e.fact, Setting)]
    assert group.letters == []


def test_steps_know_a_product_only_once_it_is_there() -> None:
    step = next(s for s in STEPS if s.name == "ph_down")
    chosen = choices([])
    assert not step.is_known(chosen)
    assert step.parse("phosphoric acid 10%", chosen) == (
        Product(role="ph_down", reagent="phosphoric acid", percent_w_w=10),
    )
