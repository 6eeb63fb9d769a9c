"""Two people at one tank: who added what is told, and a dose that both tell of counts once."""

from __future__ import annotations

from typing import Any

import pytest

from bot.assistant.assistant import Assistant
from bot.assistant.exchange import ChatRef, PersonRef
from bot.assistant.household_replies import InviteMade
from bot.assistant.replies import Advice, Asked, Logged
from domain.facts import Dose
from storage.engine import Store
from tests.assistant.talk import Talk


def alone(store: Store, clock: Any, name: str, number: str) -> Talk:
    chat = ChatRef("terminal", number, private=True, title=name)
    return Talk(store, clock, Assistant(store, clock), chat, PersonRef(number, name), count=int(number) * 100)


@pytest.fixture
async def ana(store: Store, clock: Any) -> Talk:
    """The keeper, in her own chat."""
    talk = alone(store, clock, "Ana", "1")
    for said in ("set time zone Europe/Lisbon", "tank holds 45 L", "ph down is phosphoric acid 10 %"):
        await talk.say(said)
    return talk


@pytest.fixture
async def ben(ana: Talk, store: Store, clock: Any) -> Talk:
    """Another member, in his own chat."""
    (made,) = (await ana.say("/invite")).replies
    assert isinstance(made, InviteMade)
    talk = alone(store, clock, "Ben", "2")
    await talk.say(f"/start {made.token}")
    return talk


async def doses(talk: Talk) -> list[Dose]:
    return [entry.fact for entry in await talk.journal() if isinstance(entry.fact, Dose)]


# --- what others added -------------------------------------------------------------------------------------


async def test_who_asks_after_a_dose_is_told_who_added_what_and_when_to_test(ana: Talk, ben: Talk) -> None:
    await ana.say("ph 7.2 ec 1.4 temp 20")
    ana.clock.advance(minutes=1)
    await ana.say("added 2 ml ph down")
    ana.clock.advance(minutes=4)
    (answer,) = (await ben.say("how much ph down?")).replies
    assert isinstance(answer, Advice)
    assert [(each.who, each.what, each.amount) for each in answer.others] == [("Ana", "ph_down", 2)]
    assert ben.prose.startswith("Ana added 2 ml pH down at 20:06; test at 20:36.")
    assert answer.plan.outcome == "hold"
    (own,) = (await ana.say("how much ph down?")).replies
    assert isinstance(own, Advice)
    assert own.others == ()


async def test_after_a_test_nobody_is_told_any_more(ana: Talk, ben: Talk) -> None:
    await ana.say("added 2 ml ph down")
    ana.clock.advance(minutes=31)
    await ana.say("ph 6.4 ec 1.4 temp 20")
    (answer,) = (await ben.say("how much ph down?")).replies
    assert isinstance(answer, Advice)
    assert answer.others == ()


async def test_alone_nobody_is_asked_who_doses(ana: Talk) -> None:
    await ana.say("ph 7.2 ec 1.4 temp 20")
    assert "I'm dosing" not in [b.label for row in ana.letters[0].buttons for b in row]


# --- taking a step -----------------------------------------------------------------------------------------


async def test_a_step_that_is_taken_is_given_to_nobody_else(ana: Talk, ben: Talk) -> None:
    await ana.say("ph 7.2 ec 1.4 temp 20")
    assert (await ana.press("I'm dosing")).text == "Noted: I tell whoever asks. Log it when it is in."
    (answer,) = (await ben.say("how much ph down?")).replies
    assert isinstance(answer, Advice)
    assert answer.plan.reason == "under_way"
    assert not answer.plan.steps
    assert "Add nothing now: Ana is adding pH down (began at 20:05). Test again at 20:35." in ben.prose
    await ana.say("how much ph down?")
    assert "ml" in ana.text


