"""Which water a message speaks of: the tank's own, or some other that is not for the journal."""

from __future__ import annotations

from collections.abc import Sequence

from bot.reader.fillers import words
from bot.reader.items import Item, sites_of
from domain.facts import Dose, Fact, Setting, TopUp, WaterChange
from domain.plots import is_nursery, labels

__all__ = ["is_elsewhere", "is_in_vessel", "is_of_source", "is_of_water"]

ELSEWHERE = words(
    "tap mains rain well pool aquarium aquariums soil buffer vinegar lemon fish sea river tub "
    "blood urine shampoo vase "
    "dog dog's cat cat's bowl radiator car kettle bath shower garden lawn pond runoff compost "
    "lemonade juice coffee flight flights train bus airline"
)
"""Whatever these words stand beside is not in the household's tank."""

_NURSERIES = words("tray trays dome domes nursery propagator incubator")
"""Where seedlings have a water of their own."""

_VESSELS = words("jug jugs mix mixture premix batch pitcher pail beaker")
"""What is mixed in these is not in the tank yet."""


def is_elsewhere(item: Item) -> bool:
    """Whether an item names what is not the household's tank, so that values beside it are not the tank's."""
    if item.key == "#site":
        return all(is_nursery(label) for label in labels(sites_of(item)))
    return item.key in ELSEWHERE or item.key in _NURSERIES


def is_in_vessel(items: list[Item], i: int, typed: str) -> bool:
    """Whether item ``i`` says that its values are of a jug: ``bucket of new water has ec 0.3``.

    typed : the item as typed; a bucket may also be the tank.
    """
    before = items[i - 1].key if i else ""
    following = items[i + 1].key if i + 1 < len(items) else ""
    if items[i].key == "TANK":
        return typed.lower() == "bucket" and following == "of"
    return items[i].key in _VESSELS and before not in ("after", "good", "quick", "to")


def is_of_source(facts: Sequence[Fact]) -> bool:
    """Whether the facts tell of the water from the tap."""
    return any(isinstance(fact, Setting) and fact.name.startswith("source_") for fact in facts)


def is_of_water(facts: Sequence[Fact]) -> bool:
    """Whether it matters for the facts which water they are of."""
    return any(isinstance(fact, TopUp | WaterChange | Dose) for fact in facts)
