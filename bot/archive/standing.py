"""What stands of the holdings of a household: the entries of an archive, as the folds want them."""

from __future__ import annotations

from datetime import datetime

from domain.facts import fact_from_json
from domain.journal import Entry
from storage.journal import message_key
from storage.transfer import Holdings

__all__ = ["last_said", "standing"]


def standing(kept: Holdings) -> list[Entry]:
    """The net journal, in the order in which things happened; entries by their numbers in the archive.

    Raises KeyError, TypeError or ValueError for a fact that this version does not know.
    """
    replaced = {row["replaces"] for row in kept.revisions}
    found = []
    number = 0
    for row in kept.revisions:
        for said in row["facts"]:
            number += 1
            if row["revision"] in replaced:
                continue
            found.append(
                Entry(
                    id=number,
                    fact=fact_from_json(said["fact"]),
                    happened_at=datetime.fromisoformat(said["happened_at"]),
                    said_at=datetime.fromisoformat(row["said_at"]),
                    author=row["author"],
                    message_key=message_key(row["chat"], row["message"]),
                    doubted=said["doubted"],
                )
            )
    return sorted(found, key=lambda entry: (entry.happened_at, entry.id))


def last_said(kept: Holdings) -> datetime:
    """When the household last said something; where it never did, when it came into being."""
    said = [datetime.fromisoformat(row["recorded_at"]) for row in kept.revisions]
    return max(said, default=datetime.fromisoformat(kept.created_at))
