"""The household goes away: what falls due is handed to whoever takes over, with what to expect on return."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from bot.assistant.assistant import Assistant
from bot.assistant.due_replies import AwayPlanned
from bot.assistant.exchange import ChatRef, PersonRef
from bot.assistant.household_replies import InviteMade
from storage.engine import Store
from tests.assistant.talk import Talk

AWAY = "away 18-24 may, Ana takes over"


@pytest.fixture
async def home(talk: Talk) -> Talk:
    """Monday 4 May 2026: a tank of 45 L that loses about 2 L a day."""
    for said in ("set time zone Europe/Lisbon", "tank holds 45 L", "minimum level 20 L", "changed the water"):
        await talk.say(said)
    for _ in range(4):
        talk.clock.advance(days=2)
        await talk.say("topped up 4 L")
        await talk.say("ec 1.4 temp 20")
    return talk


async def planned(talk: Talk, text: str = AWAY) -> AwayPlanned:
    found = [reply for reply in (await talk.say(text)).replies if isinstance(reply, AwayPlanned)]
    assert len(found) == 1
    return found[0]


async def test_the_list_holds_what_falls_due_and_how_often(home: Talk) -> None:
    plan = await planned(home)
    assert (plan.keeper, plan.start.isoformat(), plan.end.isoformat()) == ("Ana", "2026-05-18", "2026-05-24")
    ahead = {each.due.task: each for each in plan.ahead}
    assert ahead["water_change"].times == 1
    assert ahead["test_water"].times == 1
    assert all(each.first_at >= datetime(2026, 5, 17, 23, tzinfo=UTC) for each in plan.ahead)
    assert [each.first_at for each in plan.ahead] == sorted(each.first_at for each in plan.ahead)
    assert "For Ana, Mon 18 May to Sun 24 May:" in home.text


async def test_what_the_tank_should_show_on_return_is_a_range(home: Talk) -> None:
    """2 L a day from 45 L on 12 May to 24 May: about 21 L, by arithmetic; the interval is around it."""
    plan = await planned(home)
    assert plan.on_return.level_l is not None
    low, middle, high = plan.on_return.level_l
    assert middle == pytest.approx(45 - 2 * 12, abs=1)
    assert low < middle < high
    assert plan.on_return.ec_ms_cm is not None
    assert plan.on_return.ec_ms_cm[0] <= 1.4 <= plan.on_return.ec_ms_cm[2]
    assert "If nobody tops up" in " ".join(home.text.split())
    assert plan.on_return.least_at is not None
    assert "The pump may run dry" in " ".join(home.text.split())


async def test_nothing_is_foretold_of_an_unknown_tank(talk: Talk) -> None:
    plan = await planned(talk)
    assert (plan.on_return.level_l, plan.on_return.ec_ms_cm) == (None, None)
    assert "foretell the tank" in " ".join(talk.text.split())


async def test_an_absence_without_an_end_or_in_the_past_has_no_plan(home: Talk) -> None:
    outcome = await home.say("away from tomorrow, Ana takes over")
    assert not [reply for reply in outcome.replies if isinstance(reply, AwayPlanned)]


async def test_a_member_gets_the_list_and_the_reminders_in_their_own_chat(
    home: Talk, store: Store, clock: Any
) -> None:
    (made,) = (await home.say("/invite")).replies
    assert isinstance(made, InviteMade)
    chat = ChatRef("terminal", "31", private=True, title="Ana")
    ana = Talk(store, clock, Assistant(store, clock), chat, PersonRef("31", "Ana"), count=900)
    await ana.say(f"/start {made.token}")
    plan = await planned(home)
    assert plan.address == "31"
    await ana.collect()
    assert "Mon 18 May to Sun 24 May" in ana.text
    assert 'href="tg://user?id=31"' in ana.letters[0].html
    clock.now = datetime(2026, 5, 18, 17, 1, tzinfo=UTC)
    await home.tick()
    assert home.text == ""
    await ana.collect()
    assert ana.text.startswith("For Ana, who has taken over:")
    clock.now = datetime(2026, 5, 26, 17, 1, tzinfo=UTC)
    await home.tick()
    assert home.text != ""


async def test_in_a_group_the_keeper_is_called_by_name(home: Talk) -> None:
    (made,) = (await home.say("/invite")).replies
    assert isinstance(made, InviteMade)
    group = home.elsewhere("-100", private=False)
    await group.say(f"/start {made.token}")
    await group.someone("Ana", "31").say("hello")
    await group.say(AWAY)
    home.clock.now = datetime(2026, 5, 18, 17, 1, tzinfo=UTC)
    await home.assistant.tick(home.clock())
    await group.collect()
    assert '<a href="tg://user?id=31">Ana</a>' in group.letters[0].html


async def test_undoing_the_absence_takes_it_back(home: Talk) -> None:
    await planned(home)
    await home.say("undo")
    home.clock.now = datetime(2026, 5, 18, 17, 1, tzinfo=UTC)
    await home.tick()
    assert "taken over" not in home.text


async def test_the_calendar_of_what_is_due_is_a_file(home: Talk) -> None:
    """Its content is read back by a calendar parser in the tests of the archive and of the file."""
    await home.say("/due calendar")
    document = home.letters[0].document
    assert document is not None
    assert (document.kind, document.name) == ("calendar", "due.ics")
    own = home.elsewhere("7")  # the chat that a platform knows by the person's own number
    await own.say("ph 6")
    await own.say("/due")
    assert (await own.press("Calendar")).text == "Sent to you in private."
    assert own.letters[0].document is not None
    group = home.elsewhere("-5", private=False)
    await group.say("ph 6")
    await group.say("/due calendar")
    assert group.letters[0].document is None
