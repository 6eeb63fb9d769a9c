"""What keeps people and plants from harm: the caps on a dose, the cautions beside it, and who to call.

What to do in an emergency stands in ``domain.emergencies`` and is given out here with the rest. Every number
that limits a dose stands in ``CAPS``, every caution in ``CAUTIONS``, both with their source.
The wording is ours and short; a label, a local code or a licensed trade always overrides it.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Protocol

from domain.emergencies import EMERGENCY, Advice

__all__ = [
    "CAPS",
    "CAUTIONS",
    "EMERGENCY",
    "LOCAL_EMERGENCY",
    "LOCAL_HELP",
    "Advice",
    "Cap",
    "Caps",
    "Caution",
    "PoisonCentre",
    "caps_for",
    "cautions_for",
    "country_of_zone",
    "poison_centre",
]


@dataclass(frozen=True, slots=True)
class Cap:
    """One limit on a dose. ``planted_only``: it does not bind a fresh fill before plants stand in it."""

    value: float
    unit: str
    why: str
    planted_only: bool
    source: str


@dataclass(frozen=True, slots=True)
class Caps:
    """The limits that bind one dose; infinite where one does not apply.

    lowest_ph_just_after, highest_ph_just_after : true pH right after an acid or a base, CO2 still in.
    settled_shift_per_day : pH between now and a day later. [pH]
    ec_rise_per_step : strength. [mS/cm]
    concentrate_ml_per_l : of bottle per litre of tank, one step. [ml/L]
    """

    lowest_ph_just_after: float
    highest_ph_just_after: float
    settled_shift_per_day: float
    ec_rise_per_step: float
    concentrate_ml_per_l: float


_DESIGN = "our own design rule, not a published limit"

CAPS: Mapping[str, Cap] = MappingProxyType(
    {
        "lowest_ph_just_after": Cap(
            5.2, "pH", "roots are hurt and metals dissolve below about 5", False, _DESIGN
        ),
        "highest_ph_just_after": Cap(
            7.0, "pH", "iron and phosphate fall out of solution above 7", False, _DESIGN
        ),
        "settled_shift_per_day": Cap(1.0, "pH", "plants get used to a change over days", True, _DESIGN),
        "ec_rise_per_step": Cap(0.4, "mS/cm", "a sudden rise pulls water out of roots", True, _DESIGN),
        "concentrate_ml_per_l": Cap(
            1.0, "ml/L", "a mistaken bottle or volume stays mendable", False, _DESIGN
        ),
        "phosphoric_acid_mmol_l": Cap(
            2.1,
            "mmol/L",
            "more phosphorus than plants use",
            False,
            "UMass Extension: 2.25 fl oz of 75 % per 100 US gal",
        ),
    }
)
"""Every limit on a dose. The first five bind; the last one brings a caution alone."""


def caps_for(*, planted: bool) -> Caps:
    """The limits for a tank in which plants stand, or for a fresh fill before they do."""

    def limit(name: str) -> float:
        cap = CAPS[name]
        return cap.value if planted or not cap.planted_only else float("inf")

    return Caps(
        lowest_ph_just_after=limit("lowest_ph_just_after"),
        highest_ph_just_after=limit("highest_ph_just_after"),
        settled_shift_per_day=limit("settled_shift_per_day"),
        ec_rise_per_step=limit("ec_rise_per_step"),
        concentrate_ml_per_l=limit("concentrate_ml_per_l"),
    )


@dataclass(frozen=True, slots=True)
class Caution:
    """One warning. ``brief`` stands beside a dose (one line of a phone), ``text`` behind ``why``."""

    code: str
    brief: str
    text: str
    source: str


def _cautions(*rows: tuple[str, str, str, str]) -> Mapping[str, Caution]:
    return MappingProxyType({row[0]: Caution(*row) for row in rows})


CAUTIONS: Mapping[str, Caution] = _cautions(
    (
        "adjuster",
        "Goggles, gloves; dilute.",
        "Read the label first: it overrides this. Wear splash goggles and chemical-proof gloves. Pour the "
        "measured adjuster into a jug of tank water, never water into the bottle; add that slowly, away from "
        "roots and pump, with the pump running.",
        "CCOHS, Working safely with corrosives; University of Iowa EHS; dilution in a jug: common practice",
    ),
    (
        "never_mix",
        "Never with bleach.",
        "Acid on bleach frees chlorine gas; bleach with ammonia is as bad. This holds for vinegar and "
        "citric acid too. Never mix pH down and pH up as concentrates, and never cancel one with the other "
        "neat.",
        "Torrance Fire Department, household chemicals; University of Iowa EHS",
    ),
    (
        "strong_acid",
        "Nitric or sulfuric: label first, outdoors.",
        "Nitric acid fumes and feeds fire; sulfuric acid is among the most hazardous at home. Above a "
        "dilute, labelled product leave them alone and take phosphoric or citric acid.",
        "UMass Extension (relative hazard); remainder from memory",
    ),
    (
        "foaming",
        "It foams: small portions, open jug.",
        "Carbonate and bicarbonate give off CO2 in sour water: dissolve in an open jug, add a little at a "
        "time.",
        "from memory",
    ),
    (
        "parts_apart",
        "One part after the other, stirring between.",
        "Parts of a feed meet only when diluted in the tank: calcium with sulfate or phosphate falls out.",
        "from memory; extension compatibility lists agree",
    ),
    (
        "unplug",
        "Unplug before hands go in.",
        "Unplug pump, heater and lamp before hands go into the tank. A plug that trips again, a damaged "
        "cord or a tingle: cut the power at the breaker and call a licensed electrician.",
        "from memory (makers' manuals); ESFI for the protective switch",
    ),
    (
        "phosphorus_high",
        "Much phosphorus: ask about your water.",
        "So much phosphoric acid brings more phosphorus than plants use. A softer water (rain, reverse "
        "osmosis) is the better cure.",
        "UMass Extension: 2.25 fl oz of 75 % per 100 US gal",
    ),
    (
        "unknown_bottle",
        "Strength unknown: a small test only.",
        "Without the strength on the label a full dose would be a guess. The test portion is small enough "
        "for the strongest bottle sold; what it does tells the strength.",
        "our own design rule",
    ),
    (
        "second_dose",
        "Last dose not tested yet: you insist.",
        "The last dose has not shown yet. Water that looks too high now may be right in an hour. This "
        "portion keeps within the day's limits.",
        "common practice",
    ),
    (
        "not_drinking",
        "Not drinking water.",
        "Nutrient solution holds far more nitrate than drinking water may: keep children and pets away from "
        "it.",
        "from memory (EPA limit 10 mg/L nitrate-N)",
    ),
)
"""Every caution by its code."""


class _Step(Protocol):
    """What a caution depends on: the ``Step`` of a plan has it."""

    @property
    def action(self) -> str: ...
    @property
    def role(self) -> str | None: ...
    @property
    def reagent(self) -> str | None: ...
    @property
    def parts(self) -> tuple[str, ...]: ...


def cautions_for(steps: Iterable[_Step]) -> tuple[str, ...]:
    """The codes of what must be said beside these steps, the most pressing first, each once."""
    codes: list[str] = []
    for step in steps:
        if step.action in ("add", "test_portion", "jar_test") and step.role in ("ph_down", "ph_up"):
            codes += ["adjuster", "never_mix"]
            if step.reagent in ("nitric acid", "sulfuric acid"):
                codes.append("strong_acid")
            if step.reagent in ("potassium carbonate", "potassium bicarbonate"):
                codes.append("foaming")
            if step.action != "add":
                codes.append("unknown_bottle")
        if step.action == "add" and step.role == "nutrient" and len(step.parts) > 1:
            codes.append("parts_apart")
        if step.action == "drain_refill":
            codes.append("unplug")
    return tuple(dict.fromkeys(codes))


LOCAL_EMERGENCY = "your local emergency number"
LOCAL_HELP = "your poison centre or emergency number"
"""Who to call where no number is known."""
_ALWAYS_OPEN = "day and night"


@dataclass(frozen=True, slots=True)
class PoisonCentre:
    """Who to call in one country. ``number`` is empty where only the emergency number is known.

    hours : when it answers. note : where or how it is not to be called as it stands; may be empty.
    source, emergency_source : keys of ``data/sources.csv``: pages in which the numbers were read. A number
        that nobody has read anywhere is not in the table.
    """

    country: str
    name: str
    number: str
    hours: str
    note: str
    emergency_number: str
    source: str
    emergency_source: str

    @property
    def limited_hours(self) -> str:
        """When it answers, such as ``8 am to 10 pm``; empty where that is round the clock or unknown."""
        return "" if self.hours == _ALWAYS_OPEN else self.hours


def poison_centre(zone_name: str) -> PoisonCentre | None:
    """The poison centre of the country in which this time zone lies.

    zone_name : an IANA zone, such as ``Europe/Lisbon``.
    Returns ``None`` where the country or its number is unknown: say ``LOCAL_HELP`` then.
    """
    country = country_of_zone(zone_name)
    return _centres().get(country) if country else None


@cache
def country_of_zone(zone_name: str) -> str | None:
    """The ISO 3166 code of the country a time zone is named for; ``None`` for a zone of no single place.

    Source: ``zone.tab`` of the tz database, which gives one country per zone. Former names of zones
    (``Japan``, ``US/Eastern``) are followed through the links of ``tzdata.zi``.
    """
    return _zones().get(_links().get(zone_name, zone_name))


@cache
def _centres() -> Mapping[str, PoisonCentre]:
    with files("domain.data").joinpath("poison_centres.csv").open(encoding="utf-8") as table:
        return {row["country"]: PoisonCentre(**row) for row in csv.DictReader(table)}


@cache
def _zones() -> Mapping[str, str]:
    lines = files("tzdata").joinpath("zoneinfo", "zone.tab").read_text(encoding="utf-8").splitlines()
    rows = (line.split("\t") for line in lines if line and not line.startswith("#"))
    return {row[2]: row[0] for row in rows}


@cache
def _links() -> Mapping[str, str]:
    """Former names of zones that ``zone.tab`` does not list, each with the name that it does."""
    text = files("tzdata").joinpath("zoneinfo", "tzdata.zi").read_text(encoding="utf-8")
    links = (line.split() for line in text.splitlines() if line.startswith("L "))
    return {alias: target for _, target, alias in links if alias not in _zones()}
