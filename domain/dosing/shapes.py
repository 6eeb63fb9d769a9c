"""What a plan is made of, as plain data: amounts, predictions, the working, and why it holds back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any, Literal, cast

from domain.facts import ProductRole

__all__ = [
    "Action",
    "Aim",
    "Assumption",
    "Basis",
    "Hold",
    "Input",
    "Moves",
    "Outcome",
    "Plan",
    "Predicted",
    "Span",
    "Step",
]

Outcome = Literal["nothing", "steps", "hold", "ask"]
Action = Literal["top_up", "drain_refill", "add", "wait", "read", "test_portion", "jar_test"]

_NOTHING: Mapping[str, Any] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Aim:
    """Where the tank should be: inside ``low`` to ``high`` nothing is added; a dose aims inside the ideal
    part.

    ec_* : in mS/cm at 25 degC; ``None`` where nothing is known of the crops' wish.
    Raises ValueError where an ideal edge lies outside the tolerable ones.
    """

    ph_low: float
    ph_ideal_low: float
    ph_ideal_high: float
    ph_high: float
    ec_low: float | None = None
    ec_ideal_low: float | None = None
    ec_ideal_high: float | None = None
    ec_high: float | None = None

    def __post_init__(self) -> None:
        if not self.ph_low <= self.ph_ideal_low <= self.ph_ideal_high <= self.ph_high:
            raise ValueError("the ideal pH must lie inside the tolerable one")
        edges = (self.ec_low, self.ec_ideal_low, self.ec_ideal_high, self.ec_high)
        known = [edge for edge in edges if edge is not None]
        if known and (len(known) < 4 or known != sorted(known)):
            raise ValueError("give all four edges of EC in rising order, or none")

    @property
    def ph_target(self) -> float:
        """The middle of the ideal pH."""
        return (self.ph_ideal_low + self.ph_ideal_high) / 2

    @property
    def ec_target_ms_cm(self) -> float | None:
        """The middle of the ideal strength. [mS/cm]"""
        if self.ec_ideal_low is None or self.ec_ideal_high is None:
            return None
        return (self.ec_ideal_low + self.ec_ideal_high) / 2


@dataclass(frozen=True, slots=True)
class Span:
    """A middle value with the range that holds it four times in five."""

    middle: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Predicted:
    """What the tank should show after a step.

    ph_now : once mixed, CO2 still in. ph_later : a day later. ec_ms_cm : once mixed, at 25 degC.
    """

    ph_now: Span | None = None
    ph_later: Span | None = None
    ec_ms_cm: Span | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do.

    action : what kind.
    role, product : of what is added; the product's own name where the household gave one.
    reagent : what the chemistry took it for; ``None`` where it is no adjuster.
    unit : ml, g or l.
    first : the portion to give now. [unit]
    low, high : the whole amount to the target, four times in five; ``None`` where it cannot be said. [unit]
    dilution : mix one part of the product with water to this many parts, and measure ``first`` of the
        mixture; 1 where the product is measured as it is.
    parts : names of a feed's bottles, each in the amount given, in this order.
    wait_minutes : how long to wait before what follows.
    assumption : code of the assumption that matters most for this step.
    bound_by : code of the limit that kept ``first`` below the whole amount.
    """

    action: Action
    role: ProductRole | None = None
    product: str | None = None
    reagent: str | None = None
    unit: str | None = None
    first: float | None = None
    low: float | None = None
    high: float | None = None
    dilution: int = 1
    parts: tuple[str, ...] = ()
    predicted: Predicted | None = None
    wait_minutes: int | None = None
    assumption: str | None = None
    bound_by: str | None = None


@dataclass(frozen=True, slots=True)
class Input:
    """One figure that went in. ``basis``: said, read, worked_out, learned or assumed."""

    name: str
    value: float | str
    unit: str
    basis: str
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Assumption:
    """Something taken for granted. ``low``, ``high``: the range reckoned with, four times in five."""

    code: str
    low: float
    high: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class Moves:
    """What one unit of an adjuster does to this tank now, once mixed, CO2 still in.

    unit : ml or g. litres : of the water that it goes into.
    ph : by how much it moves, without a sign. deviation : one deviation of what is believed of that. [pH]
    """

    role: ProductRole
    unit: str
    litres: float
    ph: float
    deviation: float


@dataclass(frozen=True, slots=True)
class Basis:
    """The working behind a plan.

    limit : code of the limit that bound the first portion; ``None`` where the target was reached first.
    overshoot : reckoned chance that the first portion passes a limit. [0 to 1]
    answers : how many of this tank's own doses and jars were learned from.
    moves : what is believed of the adjuster, in plain words; ``None`` where none was planned with.
    """

    inputs: tuple[Input, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    limit: str | None = None
    overshoot: float | None = None
    answers: int = 0
    moves: Moves | None = None


@dataclass(frozen=True, slots=True)
class Hold:
    """Why nothing is dosed now. ``data``: numbers, times and codes that a reply needs, by name."""

    code: str
    data: Mapping[str, Any] = field(default_factory=lambda: _NOTHING)


@dataclass(frozen=True, slots=True)
class Plan:
    """What to do, in order, and why.

    outcome : ``nothing`` to do, ``steps`` to take, a ``hold``, or something to ``ask`` first.
    reason : code of why nothing, hold or ask.
    steps : level first, then strength, a wait, pH last.
    hold : where the outcome is ``hold`` or ``ask``.
    needs : codes of what would make the answer better, the most useful first.
    retest_after : when to read again.
    cautions : codes into ``domain.safety.CAUTIONS``.
    """

    outcome: Outcome
    reason: str | None = None
    steps: tuple[Step, ...] = ()
    hold: Hold | None = None
    needs: tuple[str, ...] = ()
    basis: Basis = Basis()
    retest_after: timedelta | None = None
    cautions: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The plan as JSON data: numbers rounded to 4 decimals, times in ISO 8601, what is absent left
        out."""
        return cast(dict[str, Any], _plain(self))


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        said = {f.name: getattr(value, f.name) for f in fields(value)}
        if "retest_after" in said:
            said["retest_after_minutes"] = said.pop("retest_after")
        if said.get("dilution") == 1:
            del said["dilution"]
        return {key: _plain(v) for key, v in said.items() if v is not None and v != () and v is not _NOTHING}
    if isinstance(value, Mapping):
        return {str(key): _plain(v) for key, v in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    if isinstance(value, timedelta):
        return round(value.total_seconds() / 60)
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, float):
        return round(value, 4)
    return value
