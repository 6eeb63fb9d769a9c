"""A loopback stand-in for the chat platform: the Bot API over real HTTP, driven from a test or the page.

Left out on purpose: the platform's waiting of up to 3 s when one offset is asked for twice, Markdown,
albums, stickers and payments. Times are the room's clock; only the holding of a poll runs on the machine's.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from time import monotonic
from typing import Any

from aiohttp import web

from demo.room.api import BotApi
from demo.room.control import Control, only_this_machine
from demo.room.courier import Courier
from demo.room.faults import Fault, Faults
from demo.room.limits import Pace
from demo.room.state import Answered, Call, Chat, Key, Person, Room, Sent
from demo.room.voices import Voices

__all__ = ["Answered", "Call", "Chat", "Fault", "Key", "Person", "Platform", "Sent"]

TOKEN = "42:invented-for-the-room-only"
"""The bot's token in the room; it opens nothing elsewhere."""

_HOST = "127.0.0.1"
_CALM_S = 0.15


def _now() -> datetime:
    return datetime.now(UTC)


class Platform:
    """The platform for one bot. Its state lives in the object: the bot and the server may go and come back.

    clock : now, aware; dates of messages, life of updates and the pace follow it.
    hears_all : the bot has privacy mode off. (As administrator of a group it hears all anyway.)
    limits : refuse what comes faster than the platform allows.
    webhook_pause_s : the first pause before an update is brought to a webhook again. [s]
    """

    def __init__(
        self,
        *,
        token: str = TOKEN,
        username: str = "lab_bot",
        name: str = "Rillkeeper",
        clock: Callable[[], datetime] = _now,
        hears_all: bool = False,
        limits: bool = False,
        webhook_pause_s: float = 2.0,
    ) -> None:
        self.token = token
        self.port = 0
        self.room = Room(clock, username, name, hears_all)
        self._faults = Faults()
        self._api = BotApi(self.room, token, self._faults)
        self._voices = Voices(self.room)
        self._courier = Courier(self.room, webhook_pause_s)
        self._delivering: asyncio.Task[None] | None = None
        self._runner: web.AppRunner | None = None
        self.control = Control(self)
        self._extensions: list[Callable[[web.Application], None]] = [self.control.add_routes]
        self.limits(on=limits)
        self.person = self._voices.person
        self.private_chat = self._voices.private_chat
        self.group = self._voices.group
        self.topic = self._voices.topic
        self.say = self._voices.say
        self.send_file = self._voices.send_file
        self.send_photo = self._voices.send_photo
        self.edit = self._voices.edit
        self.remove = self._voices.remove
        self.press = self._voices.press
        self.membership = self._voices.membership
        self.migrate = self._voices.migrate

    @property
    def base_url(self) -> str:
        """What stands before the token in a call, ``http://127.0.0.1:PORT/bot``."""
        return f"http://{_HOST}:{self.port}/bot"

    @property
    def file_url(self) -> str:
        """What stands before the token in a download."""
        return f"http://{_HOST}:{self.port}/file/bot"

    def extend(self, add_routes: Callable[[web.Application], None]) -> None:
        """Add more paths to the server, before it starts."""
        self._extensions.append(add_routes)

    async def start(self, port: int = 0) -> None:
        """Listen on 127.0.0.1; 0: a free one, the same after a stop. Raises OSError where it is taken."""
        app = web.Application(client_max_size=64 * 1024 * 1024, middlewares=[only_this_machine])
        self._api.open()
        self.room.updates.open()
        self.control.watching.open()
        self._api.add_routes(app)
        for add_routes in self._extensions:
            add_routes(app)
        runner = web.AppRunner(app, access_log=None, shutdown_timeout=0.2)
        await runner.setup()
        try:
            site = web.TCPSite(runner, _HOST, port or self.port)
            await site.start()
        except OSError:
            await runner.cleanup()
            raise
        self._runner = runner
        self._delivering = asyncio.create_task(self._courier.run())
        self.port = runner.addresses[0][1]

    async def stop(self) -> None:
        """Stop listening; the state stays."""
        if self._runner is None:
            return
        # No new connection first: one that is taken up while the server closes would never be closed itself.
        for site in list(self._runner.sites):
            await site.stop()
        await asyncio.sleep(0)
        self._api.close()
        self.room.updates.close()
        self.control.watching.close()
        if self._delivering is not None:
            self._delivering.cancel()
            await asyncio.gather(self._delivering, return_exceptions=True)
            self._delivering = None
        await self._runner.cleanup()
        self._runner = None

    async def __aenter__(self) -> Platform:
        await self.start()
        return self

    async def __aexit__(self, *_: object) -> None:
        await self.stop()

    @property
    def sent(self) -> list[Sent]:
        """New messages, edits and new buttons, in order."""
        return self.room.sent

    @property
    def calls(self) -> list[Call]:
        """Every call with a good token, whether it went well or not."""
        return self.room.calls

    @property
    def answers(self) -> list[Answered]:
        """What was said to those who pressed a button."""
        return self.room.answers

    @property
    def pending(self) -> list[dict[str, Any]]:
        """Updates that the bot has not confirmed."""
        return self.room.updates.pending

    def sent_to(self, chat: Chat | Person | int) -> list[Sent]:
        """What the bot put into one chat."""
        number = chat if isinstance(chat, int) else chat.id
        return [item for item in self.room.sent if item.chat_id == number]

    def history(self, chat: Chat) -> list[dict[str, Any]]:
        """The messages that stand in a chat now."""
        return [line.message for line in chat.lines.values() if not line.gone]

    async def wait_for_sent(
        self,
        n: int = 1,
        *,
        chat: Chat | Person | int | None = None,
        since: int = 0,
        timeout: float = 10.0,  # noqa: ASYNC109
    ) -> list[Sent]:
        """Wait until the bot has sent ``n`` things or more, counted from the start or ``since``; gives them.

        chat : count only what went there.
        since : pass over so many of ``sent`` (take ``len(platform.sent)`` beforehand).
        timeout : then fail with what was seen. [s]
        """

        def found() -> list[Sent]:
            number = chat if chat is None or isinstance(chat, int) else chat.id
            return [item for item in self.room.sent[since:] if number in (None, item.chat_id)]

        await self.until(lambda: len(found()) >= n, timeout=timeout, what=lambda: f"{n} sent, saw {found()}")
        return found()

    async def wait_for_answers(self, n: int = 1, *, timeout: float = 10.0) -> list[Answered]:  # noqa: ASYNC109
        """Wait until at least ``n`` presses were answered."""
        await self.until(lambda: len(self.answers) >= n, timeout=timeout, what=f"{n} answers")
        return self.answers

    async def until(
        self,
        condition: Callable[[], bool],
        *,
        timeout: float = 10.0,  # noqa: ASYNC109
        what: str | Callable[[], str] = "what was waited for",
    ) -> None:
        """Wait for a condition on the room's state; looked at whenever something happens.

        timeout : then fail, saying ``what`` did not come. [s]
        """
        deadline = monotonic() + timeout
        while not condition():
            left_s = deadline - monotonic()
            if left_s <= 0:
                missing = what if isinstance(what, str) else what()
                raise AssertionError(f"not in {timeout:.1f} s: {missing}; last calls: {self._last_calls()}")
            await self.room.bell.wait(left_s)

    async def settled(self, *, calm: float = _CALM_S, timeout: float = 10.0) -> None:  # noqa: ASYNC109
        """Wait until every update is confirmed, no call is open, and nothing happens for ``calm``. [s]

        A bot may still be thinking: where something is expected, wait for that first.
        """
        deadline = monotonic() + timeout
        while monotonic() < deadline:
            await self.until(
                lambda: not self.pending and self._api.busy == 0,
                timeout=deadline - monotonic(),
                what="settled",
            )
            before = self._activity()
            await asyncio.sleep(calm)
            if before == self._activity() and not self.pending and self._api.busy == 0:
                return
        raise AssertionError(f"not calm in {timeout} s; last calls: {self._last_calls()}")

    def _activity(self) -> int:
        return sum(call.method != "getUpdates" for call in self.calls)

    def _last_calls(self) -> list[str]:
        return [call.method for call in self.calls[-12:]]

    def fail(
        self,
        method: str,
        fault: Fault,
        times: int = 1,
        *,
        skip: int = 0,
        chat: Chat | Person | int | None = None,
    ) -> None:
        """Let the next ``times`` calls of ``method`` go wrong, after ``skip`` good ones.

        method : its name; ``*``: all but getUpdates.
        chat : only calls about this chat.
        """
        number = chat if chat is None or isinstance(chat, int) else chat.id
        self._faults.order(method, fault, times, skip, number)

    def mend(self) -> None:
        """Forget the faults that have not happened yet."""
        self._faults.clear()

    def limits(self, *, on: bool) -> None:
        """Switch the platform's pace on or off: 1/s a chat, 20/min a group, 30/s overall."""
        self._api.pace = Pace(self.room.clock) if on else None

    def deliver(self, raw_update: dict[str, Any]) -> dict[str, Any]:
        """Queue an update exactly as given; one without ``update_id`` gets the next."""
        return self.room.updates.put(raw_update)

    def redeliver(self, count: int = 1) -> None:
        """Give the last ``count`` confirmed updates again, with their old numbers."""
        self.room.updates.give_again(count)

    def block(self, person: Person) -> None:
        """The person blocks the bot; it is told by ``my_chat_member``."""
        self.membership(self.private_chat(person), person, "kicked")

    def unblock(self, person: Person) -> None:
        """The person takes the bot back."""
        self.membership(self.private_chat(person), person, "member")

    def people(self) -> Sequence[Person]:
        """Everybody the platform knows."""
        return list(self.room.people.values())
