"""What a sign on a plant or in the tank may mean: possible causes, where to look, what to try first.

Never a verdict: many causes look alike. The signs stand in ``data/symptoms.csv``, each row with its source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from typing import Literal, cast

from domain import tables
from domain.sources import SourceLine, source_line

__all__ = ["Circumstances", "Trouble", "Urgency", "troubles", "troubles_in"]

Urgency = Literal["routine", "soon", "urgent"]
_URGENCIES: tuple[Urgency, ...] = ("routine", "soon", "urgent")

MOST = 2
"""More guesses at once help nobody."""
_NEGATIONS = frozenset(("no", "not", "without", "never", "isnt", "arent", "no more"))
_NEGATION_REACH = 2
_WORD = re.compile(r"[a-z]+")
_GIVEN = re.compile(r"(?P<what>ph|water|air)(?P<sign>>=|>|<=|<)(?P<value>-?\d+(?:\.\d+)?)")


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What is known of the water and the room; ``None`` where it is not.

    water_temp_c, air_temp_c : [degC]
    """

    ph: float | None = None
    water_temp_c: float | None = None
    air_temp_c: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """What one sign may mean.

    sign : its name in the table.
    causes : possible ones, the likelier first; none is certain. look : what tells them apart.
    remedies : in the order in which to try them, the least drastic first.
    sources : as a reply cites them.
    """

    sign: str
    phrases: tuple[tuple[str, ...], ...] = field(repr=False)
    given: tuple[str, str, float] | None = field(repr=False)
    causes: tuple[str, ...]
    look: str
    remedies: tuple[str, ...]
    urgency: Urgency
    sources: tuple[SourceLine, ...]


def troubles_in(text: str, known: Circumstances | None = None) -> tuple[Trouble, ...]:
    """What the words of an observation may mean, the best match first, two at most; often none.

    text : as typed, any length; its first thousand characters count.
    known : a row that asks for a pH or a warmth counts only where that is known and so.
    What is negated (``no aphids``) is no sign.
    """
    words = _WORD.findall(text[:1000].casefold().replace("'", ""))
    found: list[tuple[int, int, Trouble]] = []
    for place, trouble in enumerate(troubles()):
        if not _is_given(trouble, known or Circumstances()):
            continue
        matched = max((_match(phrase, words) for phrase in trouble.phrases), default=0)
        if matched:
            found.append((2 * matched + (trouble.given is not None), -place, trouble))
    found.sort(key=lambda each: each[:2], reverse=True)
    best = [trouble for score, _, trouble in found if score >= found[0][0] - 1]
    return tuple(_apart(best))[:MOST]


@cache
def troubles() -> tuple[Trouble, ...]:
    """Every row of the table, in its order."""
    return tuple(
        Trouble(
            sign=row["sign"],
            phrases=tuple(tuple(phrase.split()) for phrase in tables.parts(row["phrases"])),
            given=_given(row["given"]),
            causes=tables.parts(row["causes"]),
            look=row["look"],
            remedies=tables.parts(row["remedies"]),
            urgency=cast(Urgency, row["urgency"]),
            sources=tuple(source_line(key) for key in tables.parts(row["source"])),
        )
        for row in tables.rows("symptoms")
    )


def _match(phrase: tuple[str, ...], words: list[str]) -> int:
    """How many words of the phrase stand in the text, all or none; none where one is negated."""
    for wanted in phrase:
        places = [at for at, word in enumerate(words) if _is_form(word, wanted)]
        if not any(not _negated(words, at) for at in places):
            return 0
    return len(phrase)


def _is_form(word: str, wanted: str) -> bool:
    """``leaves`` is not ``leaf``, but ``yellowing`` is ``yellow``."""
    return word == wanted or (
        len(wanted) >= 4
        and word in (f"{wanted}ing", f"{wanted}ed", f"{wanted}ish", f"{wanted}s", f"{wanted}y")
    )


def _negated(words: list[str], at: int) -> bool:
    return any(word in _NEGATIONS for word in words[max(0, at - _NEGATION_REACH) : at])


def _apart(found: Iterable[Trouble]) -> list[Trouble]:
    """Without those that say the same of one sign: ``yellow`` beside ``yellow_new``."""
    kept: list[Trouble] = []
    for trouble in found:
        stem = trouble.sign.split("_")[0]
        if all(other.sign.split("_")[0] != stem for other in kept):
            kept.append(trouble)
    return kept


def _given(cell: str) -> tuple[str, str, float] | None:
    if not cell:
        return None
    said = _GIVEN.fullmatch(cell)
    if said is None:
        raise ValueError(f"no circumstance: {cell!r}")
    return said["what"], said["sign"], float(said["value"])


def _is_given(trouble: Trouble, known: Circumstances) -> bool:
    if trouble.given is None:
        return True
    what, sign, limit = trouble.given
    value = {"ph": known.ph, "water": known.water_temp_c, "air": known.air_temp_c}[what]
    if value is None:
        return False
    return {">": value > limit, ">=": value >= limit, "<": value < limit, "<=": value <= limit}[sign]
