"""What is said is kept once, answered, amended and taken back."""

from __future__ import annotations

from dataclasses import replace

from bot.assistant.replies import Doubted, EmergencyAdvice, Hint, Logged, Undone
from domain.facts import Dose, Emergency, Reading, Setting
from tests.assistant.talk import Talk


def labels(talk: Talk) -> set[str]:
    return {button.label for letter in talk.letters for row in letter.buttons for button in row}


async def test_first_message_of_a_new_household_may_be_a_reading(talk: Talk) -> None:
    outcome = await talk.say("ph 5.9 ppm 720 temp 19")
    (entry,) = await talk.journal()
    assert entry.fact == Reading(
        when=entry.fact.when, ph=5.9, ec_ms_cm=1.44, ppm=720, ppm_scale=500, water_temp_c=19
    )
    reply = outcome.replies[0]
    assert isinstance(reply, Logged)
    assert {v.what: v.place for v in reply.verdicts}["ph"] == "in"
    assert reply.assumed == ("tank_volume", "ppm_scale", "crops")
    (letter,) = talk.letters
    rows = [[b.label for b in row] for row in letter.buttons]
    assert rows == [["Meter: 500 scale", "Meter: 700 scale"], ["Why", "Undo", "Correct"]]
    assert len(talk.letters[0].html.splitlines()) <= 3


async def test_high_ph_brings_steps_and_cautions_within_seven_lines(talk: Talk) -> None:
    outcome = await talk.say("ph 7.4 ppm 720 temp 19")
    reply = outcome.replies[0]
    assert isinstance(reply, Logged)
    assert reply.plan is not None
    assert reply.plan.outcome == "steps"
    assert any(step.role == "ph_down" for step in reply.plan.steps)
    assert reply.plan.cautions
    assert len(talk.letters[0].html.splitlines()) <= 7
    assert talk.letters[0].details


async def test_same_message_again_changes_nothing_and_is_not_answered_twice(talk: Talk) -> None:
    await talk.say("ph 6.1", message="5")
    await talk.say("ph 6.1", message="5")
    assert len(await talk.journal()) == 1
    assert talk.letters == []


async def test_same_question_again_is_not_answered_twice(talk: Talk) -> None:
    await talk.say("how much adjuster for 40 litres", message="5")
    assert talk.letters
    await talk.say("how much adjuster for 40 litres", message="5")
    assert talk.letters == []


async def test_edit_supersedes_and_rewrites_the_confirmation(talk: Talk) -> None:
    await talk.say("ph 6.1", message="5")
    await talk.edit("5", "ph 6.4")
    (entry,) = await talk.journal()
    assert isinstance(entry.fact, Reading)
    assert entry.fact.ph == 6.4
    (letter,) = talk.letters
    assert letter.kind == "edit"
    assert letter.amends is not None


async def test_edit_to_the_same_text_does_nothing(talk: Talk) -> None:
    await talk.say("ph 6.1", message="5")
    await talk.edit("5", "ph 6.1")
    assert talk.letters == []


async def test_edit_to_talk_voids_what_was_said(talk: Talk) -> None:
    await talk.say("ph 6.1", message="5")
    await talk.edit("5", "hello there")
    assert await talk.journal() == []
    assert "Taken back" in talk.text


async def test_edit_before_its_original_wins(talk: Talk) -> None:
    await talk.edit("5", "ph 6.4")
    await talk.say("ph 6.1", message="5")
    (entry,) = await talk.journal()
    assert isinstance(entry.fact, Reading)
    assert entry.fact.ph == 6.4


async def test_a_command_that_appears_by_editing_is_not_run(talk: Talk) -> None:
    await talk.say("ph 6.1", message="5")
    heard = await talk.edit("5", "undo")
    assert len(heard.facts) <= 1
    await talk.hear(
        replace(
            _last(talk, "6"),
            text="/undo",
            command="undo",
            edited_at=talk.clock(),
        )
    )
    assert "does not run from an edited message" in talk.text


def _last(talk: Talk, message: str):  # type: ignore[no-untyped-def]
    from bot.assistant.exchange import Heard

    return Heard(talk.chat, talk.person, message, talk.clock(), "")


async def test_undo_takes_back_the_last_message_and_then_the_one_before(talk: Talk) -> None:
    await talk.say("ph 6.1")
    await talk.say("added 5 ml ph down")
    outcome = await talk.say("undo")
    (undone,) = outcome.replies
    assert isinstance(undone, Undone)
    assert isinstance(undone.facts[0], Dose)
    assert [e.fact.kind for e in await talk.journal()] == ["reading"]
    await talk.say("undo")
    assert await talk.journal() == []
    outcome = await talk.say("undo")
    assert outcome.replies == (Hint(code="nothing_to_undo"),)


