"""Phrases about seed in stock: how many of which crop, and out of which packet."""

from __future__ import annotations

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
    ("out of <crop> seeds|seed", Phrase(_none_left)),
)
