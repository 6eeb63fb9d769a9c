"""The vocabulary of the journal: what a household can say, as plain frozen data.

The reader makes facts from texts, the journal keeps them, and everything else is folded from them.
A fact knows nothing of who said it, where, or whether it still stands: that is the journal's part.
Numbers are in the unit that the field's name ends with. A field that was not said is ``None``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, ClassVar

from domain.fact import Fact
from domain.plant_facts import (
    Emerged,
    Growing,
    Harvest,
    Lost,
    Moved,
    Removed,
    Reseed,
    Sow,
    StageSeen,
    Tended,
)
from domain.vocabulary import (
    ChoreTask,
    EmergencyAbout,
    Feed,
    ProductRole,
    QuestionAbout,
    TendTask,
    names_of,
)

__all__ = [
    "KINDS",
    "Away",
    "Chore",
    "ChoreTask",
    "Command",
    "Dose",
    "Emerged",
    "Emergency",
    "EmergencyAbout",
    "Fact",
    "Feed",
    "Growing",
    "Harvest",
    "JarTest",
    "Lost",
    "Moved",
    "Observation",
    "Product",
    "ProductRole",
    "Question",
    "QuestionAbout",
    "Reading",
    "Reminder",
    "Removed",
    "Reseed",
    "Setting",
    "Sow",
    "StageSeen",
    "Stock",
    "Tended",
    "TendTask",
    "TopUp",
    "WaterChange",
    "fact_from_json",
    "names_of",
]

_Sites = tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Emergency(Fact):
    """Somebody or the tank is in trouble; outranks everything else in its message."""

    kind: ClassVar[str] = "emergency"
    about: EmergencyAbout
    product: ProductRole | None = None
    amount: float | None = None
    unit: str | None = None


@dataclass(frozen=True, kw_only=True)
class Reading(Fact):
    """Values taken together. ``ec_ms_cm`` as shown by the meter; ``ppm`` kept beside it with its scale."""

    kind: ClassVar[str] = "reading"
    ph: float | None = None
    ec_ms_cm: float | None = None
    ppm: float | None = None
    ppm_scale: int | None = None
    water_temp_c: float | None = None
    air_temp_c: float | None = None
    humidity_pct: float | None = None
    level_l: float | None = None
    level_mark: str | None = None
    dissolved_oxygen_mg_l: float | None = None
    approx: bool | None = None
    ph_span: float | None = None


@dataclass(frozen=True, kw_only=True)
class Dose(Fact):
    """Something was poured in. ``unit``: ml, g or a household measure (drop, squirt, scoop, capful, pump)."""

    kind: ClassVar[str] = "dose"
    product: ProductRole
    amount: float
    unit: str
    name: str | None = None


@dataclass(frozen=True, kw_only=True)
class TopUp(Fact):
    kind: ClassVar[str] = "top_up"
    litres: float | None = None
    to_mark: str | None = None
    feed: Feed | None = None
    ec_ms_cm: float | None = None


@dataclass(frozen=True, kw_only=True)
class WaterChange(Fact):
    """Water taken out and put in anew; neither ``litres`` nor ``fraction``: the whole tank."""

    kind: ClassVar[str] = "water_change"
    litres: float | None = None
    fraction: float | None = None
    feed: Feed | None = None
    ec_ms_cm: float | None = None


@dataclass(frozen=True, kw_only=True)
class Chore(Fact):
    kind: ClassVar[str] = "chore"
    task: ChoreTask


@dataclass(frozen=True, kw_only=True)
class Observation(Fact):
    kind: ClassVar[str] = "observation"
    text: str
    crop: str | None = None
    sites: _Sites | None = None


@dataclass(frozen=True, kw_only=True)
class Question(Fact):
    """Something asked. Never part of the journal; carries no ``when``."""

    kind: ClassVar[str] = "question"
    about: QuestionAbout
    volume_l: float | None = None
    ph_from: float | None = None
    ph_to: float | None = None
    ec_from: float | None = None
    ec_to: float | None = None
    crop: str | None = None
    sites: _Sites | None = None
    lot: str | None = None
    text: str | None = None


@dataclass(frozen=True, kw_only=True)
class Setting(Fact):
    """A choice of the household; ``value`` is text in its canonical spelling.

    ``band`` carries ``crop``, ``what``, ``low``, ``high`` instead; ``interval`` a ``task`` and its ``rrule``.
    """

    kind: ClassVar[str] = "setting"
    name: str
    value: str | None = None
    crop: str | None = None
    what: str | None = None
    low: float | None = None
    high: float | None = None
    task: str | None = None
    rrule: str | None = None


@dataclass(frozen=True, kw_only=True)
class Stock(Fact):
    kind: ClassVar[str] = "stock"
    item: str
    count: int | None = None
    amount: float | None = None
    unit: str | None = None


@dataclass(frozen=True, kw_only=True)
class Away(Fact):
    kind: ClassVar[str] = "away"
    start: date | None = field(default=None, metadata={"json": "from"})  # `from` is a word of Python
    end: date | None = field(default=None, metadata={"json": "to"})
    keeper: str | None = None


@dataclass(frozen=True, kw_only=True)
class Command(Fact):
    """An order to the assistant. Never part of the journal; carries no ``when``."""

    kind: ClassVar[str] = "command"
    name: str
    args: str | None = None


@dataclass(frozen=True, kw_only=True)
class Reminder(Fact):
    """Something the household wants to be told. ``at``: the first time; no ``rrule`` (RFC 5545): once."""

    kind: ClassVar[str] = "reminder"
    text: str
    at: datetime
    rrule: str | None = None


@dataclass(frozen=True, kw_only=True)
class Product(Fact):
    """A bottle or bag that the household uses, by its label.

    role : what it does in the tank.
    reagent : for adjusters, a name of ``domain.chemistry.reagents``; ``None`` where the label does not say.
    percent_w_w, percent_w_v, molar_mol_l, normal_eq_l : its strength; at most one is given.
    dose_per_litre, dose_unit : for nutrients, what the label says for full strength. [ml or g per litre]
    n_pct, p2o5_pct, k2o_pct : for nutrients, the three figures of the grade as printed.
    parts : for nutrients of several bottles, their names in the order in which they go in.
    """

    kind: ClassVar[str] = "product"
    role: ProductRole
    name: str | None = None
    reagent: str | None = None
    percent_w_w: float | None = None
    percent_w_v: float | None = None
    molar_mol_l: float | None = None
    normal_eq_l: float | None = None
    dose_per_litre: float | None = None
    dose_unit: str | None = None
    n_pct: float | None = None
    p2o5_pct: float | None = None
    k2o_pct: float | None = None
    parts: tuple[str, ...] | None = None


@dataclass(frozen=True, kw_only=True)
class JarTest(Fact):
    """What an adjuster did to one litre of tank water in a jar; the tank itself was not touched.

    role, name : of the adjuster.
    ph_from, ph_to : of the water in the jar, before and after.
    ml_per_l : of the undiluted product that went in. [ml/L]
    """

    kind: ClassVar[str] = "jar_test"
    role: ProductRole
    name: str | None = None
    ph_from: float
    ph_to: float
    ml_per_l: float


KINDS: dict[str, type[Fact]] = {
    fact_type.kind: fact_type
    for fact_type in (
        Emergency,
        Reading,
        Dose,
        TopUp,
        WaterChange,
        Sow,
        Reseed,
        Emerged,
        Lost,
        Moved,
        Tended,
        Harvest,
        Removed,
        StageSeen,
        Chore,
        Observation,
        Question,
        Setting,
        Stock,
        Away,
        Command,
        Reminder,
        Growing,
        Product,
        JarTest,
    )
}
"""Every kind of fact by the name that JSON carries."""


def fact_from_json(said: Mapping[str, Any]) -> Fact:
    """The fact that ``Fact.as_json`` wrote.

    Raises KeyError for a kind or a key that this version does not know.
    """
    return KINDS[said["kind"]].from_json(said)