async def test_the_second_who_presses_is_told_who_was_first(ana: Talk, ben: Talk) -> None:
    await ana.say("ph 7.2 ec 1.4 temp 20")
    data = next(b.data for row in ana.letters[0].buttons for b in row if b.label == "I'm dosing")
    await ana.press("", data=data)
    answer = await ben.press("", data=data)
    assert (answer.text, answer.alert) == ("Ana is at it since 20:05. Add nothing now.", True)
    again = await ana.press("", press="p2", data=data)
    assert not again.alert


async def test_the_log_of_the_dose_ends_it_and_so_does_time(ana: Talk, ben: Talk) -> None:
    await ana.say("ph 7.2 ec 1.4 temp 20")
    await ana.press("I'm dosing")
    await ana.say("added 2 ml ph down")
    (answer,) = (await ben.say("how much ph down?")).replies
    assert isinstance(answer, Advice)
    assert answer.plan.reason != "under_way"
    await ana.say("i'm dosing")
    assert ana.text.startswith("You are dosing since 20:05.")
    ana.clock.advance(minutes=31)
    await ben.say("ph 7.2")
    (answer,) = (await ben.say("how much ph down?")).replies
    assert isinstance(answer, Advice)
    assert answer.plan.reason != "under_way"


async def test_in_a_group_everybody_reads_who_is_at_it(ana: Talk) -> None:
    group = ana.elsewhere("-100", private=False)
    (made,) = (await ana.say("/invite")).replies
    assert isinstance(made, InviteMade)
    await group.say(f"/start {made.token}")
    ben = group.someone("Ben", "2")
    await ben.say("ph 7.2 ec 1.4 temp 20")
    await ben.press("I'm dosing")
    assert ben.prose == "Ben is adding pH down since 20:05. Log it when it is in; test at 20:35."


# --- the same dose told of twice ---------------------------------------------------------------------------


async def asked_of(talk: Talk, text: str) -> Asked:
    asked = [reply for reply in (await talk.say(text)).replies if isinstance(reply, Asked)]
    assert len(asked) == 1
    return asked[0]


async def test_the_same_dose_by_two_people_is_asked_about_and_counts_once(ana: Talk, ben: Talk) -> None:
    await ana.say("added 5 ml ph down")
    ana.clock.advance(minutes=3)
    asked = await asked_of(ben, "put in 5 ml ph down")
    assert (asked.topic, asked.who) == ("twice", "Ana")
    assert ben.prose == "Ana logged 5 ml at 20:05 already. One dose or two?"
    assert len(await doses(ana)) == 1
    await ben.press("One dose")
    assert ben.prose == "One dose, then: it stands as it was first logged."
    assert len(await doses(ana)) == 1
    assert (await ben.press("", press="p2", data="v1:pick:1:1")).text != ""
    assert len(await doses(ana)) == 1


async def test_two_doses_are_two_once_somebody_says_so(ana: Talk, ben: Talk) -> None:
    await ana.say("added 5 ml ph down")
    ana.clock.advance(minutes=3)
    await asked_of(ben, "added 5 ml ph down, topped up 2 L")
    data = next(b.data for x in ben.letters for row in x.buttons for b in row if b.label == "Two doses")
    assert (await ana.press("", data=data)).text.startswith("This button is old")  # asked in Ben's chat
    await ben.press("", data=data)
    journal = await ana.journal()
    assert [e.author for e in journal if isinstance(e.fact, Dose)] == ["Ana", "Ben"]
    assert len([e for e in journal if e.fact.kind == "top_up"]) == 1
    await ben.press("", press="p2", data=data)
    assert len(await doses(ana)) == 2


@pytest.mark.parametrize("text", ["added 8 ml ph down", "added 5 ml ph up", "added 5 ml nutrient"])
async def test_what_is_plainly_another_dose_is_not_asked_about(ana: Talk, ben: Talk, text: str) -> None:
    await ana.say("added 5 ml ph down")
    ana.clock.advance(minutes=3)
    replies = (await ben.say(text)).replies
    assert not any(isinstance(reply, Asked) and reply.topic == "twice" for reply in replies)
    assert len(await doses(ana)) == 2


