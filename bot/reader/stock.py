"""Phrases about stock: seeds of which crop and packet, and what was bought along with something else."""

from __future__ import annotations

from bot.reader.doses import amount_of
from bot.reader.fillers import words
from bot.reader.findings import Finding, Phrase, Scene, found, no
from bot.reader.numbers import Number
from bot.reader.patterns import Hit
from domain.facts import Stock
from domain.supplies import seed_item

__all__ = ["SEED_STOCK_PHRASES"]

MOST_SEEDS = 100_000
"""More than a household ever has of one crop."""


def _whole(hit: Hit, name: str) -> int | None:
    item = hit.item(name)
    value = item.value.value if item is not None and isinstance(item.value, Number) else None
    return int(value) if value is not None and value.is_integer() and value >= 0 else None


def _seeds(scene: Scene, hit: Hit) -> Finding | None:
    crop, number = hit.item("crop"), _whole(hit, "number")
    packets = _whole(hit, "packets") if hit.said("packets") else 1
    if crop is None or number is None or packets is None:
        return None
    count = number * packets
    if count > MOST_SEEDS:
        return no("implausible")
    lot = " ".join((hit.typed("lot") or "").split()) or None
    return found(Stock(item=seed_item(crop.value, lot), count=count))


def _packets(scene: Scene, hit: Hit) -> Finding | None:
    """Nobody said how many seeds are in them: they are kept by the packet, and not counted down."""
    crop, number = hit.item("crop"), _whole(hit, "number") if hit.said("number") else 1
    of = f"{crop.value} seeds" if crop is not None else "seeds"
    return None if number is None else found(Stock(item=f"packets of {of}", count=number))


def _none_left(scene: Scene, hit: Hit) -> Finding | None:
    crop = hit.item("crop")
    return None if crop is None else found(Stock(item=seed_item(crop.value, None), count=0))


_KEPT_FROM_ML_OR_G = 100
"""``bought 36 plugs, 5 ml down``: after a comma, less than this was poured and not bought. [ml or g]"""
_GOTTEN = words("have bought HAVE GOT restocked")
_JOINTS = words("and & + ,")
_OF_LISTS = (
    _GOTTEN
    | _JOINTS
    | words("of new more net a #num #vol #mass #oz #prod FOOD BASE DOWN UP bottle bottles bag bags")
)
_SUPPLIES = words(
    "plug plugs pods pod nets sponges sponge packets filters FILTER rockwool cubes strips sachets baskets "
    "collars domes pots stones buffer buffers tablets cups"
)


def _is_listed(hit: Hit) -> str:
    """The sign before what was bought along: ``bought 36 plugs and 1 l nutrient``; else empty."""
    keys, i = hit.line.around, hit.first - 1
    joint = keys[i]
    if joint not in _JOINTS:
        return ""
    while i > 0 and keys[i] not in _GOTTEN and (keys[i] in _OF_LISTS or keys[i] in _SUPPLIES):
        i -= 1
    return joint if keys[i] in _GOTTEN else ""


def _listed_product(scene: Scene, hit: Hit) -> Finding | None:
    amount, product = hit.item("amount"), hit.item("item")
    joint = _is_listed(hit)
    if not joint or amount is None or product is None or not amount.value.finite:
        return None
    value, unit = amount_of(amount, str(product.value or ""), hit.line.keys)
    if joint == "," and value < _KEPT_FROM_ML_OR_G:
        return None
    return found(Stock(item=hit.typed("item") or "", amount=value, unit=unit))


def _listed_supply(scene: Scene, hit: Hit) -> Finding | None:
    number, item = _whole(hit, "number"), hit.typed("item")
    return found(Stock(item=item, count=number)) if _is_listed(hit) and item and number is not None else None


_HAVE = "have|bought|HAVE|GOT|restocked"
_PACKET = "packet|packets|pack|packs|bag|bags|sachet|sachets"
_LOT = "(,? (lot|batch|from) <rest:lot>)?"

SEED_STOCK_PHRASES: tuple[tuple[str, Phrase], ...] = (
    (f"{_HAVE} <number:packets> {_PACKET} of|with <number> <crop> seeds|seed left? {_LOT}", Phrase(_seeds)),
    (f"{_HAVE} {_PACKET} of|with <number> <crop> seeds|seed left? {_LOT}", Phrase(_seeds)),
    (f"{_HAVE} <number> <crop> seeds|seed left? {_LOT}", Phrase(_seeds)),
    (f"<number> <crop> seeds|seed left {_LOT}", Phrase(_seeds)),
    (f"{_HAVE} <number>? {_PACKET} of <crop> seeds|seed? $$", Phrase(_packets)),
    (f"{_HAVE} <number>? {_PACKET} of seeds|seed $$", Phrase(_packets)),
    ("<amount> of? <product:item>", Phrase(_listed_product)),
    ("<number> <supply:item>", Phrase(_listed_supply)),
    ("out of <crop> seeds|seed", Phrase(_none_left)),
)
