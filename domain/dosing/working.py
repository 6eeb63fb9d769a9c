"""The working behind a plan: what went in, what was assumed, and which assumption matters most."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from domain.bottles import bottle_of
from domain.chemistry.solution import ph
from domain.dosing.acidity import Portion
from domain.dosing.shapes import Assumption, Basis, Input, Moves
from domain.facts import Product
from domain.response import Beliefs
from domain.tank import MG_CACO3_PER_EQ, Figure, TankState

__all__ = ["basis_of", "leading_assumption"]

Array = NDArray[np.float64]


def basis_of(
    state: TankState, belief: Beliefs | None, found: Portion | None, product: Product | None = None
) -> Basis:
    """Inputs with how each is known, the ranges reckoned with, and the limit that bound the portion.

    product : the adjuster that was planned with.
    """
    return Basis(
        inputs=_inputs(state),
        assumptions=_assumptions(state, belief) if belief is not None else (),
        limit=found.limit if found else None,
        overshoot=round(found.overshoot, 4) if found else None,
        answers=belief.answers if belief is not None else 0,
        moves=_moves(belief, product) if belief is not None and product is not None else None,
    )


def _moves(belief: Beliefs, product: Product) -> Moves:
    """What one unit does now: the mean over all guesses, and its deviation."""
    dosed = belief.with_dose(belief.water, product, 1.0)
    shift = np.abs(np.asarray(ph(dosed)) - belief.ph)
    mean = float(np.sum(belief.weight * shift))
    deviation = float(np.sqrt(np.sum(belief.weight * (shift - mean) ** 2)))
    litres = belief.quantile(belief.volume_l, 0.5)
    return Moves(product.role, bottle_of(product).unit, litres, mean, deviation)


def _inputs(state: TankState) -> tuple[Input, ...]:
    figures: tuple[tuple[str, Figure | None, str, float], ...] = (
        ("ph", state.ph, "pH", 1.0),
        ("ec", state.ec_ms_cm, "mS/cm", 1.0),
        ("water", state.level_l, "L", 1.0),
        ("temperature", state.temperature_c, "°C", 1.0),
        ("source_alkalinity", state.source.alkalinity_eq_l, "mg/L CaCO3", MG_CACO3_PER_EQ),
        ("source_ec", state.source.ec_ms_cm, "mS/cm", 1.0),
    )
    return tuple(
        Input(name, figure.value * factor, unit, figure.basis, figure.at)
        for name, figure, unit, factor in figures
        if figure is not None
    )


def _assumptions(state: TankState, belief: Beliefs) -> tuple[Assumption, ...]:
    water = belief.water
    left = (np.asarray(water.strong_charge_eq_l) - np.asarray(water.phosphate_mol_l)) * MG_CACO3_PER_EQ
    rows: tuple[tuple[str, Array, str], ...] = (
        ("alkalinity_left", left, "mg/L CaCO3"),
        ("dissolved_carbon", np.asarray(water.carbon_mol_l) * 1e3, "mmol/L"),
        ("phosphate", np.asarray(water.phosphate_mol_l) * 1e3, "mmol/L"),
        ("volume", belief.volume_l, "L"),
    )
    source = "this tank's answers" if belief.answers else "usual ranges (common practice)"
    return tuple(
        Assumption(code, belief.quantile(values, 0.1), belief.quantile(values, 0.9), unit, source)
        for code, values, unit in rows
    )


def leading_assumption(belief: Beliefs, found: Portion) -> str:
    """The code of what the whole amount depends on most: the strongest correlation of ranks."""
    water = belief.water
    candidates = {
        "alkalinity": np.asarray(water.strong_charge_eq_l) - np.asarray(water.phosphate_mol_l),
        "phosphate": np.asarray(water.phosphate_mol_l),
        "tank_volume": belief.volume_l,
        "air_exchange": belief.exchange_per_h,
        "bottle_strength": found.per_unit * belief.volume_l,
        "tester": belief.ph,
    }
    return max(
        candidates, key=lambda code: abs(_rank_correlation(candidates[code], found.whole, belief.weight))
    )


def _rank_correlation(a: Array, b: Array, weight: Array) -> float:
    ranks = [np.argsort(np.argsort(values)).astype(float) for values in (a, b)]
    x, y = (values - np.sum(weight * values) for values in ranks)
    spread = np.sqrt(np.sum(weight * x * x) * np.sum(weight * y * y))
    return float(np.sum(weight * x * y) / spread) if spread > 0 else 0.0