async def test_a_test_before_it_has_mixed_neither_hides_who_dosed_nor_counts_it_twice(
    ana: Talk, ben: Talk
) -> None:
    await ana.say("added 2 ml ph down")
    ana.clock.advance(minutes=2)
    await ben.say("ph 7.2 ec 1.4 temp 20")
    assert ben.prose.startswith("Ana added 2 ml pH down at 20:05; test at 20:35.")
    await asked_of(ben, "added 2 ml ph down")
    assert len(await doses(ana)) == 1


async def test_one_s_own_second_dose_and_a_late_one_are_not_asked_about(ana: Talk, ben: Talk) -> None:
    await ana.say("added 5 ml ph down")
    ana.clock.advance(minutes=3)
    await ana.say("added 5 ml ph down")
    ana.clock.advance(minutes=31)
    (reply,) = (await ben.say("added 5 ml ph down")).replies
    assert isinstance(reply, Logged)
    assert len(await doses(ana)) == 3


async def test_advice_after_the_doubtful_dose_reckons_with_one(ana: Talk, ben: Talk) -> None:
    await ana.say("ph 7.2 ec 1.4 temp 20")
    await ana.say("added 2 ml ph down")
    await asked_of(ben, "added 2 ml ph down")
    (answer,) = (await ben.say("how much ph down?")).replies
    assert isinstance(answer, Advice)
    assert answer.plan.hold is not None
    assert answer.plan.hold.data["amount"] == 2


async def test_the_answer_of_another_household_changes_nothing(
    ana: Talk, ben: Talk, store: Store, clock: Any
) -> None:
    await ana.say("added 5 ml ph down")
    await asked_of(ben, "added 5 ml ph down")
    data = next(b.data for row in ben.letters[-1].buttons for b in row if b.label == "Two doses")
    stranger = alone(store, clock, "Cato", "3")
    await stranger.say("ph 6")
    await stranger.press("", data=data)
    assert len(await doses(ana)) == 1


# --- the same top-up, sowing or emergence told of twice ----------------------------------------------------


async def kinds(talk: Talk, kind: str) -> int:
    return sum(entry.fact.kind == kind for entry in await talk.journal())


async def test_the_same_top_up_by_two_people_is_asked_about(ana: Talk, ben: Talk) -> None:
    await ana.say("topped up 4 L")
    ana.clock.advance(minutes=3)
    await asked_of(ben, "topped up 4 L")
    assert ben.prose == "Ana logged 4 L at 20:05 already. One top-up or two?"
    assert await kinds(ana, "top_up") == 1
    await ben.press("Two top-ups")
    assert await kinds(ana, "top_up") == 2
    await ana.say("topped up 9 L")
    assert await kinds(ana, "top_up") == 3


async def test_one_top_up_stays_one(ana: Talk, ben: Talk) -> None:
    await ana.say("topped up 4 L")
    await asked_of(ben, "topped up 4 L")
    await ben.press("One top-up")
    assert ben.prose == "One top-up, then: it stands as it was first logged."
    assert await kinds(ana, "top_up") == 1


async def test_the_same_sowing_within_minutes_is_asked_about_whoever_tells(ana: Talk, ben: Talk) -> None:
    await ana.say("sowed 8 basil in the tray")
    ana.clock.advance(minutes=3)
    for talk in (ana, ben):
        await asked_of(talk, "sowed 8 basil in the tray")
        assert "One sowing or two?" in talk.prose
    assert await kinds(ana, "sow") == 1
    await ana.say("sowed 8 lettuce in the tray")
    await ana.say("sowed 4 basil in A1-A4")
    ana.clock.advance(minutes=40)
    await ana.say("sowed 8 basil in the tray")
    assert await kinds(ana, "sow") == 4


async def test_what_is_up_is_not_told_up_twice(ana: Talk) -> None:
    await ana.say("sowed basil in A2")
    ana.clock.advance(days=6)
    await ana.say("A2 is up")
    for _ in range(2):
        await ana.say("A2 is up")
        assert ana.prose == "A2 was up already by my log; nothing was kept twice."
    assert await kinds(ana, "emerged") == 1
