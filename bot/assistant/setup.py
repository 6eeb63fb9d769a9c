"""The short set-up: what to ask, in which order, and how an answer becomes facts.

Every step can be skipped, a skip is remembered, and what is known is not asked.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.assistant.impossible import LEAST_TANK_L, MOST_TANK_L
from bot.assistant.replies import Choice
from bot.reader import read
from bot.reader.labels import adjuster_from_label, nutrient_from_label
from bot.reader.places import zones_named
from domain.crops import crop_names
from domain.facts import Fact, Growing, ProductRole, Setting
from domain.household import Choices
from domain.units import litres_from

__all__ = ["PATIENCE", "STEPS", "Step", "answered", "next_step", "skipped", "step_named"]

LONGEST_NAME = 40
PATIENCE = timedelta(hours=12)
"""How long a step of the set-up waits for its answer."""
_FILLERS = frozenset(
    [
        "i",
        "we",
        "use",
        "it",
        "is",
        "in",
        "my",
        "the",
        "a",
        "and",
        "units",
        "meter",
        "shows",
        "on",
        "scale",
        "degrees",
        "please",
    ]
)
_US = frozenset(["us", "american", "gal", "gallon", "gallons", "fahrenheit", "imperial", "f"])
_METRIC = frozenset(["metric", "litre", "litres", "liter", "liters", "l", "celsius", "c"])
_UNIT_WORDS = _FILLERS | _US | _METRIC
_EC = frozenset(["ec", "ms", "us", "µs", "μs", "ds", "microsiemens", "millisiemens"])
_METER_WORDS = _FILLERS | _EC | frozenset(["ppm", "tds", "500", "640", "700", "cm", "m"])
"""An answer to a step of the set-up is made of its own words alone; a longer text says something else."""
MOST_BARE_L = 300.0
"""A number with no unit beyond this is no home tank's volume, but a strength that was typed meanwhile."""
_COUNT_WORDS = re.compile(r"^(\d{1,3})\s*[x×]?\s+|\s+[x×]?\s*(\d{1,3})$")


@dataclass(frozen=True, slots=True)
class Step:
    """One question of the set-up.

    is_known : whether the household has said it already.
    parse : the facts in an answer; ``None`` where it is no answer to this question.
    choices : answers offered as buttons; ``text`` is what typing them would be.
    own_words : an answer is made of so few words of its own that it is one even where it reads like a log
        (``ppm 500`` to the question what the meter shows).
    """

    name: str
    is_known: Callable[[Choices], bool]
    parse: Callable[[str, Choices], tuple[Fact, ...] | None]
    choices: tuple[Choice, ...] = ()
    own_words: bool = False


def next_step(chosen: Choices) -> Step | None:
    """The first step that is neither known nor skipped; ``None`` when there is nothing left to ask."""
    return next((s for s in STEPS if not s.is_known(chosen) and s.name not in chosen.skipped), None)


def step_named(name: str) -> Step | None:
    """The step of this name."""
    return next((step for step in STEPS if step.name == name), None)


def skipped(step: Step) -> Fact:
    """The fact that a step was passed over."""
    return Setting(name="setup_skipped", value=step.name)


def answered(step: Step, text: str, chosen: Choices, *, now: datetime) -> tuple[Fact, ...] | None:
    """The facts in an answer; ``None`` where the text is no answer to this step.

    A text that the reader takes for a log (``ph 6.1``) is never an answer to the question of a name.
    """
    if step.name == "name":
        taken = read(text, now=now, zone=chosen.zone)
        if taken.facts or taken.unclear:
            return None
        if (other := _answers_another(text.strip(), chosen)) is not None:
            return other
    return step.parse(text.strip(), chosen)


def _answers_another(text: str, chosen: Choices) -> tuple[Fact, ...] | None:
    """What ``basil``, ``45 L`` or ``metric`` says to the question of a name: no tank is called so."""
    return _crops(text, chosen) or _units(text, chosen) or _meter(text, chosen) or _volume(text, chosen)


def _name(text: str, _: Choices) -> tuple[Fact, ...] | None:
    name = " ".join(text.split())
    return (Setting(name="system_name", value=name),) if 0 < len(name) <= LONGEST_NAME else None


def _volume(text: str, chosen: Choices) -> tuple[Fact, ...] | None:
    bare = re.fullmatch(r"(?:about |~)?(\d+(?:[.,]\d+)?)", text.lower())
    unit = "gal" if chosen.spoken_units == "us" else "l"
    try:
        litres = litres_from(f"{bare[1]} {unit}" if bare else text)
    except ValueError:
        return None
    most = MOST_BARE_L if bare else MOST_TANK_L
    fits = LEAST_TANK_L <= litres <= most
    return (Setting(name="tank_volume_l", value=f"{round(litres, 1):g}"),) if fits else None


