"""Where a revision of the journal comes from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from bot.assistant.exchange import Heard
from storage.journal import Action, StoredRevision

__all__ = ["Origin"]


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a revision comes from: the message it belongs to and what was done to it.

    said_at : when the message was sent; ``None``: now. Its words are read as of then, while what is advised
        counts from the edit or the press, with all that happened in between.
    by : number and name of whose entry it is; ``None``: the speaker's.
    """

    message: str
    text: str
    action: Action = "said"
    edited_at: datetime | None = None
    said_at: datetime | None = None
    by: tuple[int | None, str] | None = None

    @classmethod
    def of(cls, heard: Heard) -> Origin:
        return cls(
            message=heard.message,
            text=heard.text,
            action="edited" if heard.edited_at else "said",
            edited_at=heard.edited_at,
            said_at=heard.said_at,
        )

    @classmethod
    def over(cls, standing: StoredRevision, text: str, action: Action, at: datetime) -> Origin:
        """What takes the place of a revision that stands: its message's time and author stay."""
        return cls(
            message=standing.message,
            text=text,
            action=action,
            edited_at=at,
            said_at=standing.said_at,
            by=(standing.person_id, standing.author),
        )
