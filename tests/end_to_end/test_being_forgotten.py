"""To be forgotten, in the chat: a person of three, carried out by the heartbeat a day later."""

from __future__ import annotations

from datetime import timedelta

from bot_at_home import Home, eventually

from demo.room.platform import Sent


def newest(home: Home, words: str) -> Sent:
    return next(sent for sent in reversed(home.platform.sent) if words in sent.text)


async def test_one_of_three_goes_and_the_others_keep_their_record(home: Home) -> None:
    """Case 75."""
    platform = home.platform
    ana, ben, cleo = (platform.person(number, name) for number, name in ((5, "Ana"), (6, "Ben"), (7, "Cleo")))
    group = platform.group("Balcony", [ana, ben, cleo])
    await home.start()
    platform.say(group, ana, "note: gossip on B2")
    platform.say(group, ben, "ph 6.1")
    platform.say(group, cleo, "topped up 3 L")
    await home.until_facts(group, 3)
    platform.say(group, ana, "/forget@lab_bot")
    await platform.until(lambda: any("What shall I forget" in sent.text for sent in platform.sent))
    platform.press(newest(home, "What shall I forget"), "Forget me", ana)
    await platform.until(lambda: any("Really delete" in sent.text for sent in platform.sent))
    sure = newest(home, "Really delete")
    platform.press(sure, "Yes, delete", ana)
    platform.press(sure, "Yes, delete", ana)
    await platform.until(
        lambda: any("will be deleted on" in " ".join(sent.text.split()) for sent in platform.sent)
    )
    assert len({sent.message_id for sent in platform.sent if "delete" in sent.text}) == 1
    home.clock.jump(timedelta(days=1, minutes=1))

    async def nameless() -> bool:
        return [entry.author for entry in await home.entries(group)] == ["someone", "Ben", "Cleo"]

    await eventually(nameless, what="Ana is gone")
    kinds = [fact.kind for fact in await home.facts(group)]
    assert kinds == ["observation", "reading", "top_up"]
