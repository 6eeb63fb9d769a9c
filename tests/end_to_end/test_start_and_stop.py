"""Coming up and going down."""

from __future__ import annotations

import asyncio
import os
import sys

import pytest
from bot_at_home import ROOT, Home, eventually

from bot.settings import SettingsError
from bot.telegram.application import Refused
from demo.room.platform import Fault, Platform


async def test_token_that_the_platform_does_not_know(home: Home, platform: Platform) -> None:
    """Case 47 at the start: 401: clean stop with one clear line, no spin."""
    platform.token = "42:another-token"
    with pytest.raises(Refused, match="RILLKEEPER_TOKEN"):
        await home.run_to_its_end()


async def test_program_says_so_in_one_line(home: Home, platform: Platform) -> None:
    """Case 47 on the command line: exit code not 0, one line, no token in it."""
    asked = {
        "PATH": os.environ.get("PATH", ""),
        "RILLKEEPER_TOKEN": "42:another-token",
        "RILLKEEPER_API_URL": platform.base_url,
        "RILLKEEPER_DATABASE_URL": home.database_url,
    }
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "bot", "run", cwd=ROOT, env=asked, stderr=asyncio.subprocess.PIPE
    )
    _, said = await asyncio.wait_for(process.communicate(), 20)
    assert process.returncode not in (0, None)
    assert "RILLKEEPER_TOKEN" in said.decode()
    assert said.count(b"\n") == 1
    assert b"another-token" not in said


async def test_token_that_is_taken_back_while_the_bot_runs(home: Home, platform: Platform) -> None:
    """Case 47: 401 on getUpdates: clean stop, no spin."""
    await home.start()
    polls = home.polls()
    platform.fail("getUpdates", Fault.refuse(401, "Unauthorized"), times=100)
    person = platform.person(5, "Ana")
    platform.say(platform.private_chat(person), person, "ph 6.1")
    with pytest.raises(Refused, match="RILLKEEPER_TOKEN"):
        await home.ended()
    assert home.polls() <= polls + 3


async def test_platform_that_cannot_be_reached_at_the_start(home: Home, platform: Platform) -> None:
    """Case 77: unreachable at start, then up: starts; nothing dropped."""
    person = platform.person(5, "Ana")
    chat = platform.private_chat(person)
    platform.say(chat, person, "ph 6.1")
    platform.fail("getMe", Fault.closed_before(), times=3)
    await home.start()
    await platform.wait_for_sent(1)
    assert sum(call.method == "getMe" for call in platform.calls) == 4
    assert all(call.params.get("drop_pending_updates", "false") == "false" for call in platform.calls)


async def test_descriptions_that_are_refused_stop_nothing(home: Home, platform: Platform) -> None:
    person = platform.person(5, "Ana")
    chat = platform.private_chat(person)
    platform.fail("setMyCommands", Fault.refuse(400, "Bad Request: BOT_COMMAND_INVALID"))
    await home.start()
    platform.say(chat, person, "ph 6.1")
    await platform.wait_for_sent(1)


async def test_second_program_with_the_same_token(home: Home, platform: Platform) -> None:
    """A conflict is waited out without a storm of requests, and polling goes on."""
    platform.fail(
        "getUpdates", Fault.refuse(409, "Conflict: terminated by other getUpdates request"), times=3
    )
    person = platform.person(5, "Ana")
    chat = platform.private_chat(person)
    await home.start()
    platform.say(chat, person, "ph 6.1")
    await platform.wait_for_sent(1)


async def test_address_of_the_webhook_is_taken(home: Home, platform: Platform) -> None:
    """One line that names the setting, not a traceback."""
    home.more_settings = {
        "webhook_url": "https://balcony.example/hook",
        "webhook_listen": f"127.0.0.1:{platform.port}",
        "webhook_secret": "invented-secret",
    }
    with pytest.raises(SettingsError, match="RILLKEEPER_WEBHOOK_LISTEN"):
        await home.run_to_its_end()


async def test_chat_that_is_not_served(home: Home, platform: Platform) -> None:
    """With RILLKEEPER_ALLOWED_CHATS set, what other chats say is confirmed, and neither kept nor answered."""
    home.more_settings = {"allowed_chats": "5"}
    ana, eve = platform.person(5, "Ana"), platform.person(6, "Eve")
    await home.start()
    platform.say(platform.private_chat(eve), eve, "ph 6.6")
    platform.say(platform.private_chat(ana), ana, "ph 6.1")
    await platform.wait_for_sent(1)
    await platform.settled()
    assert [sent.chat_id for sent in platform.sent] == [5]
    assert await home.entries(platform.private_chat(eve)) == []
    await eventually(lambda: not platform.pending, what="all confirmed")
