"""``rillkeeper dose``: how much adjuster takes a described water to a pH."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from bot.assistant.advise import aim_of
from bot.rendering import Voice, to_plain
from bot.rendering.markup import Line, line, to_html
from bot.rendering.standing_texts import JAR_TEST
from bot.rendering.steps import plan_lines
from bot.rendering.voice import number
from bot.rendering.words import NOTHING, words_for
from bot.rendering.working import why_lines
from bot.water_desk.asked import Refused, adjuster, ph_of, volume_l, water_said
from domain.bands import tank_bands
from domain.bottles import bottle_of
from domain.chemistry.described import WaterSaid
from domain.dosing import Plan, Predicted, Span
from domain.dosing.described import Air, Exact, dose_described, exact_amount
from domain.facts import Product
from domain.safety import CAUTIONS

__all__ = ["DoseAnswer", "dose"]

_VOICE = Voice(units="metric", ppm_scale=None, zone=ZoneInfo("UTC"), zone_said=False)
_OPTIONS = {"alkalinity_eq_l": "--alkalinity", "ec_ms_cm": "--ec", "temperature_c": "--temperature"}


@dataclass(frozen=True, slots=True)
class DoseAnswer:
    """A plan for a water that was described.

    exact : the whole amount in the water exactly as described; ``None`` where too little of it is.
    label : the adjuster as it was typed.
    """

    said: WaterSaid
    litres: float
    ph_to: float
    product: Product
    label: str | None
    air: Air
    planted: bool
    plan: Plan
    exact: Exact | None
    now: datetime

    def text(self, *, why: bool = False) -> str:
        """For a terminal. why : with the working behind it."""
        lines = [line(self._heading()), *self._orders(), *self._figures()]
        if why:
            lines += [line(""), *why_lines(self.plan, None, _VOICE)]
        else:
            lines += [line(f"! {CAUTIONS[code].text}") for code in self.plan.cautions]
        if any(step.action == "jar_test" for step in self.plan.steps):
            lines += [line(""), *(line(text) for text in JAR_TEST)]
        return to_plain(to_html(lines))

    def as_json(self) -> dict[str, Any]:
        """Everything as data; what has no answer is null."""
        return {
            "water": dict(_said(self.said)),
            "volume_l": self.litres,
            "ph_to": self.ph_to,
            "adjuster": self.product.as_json(),
            "air": self.air,
            "planted": self.planted,
            "plan": self.plan.as_json(),
            "as_described": self._exact_json(),
            "not_said": [option for name, option in _OPTIONS.items() if getattr(self.said, name) is None],
            "cautions": [
                {"code": code, "text": CAUTIONS[code].text, "source": CAUTIONS[code].source}
                for code in self.plan.cautions
            ],
        }

    def _heading(self) -> str:
        label = self.label or "an adjuster of unknown strength"
        return f"{number(self.litres, 2)} L, pH {self.said.ph:g} to {self.ph_to:g}, {label}:"

    def _orders(self) -> list[Line]:
        if self.plan.outcome == "nothing":
            code = self.plan.reason or "at_target"
            return [line(words_for(NOTHING, code).format(values=f"pH {self.said.ph:g}", product="adjuster"))]
        return plan_lines(self.plan, _VOICE, self.now)

    def _figures(self) -> Iterator[Line]:
        predicted = next((step.predicted for step in self.plan.steps if step.predicted is not None), None)
        if predicted is not None and (shown := _predicted(predicted)):
            yield line(f"That portion should bring {shown}.")
        if self.exact is not None:
            yield line(_exactly(self.exact, self.product, self.litres, self.ph_to))
        missing = [option for name, option in _OPTIONS.items() if getattr(self.said, name) is None]
        if missing:
            yield line(f"Not said, so usual ranges are reckoned with: {', '.join(missing)}.")

    def _exact_json(self) -> dict[str, Any] | None:
        if self.exact is None:
            return None
        bottle = bottle_of(self.product)
        per_unit = bottle.middle / self.litres if bottle.is_known else math.nan
        return {
            "reagent": bottle.reagent,
            "closed_mmol_l": _finite(1e3 * self.exact.closed_mol_l),
            "aired_mmol_l": _finite(1e3 * self.exact.aired_mol_l),
            "closed": _finite(self.exact.closed_mol_l / per_unit),
            "aired": _finite(self.exact.aired_mol_l / per_unit),
            "unit": bottle.unit,
        }


def dose(
    *,
    now: datetime,
    volume: str | None,
    ph: str | None,
    to: str | None,
    label: str | None = None,
    air: Air = "tank",
    fresh: bool = False,
    **described: str | None,
) -> DoseAnswer:
    """Works out a dose from what was typed.

    described : alkalinity, ec, phosphate, calcium, temperature; see ``asked.water_said``.
    Raises Refused with one line that says what to do.
    """
    if ph is None:
        raise Refused("--ph is needed: what the water shows now, e.g. --ph 6.8")
    litres = volume_l(volume)
    said = water_said(ph=ph, **described)
    aim = aim_of(tank_bands(()))
    ph_now = ph_of("--ph", ph)
    ph_to = round(aim.ph_target, 1) if to is None else ph_of("--to", to)
    product = adjuster(label, "ph_down" if ph_to <= ph_now else "ph_up")
    try:
        planned = dose_described(said, product, litres, aim, ph_to=ph_to, now=now, air=air, planted=not fresh)
    except ValueError as impossible:
        raise Refused(str(impossible)) from None
    exact = _exact(said, product, ph_to)
    return DoseAnswer(said, litres, ph_to, product, label, air, not fresh, planned, exact, now)


def _exact(said: WaterSaid, product: Product, ph_to: float) -> Exact | None:
    """Where the water and the reagent are said; without a strength it may hold a feed's buffer or none."""
    fed = said.ec_ms_cm is not None or said.phosphate_mol_l is not None
    bottle = bottle_of(product)
    if said.alkalinity_eq_l is None or not fed or not bottle.is_named:
        return None
    try:
        return exact_amount(said, bottle.reagent, ph_to)
    except ValueError:
        return None  # Some feed other than the usual may still make this water; the plan has found one.


def _exactly(exact: Exact, product: Product, litres: float, ph_to: float) -> str:
    bottle = bottle_of(product)

    def amount(mol_l: float) -> str:
        if not math.isfinite(mol_l):
            return "no amount"
        neat = f"{number(mol_l * litres / bottle.middle, 2)} {bottle.unit}, " if bottle.is_known else ""
        return f"{neat}{number(1e3 * mol_l, 3)} mmol/L"

    return (
        f"All the way to pH {ph_to:g} in this water as described: {amount(exact.closed_mol_l)} with its "
        f"CO2 kept in; {amount(exact.aired_mol_l)} once that has left."
    )


def _predicted(predicted: Predicted) -> str:
    spans = (("at once", predicted.ph_now), ("a day later", predicted.ph_later))
    return ", ".join(f"pH {_range(span)} {when}" for when, span in spans if span is not None)


def _range(span: Span) -> str:
    low, high = f"{span.low:.1f}", f"{span.high:.1f}"
    return low if low == high else f"{low}–{high}"


def _said(said: WaterSaid) -> Iterator[tuple[str, float]]:
    for name in WaterSaid.__dataclass_fields__:
        value = getattr(said, name)
        if value is not None:
            yield name, value


def _finite(value: float) -> float | None:
    return round(value, 5) if math.isfinite(value) else None
