"""Names that the reader knows: fixed phrases, crops, and what the household named; and misspelt ones, mended."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from bot.reader.lexicon import PHRASES
from bot.reader.result import ReaderSettings
from bot.reader.scan import Token, clean, tokens_of
from domain.crops import crop_names

__all__ = ["Name", "Names", "nearest"]


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
    """Everything that has a name for one household, ready to be looked up by its first word."""

    by_first: Mapping[str, tuple[Name, ...]]
    crops: Mapping[str, str]
    products: Mapping[str, str]
    parts: frozenset[str] = field(default_factory=frozenset)

    @classmethod
    def of(cls, settings: ReaderSettings) -> Names:
        """The names of a household; its own outrank what the reader knows by itself."""
        return _names(settings.tanks, settings.sites, settings.crops, tuple(settings.products.items()))

    def at(self, tokens: list[Token], i: int) -> Name | None:
        """The longest known phrase that starts at token ``i``."""
        for name in self.by_first.get(tokens[i].text, ()):
            words = name.words
            if len(words) == 1:
                return name
            if i + len(words) <= len(tokens) and all(
                tokens[i + k].text == word for k, word in enumerate(words[1:], 1)
            ):
                return name
        return None


@lru_cache(maxsize=256)
def _names(
    tanks: tuple[str, ...],
    sites: tuple[str, ...],
    crops: tuple[str, ...],
    products: tuple[tuple[str, str], ...],
) -> Names:
    own = [
        *_given(tanks, "#tank"),
        *_given(sites, "#site"),
        *_given(crops, "#crop"),
        *(
            Name(words, "#prod", role, own=name)
            for name, role in products
            if (words := _words(name)) and len(name) <= 100
        ),
    ]
    known = {name.words: name for name in _known()} | {name.words: name for name in own}
    return Names(
        _indexed(known.values()),
        crop_names() | {" ".join(_words(crop)): crop for crop in crops},
        dict(products),
    )


@lru_cache(maxsize=1)
def _known() -> tuple[Name, ...]:
    crops = [Name(words, "#crop", crop) for name, crop in crop_names().items() if (words := _words(name))]
    phrases = [Name(words, key, role) for words, (key, role) in PHRASES.items()]
    return (*crops, *phrases)


def _given(names: Iterable[str], key: str) -> list[Name]:
    return [Name(words, key, name) for name in names if (words := _words(name)) and len(name) <= 100]


def _words(name: str) -> tuple[str, ...]:
    return tuple(token.text for token in tokens_of(clean(name).text))


def _indexed(names: Iterable[Name]) -> dict[str, tuple[Name, ...]]:
    by_first: dict[str, list[Name]] = {}
    for name in names:
        by_first.setdefault(name.words[0], []).append(name)
    return {
        first: tuple(sorted(same, key=lambda name: -len(name.words))) for first, same in by_first.items()
    }


def nearest(typed: str, names: Mapping[str, str]) -> tuple[str, ...]:
    """What a misspelt name may mean: the values of the nearest ``names``; none where none is near.

    One value: clearly the nearest. Two or more: as near as one another.
    """
    from rapidfuzz.distance import OSA

    typed = typed.lower()
    allowed = 0 if len(typed) < 3 else 1 if len(typed) < 6 else 2
    if not allowed:
        return ()
    best, found = allowed + 1, dict[str, None]()
    for name, value in names.items():
        if abs(len(name) - len(typed)) > allowed:
            continue
        distance = OSA.distance(typed, name, score_cutoff=allowed)
        # A first letter is seldom mistyped; a short word with another first letter is another word.
        if distance > allowed or (name[0] != typed[0] and (len(typed) < 6 or distance > 1)):
            continue
        if distance < best:
            best, found = distance, {value: None}
        elif distance == best:
            found[value] = None
    return tuple(found)
