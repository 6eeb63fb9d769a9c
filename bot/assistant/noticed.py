"""Signs of trouble told without a site or a crop: ``algae in the tank``, ``roots brown and slimy``.

The reader takes only a line about a plant for an observation, since a group talks of many things. What is
said to the assistant itself and names a pest or a disease is kept as a note, so that it can say what to do.
"""

from __future__ import annotations

import re

from bot.reader import Found
from domain.facts import Observation
from domain.troubles import Circumstances, troubles_in

__all__ = ["sign_noticed"]

LONGEST = 120
"""A remark on the plants is short; what is longer is about something else. [characters]"""

_PLAIN = frozenset(
    (
        "algae",
        "aphids",
        "damping_off",
        "gnats",
        "mildew",
        "mites",
        "root_rot",
        "thrips",
        "whitefly",
    )
)
"""Signs whose words mean nothing else in a kitchen; leaves may be ``pale``, but so may people."""
_OF_LEAVES = frozenset(
    ("yellow", "yellow_old", "yellow_new", "yellow_new_high_ph", "tip_burn", "wilt", "wilt_warm")
)
"""Signs that count where a part of a plant is named beside them and little else."""
_LEAVES = re.compile(
    r"\b(?:leaf|leaves|tips?|edges?|plants?|seedlings?)\b|^(?:wilting|wilted|drooping)\W*$", re.I
)
MOST_WORDS = 5
_NOT_SEEN = re.compile(r"\?|\b(?:no|not|never|without|gone|if|should|could|will|\w+n't)\b", re.I)


def sign_noticed(text: str) -> Found | None:
    """The note that a text makes; ``None`` where it names no plain sign, asks, or says that there is none."""
    said = text.strip()
    if not said or len(said) > LONGEST or _NOT_SEEN.search(said.replace("’", "'")):
        return None
    signs = troubles_in(said, Circumstances(ph=None, water_temp_c=None, air_temp_c=None))
    is_of_leaves = bool(_LEAVES.search(said)) and len(said.split()) <= MOST_WORDS
    known = _PLAIN | _OF_LEAVES if is_of_leaves else _PLAIN
    if not any(trouble.sign in known for trouble in signs):
        return None
    return Found(fact=Observation(text=said), span=(0, len(text)))
