"""What goes into the reader and what comes out of it, as plain data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, get_args

from domain.facts import Fact, ProductRole

__all__ = ["Found", "Read", "ReaderSettings", "Reason", "Unclear"]

Reason = Literal["implausible", "ambiguous", "conflict", "missing_value", "unknown"]
UnitSystem = Literal["metric", "us"]
StrengthUnit = Literal["ppm", "us_cm", "ask"]
DateOrder = Literal["DMY", "MDY"]

PPM_SCALES = (500, 640, 700)
"""ppm per mS/cm of the meters that are sold (common practice)."""


@dataclass(frozen=True)
class ReaderSettings:
    """What the reader knows of the household.

    units : the system that numbers without a unit are in.
    ppm_scale : the scale of the household's meter: 500, 640 or 700. [ppm per mS/cm]
    strength_unit : what a strength with no name is from 100 up; ``ask`` where nobody has said.
    date_order : how ``5/6`` is meant; ``None``: day first for metric, month first for US households.
    tanks, sites, crops : names that the household gave.
    products : what the household calls its products, each with its role.
    """

    units: UnitSystem = "metric"
    ppm_scale: int = 500
    strength_unit: StrengthUnit = "ppm"
    date_order: DateOrder | None = None
    tanks: tuple[str, ...] = ()
    sites: tuple[str, ...] = ()
    crops: tuple[str, ...] = ()
    products: Mapping[str, ProductRole] = field(default_factory=dict)

    @property
    def day_first(self) -> bool:
        """Whether ``5/6`` is the fifth of June."""
        return (self.date_order or ("DMY" if self.units == "metric" else "MDY")) == "DMY"

    @classmethod
    def from_json(cls, said: Mapping[str, Any]) -> ReaderSettings:
        """Settings from the ``settings`` of a ``--jsonl`` line.

        Raises ValueError for a key or a value that the contract does not have.
        """
        unknown = set(said) - set(cls.__dataclass_fields__)
        if unknown:
            raise ValueError(f"unknown setting: {', '.join(sorted(unknown))}")
        _choose("units", said.get("units", "metric"), get_args(UnitSystem))
        _choose("ppm_scale", said.get("ppm_scale", 500), PPM_SCALES)
        _choose("strength_unit", said.get("strength_unit", "ppm"), get_args(StrengthUnit))
        _choose("date_order", said.get("date_order"), (None, *get_args(DateOrder)))
        products = said.get("products") or {}
        if not isinstance(products, Mapping):
            raise ValueError("products must map names to roles")
        for role in products.values():
            _choose("a product's role", role, get_args(ProductRole))
        return cls(
            units=said.get("units", "metric"),
            ppm_scale=said.get("ppm_scale", 500),
            strength_unit=said.get("strength_unit", "ppm"),
            date_order=said.get("date_order"),
            tanks=_names("tanks", said.get("tanks")),
            sites=_names("sites", said.get("sites")),
            crops=_names("crops", said.get("crops")),
            products=dict(products),
        )


@dataclass(frozen=True, slots=True)
class Found:
    """One fact and where it stands. ``span``: start and end in the text as it was typed."""

    fact: Fact
    span: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Unclear:
    """Something seen that will not be recorded.

    text : the bit as typed.
    suggestions : texts that would be read if they stood in its place.
    """

    text: str
    reason: Reason
    span: tuple[int, int]
    suggestions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Read:
    """All that one text says. Talk that is not for the record gives two empty tuples."""

    facts: tuple[Found, ...] = ()
    unclear: tuple[Unclear, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """``facts`` and ``unclear`` as the message contract writes them."""
        return {
            "facts": [found.fact.as_json() for found in self.facts],
            "unclear": [{"text": bit.text, "reason": bit.reason} for bit in self.unclear],
        }


def _choose(what: str, value: object, allowed: tuple[object, ...]) -> None:
    if isinstance(value, bool) or value not in allowed:
        raise ValueError(f"{what} must be one of {', '.join(str(a) for a in allowed)}, not {value!r}")


def _names(key: str, value: object) -> tuple[str, ...]:
    if value is None:
        return ()
    if not isinstance(value, list | tuple) or not all(isinstance(name, str) for name in value):
        raise ValueError(f"{key} must be a list of names")
    return tuple(value)
