"""Whether the name of a task says that it was done.

``water change 10 L`` does, ``undo the water change`` and ``water change due`` do not.
"""

from __future__ import annotations

from bot.reader.fillers import words
from bot.reader.patterns import Hit

__all__ = ["is_done"]

_BEFORE = words(
    "did that done made had have has having HAVE GOT i we he she they finished completed "
    "full complete total partial whole big small large weekly monthly regular routine quick little good "
    "proper half after following during since before with from by for of in to on at and plus also then "
    "now today yes ok okay it was is note log logged TANK #tank WATER FOOD fresh clean new CHANGED ADDED "
    "TOPPED gave rainwater rain another first second third emergency urgent successful"
)
_AFTER = words(
    "done complete completed finished of with w in and but so then now today on at by for from i we he she "
    "they after before about around just also plus all again too yes ok okay good plain half full some this"
)
_IS = words("is was went")
_WAS_DONE = words("done good well great ok okay fine easy complete completed finished")
_ORDERS = words("DO CHECK ADJUSTED REMIND")
"""Keys of verbs that order a task or set its day."""
_DID = words("did done made finished completed")
"""Whoever did it may stand before these."""
_BREAKS = frozenset((",", ":", ".", ";", "!", "nl", "(", ")", "&", "+"))


def is_done(hit: Hit) -> bool:
    """Whether nothing beside the task's name makes it a plan, an order or talk of it."""
    items = hit.line.items
    before = [item.key for item in items[max(0, hit.first - 2) : hit.first]]
    for key in reversed(before):
        if key in _BREAKS or key in _DID:
            break
        if key[0].isalpha() and key not in _BEFORE and (key in _ORDERS or not key.isupper()):
            return False
    following = [item.key for item in items[hit.last + 1 : hit.last + 3]]
    if not following or not following[0][0].isalpha():
        return True
    if following[0] in _IS:
        return following[1:2] != [] and following[1] in _WAS_DONE
    return following[0] in _AFTER or (following[0].isupper() and following[0] not in _ORDERS)
