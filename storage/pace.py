"""How fast the assistant may write: when the next letter to a chat may leave."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

__all__ = ["GROUP_LETTERS", "GROUP_WINDOW", "LETTER_GAP", "earliest_next"]

LETTER_GAP = timedelta(seconds=1)
"""At most one letter a second to a chat. Source: core.telegram.org/bots/faq, "My bot is hitting limits"."""

GROUP_LETTERS = 20
GROUP_WINDOW = timedelta(seconds=60)
"""At most 20 letters a minute to a group. Source: as above."""


def earliest_next(sent_at: Sequence[datetime], *, private: bool) -> datetime | None:
    """The first moment at which the chat may get another letter; ``None`` where nothing was sent yet.

    sent_at : when letters went to the chat, the last 20 or all of them, in any order.
    private : one person's chat; otherwise a group, which has a second limit.
    """
    if not sent_at:
        return None
    in_order = sorted(sent_at)
    earliest = in_order[-1] + LETTER_GAP
    if not private and len(in_order) >= GROUP_LETTERS:
        earliest = max(earliest, in_order[-GROUP_LETTERS] + GROUP_WINDOW)
    return earliest
