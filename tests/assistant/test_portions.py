"""A dose is never taken for ten times what went in, and far too much is said at once."""

from __future__ import annotations

from bot.assistant.replies import Logged
from domain.facts import Dose
from tests.assistant.talk import Talk


async def advised_mix(talk: Talk) -> float:
    """A first reading whose test portion is so small that it is mixed; gives the ml of the mix."""
    outcome = await talk.say("ph 6.9 ec 1.4 temp 20")
    reply = outcome.replies[0]
    assert isinstance(reply, Logged)
    assert reply.plan is not None
    step = next(step for step in reply.plan.steps if step.action == "test_portion")
    assert step.dilution == 10
    assert step.first is not None
    return step.first


def doses(entries: object) -> list[float]:
    return [e.fact.amount for e in entries if isinstance(e.fact, Dose)]  # type: ignore[attr-defined]


async def test_the_advised_amount_is_asked_about_and_kept_as_what_really_went_in(talk: Talk) -> None:
    first = await advised_mix(talk)
    talk.clock.advance(minutes=2)
    await talk.say(f"added {first:g} ml ph down")
    assert doses(await talk.journal()) == []
    assert "of the mix" in talk.text
    await talk.press(f"{first:g} ml of the mix")
    (amount,) = doses(await talk.journal())
    assert abs(amount - first / 10) < 0.001


async def test_neat_is_kept_as_typed_and_called_far_too_much_only_where_it_is(talk: Talk) -> None:
    first = await advised_mix(talk)
    talk.clock.advance(minutes=2)
    await talk.say(f"added {first:g} ml ph down")
    await talk.press(f"{first:g} ml neat")
    assert doses(await talk.journal()) == [first]


async def test_far_too_much_is_said_at_once(talk: Talk) -> None:
    await advised_mix(talk)
    talk.clock.advance(minutes=2)
    outcome = await talk.say("added 30 ml ph down")
    (reply,) = outcome.replies
    assert isinstance(reply, Logged)
    assert reply.times_advised is not None
    assert reply.times_advised > 50
    assert "times the portion I gave" in talk.text


async def test_what_else_the_message_says_is_kept_meanwhile(talk: Talk) -> None:
    first = await advised_mix(talk)
    talk.clock.advance(minutes=2)
    await talk.say(f"topped up 2 L, added {first:g} ml ph down")
    assert [e.fact.kind for e in await talk.journal()] == ["reading", "top_up"]
    await talk.press(f"{first:g} ml of the mix")
    assert [e.fact.kind for e in await talk.journal()] == ["reading", "top_up", "dose"]


async def test_more_than_the_cap_is_called_so_whatever_was_advised(talk: Talk) -> None:
    await talk.say("ph 6.0 ec 1.4")
    outcome = await talk.say("added 500 ml ph up")
    (reply,) = outcome.replies
    assert isinstance(reply, Logged)
    assert reply.times_advised is not None
    assert "1 ml per litre" in talk.text
