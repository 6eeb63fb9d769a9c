"""What happens to a tank, in the units that the folds count in: readings, doses and water.

A dose is turned into ml or g here, a mark on the tank into litres, and nowhere else.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Literal

from domain.facts import Dose, Feed, Product, ProductRole, WaterChange

__all__ = [
    "UNLABELLED",
    "Dosed",
    "Figure",
    "FigureBasis",
    "Happening",
    "Jarred",
    "Read",
    "Watered",
    "changes_all",
    "dose_amount",
    "is_noted",
    "level_at_mark",
    "measured_in",
    "product_of",
]

FigureBasis = Literal["said", "read", "worked_out", "assumed"]

WHOLE_CHANGE = 0.9
"""The share of the tank from which a water change is a whole one: common practice, pumps leave a rest."""

UNLABELLED = "unlabelled"
"""The name of a product whose bottle carries no label at all."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One number with how it is known.

    spread : one standard deviation, in the unit of the value; for amounts that cannot be negative it is meant
        as a share of the value (``spread / value`` is the deviation of its logarithm).
    at : when it was read; ``None`` where it has no time.
    """

    value: float
    basis: FigureBasis
    spread: float = 0.0
    at: datetime | None = None

    @property
    def is_assumed(self) -> bool:
        return self.basis == "assumed"


_HOUSEHOLD_ML: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "ml": (1.0, 0.04),
        "g": (1.0, 0.04),
        "drop": (0.05, 0.3),
        "squirt": (1.0, 0.6),
        "capful": (5.0, 0.5),
        "scoop": (5.0, 0.5),
        "pump": (2.0, 0.6),
    }
)
"""Measure -> (ml or g, share of it that one deviation is). 20 drops a ml: pharmacists' rule; the rest: common
practice."""

_OWN_MEASURE_SHARE = 0.15
"""What a capful that was measured once differs by from time to time (common practice)."""
_NONE_SAID: Mapping[str, float] = MappingProxyType({})

_TOLD_TWICE = timedelta(hours=1)
"""A slip is noticed soon: our own design rule."""

_MARKS = (
    (re.compile(r"three quarters|3/4|¾"), 0.75),
    (re.compile(r"quarter|1/4|¼"), 0.25),
    (re.compile(r"third|1/3|⅓"), 1 / 3),
    (re.compile(r"half|1/2|½|50 ?%"), 0.5),
    (re.compile(r"full|line|brim|top|max|100 ?%"), 1.0),
)


@dataclass(frozen=True, slots=True)
class Read:
    """Values taken together. ``ph_spread``: one deviation of the tester. [pH]"""

    at: datetime
    entry_id: int
    ph: float | None
    ph_spread: float
    ec_ms_cm: float | None
    temperature_c: float | None
    approx: bool


@dataclass(frozen=True, slots=True)
class Dosed:
    """Something poured in. ``amount`` in ``unit`` (ml or g); ``share``: one deviation of it, as a share."""

    at: datetime
    entry_id: int
    role: ProductRole
    product: Product
    amount: float
    unit: str
    share: float


@dataclass(frozen=True, slots=True)
class Watered:
    """Water put in, ``removed_l`` taken out before. ``whole``: the tank was emptied first."""

    at: datetime
    entry_id: int
    added_l: float
    removed_l: float
    level_before_l: float
    whole: bool
    feed: Feed
    ec_ms_cm: float | None


@dataclass(frozen=True, slots=True)
class Jarred:
    """What an adjuster did to a litre of tank water in a jar. ``ml_per_l``: undiluted. [ml/L]"""

    at: datetime
    entry_id: int
    product: Product
    ph_from: float
    ph_to: float
    ml_per_l: float


Happening = Read | Dosed | Watered | Jarred


def changes_all(change: WaterChange, full_l: float) -> bool:
    """Whether a water change counts as a whole one, for the water in the tank and for when the next is due.

    full_l : what the tank holds when filled to the line. [L]
    """
    if change.fraction is not None:
        return change.fraction >= WHOLE_CHANGE
    return change.litres is None or change.litres >= WHOLE_CHANGE * full_l


def measured_in(unit: str) -> str:
    """ml, or g for what is weighed or comes as a powder."""
    return "g" if unit in ("g", "scoop") else "ml"


def dose_amount(dose: Dose, measures: Mapping[str, float] = _NONE_SAID) -> tuple[float, str, float]:
    """A dose in ml or g: the amount, its unit, and one deviation of it as a share.

    measures : what the household says that a measure of its own holds; the usual one where it says nothing.
    """
    factor, share = _HOUSEHOLD_ML.get(dose.unit, (1.0, 0.5))
    if dose.unit in measures:
        factor, share = measures[dose.unit], _OWN_MEASURE_SHARE
    return dose.amount * factor, measured_in(dose.unit), share


def is_noted(happenings: Sequence[Happening], dose: Dose, at: datetime) -> bool:
    """The same dose is among these already: told of as a dose, then as a slip.

    at : when it is told of again.
    """
    amount = dose_amount(dose)[0]
    return any(
        isinstance(h, Dosed)
        and h.role == dose.product
        and math.isclose(h.amount, amount)
        and abs(at - h.at) <= _TOLD_TWICE
        for h in happenings
    )


def level_at_mark(mark: str, full_l: float, known: Mapping[str, float] = _NONE_SAID) -> float | None:
    """The litres that a mark stands for; ``None`` for one that nobody has told of (``12 cm``).

    known : litres at the household's own marks, by name. Between two heights it is a straight line. [L]
    """
    said = mark.casefold()
    by_height = sorted((height, litres) for name, litres in known.items() if (height := _height_cm(name)))
    height = _height_cm(said)
    if height is not None:
        return _between(height, by_height)
    return next((share * full_l for pattern, share in _MARKS if pattern.search(said)), None)


def _between(height: float, known: Sequence[tuple[float, float]]) -> float | None:
    """Litres at a height; ``None`` outside the heights that are known, in rising order."""
    for (low, litres_low), (high, litres_high) in zip(known, known[1:] or known, strict=False):
        if low <= height <= high:
            share = (height - low) / (high - low) if high > low else 0.0
            return litres_low + share * (litres_high - litres_low)
    return None


def _height_cm(mark: str) -> float | None:
    """The height that a mark names; ``None`` where it names a place, such as ``2 cm below the line``."""
    found = _HEIGHT.fullmatch(mark.strip())
    return float(found[1]) * _CM[found[2]] if found else None


_HEIGHT = re.compile(r"(\d+(?:\.\d+)?)\s*(cm|mm|in|inch|inches)")
_CM = {"cm": 1.0, "mm": 0.1, "in": 2.54, "inch": 2.54, "inches": 2.54}


def product_of(dose: Dose, products: Sequence[Product]) -> tuple[Product, float]:
    """The product a dose came from, and the share of one of its portions that the dose is.

    By its name, or the name of one of a feed's bottles: ``5 ml A`` of a feed in two bottles is half a portion
    of 5 ml of each. Else the newest product of its role, else one of which nothing is known.
    """
    of_role = [product for product in products if product.role == dose.product]
    if dose.name is not None:
        said = dose.name.casefold()
        for product in reversed(of_role):
            if product.name and product.name.casefold() == said:
                return product, 1.0
            if said in (part.casefold() for part in product.parts or ()):
                return product, 1.0 / len(product.parts or (said,))
    if of_role and (dose.name is None or dose.product in ("ph_down", "ph_up")):
        return of_role[-1], 1.0
    return Product(role=dose.product, name=dose.name), 1.0
