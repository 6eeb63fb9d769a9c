"""The queue of updates: numbered, held for a poll, given again until confirmed."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from time import monotonic
from typing import Any

from demo.room.bell import Bell
from demo.room.wire import BadRequest, Refusal

__all__ = ["MAX_TIMEOUT_S", "Updates"]

MAX_TIMEOUT_S = 50.0
"""The longest that a poll is held, whatever it asks for (server source, see below). [s]"""

# How long an update waits for its bot: telegram-bot-api 10.0, Client.cpp. A button press is soon stale.
_LIFETIME = timedelta(hours=24)
_PRESS_LIFETIME = timedelta(seconds=150)

# "All but these" are delivered where the bot named no list (Bot API, getUpdates).
_ONLY_ON_REQUEST = frozenset({"chat_member", "message_reaction", "message_reaction_count"})

_FAR = 1000
"""An update numbered so much lower than the last begins a new numbering, as after a week of silence."""

_KEPT_CONFIRMED = 1000

_HAS_WEBHOOK = (
    "can't use getUpdates method while webhook is active; use deleteWebhook to delete the webhook first"
)
_OTHER_POLL = "terminated by other getUpdates request; make sure that only one bot instance is running"


@dataclass(slots=True)
class _Waiting:
    update: dict[str, Any]
    dies_at: datetime
    numbered_by_hand: bool
    was_given: bool = False

    @property
    def number(self) -> int:
        return int(self.update["update_id"])


class Updates:
    """Updates for one bot.

    clock : now, aware; tells when an update has waited too long.
    bell : rung at every change.
    conflicts : how many polls were broken off because somebody else asked.
    """

    def __init__(self, clock: Callable[[], datetime], bell: Bell, first_id: int = 101) -> None:
        self.next_id = first_id
        self.webhook_url = ""
        self.conflicts = 0
        self.allowed: list[str] | None = None
        self._clock = clock
        self._bell = bell
        self._waiting: list[_Waiting] = []
        self._confirmed: deque[dict[str, Any]] = deque(maxlen=_KEPT_CONFIRMED)
        self._poll = 0
        self._closing = False

    @property
    def pending(self) -> list[dict[str, Any]]:
        """What the bot has not confirmed yet, in the order of delivery."""
        return [item.update for item in self._waiting]

    def push(self, kind: str, payload: dict[str, Any], update_id: int | None = None) -> dict[str, Any] | None:
        """Queue an update of ``kind``; ``None`` where the bot does not want that kind."""
        wanted = kind in self.allowed if self.allowed else kind not in _ONLY_ON_REQUEST
        if not wanted:
            return None
        return self.put({kind: payload} if update_id is None else {"update_id": update_id, kind: payload})

    def put(self, update: dict[str, Any]) -> dict[str, Any]:
        """Queue an update as it is; one without a number gets the next."""
        by_hand = "update_id" in update
        number = int(update.get("update_id", self.next_id))
        self.next_id = number + 1 if number < self.next_id - _FAR else max(self.next_id, number + 1)
        whole = {"update_id": number, **update}
        lifetime = _PRESS_LIFETIME if "callback_query" in update else _LIFETIME
        self._waiting.append(_Waiting(whole, self._clock() + lifetime, by_hand))
        self._bell.ring()
        return whole

    def give_again(self, count: int) -> None:
        """Queue the last ``count`` confirmed updates once more, with their old numbers."""
        for update in list(self._confirmed)[-count:]:
            self._waiting.append(_Waiting(update, self._clock() + _LIFETIME, numbered_by_hand=True))
        self._bell.ring()

    def drop_all(self) -> None:
        """Forget what waits, as ``drop_pending_updates`` does."""
        self._waiting.clear()
        self._bell.ring()

    async def fetch(
        self, offset: int, limit: int, timeout_s: float, allowed: Iterable[str] | None
    ) -> list[dict[str, Any]]:
        """One ``getUpdates``.

        offset : confirms everything below it; negative keeps the last ``-offset`` updates.
        limit : at most so many, 1 to 100.
        timeout_s : how long to hold an empty answer. [s]
        allowed : kinds wanted from now on; ``None`` leaves the list as it was.
        Raises Refusal 409 while a webhook is set, or when a later poll takes over.
        """
        if self.webhook_url:
            raise Refusal(409, f"Conflict: {_HAS_WEBHOOK}")
        if not 1 <= limit <= 100:
            raise BadRequest("limit must be from 1 to 100")
        if allowed is not None:
            self.allowed = list(allowed)
        self._poll += 1
        mine = self._poll
        self._bell.ring()
        deadline = monotonic() + min(max(timeout_s, 0.0), MAX_TIMEOUT_S)
        self._confirm(offset)
        while not self._closing:
            batch = self._batch(limit)
            left_s = deadline - monotonic()
            if batch or left_s <= 0:
                return batch
            await self._bell.wait(left_s)
            if mine != self._poll:
                self.conflicts += 1
                raise Refusal(409, f"Conflict: {_OTHER_POLL}")
        return []

    def close(self) -> None:
        """Answer the poll that is held, empty, because the server stops."""
        self._closing = True
        self._bell.ring()

    def open(self) -> None:
        """Hold polls again."""
        self._closing = False

    def waits(self, update: dict[str, Any]) -> bool:
        """Whether an update is still to be delivered; one that waited too long is dropped here."""
        self._drop_dead()
        return any(item.update is update for item in self._waiting)

    def settle(self, update: dict[str, Any]) -> None:
        """Confirm one update that a webhook took."""
        self._waiting = [item for item in self._waiting if item.update is not update]
        self._confirmed.append(update)
        self._bell.ring()

    def _confirm(self, offset: int) -> None:
        if offset < 0:
            self._waiting = self._waiting[offset:]
            return
        # An offset beyond the end belongs to an earlier numbering and says nothing about this one.
        if offset == 0 or offset > self.next_id:
            return
        kept = []
        for item in self._waiting:
            # A number set by hand may come late; it counts as confirmed only once the bot has seen it.
            if item.number >= offset or (item.numbered_by_hand and not item.was_given):
                kept.append(item)
            else:
                self._confirmed.append(item.update)
        if len(kept) != len(self._waiting):
            self._waiting = kept
            self._bell.ring()

    def _batch(self, limit: int) -> list[dict[str, Any]]:
        self._drop_dead()
        batch = self._waiting[:limit]
        for item in batch:
            item.was_given = True
        return [item.update for item in batch]

    def _drop_dead(self) -> None:
        now = self._clock()
        self._waiting = [item for item in self._waiting if item.dies_at > now]
