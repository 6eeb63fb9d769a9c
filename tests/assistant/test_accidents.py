"""After an accident: the first orders stay first, and what was reckoned for this tank stands beside them."""

from __future__ import annotations

import pytest

from bot.assistant.replies import Advice, EmergencyAdvice, Logged
from bot.assistant.scene import Outcome
from domain.safety import EMERGENCY
from tests.assistant.talk import Talk


def advice_of(outcome: Outcome) -> EmergencyAdvice:
    (reply,) = (reply for reply in outcome.replies if isinstance(reply, EmergencyAdvice))
    return reply


def lines_of(talk: Talk) -> list[str]:
    return talk.text.splitlines()


async def test_ten_times_the_dose_names_the_litres_to_swap_and_when_to_test(talk: Talk) -> None:
    await talk.say("tank holds 40 L")
    await talk.say("ph 6.4 ppm 720 temp 19")
    outcome = await talk.say("put in 50 ml ph down instead of 5")
    rescue = advice_of(outcome).rescue
    assert rescue is not None
    assert not rescue.is_blind
    assert rescue.swap is not None
    assert rescue.swap.litres > 0
    lines = lines_of(talk)
    assert lines[0] == EMERGENCY["overdose"].lines[0]
    assert len(lines) <= 7
    assert any(line.startswith("Drain") and "plain water" in line for line in lines)
    assert not any("drain half" in line for line in lines), "the rule of thumb gave way"


async def test_the_reading_after_it_is_believed_and_brings_water_not_the_other_bottle(talk: Talk) -> None:
    await talk.say("tank holds 40 L")
    await talk.say("ph 6.4 ec 1.4")
    await talk.say("put in 50 ml ph down instead of 5")
    talk.clock.advance(minutes=10)
    outcome = await talk.say("ph 4.4")
    (reply,) = outcome.replies
    assert isinstance(reply, Logged), "a slip explains it: nothing to doubt"
    assert reply.plan is not None
    assert reply.plan.reason == "overdose"
    assert [step.action for step in reply.plan.steps] == ["drain_refill", "read"]
    assert not any(step.role for step in reply.plan.steps)
    assert len(lines_of(talk)) <= 7
    asked = (await talk.say("how much ph up?")).replies[0]
    assert isinstance(asked, Advice)
    assert asked.plan.reason == "overdose"
    await talk.say("changed the water")
    talk.clock.advance(minutes=40)
    mended = (await talk.say("ph 7.2")).replies[0]
    assert isinstance(mended, Logged)
    assert mended.plan is not None
    assert mended.plan.reason != "overdose"


async def test_a_slip_of_unknown_size_is_reckoned_from_the_reading_after_it(talk: Talk) -> None:
    await talk.say("tank holds 40 L")
    await talk.say("ph 6.4 ec 1.4")
    await talk.say("added too much ph down")
    talk.clock.advance(minutes=10)
    (reply,) = (await talk.say("ph 4.4")).replies
    assert isinstance(reply, Logged)
    assert reply.plan is not None
    assert reply.plan.reason == "overdose"
    assert reply.plan.steps[0].action == "drain_refill"


@pytest.mark.parametrize("other", ["", "ph up is 10% potassium hydroxide"])
async def test_far_too_much_is_thinned_with_water_though_nobody_called_it_a_slip(
    talk: Talk, other: str
) -> None:
    for said in ("tank holds 40 L", "ph down is 10% phosphoric acid", other, "ph 6.0 ec 1.4 temp 20"):
        await talk.say(said or "hello")
    await talk.say("added 50 ml ph down")
    for minutes, shown in ((10, "ph 3.5"), (120, "ph 2.9"), (600, "ph 4.2"), (2400, "ph 5.2")):
        talk.clock.advance(minutes=minutes)
        reply = next(r for r in (await talk.say(shown)).replies if isinstance(r, Logged))
        assert reply.plan is not None
        assert reply.plan.reason == "overdose", shown
        assert [step.action for step in reply.plan.steps] == ["drain_refill", "read"]
        assert not any(step.role for step in reply.plan.steps)
    asked = (await talk.say("how much ph up?")).replies[0]
    assert isinstance(asked, Advice)
    assert asked.plan.reason == "overdose"


