"""Sentences in which a newcomer tells of the tank: kept as the set-up's answers are, or the form is said."""

from __future__ import annotations

import pytest

from bot.assistant.exchange import Heard
from domain.facts import Growing, Product
from domain.household import choices
from tests.assistant.talk import Talk


@pytest.mark.parametrize(
    ("text", "crops"),
    [
        ("growing lettuce and basil", [("lettuce", None), ("basil", None)]),
        ("we grow 4 lettuce and 2 basil", [("lettuce", 4), ("basil", 2)]),
        ("I'm growing rocket, 3 cherry tomatoes", [("arugula", None), ("cherry tomato", 3)]),
        ("We’re growing basil!", [("basil", None)]),
    ],
)
async def test_what_grows(talk: Talk, text: str, crops: list[tuple[str, int | None]]) -> None:
    await talk.say(text)
    facts = [entry.fact for entry in await talk.journal()]
    assert [(fact.crop, fact.count) for fact in facts if isinstance(fact, Growing)] == crops
    assert talk.text.startswith("Noted: ")


@pytest.mark.parametrize(
    ("text", "product"),
    [
        (
            "ph down is 10% phosphoric acid",
            Product(role="ph_down", reagent="phosphoric acid", percent_w_w=10),
        ),
        ("our ph down says citric acid 50 %", Product(role="ph_down", reagent="citric acid", percent_w_w=50)),
        ("my ph up is KOH 1 N", Product(role="ph_up", reagent="potassium hydroxide", normal_eq_l=1)),
        ("our nutrient is 2.5 ml per litre", Product(role="nutrient", dose_per_litre=2.5, dose_unit="ml")),
    ],
)
async def test_a_bottle(talk: Talk, text: str, product: Product) -> None:
    await talk.say(text)
    (entry,) = await talk.journal()
    assert isinstance(entry.fact, Product)
    assert entry.fact.as_json() == {**product.as_json(), "when": entry.fact.as_json()["when"]}
    assert entry.author == "Mina"


async def test_where_they_live(talk: Talk) -> None:
    await talk.say("I live in Lisbon")
    assert choices(await talk.journal()).zone_name == "Europe/Lisbon"


async def test_it_is_undone_and_edited_like_any_other_message(talk: Talk) -> None:
    await talk.say("growing lettuce and basil", message="9")
    await talk.edit("9", "growing basil")
    assert [entry.fact.crop for entry in await talk.journal() if isinstance(entry.fact, Growing)] == ["basil"]
    await talk.say("undo")
    assert await talk.journal() == []


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("growing triffids", "I know only crops by name and number"),
        ("growing basil and triffids", "I know only crops by name and number"),
        ("our nutrient is the blue one", "I look for a dose"),
        ("ph down is the green bottle", "I look for the acid and its strength"),
        ("ph up is 10% phosphoric acid", "pH up is a base, never an acid"),
        ("ph down is 10% potassium hydroxide", "pH down is an acid, never a base"),
        ("we live in Nowhere", "I know no single zone"),
    ],
)
async def test_nothing_is_guessed_and_the_form_is_said(talk: Talk, text: str, form: str) -> None:
    await talk.say(text)
    assert await talk.journal() == []
    assert form in talk.prose


@pytest.mark.parametrize(
    "text",
    [
        "are you growing basil?",
        "growing up is hard, isn't it?",
        "the cat is asleep",
        "acid is dangerous stuff?",
    ],
)
async def test_talk_is_none(talk: Talk, text: str) -> None:
    await talk.say(text)
    assert await talk.journal() == []
    assert "I look for" not in talk.text


@pytest.mark.parametrize(
    ("text", "addressed", "kept", "answered"),
    [
        ("growing lettuce and basil", True, 2, True),
        ("growing lettuce and basil", False, 2, True),
        ("ph down is 10% phosphoric acid", False, 1, True),
        ("tap water KH 5", False, 1, True),
        ("growing triffids", True, 0, True),
        ("growing triffids", False, 0, False),
        ("the acid is in the shed", False, 0, False),
    ],
)
async def test_in_a_group_what_is_exact_counts_and_talk_is_met_with_silence(
    talk: Talk, text: str, addressed: bool, kept: int, answered: bool
) -> None:
    group = talk.elsewhere("flat", private=False)
    await group.hear(_unaddressed(group, text, addressed=addressed))
    assert len(await group.journal()) == kept
    assert bool(group.letters) == answered


async def test_in_a_group_a_role_is_given_to_a_member_and_to_nobody_else(talk: Talk) -> None:
    group = talk.elsewhere("flat", private=False)
    await group.say("ph 5.9")
    await group.someone("Maud", "8").say("ph 6.0")
    await group.hear(_unaddressed(group, "make Maud keeper"))
    assert "Maud" in group.text
    assert "keeper" in group.text
    await group.hear(_unaddressed(group, "make dad keeper"))
    assert group.letters == []


def _unaddressed(group: Talk, text: str, *, addressed: bool = False) -> Heard:
    group.count += 1
    return Heard(
        chat=group.chat,
        person=group.person,
        message=str(group.count),
        said_at=group.clock(),
        text=text,
        addressed=addressed,
    )


async def test_during_the_set_up_another_answer_is_kept_and_the_question_stays(talk: Talk) -> None:
    await talk.say("/start")
    await talk.say("kitchen tower")
    await talk.say("growing basil")
    await talk.say("45 L")
    chosen = choices(await talk.journal())
    assert [growing.crop for growing in chosen.growing] == ["basil"]
    assert chosen.tank_volume_l == 45
