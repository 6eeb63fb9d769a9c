"""``rillkeeper water``: the pH of a described water, and what additions do to it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from bot.water_desk.asked import Refused, addition, volume_l, water_said
from domain.chemistry.described import WaterSaid
from domain.dosing import Span
from domain.dosing.described import Addition, Air, Foretold, foretold
from domain.safety import CAUTIONS
from domain.tank import MG_CACO3_PER_EQ

__all__ = ["WaterAnswer", "water"]


@dataclass(frozen=True, slots=True)
class WaterAnswer:
    """What a described water shows, as it is and after each addition.

    air : ``tank`` where both pH with its CO2 kept in and pH at rest with the air are wanted.
    """

    said: WaterSaid
    litres: float
    air: Air
    additions: tuple[Addition, ...]
    states: tuple[Foretold, ...]

    def text(self) -> str:
        """For a terminal."""
        lines = [self._line(state) for state in self.states]
        lines += [f"! {CAUTIONS[code].text}" for code in self._cautions()]
        return "\n".join(lines)

    def as_json(self) -> dict[str, Any]:
        return {
            "volume_l": self.litres,
            "air": self.air,
            "states": [self._state(state, at) for at, state in enumerate(self.states)],
            "cautions": [
                {"code": code, "text": CAUTIONS[code].text, "source": CAUTIONS[code].source}
                for code in self._cautions()
            ],
        }

    def _cautions(self) -> tuple[str, ...]:
        return ("adjuster", "never_mix") if self.additions else ()

    def _line(self, state: Foretold) -> str:
        opening = f"After {state.text} in {self.litres:g} L" if state.text else "As described"
        left = f"alkalinity {state.alkalinity_eq_l * MG_CACO3_PER_EQ:.0f} mg/L CaCO3"
        return f"{opening}: {'; '.join(self._shown(state))}; {left}."

    def _shown(self, state: Foretold) -> Iterator[str]:
        if self.air != "aired" and self.said.ph is not None:
            yield f"pH {_range(state.closed)} with its CO2 kept in"
        if self.air != "closed":
            yield f"pH {_range(state.aired)} once at rest with the air"

    def _state(self, state: Foretold, at: int) -> dict[str, Any]:
        said: dict[str, Any] = {"added": state.text}
        if at:
            added = self.additions[at - 1]
            said |= {"reagent": added.reagent, "mmol_l": round(1e3 * added.mol_l, 5)}
        if self.air != "aired" and self.said.ph is not None:
            said["ph_closed"] = _span_json(state.closed)
        if self.air != "closed":
            said["ph_aired"] = _span_json(state.aired)
        return said | {"alkalinity_mg_l_caco3": round(state.alkalinity_eq_l * MG_CACO3_PER_EQ, 2)}


def water(
    *,
    add: Sequence[str] = (),
    volume: str | None = None,
    air: Air = "tank",
    **described: str | None,
) -> WaterAnswer:
    """Foretells a water from what was typed.

    add : amounts and adjusters, in the order in which they go in. volume : of the water; a litre by default.
    described : ph, alkalinity, ec, phosphate, calcium, temperature; see ``asked.water_said``.
    Raises Refused with one line that says what to do.
    """
    said = water_said(**described)
    if said.alkalinity_eq_l is None:
        raise Refused('--alkalinity is needed, e.g. --alkalinity "100 mg/L CaCO3" (rain: "0 mg/L")')
    if said.ph is None and air == "closed":
        raise Refused("with --closed say --ph as well: it tells how much CO2 the water holds")
    litres = 1.0 if volume is None else volume_l(volume)
    additions = tuple(addition(text, litres) for text in add)
    try:
        return WaterAnswer(said, litres, air, additions, foretold(said, additions))
    except ValueError as impossible:
        raise Refused(str(impossible)) from None


def _range(span: Span) -> str:
    return f"{span.middle:.2f} ({span.low:.1f}–{span.high:.1f})"


def _span_json(span: Span) -> dict[str, float]:
    return {"value": round(span.middle, 4), "low": round(span.low, 4), "high": round(span.high, 4)}