async def test_undo_takes_back_only_what_the_sender_said(talk: Talk) -> None:
    other = talk.someone("Tomas", "8")
    await talk.say("ph 6.1")
    await other.say("added 5 ml ph down")
    await talk.say("undo")
    assert [e.fact.kind for e in await talk.journal()] == ["dose"]


async def test_undo_button_twice_is_one_undo(talk: Talk) -> None:
    await talk.say("ph 6.1")
    data = next(b.data for row in talk.letters[0].buttons for b in row if b.label == "Undo")
    first = await talk.press("Undo", press="a", data=data)
    assert await talk.journal() == []
    second = await talk.press("Undo", press="b", data=data)
    assert first.text == "Taken back."
    assert second.text == "Already taken back."
    assert talk.letters == []


async def test_correct_replaces_one_value_and_keeps_the_others(talk: Talk) -> None:
    await talk.say("ph 6.9 ppm 720")
    await talk.press("Correct")
    await talk.say("ph 6.2")
    (entry,) = await talk.journal()
    assert isinstance(entry.fact, Reading)
    assert (entry.fact.ph, entry.fact.ppm) == (6.2, 720)


async def test_several_things_in_one_message_are_kept_in_order(talk: Talk) -> None:
    await talk.say("ph 6.4, added 3 ml down, topped up 2 L")
    assert [e.fact.kind for e in await talk.journal()] == ["reading", "dose", "top_up"]


async def test_talk_in_a_group_is_met_with_silence(talk: Talk) -> None:
    group = talk.elsewhere("flat", private=False)
    from bot.assistant.exchange import Heard

    await group.hear(
        Heard(group.chat, group.person, "1", group.clock(), "lol 5 more minutes", addressed=False)
    )
    assert group.letters == []
    assert await group.journal() == []


async def test_text_that_cannot_be_read_gets_one_line_with_what_to_type(talk: Talk) -> None:
    await talk.say("what a lovely evening")
    assert talk.text.startswith("I could not read that. Try:")


async def test_emergency_is_answered_first_and_in_any_chat(talk: Talk) -> None:
    group = talk.elsewhere("flat", private=False)
    outcome = await group.say("got ph down in my eye! ph 6.9")
    assert isinstance(outcome.replies[0], EmergencyAdvice)
    assert isinstance(outcome.facts[0], Emergency)
    first = group.letters[0].html
    assert "15" in first
    assert "poison centre" in first


async def test_setting_takes_effect_and_can_be_undone(talk: Talk) -> None:
    await talk.say("tank holds 45 L")
    (entry,) = await talk.journal()
    assert entry.fact == Setting(name="tank_volume_l", value="45", when=entry.fact.when)
    outcome = await talk.say("ph 5.9 ec 1.4")
    assert "tank_volume" not in outcome.replies[0].assumed  # type: ignore[attr-defined]
    await talk.say("undo")
    await talk.say("undo")
    outcome = await talk.say("ph 5.9 ec 1.4")
    assert "tank_volume" in outcome.replies[0].assumed  # type: ignore[attr-defined]


async def test_bare_numbers_of_a_new_household_are_asked_about_once(talk: Talk) -> None:
    await talk.say("5.9 / 720 / 19")
    assert await talk.journal() == []
    assert labels(talk) == {"ppm", "µS/cm"}
    await talk.press("ppm")
    readings = [e.fact for e in await talk.journal() if isinstance(e.fact, Reading)]
    assert [(r.ph, r.ppm, r.water_temp_c) for r in readings] == [(5.9, 720, 19)]
    await talk.say("6.0 / 700 / 19")
    assert labels(talk) == {"Why", "Undo", "Correct"}


async def test_unclear_number_is_asked_about_and_completed_once_by_anybody(talk: Talk) -> None:
    await talk.say("ph 59")
    assert "ph 5.9" in labels(talk)
    other = talk.someone("Tomas", "8")
    other.letters = talk.letters
    data = next(b.data for row in talk.letters[0].buttons for b in row if b.label == "ph 5.9")
    await other.press("", data=data, press="x")
    readings = [e.fact for e in await talk.journal() if isinstance(e.fact, Reading)]
    assert [r.ph for r in readings] == [5.9]
    again = await talk.press("", data=data, press="y")
    assert "answered already" in again.text
    assert len(await talk.journal()) == 1


