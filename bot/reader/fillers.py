"""Small words between a name and its number, and how lists of words are written."""

from __future__ import annotations

__all__ = ["APPROX", "BROUGHT", "CHANGES", "LINKS", "OPINIONS", "SKIPPED", "words"]


def words(spelled: str) -> frozenset[str]:
    """The words of a list that is written as one text."""
    return frozenset(spelled.split())


LINKS = words(
    "is was at reads reading read = : - now of are says shows to still been currently showing measured "
    "measures > today a bit before from just only i got GOT between esta es ist est jest"
)
"""Words that lead from a name to its number."""

APPROX = words("about around ~ approx approximately roughly circa ca near nearly maybe almost prob probably")
CHANGES = words(
    "went dropped rose fell climbed jumped up down UP DOWN risen crept drifted dropping rising "
    "falling climbing "
    "drop drops bumped"
)
"""Words of change: a number after them is a difference, but after ``to``, ``from`` or ``at`` a value."""

BROUGHT = words("PICKED took brought dropped raised got GOT lowered moved pushed")
"""``2 ml up took ph from 5.2 to 5.9``: what a dose did."""
OPINIONS = words("high low good fine great ok okay perfect nice bad stable steady")
SKIPPED = (
    LINKS
    | APPROX
    | CHANGES
    | OPINIONS
    | words(
        "gone settled came back has have had going higher lower holding stays brought too looks looking by "
        "( [ sits value wert valeur valor"
    )
)
"""Everything that may stand between a name and its number."""
