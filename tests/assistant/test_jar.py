"""The jar test as a walk: a press, an answer, a real dose; the tank's own readings stay what they were."""

from __future__ import annotations

import pytest

from bot.assistant.jar import Shown, shown_in
from bot.assistant.replies import Hint, Logged
from domain.facts import JarTest, Reading
from tests.assistant.talk import Talk


async def high_tank(talk: Talk) -> None:
    await talk.say("tank holds 40 L")
    await talk.say("ph 6.9 ec 1.4 temp 20")


async def test_a_press_and_an_answer_turn_the_test_portion_into_a_dose(talk: Talk) -> None:
    await high_tank(talk)
    await talk.press("Jar test")
    assert "1 litre of tank water" in talk.text
    outcome = await talk.say("8 ml to 6.0")
    reply = outcome.replies[0]
    assert isinstance(reply, Logged)
    (jar,) = (entry.fact for entry in await talk.journal() if isinstance(entry.fact, JarTest))
    assert (jar.role, jar.ph_from, jar.ph_to, jar.ml_per_l) == ("ph_down", 6.9, 6.0, 0.8)
    assert reply.plan is not None
    portion = next(step for step in reply.plan.steps if step.role == "ph_down")
    assert portion.action == "add"
    assert portion.low is not None
    assert portion.high is not None
    # 0.8 ml moved a litre by 0.9: forty litres need some 32 ml with the CO2 kept in, more once it leaves.
    assert portion.low < 45
    assert portion.high > 32
    assert len(talk.text.splitlines()) <= 7


async def test_the_jars_ph_is_no_reading_of_the_tank(talk: Talk) -> None:
    await high_tank(talk)
    await talk.press("Jar test")
    again = await talk.say("ph 6.0")
    assert again.replies == (Hint(code="jar_again"),)
    await talk.say("8 ml to 6.0")
    readings = [entry.fact for entry in await talk.journal() if isinstance(entry.fact, Reading)]
    assert [reading.ph for reading in readings] == [6.9]
    assert (await talk.say("/status")).scene.tank.ph.value == 6.9  # type: ignore[union-attr]


async def test_what_says_more_speaks_for_itself(talk: Talk) -> None:
    await high_tank(talk)
    await talk.press("Jar test")
    await talk.say("added 15 ml ph down")
    await talk.say("ph 6.4 ec 1.5")
    kinds = [entry.fact.kind for entry in await talk.journal()]
    assert kinds == ["setting", "reading", "dose", "reading"]
    await talk.say("8 ml from 6.9 to 6.0")
    assert [entry.fact.kind for entry in await talk.journal()][-1] == "jar_test"


async def test_the_walk_ends_by_its_answer_by_stop_and_by_time(talk: Talk) -> None:
    await high_tank(talk)
    await talk.press("Jar test", press="p1", data="v1:jar:ph_down")
    await talk.say("8 ml to 6.0")
    assert isinstance((await talk.say("ph 6.0")).replies[0], Logged)
    await talk.press("Jar test", press="p2", data="v1:jar:ph_down")
    assert (await talk.say("stop")).replies == (Hint(code="jar_stopped"),)
    assert isinstance((await talk.say("ph 6.1")).replies[0], Logged)
    await talk.press("Jar test", press="p3", data="v1:jar:ph_down")
    talk.clock.advance(hours=3)
    assert isinstance((await talk.say("ph 6.2")).replies[0], Logged)


async def test_somebody_else_in_the_chat_is_not_answering(talk: Talk) -> None:
    await high_tank(talk)
    await talk.press("Jar test")
    other = talk.someone("Ben", "8")
    assert isinstance((await other.say("ph 6.3")).replies[0], Logged)


async def test_a_jar_that_went_the_wrong_way_is_asked_again(talk: Talk) -> None:
    await high_tank(talk)
    await talk.press("Jar test")
    assert (await talk.say("3 ml to 7.4")).replies == (Hint(code="jar_wrong_way"),)
    assert not any(isinstance(entry.fact, JarTest) for entry in await talk.journal())


async def test_a_tank_read_long_ago_says_nothing_of_where_the_jar_began(talk: Talk) -> None:
    await high_tank(talk)
    talk.clock.advance(hours=20)
    await talk.press("Jar test", data="v1:jar:ph_down")
    assert (await talk.say("8 ml to 6.0")).replies == (Hint(code="jar_no_start"),)
    assert isinstance((await talk.say("8 ml from 7.0 to 6.0")).replies[0], Logged)


async def test_an_edit_or_a_correction_changes_the_jar_and_undo_takes_it_back(talk: Talk) -> None:
    await high_tank(talk)
    await talk.press("Jar test")
    await talk.say("8 ml to 6.0", message="50")
    await talk.edit("50", "6 ml to 6.1")
    (jar,) = (entry.fact for entry in await talk.journal() if isinstance(entry.fact, JarTest))
    assert (jar.ph_to, jar.ml_per_l, jar.ph_from) == (6.1, 0.6, 6.9)
    talk.clock.advance(minutes=2)
    await talk.press("Correct", press="p2")
    await talk.say("7 ml to 6.1")
    (jar,) = (entry.fact for entry in await talk.journal() if isinstance(entry.fact, JarTest))
    assert jar.ml_per_l == pytest.approx(0.7)
    await talk.press("Undo", press="p3")
    assert not any(isinstance(entry.fact, JarTest) for entry in await talk.journal())


async def test_a_bottle_without_a_label_is_never_dosed_from(talk: Talk) -> None:
    await talk.say("tank holds 40 L")
    await talk.say("/settings")
    await talk.press("pH down")
    await talk.say("no label")
    await talk.say("ph 6.9 ec 1.4")
    await talk.press("Jar test", data="v1:jar:ph_down")
    reply = (await talk.say("8 ml to 6.0")).replies[0]
    assert isinstance(reply, Logged)
    assert reply.plan is not None
    assert not any(step.action in ("add", "test_portion") for step in reply.plan.steps)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("3 ml to 6.0", Shown(3.0, 6.0)),
        ("3ml 6.0", Shown(3.0, 6.0)),
        ("3 to 6.0", Shown(3.0, 6.0)),
        ("3,5 ml, 6,0", Shown(3.5, 6.0)),
        ("ph 6.0, jar test 3 ml", Shown(3.0, 6.0)),
        ("6.0 after 3 ml", Shown(3.0, 6.0)),
        ("3 ml from 6.9 to 6.0", Shown(3.0, 6.0, 6.9)),
        ("from ph 6.9 to ph 6.0 with 3 millilitres", Shown(3.0, 6.0, 6.9)),
        ("6.9 to 6.0 with 3 ml", Shown(3.0, 6.0, 6.9)),
        ("40 drops, ph 6", Shown(2.0, 6.0)),
        ("6.9 to 6.0", None),
        ("ph 6.0", None),
        ("3 ml", None),
        ("added 3 ml ph down, ph 6.0", None),
        ("3 ml to 60", None),
        ("0 ml to 6.0", None),
        ("ok", None),
        ("", None),
    ],
)
def test_answers_of_a_jar(text: str, shown: Shown | None) -> None:
    assert shown_in(text) == shown
