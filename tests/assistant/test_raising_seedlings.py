"""A household that raises seedlings in a tray, and says so."""

from __future__ import annotations

from typing import Any

import pytest

from bot.assistant.garden_replies import SitesShown
from bot.assistant.replies import Hint
from domain.facts import Moved, Sow
from tests.assistant.talk import Talk


async def test_from_the_tray_to_the_tower(talk: Talk, clock: Any) -> None:
    outcome = await talk.say("sowed 6 basil in the seed tray")
    (sown,) = outcome.facts
    assert isinstance(sown, Sow)
    assert (sown.crop, sown.count, sown.sites) == ("basil", 6, ("seed tray",))
    assert "sowed 6 basil in the tray" in talk.text
    clock.advance(days=8)
    await talk.say("4 basil up in the tray")
    assert "The tray: 6 basil, day 8" in talk.text
    shown = (await talk.say("what's in the tray?")).replies[0]
    assert isinstance(shown, SitesShown)
    assert shown.nursery is not None
    assert shown.nursery.feed is not None
    assert [ready.planting.crop for ready in shown.ready] == ["basil"]
    assert "light 14–18 h a day" in talk.text
    clock.advance(days=15)
    told = await talk.tick()
    assert told
    assert "ove the basil in the tray to the tank" in talk.text
    outcome = await talk.say("moved the basil from the tray to B2")
    (moved,) = outcome.facts
    assert isinstance(moved, Moved)
    assert (moved.from_sites, moved.to_sites) == (("tray",), ("B2",))
    assert "moved basil from the tray to B2" in talk.text
    assert [(p.sites, p.count) for p in outcome.scene.plantings] == [(("B2",), 1), (("TRAY",), 5)]


@pytest.mark.parametrize(
    "said", ["tray ph 6.2 ec 0.6", "ph 6.2 ec 0.6 in the dome", "topped up the tray with 1 L"]
)
async def test_the_water_of_a_tray_is_not_the_tanks(talk: Talk, said: str) -> None:
    outcome = await talk.say(said)
    assert outcome.facts == ()
    assert [type(reply) for reply in outcome.replies] == [Hint]


async def test_a_packet_is_sown_out_and_said_so_once(talk: Talk) -> None:
    await talk.say("we have a packet of 12 basil seeds")
    await talk.say("we have 30 plugs")
    await talk.say("sowed 3 basil in A1")
    assert "left" not in talk.text
    await talk.say("sowed 4 basil in A2")
    assert "About 5 basil seeds left" in talk.text
    await talk.say("sowed 1 basil in A3")
    assert "left" not in talk.text


async def test_a_site_says_how_many_stand_there(talk: Talk) -> None:
    await talk.say("sowed 5 lettuce in A1-A2")
    await talk.say("what's in A1")
    assert talk.text.startswith("A1: 3 lettuce")
    await talk.say("what's in A2")
    assert talk.text.startswith("A2: 2 lettuce")
