"""Questions of ours never swallow what matters more, and an old button never undoes what was said since."""

from __future__ import annotations

import pytest

from bot.assistant.replies import Advice, Doubted, EmergencyAdvice, Hint, Logged
from bot.rendering.words import STEP_TITLES
from domain.facts import Product, Reading
from domain.household import choices
from tests.assistant.talk import Talk


async def at_step(talk: Talk, name: str) -> None:
    """Asks for one step of the set-up, as the settings do."""
    await talk.say("/settings")
    await talk.press(STEP_TITLES[name], press=f"to {name}")


async def test_an_emergency_is_heard_at_every_step_of_the_set_up(talk: Talk) -> None:
    for step, text in (
        ("units", "help us, got ph down in my eye"),
        ("meter", "just got acid in my eye"),
        ("ph_down", "drank phosphoric acid 10%"),
        ("ph_up", "got potassium hydroxide in my eye"),
    ):
        await at_step(talk, step)
        outcome = await talk.say(text)
        assert isinstance(outcome.replies[0], EmergencyAdvice), text
        assert not [e for e in await talk.journal() if isinstance(e.fact, Product)]
        await talk.say("stop")


async def test_a_reading_at_the_step_of_the_meter_is_a_reading(talk: Talk) -> None:
    await at_step(talk, "meter")
    await talk.say("ph 5.9 ppm 720 temp 19")
    assert [e.fact.kind for e in await talk.journal() if isinstance(e.fact, Reading)] == ["reading"]
    await talk.say("ppm 700")
    assert choices(await talk.journal()).ppm_scale == 700


async def test_a_bare_strength_is_no_tank_volume(talk: Talk) -> None:
    await at_step(talk, "volume")
    await talk.say("720")
    assert choices(await talk.journal()).tank_volume_l is None


async def test_skip_and_stop_can_be_typed(talk: Talk) -> None:
    await talk.say("/start")
    await talk.say("skip")
    assert "How much water" in talk.text
    await talk.say("stop")
    assert "That is all I need" in talk.text
    await talk.say("45 things to do")
    assert choices(await talk.journal()).tank_volume_l is None


async def test_an_edited_answer_of_the_set_up_is_an_answer_anew(talk: Talk) -> None:
    await talk.say("/start")
    await talk.say("kitchen tower", message="50")
    await talk.say("45", message="51")
    await talk.edit("50", "Kitchen Tower")
    await talk.edit("51", "46")
    chosen = choices(await talk.journal())
    assert (chosen.system_name, chosen.tank_volume_l) == ("Kitchen Tower", 46)


async def test_the_scale_given_after_a_dose_does_not_advise_the_dose_again(talk: Talk) -> None:
    await talk.say("ph 7.2 ppm 720")
    scale = next(
        b.data
        for letter in talk.letters
        for row in letter.buttons
        for b in row
        if b.label.endswith("500 scale")
    )
    talk.clock.advance(minutes=5)
    await talk.say("added 15 ml ph down")
    talk.clock.advance(minutes=1)
    await talk.press("", data=scale, press="x")
    assert "Add " not in talk.text
    assert choices(await talk.journal()).ppm_scale == 500


async def test_an_edit_after_a_dose_does_not_advise_the_dose_again(talk: Talk) -> None:
    await talk.say("ph 7.2 ec 1.4", message="5")
    talk.clock.advance(minutes=5)
    await talk.say("added 15 ml ph down")
    talk.clock.advance(minutes=1)
    outcome = await talk.edit("5", "ph 7.3 ec 1.4")
    reply = outcome.replies[0]
    assert isinstance(reply, Logged)
    assert reply.plan is not None
    assert reply.plan.outcome == "hold"


async def test_the_scale_keeps_a_correction_and_leaves_an_undone_reading_undone(talk: Talk) -> None:
    await talk.say("ph 6.9 ppm 700")
    letters = list(talk.letters)
    scale = next(
        b.data for letter in letters for row in letter.buttons for b in row if b.label == "Meter: 700 scale"
    )
    correct = next(
        b.data for letter in letters for row in letter.buttons for b in row if b.label == "Correct"
    )
    await talk.press("", data=correct, press="c")
    await talk.say("ph 6.2")
    await talk.press("", data=scale, press="s")
    (reading,) = [e.fact for e in await talk.journal() if isinstance(e.fact, Reading)]
    assert (reading.ph, reading.ppm, reading.ppm_scale, reading.ec_ms_cm) == (6.2, 700, 700, 1.0)


async def test_an_answer_does_not_bring_an_undone_message_back(talk: Talk) -> None:
    await talk.say("ph 59 ec 1.4")
    data = next(
        b.data for letter in talk.letters for row in letter.buttons for b in row if b.label == "ph 5.9"
    )
    await talk.say("undo")
    await talk.press("", data=data, press="x")
    assert await talk.journal() == []
    assert "changed since" in talk.text


async def test_two_unclear_values_are_completed_one_after_the_other(talk: Talk) -> None:
    await talk.say("ph 59 temp 199")
    keys = {b.label: b.data for letter in talk.letters for row in letter.buttons for b in row}
    await talk.press("", data=keys["ph 5.9"], press="a")
    temperature = next(data for label, data in keys.items() if label.startswith("temp"))
    await talk.press("", data=temperature, press="b")
    readings = [e.fact for e in await talk.journal() if isinstance(e.fact, Reading)]
    assert [r.ph for r in readings] == [5.9]
    assert readings[0].water_temp_c is not None