def _units(text: str, _: Choices) -> tuple[Fact, ...] | None:
    words = set(re.findall(r"[a-z]+", text.lower()))
    if not words <= _UNIT_WORDS:
        return None
    if words & _US:
        return (Setting(name="units", value="us"),)
    return (Setting(name="units", value="metric"),) if words & _METRIC else None


def _meter(text: str, _: Choices) -> tuple[Fact, ...] | None:
    words = set(re.findall(r"[a-zµμ]+|\d+", text.lower()))
    if not words <= _METER_WORDS:
        return None
    scale = next(iter(words & {"500", "640", "700"}), None)
    if scale:
        return (
            Setting(name="strength_unit", value="ppm"),
            Setting(name="ppm_scale", value=scale),
        )
    if words & _EC:
        return (Setting(name="strength_unit", value="us_cm"),)
    return (Setting(name="strength_unit", value="ppm"),) if words & {"ppm", "tds"} else None


def _zone(text: str, _: Choices) -> tuple[Fact, ...] | None:
    zones = zones_named(text)
    return (Setting(name="time_zone", value=zones[0]),) if len(zones) == 1 else None


def _crops(text: str, _: Choices) -> tuple[Fact, ...] | None:
    """``basil, lettuce 4 and 2 tomatoes``; every part must be a crop, so that nothing is dropped unseen."""
    named = crop_names()
    growing: list[Fact] = []
    for part in filter(None, (p.strip() for p in re.split(r",|;|\n|\band\b|&|\+", text.lower()))):
        count = _COUNT_WORDS.search(part)
        crop = _crop(_COUNT_WORDS.sub("", part).strip(), named)
        if crop is None:
            return None
        number = int(next(filter(None, count.groups()))) if count else None
        growing.append(Growing(crop=crop, count=number))
    return tuple(growing) or None


def _crop(word: str, named: dict[str, str]) -> str | None:
    return named.get(word) or next(
        (named[word.removesuffix(end)] for end in ("es", "s") if word.removesuffix(end) in named), None
    )


def _adjuster(role: ProductRole) -> Callable[[str, Choices], tuple[Fact, ...] | None]:
    def parse(text: str, _: Choices) -> tuple[Fact, ...] | None:
        product = adjuster_from_label(text, role)
        return (product,) if product else None

    return parse


def _nutrient(text: str, _: Choices) -> tuple[Fact, ...] | None:
    product = nutrient_from_label(text)
    return (product,) if product else None


def _has(role: ProductRole) -> Callable[[Choices], bool]:
    return lambda chosen: chosen.product(role) is not None


def _choices(*pairs: tuple[str, str]) -> tuple[Choice, ...]:
    return tuple(Choice(label=label, text=text) for label, text in pairs)


STEPS: tuple[Step, ...] = (
    Step("name", lambda c: c.system_name is not None, _name),
    Step("volume", lambda c: c.tank_volume_l is not None, _volume),
    Step(
        "units",
        lambda c: c.units is not None,
        _units,
        _choices(("Litres, °C", "metric"), ("US gallons, °F", "us")),
        own_words=True,
    ),
    Step(
        "meter",
        lambda c: c.strength_unit is not None and (c.strength_unit != "ppm" or c.ppm_scale is not None),
        _meter,
        _choices(
            ("ppm, 500 scale", "ppm 500"),
            ("ppm, 700 scale", "ppm 700"),
            ("EC: mS or µS", "ec"),
        ),
        own_words=True,
    ),
    Step("zone", lambda c: c.zone_name is not None, _zone),
    Step("crops", lambda c: bool(c.growing), _crops),
    Step(
        "ph_down",
        _has("ph_down"),
        _adjuster("ph_down"),
        _choices(("Label says no strength", "not stated"), ("It has no label", "no label")),
    ),
    Step(
        "ph_up",
        _has("ph_up"),
        _adjuster("ph_up"),
        _choices(("Label says no strength", "not stated"), ("It has no label", "no label")),
    ),
    Step("nutrient", _has("nutrient"), _nutrient),
)
"""The set-up in the order in which it asks."""


def shown(facts: Iterable[Fact]) -> tuple[Fact, ...]:
    """The facts of an answer that are worth repeating."""
    return tuple(f for f in facts if not (isinstance(f, Setting) and f.name == "setup_skipped"))
