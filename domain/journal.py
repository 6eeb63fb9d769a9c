"""An entry of the journal, as the folds see it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from domain.facts import Fact

__all__ = ["Entry"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One fact that stands, with what the journal knows of it.

    id : its number in the journal; later entries have higher numbers.
    happened_at : when it happened, aware UTC.
    said_at : when the household said so, aware UTC.
    author : who said it, as shown to the household.
    message_key : the message it came from; facts of one message share it.
    doubted : kept but left out of advice until somebody confirms it.
    """

    id: int
    fact: Fact
    happened_at: datetime
    said_at: datetime
    author: str
    message_key: str
    doubted: bool = False
