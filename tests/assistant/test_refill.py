"""After a change of water: the fresh fill is mixed in order, feed first, pH last, on a reading."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bot.assistant.replies import Advice, Logged
from bot.assistant.scene import Outcome
from domain.dosing import Plan
from tests.assistant.talk import Talk

FEED = "nutrient is A and B 2.5 ml per litre"


def logged(outcome: Outcome) -> Logged:
    reply = outcome.replies[0]
    assert isinstance(reply, Logged)
    return reply


async def fed_household(talk: Talk) -> None:
    await talk.say("tank holds 40 L")
    await talk.say("/settings")
    await talk.press("Nutrient")
    await talk.say("A and B 2.5 ml per litre")


async def test_a_changed_tank_is_told_feed_then_a_wait_then_ph(talk: Talk) -> None:
    await fed_household(talk)
    reply = logged(await talk.say("changed the water"))
    assert reply.plan is not None
    assert [step.action for step in reply.plan.steps] == ["add", "wait", "read"]
    feed = reply.plan.steps[0]
    assert (feed.role, feed.parts) == ("nutrient", ("A", "B"))
    # The label allows 2.5 ml of each a litre.
    assert feed.first is not None
    assert 0 < feed.first <= 100
    assert all(step.role not in ("ph_down", "ph_up") for step in reply.plan.steps)
    lines = talk.text.splitlines()
    assert len(lines) <= 7
    assert any("pH comes last" in text for text in lines)


async def test_half_a_change_is_mixed_for_half_the_water(talk: Talk) -> None:
    await fed_household(talk)
    whole = logged(await talk.say("changed the water")).plan
    half = logged(await talk.say("changed half the water")).plan
    assert whole is not None
    assert half is not None
    assert (half.steps[0].first or 0) == pytest.approx((whole.steps[0].first or 0) / 2, rel=0.1)


@pytest.mark.parametrize(
    "text", ["changed the water with full strength feed", "changed the water, added 100 ml nutrient"]
)
async def test_a_fill_that_was_fed_is_not_fed_again(talk: Talk, text: str) -> None:
    await fed_household(talk)
    assert logged(await talk.say(text)).plan is None


async def test_a_change_of_yesterday_or_one_read_since_needs_no_mixing(talk: Talk) -> None:
    await fed_household(talk)
    assert logged(await talk.say("changed the water yesterday")).plan is None
    plan = logged(await talk.say("changed the water, ph 6.0 ec 1.4")).plan
    assert plan is not None
    assert plan.reason != "mix"


async def test_a_tank_from_which_all_was_picked_is_no_planted_one(talk: Talk) -> None:
    assert (await talk.say("ph 6.0")).scene.tank.planted, "nobody told what grows: the gentler caps"
    assert (await talk.say("sowed basil in A1-A3", at=talk.clock() - timedelta(days=40))).scene.tank.planted
    assert not (await talk.say("pulled A1-A3")).scene.tank.planted


async def test_a_reading_of_the_water_that_is_gone_answers_no_question(talk: Talk) -> None:
    for told in (
        "tank holds 40 L",
        "nutrient is 2.5 ml per litre",
        "ph 6.9 ec 1.2",
        "changed the water",
    ):
        await talk.say(told)
        talk.clock.advance(minutes=20)
    for asked in ("how much nutrient", "how much nutrient for 40 L"):
        plan = await plan_asked(talk, asked)
        assert (plan.outcome, plan.reason) == ("steps", "mix")
    plan = await plan_asked(talk, "how much ph down")
    assert (plan.outcome, plan.reason) == ("ask", "no_ph_reading")
    assert "6.9" not in talk.text

    await talk.say("added 60 ml nutrient")
    for asked in ("how much nutrient", "how much ph down"):
        assert (await plan_asked(talk, asked)).outcome in ("hold", "ask")
    talk.clock.advance(minutes=40)
    await talk.say("ph 6.9 ec 1.5")
    assert (await plan_asked(talk, "how much nutrient")).reason == "in_band"
    assert (await plan_asked(talk, "how much ph down")).outcome == "steps"


async def test_feed_since_the_reading_waits_for_a_test_before_adjuster(talk: Talk) -> None:
    for told in ("tank holds 40 L", "ph 6.9 ec 0.4", "added 60 ml nutrient"):
        await talk.say(told)
        talk.clock.advance(minutes=5)
    plan = await plan_asked(talk, "how much ph down")
    assert (plan.outcome, plan.reason) == ("hold", "await_retest")


async def plan_asked(talk: Talk, question: str) -> Plan:
    (reply,) = (await talk.say(question)).replies
    assert isinstance(reply, Advice)
    return reply.plan