async def test_households_are_apart(talk: Talk) -> None:
    await talk.say("ph 6.1")
    data = next(b.data for row in talk.letters[0].buttons for b in row if b.label == "Undo")
    stranger = talk.elsewhere("other")
    await stranger.say("/journal")
    assert "6.1" not in stranger.text
    answer = await stranger.press("", data=data)
    assert "old" in answer.text
    assert len(await talk.journal()) == 1


async def test_why_command_shows_the_working_of_the_last_reply(talk: Talk) -> None:
    await talk.say("ph 7.4 ec 1.4")
    details = talk.letters[0].details
    await talk.say("/why")
    assert talk.letters[0].html == details


async def test_a_reading_far_from_what_the_tank_should_show_waits_to_be_confirmed(talk: Talk) -> None:
    await talk.say("ph 6.0 ec 1.5")
    talk.clock.advance(hours=3)
    outcome = await talk.say("ph 3.9")
    (reply,) = outcome.replies
    assert isinstance(reply, Doubted)
    assert reply.doubt.what == "ph"
    assert abs(reply.doubt.expected - 6.0) < 0.5
    assert [entry.doubted for entry in await talk.journal()] == [False, True]
    status = await talk.say("status")
    assert status.replies[0].reading.ph == 6.0  # type: ignore[union-attr]


async def test_a_confirmed_reading_counts_and_is_confirmed_once(talk: Talk) -> None:
    await talk.say("ph 6.0 ec 1.5")
    talk.clock.advance(hours=3)
    await talk.say("ph 3.9")
    data = next(b.data for row in talk.letters[0].buttons for b in row if b.label == "It is right")
    await talk.press("", data=data, press="a")
    assert [entry.doubted for entry in await talk.journal()] == [False, False]
    assert "pH 3.9 is low" in talk.text
    again = await talk.press("", data=data, press="b")
    assert again.text == "This was settled already."
    assert len(await talk.journal()) == 2


async def test_a_strength_of_more_than_double_waits_to_be_confirmed_unless_feed_went_in(talk: Talk) -> None:
    await talk.say("ec 1.2")
    outcome = await talk.say("ec 3.1")
    assert isinstance(outcome.replies[0], Doubted)
    await talk.say("undo")
    await talk.say("added 100 ml nutrient")
    outcome = await talk.say("ec 3.1")
    assert isinstance(outcome.replies[0], Logged)


async def test_the_ppm_scale_is_asked_once_and_the_reading_is_read_again_with_it(talk: Talk) -> None:
    await talk.say("ph 5.9 ppm 700")
    assert {"Meter: 500 scale", "Meter: 700 scale"} <= labels(talk)
    assert "1413" in (talk.letters[0].details or "")
    await talk.press("Meter: 700 scale")
    readings = [e.fact for e in await talk.journal() if isinstance(e.fact, Reading)]
    assert [(r.ppm_scale, r.ec_ms_cm) for r in readings] == [(700, 1.0)]
    outcome = await talk.say("ph 5.9 ppm 700")
    assert "ppm_scale" not in outcome.replies[0].assumed  # type: ignore[union-attr]
    assert "Meter: 500 scale" not in labels(talk)


async def test_a_household_that_does_not_answer_is_not_asked_about_its_scale_again(talk: Talk) -> None:
    await talk.say("ph 5.9 ppm 700")
    outcome = await talk.say("ph 5.9 ppm 690")
    assert "Meter: 500 scale" not in labels(talk)
    assert "ppm_scale" in outcome.replies[0].assumed  # type: ignore[union-attr]


async def test_a_plain_log_in_a_group_is_marked_and_answered_in_words_where_asked(
    talk: Talk,
) -> None:
    group = talk.elsewhere("flat", private=False)
    for text in ("tank holds 45 L", "we use metric"):
        await group.say(text)
    await group.say("rinsed the filter")
    assert [letter.kind for letter in group.letters] == ["reaction"]
    await group.say("replies all")
    await group.say("rinsed the filter")
    assert [letter.kind for letter in group.letters] == ["reply"]
    await group.say("set replies needed")
    await group.say("rinsed the filter")
    assert [letter.kind for letter in group.letters] == ["reaction"]


async def test_what_was_swallowed_is_answered_with_the_call_first(talk: Talk) -> None:
    await talk.say("the toddler drank some ph down")
    assert talk.text.splitlines()[0].startswith("Call at once")
    assert "poison centre" in talk.text.splitlines()[1]


async def test_the_poison_centre_of_the_households_country_is_named(talk: Talk) -> None:
    await talk.say("set time zone America/Chicago")
    await talk.say("got ph down in my eye")
    assert "1-800-222-1222" in talk.text.splitlines()[1]
