"""Texts of 4,096 characters that hurt a careless reader, and plain work to hold their time against."""

from __future__ import annotations

import re
import time
from collections.abc import Callable

__all__ = ["BOUND", "HEAVY", "HEAVY_PIECES", "MOST_CHARACTERS", "plain_work", "times_plain_work"]

MOST_CHARACTERS = 4096
"""The longest message that chats carry."""

HEAVY_PIECES = (
    *("1", "1,", "1.", "1.1 ", "1 400 ", "5 5 5 5", "\n", "~", "(", "()", "- ", "? ", "<b", "á ", "٣ "),
    *("\u200b", "🌱", "is ", "a ", "a1 ", "A1-A99 ", "A1, ", "half ", "half a ", "at 7 ", "yesterday "),
    *("ph ", "ph 5.9 ", "ph 5.9\n", "ph 5.9, ", "ph 6 then 5.9 ", "ph 5.9 ec 1.4 temp 19\n", "ppm500 "),
    *("monday ph 6\n", "yesterday ph 6, ", "7pm ph 6\n", "ph 5.9 7pm ", "(ph 6 yesterday) ", "01/05 ph 6\n"),
    *("tomorrow ph 6 ", "was ph 6 yesterday, ", "level half ", "tap water ec 0.3 ", "why ph ", "no "),
    *(
        "added 5 ml down ",
        "5 ml A ",
        "5 glugs of ",
        "added 5 ml of 1:10 down ",
        "pump ",
        "25 ml instead of 5 ",
    ),
    *(
        "sowed basill ",
        "picked 3 ",
        "pulled A1 ",
        "moved A1 to B2 ",
        "moved ",
        "lost ",
        "lot ",
        "lot 4 sowed ",
    ),
    *(
        "B2 looks yellow. ",
        "basil yellow\n",
        "note ",
        "set ",
        "set basil ec 1.0-1.4 ",
        "away 3-10 aug ",
        "ec away, ",
        "away ",
    ),
    *(
        "about ",
        "3 ph 4 ec ",
        "7 ph ",
        "topped half ",
        "sowd basil a1 and flub a2 ",
        "vor 3 tagen ",
        "um 7 uhr ",
    ),
    *("every 2 weeks ", "remind me to ", "remind me at 7 to x\n", "ph down in my eye ", "how much ? "),
)
"""What is said over and over: each piece alone fills a message."""

HEAVY = tuple((piece * MOST_CHARACTERS)[:MOST_CHARACTERS] for piece in HEAVY_PIECES)

BOUND = 66
"""The reader's bound for any message, in pieces of plain work.

It stands for 20 ms: on the reference machine, undisturbed, a piece takes 0.30 ms (CPython 3.11). On a slower
or busier machine both slow down alike.
"""

_WORD = re.compile(r"[a-z]+|\d+")
_WORK = "ph 5 ec 1 temp 19 and then some " * 60


class _Seen:
    __slots__ = ("start", "word")

    def __init__(self, word: str, start: int) -> None:
        self.word = word
        self.start = start


def plain_work() -> dict[str, int]:
    """Some 500 words cut from a text, each made an object, looked up and counted: what any reader must do."""
    starts: dict[str, int] = {}
    for match in _WORD.finditer(_WORK):
        seen = _Seen(match[0], match.start())
        if seen.word in starts and len(seen.word) < 9:
            starts[seen.word] += seen.start
        else:
            starts[seen.word] = seen.start
    return starts


def times_plain_work(work: Callable[[], object], rounds: int = 5) -> float:
    """How many pieces of plain work ``work`` takes, each at its quickest of ``rounds`` taken in turns."""
    plain_s, work_s = [], []
    for _ in range(rounds):
        plain_s.append(_seconds(plain_work))
        work_s.append(_seconds(work))
    return min(work_s) / min(plain_s)


def _seconds(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start
