"""Names that the reader knows: fixed phrases, crops, what the household named; misspelt ones, mended."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

from bot.reader.fillers import words
from bot.reader.lexicon import PHRASES, PRODUCT_ROLES
from bot.reader.result import ReaderSettings
from bot.reader.scan import Token, clean, tokens_of
from domain.crops import crop_names
from domain.facts import ProductRole

__all__ = ["Mender", "Name", "Names"]

_V = TypeVar("_V")


@dataclass(frozen=True, slots=True)
class Name:
    """One known phrase. ``key`` as in the lexicon (``#crop``, ``#site``, ``#prod``, ``#tank`` for names).

    value : the canonical crop, the site or tank as the household gave it, the product's role.
    own : the product's name as the household gave it; empty for words that everybody uses.
    """

    words: tuple[str, ...]
    key: str
    value: str = ""
    own: str = ""


@dataclass(frozen=True)
class Names:
    """Everything that has a name for one household, ready to be looked up by its first words.

    crops : every spelling in lower case, with the crop it means.
    products : every spelling in lower case, with its role and, where the household named it, its own name.
    """

    single: Mapping[str, Name]
    longer: Mapping[tuple[str, str], tuple[Name, ...]]
    crops: Mapping[str, str]
    products: Mapping[str, tuple[ProductRole, str]]

    @classmethod
    def of(cls, settings: ReaderSettings) -> Names:
        """The names of a household; its own outrank what the reader knows by itself."""
        return _names(settings.tanks, settings.sites, settings.crops, tuple(settings.products.items()))

    def at(self, tokens: list[Token], i: int) -> Name | None:
        """The longest known phrase that starts at token ``i``."""
        first = tokens[i].text
        if i + 1 < len(tokens):
            for name in self.longer.get((first, tokens[i + 1].text), ()):
                words = name.words
                if len(words) == 2 or (
                    i + len(words) <= len(tokens)
                    and all(tokens[i + k].text == word for k, word in enumerate(words[2:], 2))
                ):
                    return name
        return self.single.get(first)


@lru_cache(maxsize=256)
def _names(
    tanks: tuple[str, ...],
    sites: tuple[str, ...],
    crops: tuple[str, ...],
    products: tuple[tuple[str, ProductRole], ...],
) -> Names:
    own = [
        *_given(tanks, "#tank"),
        *_given((site for site in sites if not _LABEL.fullmatch(site)), "#site"),
        *_given(crops, "#crop"),
        *(
            Name(words, "#prod", role, own=name)
            for name, role in products
            if (words := _words(name)) and len(name) <= 100
        ),
    ]
    known = {name.words: name for name in _known()} | {name.words: name for name in own}
    longer: dict[tuple[str, str], list[Name]] = {}
    for name in sorted(known.values(), key=lambda name: -len(name.words)):
        if len(name.words) > 1:
            longer.setdefault((name.words[0], name.words[1]), []).append(name)
    return Names(
        {words[0]: name for words, name in known.items() if len(words) == 1},
        {start: tuple(same) for start, same in longer.items()},
        crop_names() | {" ".join(_words(crop)): crop for crop in crops},
        {name: (role, "") for name, role in PRODUCT_ROLES.items() if len(name) >= SHORTEST_MENDED}
        | {" ".join(_words(name)): (role, name) for name, role in products},
    )


@lru_cache(maxsize=1)
def _known() -> tuple[Name, ...]:
    crops = [Name(words, "#crop", crop) for name, crop in crop_names().items() if (words := _words(name))]
    phrases = [Name(words, key, role) for words, (key, role) in PHRASES.items()]
    return (*crops, *phrases)


_LABEL = re.compile(r"[A-Za-z]\d{1,3}")
"""Labels that the reader knows by their form, in ranges and lists too."""


def _given(names: Iterable[str], key: str) -> list[Name]:
    return [Name(words, key, name) for name in names if (words := _words(name)) and len(name) <= 100]


def _words(name: str) -> tuple[str, ...]:
    return tuple(token.text for token in tokens_of(clean(name).text))


_EVERYDAY = words(
    "child children mind mine mind min sale male tale page safe same sane mean been basic basis "
    "beam bead dial till deal "
    "bill pill mild meal seat beat bear pear peach mean team tea pie main mint's thing time tomb "
    "cat care core corn "
    "salt seed feed food fund base case cake lake make sake take rose role rule wall well will "
    "ball call hall tall leek "
    "leak peak beak weak week soil oil nail mail tail king ring song long sorry short son sun "
    "soon moon noon rock rocks "
    "pocket socket racket ticket bucket clove glove cover party pastry salad sauce sausage carpet "
    "chair cherry chimes"
)
"""Words one letter away from a crop or a product that mean what they say."""

LONG_NAME = 7
"""Letters from which two slips in a name are mended; in shorter ones, one."""

LIKELY_WHOLE = 6
"""Letters from which a word with a wrong first letter is still recognised."""

SHORTEST_MENDED = 4
MAX_MENDED = 12
"""So many doubtful words of one message are looked up; a text full of them is no message."""


class Mender:
    """Mends misspelt names in one message."""

    def __init__(self) -> None:
        self._left = MAX_MENDED

    @property
    def is_spent(self) -> bool:
        """Whether nothing more is mended in this message."""
        return self._left <= 0

    def nearest(self, typed: str, names: Mapping[str, _V], *, most: int = 2) -> tuple[_V, ...]:
        """What a misspelt name may mean: the values of the nearest names; none where none is near.

        most : so many slips at most are mended, in long names too.
        One value: clearly the nearest. Two or more: as near as one another.
        """
        if self._left <= 0 or typed in _EVERYDAY:
            return ()
        allowed = 0 if len(typed) < 3 else 1 if len(typed) < LONG_NAME else most
        if not allowed:
            return ()
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        self._left -= 1
        near = process.extract(typed, names.keys(), scorer=OSA.distance, score_cutoff=allowed, limit=None)
        # A first letter is seldom mistyped; a short word with another first letter is another word.
        likely = [
            distance
            for name, distance, _ in near
            if name[0] == typed[0] or (len(typed) >= LIKELY_WHOLE and distance <= 1)
        ]
        best = min(likely, default=-1)
        return tuple(dict.fromkeys(names[name] for name, distance, _ in near if distance == best))
