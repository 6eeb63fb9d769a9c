"""A household asks why a value moves, and is told of what has become plain."""

from __future__ import annotations

from typing import Any

import pytest

from bot.assistant.chart_replies import WhyShown
from bot.assistant.replies import Logged
from tests.assistant.talk import Talk


def one_line(talk: Talk) -> str:
    return " ".join(talk.text.split())


async def days(talk: Talk, clock: Any, *texts: str) -> Any:
    """One message a day; gives what the last one came to."""
    outcome = None
    for text in texts:
        clock.advance(days=1)
        outcome = await talk.say(text)
    return outcome


DRINKING = ("ec 1.4 level 44 L", "ec 1.5 level 42 L", "ec 1.6 level 39 L")


async def test_why_is_my_ec_climbing(talk: Talk, clock: Any) -> None:
    await talk.say("tank holds 45 L")
    await days(talk, clock, *DRINKING)
    (reply,) = (await talk.say("why is my ec climbing")).replies
    assert isinstance(reply, WhyShown)
    assert reply.findings[0].pattern.name == "ec_drinking"
    assert talk.text.startswith("EC 1.4 to 1.6 in 2 days.")
    assert "Do first: top up with plain water to the line." in one_line(talk)
    assert len(talk.text.splitlines()) <= 7
    (moved,) = [move for move in reply.findings[0].evidence.moves if move.what == "level_l"]
    assert (moved.before.value, moved.after.value) == (44.0, 39.0)
    (letter,) = talk.letters
    assert letter.details is not None
    assert "Source: " in letter.details


async def test_what_has_become_plain_is_told_once_in_one_line(talk: Talk, clock: Any) -> None:
    await talk.say("tank holds 45 L")
    (reply,) = (await days(talk, clock, *DRINKING)).replies
    assert isinstance(reply, Logged)
    assert reply.pattern is not None
    assert one_line(talk).count("Plants drink more than they eat now.") == 1
    assert len(talk.text.splitlines()) <= 7
    (again,) = (await days(talk, clock, "ec 1.7 level 37 L")).replies
    assert isinstance(again, Logged)
    assert again.pattern is None


async def test_a_jump_is_the_testers_before_it_is_a_dose(talk: Talk, clock: Any) -> None:
    await talk.say("tank holds 45 L")
    await talk.say("phosphoric acid 10%")
    await days(talk, clock, "ph 6.0", "ph 6.0", "ph 6.9")
    said = one_line(talk)
    assert said.index("check the tester first") < said.index("pH down")
    assert len(talk.text.splitlines()) <= 7


@pytest.mark.parametrize(
    ("text", "begins"),
    [
        ("why is my ec falling", "By your log strength is not falling"),
        ("why is the ph so high", "pH hardly moved: "),
    ],
)
async def test_the_log_may_say_otherwise(talk: Talk, clock: Any, text: str, begins: str) -> None:
    await days(talk, clock, "ph 6.0 ec 1.4", "ph 6.0 ec 1.45", "ph 6.0 ec 1.5")
    (reply,) = (await talk.say(text)).replies
    assert isinstance(reply, WhyShown)
    assert one_line(talk).startswith(begins)


async def test_why_with_no_log_to_look_into_is_answered_as_before(talk: Talk) -> None:
    await talk.say("why is my ec climbing")
    assert talk.letters
    assert "Send it" in talk.text


async def test_one_reading_is_enough_for_warm_water(talk: Talk) -> None:
    await talk.say("water 25")
    (reply,) = (await talk.say("why is the water so warm")).replies
    assert isinstance(reply, WhyShown)
    assert "25 °C" in talk.text
    assert "at most 8.3 mg/L of oxygen" in one_line(talk)


async def test_a_reply_about_strength_opens_with_a_capital(talk: Talk) -> None:
    for hours in (0, 5, 5):
        talk.clock.advance(hours=hours)
        await talk.say("ph 6.0 ec 1.4 temp 20")
    await talk.say("why is the ec so high")
    assert talk.text.startswith("Strength hardly moved")