async def test_a_bare_number_corrects_the_value_it_is_nearest_to(talk: Talk) -> None:
    await talk.say("ph 6.9 ec 1.2 temp 20")
    await talk.press("Correct")
    await talk.say("6.1")
    (entry,) = await talk.journal()
    assert isinstance(entry.fact, Reading)
    assert (entry.fact.ph, entry.fact.ec_ms_cm, entry.fact.water_temp_c) == (6.1, 1.2, 20)


async def test_a_correction_takes_only_what_it_is_about(talk: Talk) -> None:
    await talk.say("ph 6.0 ec 1.4")
    await talk.press("Correct")
    await talk.say("added 5 ml ph down")
    assert [e.fact.kind for e in await talk.journal()] == ["reading", "dose"]
    outcome = await talk.say("got ph down in my eye, ph 6.1")
    assert isinstance(outcome.replies[0], EmergencyAdvice)


async def test_a_correction_ends_with_an_undo(talk: Talk) -> None:
    await talk.say("ph 6.9 ec 1.4")
    undo = next(b.data for row in talk.letters[0].buttons for b in row if b.label == "Undo")
    await talk.press("Correct")
    await talk.press("", data=undo, press="u")
    talk.clock.advance(minutes=20)
    await talk.say("ph 6.2")
    (entry,) = await talk.journal()
    assert isinstance(entry.fact, Reading)
    assert (entry.fact.ph, entry.fact.ec_ms_cm) == (6.2, None)


async def test_undo_in_an_edited_message_takes_nothing_back(talk: Talk) -> None:
    await talk.say("ph 6.1", message="5")
    await talk.say("added 3 ml ph down", message="6")
    outcome = await talk.edit("6", "undo")
    assert Hint(code="not_by_edit", about="undo") in outcome.replies
    assert [e.fact.kind for e in await talk.journal()][:1] == ["reading"]


async def test_first_aid_never_hides_in_an_old_message(talk: Talk) -> None:
    await talk.say("ph 6.1", message="5")
    await talk.edit("5", "got ph down in my eye")
    assert talk.letters[0].kind == "reply"


async def test_who_completes_a_message_does_not_become_its_author(talk: Talk) -> None:
    await talk.say("ph 59 ec 1.4")
    data = next(
        b.data for letter in talk.letters for row in letter.buttons for b in row if b.label == "ph 5.9"
    )
    other = talk.someone("Tomas", "8")
    await other.press("", data=data, press="x")
    assert {entry.author for entry in await talk.journal()} == {"Mina"}


async def test_an_edit_rewrites_the_answer_and_not_the_question_that_came_with_it(talk: Talk) -> None:
    await talk.say("ph 6.2 ppm 640", message="5")
    await talk.edit("5", "ph 6.7 ppm 640")
    (edited,) = [letter for letter in talk.letters if letter.kind == "edit"]
    async with talk.store.read() as tx:
        amended = await tx.outbox.letter(edited.amends)  # type: ignore[arg-type]
    assert amended is not None
    assert "pH 6.2" in amended["html"]


async def test_two_agreeing_readings_outweigh_a_wrong_first_one(talk: Talk) -> None:
    await talk.say("ec 0.3")
    talk.clock.advance(hours=12)
    first = await talk.say("ec 1.4")
    talk.clock.advance(hours=12)
    second = await talk.say("ec 1.5")
    assert isinstance(first.replies[0], Doubted)
    assert isinstance(second.replies[0], Logged)


async def test_a_temperature_alone_is_judged(talk: Talk) -> None:
    outcome = await talk.say("temp 30")
    reply = outcome.replies[0]
    assert isinstance(reply, Logged)
    assert [(v.what, v.place) for v in reply.verdicts] == [("water_temp_c", "high")]
    assert reply.plan is None


async def test_a_reading_in_band_just_after_a_dose_says_to_wait(talk: Talk) -> None:
    await talk.say("ph 7.0 ec 1.4")
    talk.clock.advance(minutes=5)
    await talk.say("added 15 ml ph down")
    talk.clock.advance(minutes=2)
    outcome = await talk.say("ph 6.2 ec 1.4")
    reply = outcome.replies[0]
    assert isinstance(reply, Logged)
    assert reply.plan is not None
    assert (reply.plan.outcome, reply.plan.reason) == ("hold", "await_retest")


async def test_the_other_way_is_told_from_the_values_that_were_asked_about(talk: Talk) -> None:
    await talk.say("ph 6.6 ec 1.4")
    await talk.say("ph down for 45 l from 5.2 to 6")
    assert "5.2" in talk.text
    assert "6.6" not in talk.text


@pytest.mark.parametrize(
    "asked", ["what if I top up 5 l", "what will 5 l top up do", "what will a top-up of 5 l do to ph and ec"]
)
async def test_what_a_top_up_would_do_is_foretold(talk: Talk, asked: str) -> None:
    await talk.say("tank holds 40 L")
    await talk.say("ph 6.0 ec 1.4")
    outcome = await talk.say(asked)
    reply = outcome.replies[0]
    assert isinstance(reply, Advice)
    assert reply.plan.reason == "what_if"
    step = reply.plan.steps[0]
    assert (step.action, step.first, step.unit) == ("top_up", 5.0, "l")


async def test_a_tank_with_fish_is_not_dosed_from_the_day_it_is_told(talk: Talk) -> None:
    await talk.say("we have a goldfish in the tank")
    outcome = await talk.say("ph 7.2 ec 1.4")
    reply = outcome.replies[0]
    assert isinstance(reply, Logged)
    assert reply.plan is not None
    assert (reply.plan.outcome, reply.plan.reason) == ("hold", "fish")
