"""What a phrase gives: facts without their time, or a reason why there are none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from bot.reader.items import Item, Line
from bot.reader.moments import Moments
from bot.reader.names import Mender, Names
from bot.reader.patterns import Hit
from bot.reader.result import ReaderSettings, Reason
from domain.facts import Fact

__all__ = ["Builder", "Finding", "Phrase", "Scene", "found", "no"]


@dataclass(frozen=True)
class Scene:
    """All that a phrase's meaning depends on besides its words."""

    line: Line
    names: Names
    settings: ReaderSettings
    moments: Moments
    mender: Mender


@dataclass(frozen=True)
class Finding:
    """What a phrase says.

    facts : without ``when``, which is given to all facts of a message at the end.
    reason : why nothing is recorded.
    suggestions : what would be read in the phrase's place.
    earlier : it happened before the reading that it follows in the text (``5.9 after 3 ml down``).
    timeless : its facts carry no ``when``.
    own_times : the time phrases inside it are its own and say nothing of other facts.
    weak : its words are everyday words, so that it counts in a clean clause alone.
    ends : the last item it takes, where that is not the end of the pattern.
    """

    facts: tuple[Fact, ...] = ()
    reason: Reason | None = None
    suggestions: tuple[str, ...] = ()
    earlier: bool = False
    timeless: bool = False
    own_times: bool = False
    weak: bool = False
    ends: int | None = None


Builder = Callable[[Scene, Hit], "Finding | None"]


class Phrase(NamedTuple):
    """A row of a table.

    stated : it needs a plain statement; a phrase in a question, a plan or a negation is not taken.
    repeats : it may stand with a repeat (``every 3 weeks``); what was done once does not.
    """

    build: Builder
    stated: bool = True
    repeats: bool = False


def found(
    *facts: Fact,
    earlier: bool = False,
    timeless: bool = False,
    own_times: bool = False,
    ends: int | None = None,
) -> Finding:
    """The phrase says ``facts``."""
    return Finding(facts, earlier=earlier, timeless=timeless, own_times=own_times, ends=ends)


def no(reason: Reason, *suggestions: str, ends: int | None = None) -> Finding:
    """The phrase is seen but not recorded."""
    return Finding(reason=reason, suggestions=suggestions, ends=ends)


def item_of(hit: Hit, *names: str) -> Item | None:
    """The first of the named pieces that is there."""
    for name in names:
        item = hit.item(name)
        if item is not None:
            return item
    return None
