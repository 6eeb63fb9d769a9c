"""What can go wrong between a bot and the platform, on order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from demo.room.wire import Refusal

__all__ = ["Fault", "Faults"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that goes wrong with one call. The ready-made ones below cover the usual cases.

    status, body : answer with this instead of doing what was asked; ``body`` is text or a JSON object.
    headers : sent beside them.
    delay_s : wait this long before anything else; the call is then carried out as usual. [s]
    close : hang up: ``before`` the call is taken, or ``after`` it was carried out but before the answer.
    hang : never answer; with ``accepts`` after having carried the call out, else instead of it.
    shuffle : for ``getUpdates``: give every update twice, or the batch backwards.
    """

    status: int | None = None
    body: str | Mapping[str, Any] | None = None
    headers: Mapping[str, str] | None = None
    delay_s: float = 0.0
    close: Literal["before", "after"] | None = None
    hang: bool = False
    accepts: bool = False
    shuffle: Literal["twice", "backwards"] | None = None

    @classmethod
    def refuse(cls, status: int, description: str, **parameters: Any) -> Fault:
        """The platform's own kind of refusal; ``description`` with its prefix (``Forbidden: ...``)."""
        body: dict[str, Any] = {"ok": False, "error_code": status, "description": description}
        if parameters:
            body["parameters"] = parameters
        return cls(status=status, body=body)

    @classmethod
    def blocked(cls) -> Fault:
        """403: the person blocked the bot."""
        return cls.refuse(403, "Forbidden: bot was blocked by the user")

    @classmethod
    def too_many(cls, retry_after: int) -> Fault:
        """429: come back in ``retry_after``. [s]"""
        refusal = Refusal(429, f"Too Many Requests: retry after {retry_after}")
        fault = cls.refuse(refusal.status, refusal.description, retry_after=retry_after)
        return cls(status=fault.status, body=fault.body, headers={"Retry-After": str(retry_after)})

    @classmethod
    def migrated(cls, new_chat_id: int) -> Fault:
        """400: the group became a supergroup with another id."""
        words = "Bad Request: group chat was upgraded to a supergroup chat"
        return cls.refuse(400, words, migrate_to_chat_id=new_chat_id)

    @classmethod
    def bad_gateway(cls) -> Fault:
        """502 with a page of HTML, as a proxy in front of the platform answers."""
        page = "<html><head><title>502 Bad Gateway</title></head><body>502 Bad Gateway</body></html>"
        return cls(status=502, body=page, headers={"Content-Type": "text/html"})

    @classmethod
    def server_error(cls) -> Fault:
        """500 in the platform's own shape."""
        return cls.refuse(500, "Internal Server Error")

    @classmethod
    def closed_before(cls) -> Fault:
        """The connection breaks before the call is taken: surely not done."""
        return cls(close="before")

    @classmethod
    def closed_after(cls) -> Fault:
        """The connection breaks after the call was carried out: done, but the caller cannot know."""
        return cls(close="after")

    @classmethod
    def slow(cls, delay_s: float) -> Fault:
        """Carried out after ``delay_s``, however long the caller waits. [s]"""
        return cls(delay_s=delay_s)

    @classmethod
    def silent(cls, *, accepts: bool) -> Fault:
        """No answer at all, the call carried out or not."""
        return cls(hang=True, accepts=accepts)


@dataclass(slots=True)
class _Order:
    method: str
    fault: Fault
    times: int
    skip: int
    chat: int | None


class Faults:
    """The faults that were ordered and have not happened yet."""

    def __init__(self) -> None:
        self._orders: list[_Order] = []

    def order(
        self, method: str, fault: Fault, times: int = 1, skip: int = 0, chat: int | None = None
    ) -> None:
        """Let the next ``times`` calls of ``method`` (``*``: any but getUpdates) go wrong.

        skip : let so many calls pass first.
        chat : only calls about this chat.
        """
        self._orders.append(_Order(method.lower(), fault, times, skip, chat))

    def take(self, method: str, chat: int | None) -> Fault | None:
        """The fault that this call meets, used up; ``None`` for a call that goes well."""
        for order in self._orders:
            fits = order.method == method.lower() or (order.method == "*" and method.lower() != "getupdates")
            if not fits or order.chat not in (None, chat):
                continue
            if order.skip:
                order.skip -= 1
                continue
            order.times -= 1
            if order.times <= 0:
                self._orders.remove(order)
            return order.fault
        return None

    def clear(self) -> None:
        """Let everything go well again."""
        self._orders.clear()
