"""When the assistant itself breaks."""

from __future__ import annotations

from typing import Any

import pytest
from bot_at_home import Home, crowd, someone

from bot.assistant.assistant import Assistant
from bot.telegram.workers import APOLOGY
from demo.room.platform import Platform


def broken(monkeypatch: pytest.MonkeyPatch, *, times: int, text: str) -> list[str]:
    """Lets the assistant break the first ``times`` times it hears ``text``; gives the list of its tries."""
    tries: list[str] = []
    hear = Assistant.hear

    async def hear_or_break(self: Assistant, heard: Any, *rest: Any) -> object:
        if heard.text == text:
            tries.append(heard.text)
            if len(tries) <= times:
                raise RuntimeError(text)
        return await hear(self, heard, *rest)

    monkeypatch.setattr(Assistant, "hear", hear_or_break)
    return tries


async def test_breaks_once_and_then_works(
    home: Home, platform: Platform, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Case 10: handler raises once, then works: one retry from the inbox; 1 entry; no apology."""
    ana, chat = someone(platform)
    tries = broken(monkeypatch, times=1, text="ph 6.1")
    await home.start()
    platform.say(chat, ana, "ph 6.1")
    await platform.wait_for_sent(1)
    await platform.settled()
    assert len(tries) == 2
    assert len(await home.facts(chat)) == 1
    assert len(platform.sent) == 1


async def test_one_that_breaks_takes_no_other_with_it(
    home: Home, platform: Platform, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Messages of several households share a transaction. One breaks in it, and once more when it is tried
    alone: the others are kept and answered once all the same."""
    chats = crowd(platform, 5)
    tries = broken(monkeypatch, times=2, text="ph 5.02")
    await home.start()
    await platform.wait_for_sent(5)
    await platform.settled()
    assert len(tries) == 3
    assert [[fact.ph for fact in await home.facts(chat)] for chat in chats] == [
        [5 + n / 100] for n in range(5)
    ]
    assert [len(platform.sent_to(chat)) for chat in chats] == [1] * 5


async def test_breaks_for_good(home: Home, platform: Platform, monkeypatch: pytest.MonkeyPatch) -> None:
    """A message that always breaks is set aside with one apology; what follows it is handled, in order."""
    ana, chat = someone(platform)
    await home.start()
    platform.say(chat, ana, "ph 6.0")
    await platform.wait_for_sent(1)
    tries = broken(monkeypatch, times=100, text="ph 6.1")
    platform.say(chat, ana, "ph 6.1")
    platform.say(chat, ana, "ph 6.2")
    await platform.wait_for_sent(3, timeout=20)
    await platform.settled()
    assert [fact.ph for fact in await home.facts(chat)] == [6.0, 6.2]
    assert len(tries) == 4
    assert [sent.text for sent in platform.sent].count(APOLOGY) == 1
    assert len(platform.sent) == 3
