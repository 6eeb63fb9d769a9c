"""Several tanks in one household: a message names one, or is about the one that its chat is about."""

from __future__ import annotations

import pytest

from bot.assistant.household_replies import Refused, TanksShown
from bot.assistant.replies import DueShown, Hint, Logged, RemindersShown
from domain.facts import Chore, Reading, Setting, TopUp, WaterChange
from tests.assistant.talk import Talk


@pytest.fixture
async def home(talk: Talk) -> Talk:
    """What was said before the second tank was named is about the first."""
    await talk.say("set time zone Europe/Lisbon")
    await talk.say("tank holds 45 L")
    await talk.say("changed the water")
    await talk.say("tanks: kitchen, balcony")
    return talk


async def volume(talk: Talk, tank: str) -> float | None:
    scene = (await talk.say(f"/tank {tank}")).scene
    async with talk.store.read() as tx:
        chat = await tx.households.chat_by_id(scene.chat.id)
    assert chat is not None
    assert chat.tank == tank
    return (await talk.say("/due")).scene.choices.tank_volume_l


async def test_each_tank_has_its_own_size_and_readings(home: Talk) -> None:
    await home.say("balcony tank holds 20 L")
    assert await volume(home, "kitchen") == 45
    assert await volume(home, "balcony") == 20
    await home.say("/tank kitchen")
    await home.say("ph 5.9 ec 1.4")
    outcome = await home.say("balcony ph 7.2 ec 1.2")
    assert home.text.splitlines()[0] == "balcony"
    (reply,) = (r for r in outcome.replies if isinstance(r, Logged))
    assert reply.verdicts[0].value == 7.2
    assert outcome.scene.tank.ph is not None
    assert outcome.scene.tank.ph.value == 7.2
    kitchen = (await home.say("ph 5.8")).scene
    assert kitchen.tank.ph is not None
    assert kitchen.tank.ph.value == 5.8
    assert [e.fact.tank for e in await home.journal() if isinstance(e.fact, Reading)] == [
        None,
        "balcony",
        None,
    ]


async def test_the_chat_s_current_tank_is_meant_where_none_is_named(home: Talk) -> None:
    await home.say("use the balcony tank")
    assert "balcony (here)" in home.text
    await home.say("topped up 4 L")
    await home.say("kitchen: topped up 2 L")
    tops = [e.fact.tank for e in await home.journal() if isinstance(e.fact, TopUp)]
    assert tops == ["balcony", "kitchen"]
    (shown,) = (await home.say("/tank")).replies
    assert shown == TanksShown(tanks=("kitchen", "balcony"), current="balcony")
    await home.press("kitchen")
    assert "kitchen (here)" in home.text
    assert (await home.say("/tank cellar")).replies == (Hint(code="no_such_tank", about="cellar"),)


async def test_each_tank_has_its_own_dates_and_what_is_the_household_s_comes_once(home: Talk) -> None:
    await home.say("remind us tomorrow at 6pm to buy seed")
    await home.say("balcony: changed the water")
    home.clock.advance(days=5)
    await home.say("balcony: changed the water")
    (reply,) = (await home.say("/due all")).replies
    assert isinstance(reply, DueShown)
    changes = {item.text: item.due_at for item in reply.dues if item.task == "water_change"}
    assert set(changes) == {"change the water (kitchen)", "change the water (balcony)"}
    assert changes["change the water (balcony)"] > changes["change the water (kitchen)"]
    assert len([item for item in reply.dues if item.task == "own"]) == 1


async def test_done_and_off_are_about_the_tank_of_the_reminder(home: Talk) -> None:
    await home.say("balcony: rinsed the filter")
    (reply,) = (await home.say("/reminders")).replies
    assert isinstance(reply, RemindersShown)
    wanted = next(item for item in reply.dues if item.text == "rinse the filter (balcony)")
    of = f"{wanted.reminder}:{int(wanted.planned_at.timestamp())}"
    home.clock.advance(days=14)
    await home.press("", data=f"v1:done:{of}")
    chores = [e.fact.tank for e in await home.journal() if isinstance(e.fact, Chore)]
    assert chores == ["balcony", "balcony"]
    await home.say("/reminders")
    again = next(i for i in (await home.say("/reminders")).replies[0].dues if "filter" in i.text)  # type: ignore[union-attr]
    await home.press("", press="p9", data=f"v1:off:{again.reminder}:{int(again.planned_at.timestamp())}")
    settings = [e.fact for e in await home.journal() if isinstance(e.fact, Setting)]
    assert settings[-1].tank == "balcony"


async def test_with_one_tank_nothing_is_named(talk: Talk) -> None:
    await talk.say("changed the water")
    outcome = await talk.say("ph 5.9 ec 1.4")
    assert outcome.scene.tank_name is None
    assert not talk.text.startswith("\n")
    assert [e.fact.tank for e in await talk.journal() if isinstance(e.fact, WaterChange)] == [None]
    (shown,) = (await talk.say("/tank")).replies
    assert shown == TanksShown(tanks=(), current=None)


@pytest.mark.parametrize(
    "text", ["tanks: kitchen", "tanks: kitchen, kitchen", "tanks: 45, 20", "tanks: a" * 60]
)
async def test_what_names_no_two_tanks_changes_nothing(talk: Talk, text: str) -> None:
    await talk.say(text)
    assert (await talk.say("/tank")).scene.tanks == ()


async def test_an_onlooker_names_no_tanks(talk: Talk) -> None:
    await talk.say("ph 6")
    ben = talk.someone("Ben", "8")
    await ben.say("ph 6.1")
    await talk.say("make Ben onlooker")
    outcome = await ben.say("tanks: kitchen, balcony")
    assert isinstance(outcome.replies[0], Refused)
    assert outcome.scene.tanks == ()


@pytest.mark.parametrize("text", ["garage ph 5.9", "in the garage: ph 5.9"])
async def test_a_word_that_may_name_a_tank_is_asked_about(home: Talk, text: str) -> None:
    await home.say(text)
    assert "garage" in home.text
    assert not [e for e in await home.journal() if isinstance(e.fact, Reading)]
    await home.press("balcony")
    assert [e.fact.tank for e in await home.journal() if isinstance(e.fact, Reading)] == ["balcony"]


@pytest.mark.parametrize(
    "text", ["ph 5.9", "today ph 5.9", "hello, ph 5.9", "this morning ph 5.9", "water ph 5.9"]
)
async def test_a_word_that_names_no_place_is_not(home: Talk, text: str) -> None:
    await home.say(text)
    assert [e.fact.tank for e in await home.journal() if isinstance(e.fact, Reading)] == [None]


async def test_a_tank_is_dropped_and_comes_back_with_its_log(home: Talk) -> None:
    await home.say("balcony tank holds 20 L")
    outcome = await home.say("tanks: kitchen")
    assert outcome.scene.tanks == ("kitchen",)
    assert outcome.scene.choices.tank_volume_l == 45
    await home.say("tanks: balcony, kitchen")
    assert await volume(home, "balcony") == 20
    assert await volume(home, "kitchen") == 45


async def test_the_first_tank_is_never_dropped(home: Talk) -> None:
    outcome = await home.say("tanks: balcony")
    assert outcome.scene.tanks == ("kitchen", "balcony")
    assert "kitchen is your first" in home.text