async def test_a_small_dose_that_left_the_water_harmful_is_thinned_until_it_was_changed(talk: Talk) -> None:
    for said in ("tank holds 40 L", "ph 5.3 ec 1.4", "added 20 ml ph up"):
        await talk.say(said)
    talk.clock.advance(minutes=30)
    (reply,) = (await talk.say("ph 8.2")).replies
    assert isinstance(reply, Logged)
    assert reply.plan is not None
    assert reply.plan.reason == "overdose"
    await talk.say("changed half the water")
    talk.clock.advance(minutes=30)
    (reply,) = (await talk.say("ph 7.4")).replies
    assert isinstance(reply, Logged)
    assert reply.plan is not None
    assert reply.plan.reason != "overdose"


async def test_a_slip_that_did_no_harm_leaves_the_usual_answer(talk: Talk) -> None:
    await talk.say("ph 6.4 ec 1.4")
    await talk.say("added too much ph down")
    talk.clock.advance(minutes=40)
    (reply,) = (await talk.say("ph 5.9")).replies
    assert isinstance(reply, Logged)
    assert reply.plan is not None
    assert reply.plan.outcome == "nothing"


async def test_a_dose_logged_before_it_was_seen_as_a_slip_counts_once(talk: Talk) -> None:
    await talk.say("ph 6.4 ec 1.4")
    await talk.say("added 50 ml ph down")
    outcome = await talk.say("put in 50 ml ph down instead of 5")
    assert [dose.amount for dose in outcome.scene.tank.doses_since(None, "ph_down")] == [50.0]


async def test_without_a_reading_the_rule_of_thumb_stands(talk: Talk) -> None:
    outcome = await talk.say("put in 50 ml ph down instead of 5")
    rescue = advice_of(outcome).rescue
    assert rescue is not None
    assert rescue.is_blind
    assert lines_of(talk) == list(EMERGENCY["overdose"].lines)


@pytest.mark.parametrize(
    ("cry", "name", "system"),
    [
        ("pump stopped", "kitchen tower", "tower"),
        ("power is out", "the NFT gutters", "film"),
        ("the tank is leaking", "DWC bucket", "deep_water"),
        ("pump stopped", "Greta", None),
    ],
)
async def test_roots_are_given_their_time_by_the_kind_of_system(
    talk: Talk, cry: str, name: str, system: str | None
) -> None:
    await talk.say("/start")
    await talk.say(name)
    outcome = await talk.say(cry)
    reply = advice_of(outcome)
    assert reply.roots is not None
    assert reply.roots.system == system
    lines = lines_of(talk)
    assert lines[0] == EMERGENCY[reply.emergency.about].lines[0]
    assert len(lines) <= 7
    assert any("common practice" in line for line in lines)
    assert all(len(line) <= 46 for line in lines)


async def test_heat_halves_the_hours(talk: Talk) -> None:
    await talk.say("ph 6 temp 22")
    cool = advice_of(await talk.say("pump stopped")).roots
    await talk.say("ph 6 temp 30")
    hot = advice_of(await talk.say("pump stopped")).roots
    assert cool is not None
    assert hot is not None
    assert (hot.low_h, hot.high_h) == (cool.low_h / 2, cool.high_h / 2)


async def test_a_person_is_never_given_reckonings(talk: Talk) -> None:
    await talk.say("ph 6.4 ppm 720")
    reply = advice_of(await talk.say("got ph down in my eye"))
    assert (reply.rescue, reply.roots) == (None, None)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("kitchen tower", "They may be dry by now: wet them at once."),
        ("DWC bucket", "They may lack air by now: stir at once."),
    ],
)
async def test_roots_that_have_run_out_of_time_are_not_given_a_time_in_the_past(
    talk: Talk, name: str, said: str
) -> None:
    await talk.say("/start")
    await talk.say(name)
    reply = advice_of(await talk.say("pump stopped yesterday 6 am"))
    assert reply.since is not None
    assert reply.asked_at is not None
    assert reply.roots is not None
    assert (reply.asked_at - reply.since).total_seconds() > 3600 * reply.roots.high_h
    assert said in lines_of(talk)
    assert not any("suffer" in line for line in lines_of(talk))
