"""Misspelt verbs: mended where what is done to follows, and where one verb is clearly meant (rule 15)."""

from __future__ import annotations

from bot.reader.fillers import words
from bot.reader.lexicon import DROPPED
from bot.reader.names import Mender, Names
from bot.reader.numbers import number_at, quantity_at
from bot.reader.scan import Token
from bot.reader.sites import sites_at

__all__ = ["verb_meant"]

SHORTEST_VERB = 4
_CARE = {
    "rinsed": "RINSED",
    "cleaned": "RINSED",
    "scrubbed": "RINSED",
    "washed": "RINSED",
    "calibrated": "CALIBRATED",
    "recalibrated": "CALIBRATED",
    "checked": "CHECKED",
    "inspected": "CHECKED",
    "adjusted": "ADJUSTED",
}
"""What is done in a chore."""
_CARED_FOR = words("FILTER PUMP PHMETER ECMETER METER PROBE LIGHTS TIMER")
_POURING = {"added": "ADDED", "dosed": "ADDED", "poured": "ADDED", "changed": "CHANGED", "swapped": "CHANGED"}
_POURED = words("WATER TANK #tank #prod FOOD")
_GROWING = {
    "sowed": "SOWED",
    "planted": "SOWED",
    "harvested": "PICKED",
    "picked": "PICKED",
    "pinched": "PINCHED",
    "thinned": "THINNED",
    "pruned": "PRUNED",
    "moved": "MOVED",
    "pulled": "PULLED",
}
_BEFORE_OBJECT = DROPPED | words("in a an of from")
_OTHER_VERBS = words(
    "planned parked packed poked punched proved charged chanced chained showed slowed sewed stowed stewed "
    "snapped slapped polled pilled pushed posed dozed faded aided padded loved proud bread board"
)
"""Words one slip away from a verb of ours that mean what they say."""


def verb_meant(tokens: list[Token], i: int, names: Names, mender: Mender) -> str | None:
    """The key of the verb that token ``i``, which nobody knows, is a misspelling of."""
    text = tokens[i].text
    if not text.endswith("d") or len(text) < SHORTEST_VERB or text in _OTHER_VERBS:
        return None
    verbs, most = _verbs_before(tokens, i + 1, names), 1
    if verbs is _CARE:
        most = 2
    if verbs is None:
        return None
    near = mender.nearest(text, verbs, most=most)
    return near[0] if len(near) == 1 else None


def _verbs_before(tokens: list[Token], i: int, names: Names) -> dict[str, str] | None:
    """The verbs that what starts at token ``i`` may be done with."""
    while i < len(tokens) and sites_at(tokens, i) is None and tokens[i].text in _BEFORE_OBJECT:
        i += 1
    if i >= len(tokens):
        return None
    if sites_at(tokens, i) is not None:
        return _GROWING
    number = number_at(tokens, i)
    quantity = quantity_at(tokens, number) if number is not None else None
    after = quantity.end if quantity is not None else number.end if number is not None else i
    while after < len(tokens) and tokens[after].text in ("of", "the", "ph"):
        after += 1
    name = names.at(tokens, after) if after < len(tokens) else None
    if name is not None and name.key == "#crop":
        return _GROWING
    if name is not None and name.key in _CARED_FOR and number is None:
        return _CARE
    if (name is not None and name.key in _POURED) or (
        quantity is not None and quantity.dimension == "volume"
    ):
        return _POURING
    return None
