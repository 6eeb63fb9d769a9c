"""How far carbon dioxide has left, or entered, after some time under the air.

Total carbon falls by kLa ([CO2] - [CO2 at rest]) while alkalinity stays. Bicarbonate turns into CO2 as it
leaves, so carbon falls by more than [CO2] does: by the *yield*, dC/d[CO2]. Measured in e-foldings of the
distance to rest, time is the integral of the yield. It is taken over a few states on the way, whose carbon
and yield are exact.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from domain.chemistry.equilibrium import Amounts, Found, find_ph
from domain.chemistry.species import LN10

__all__ = ["carbon_after", "roughly_after"]

Array = NDArray[np.float64]

STRETCHES = 6
FOLDS = 12.0
"""After twelve e-foldings 6e-6 of the distance is left: at rest."""
_NO_CO2_MOL_L = 1e-12
"""A difference of carbon dioxide too small to divide by."""
_LEAST_AWAY_MOL_L = 1e-9
"""Nearer to rest than this no time matters."""
_LEAST_YIELD = 0.2
_LARGEST_SHIFT = 7.0
_START_LN_H = (-9.0 * LN10, -4.0 * LN10)
_REFINEMENTS = 4


def carbon_after(amounts: Amounts, rest: Array, elapsed: Array) -> Array:
    """Dissolved inorganic carbon after a time under the air. [mol/L]

    amounts : the closed solution.
    rest : dissolved carbon dioxide at rest with that air, a column a sample. [mol/L]
    elapsed : time times kLa, a column a sample, 0 or more.
    """
    now = find_ph(amounts)
    away = now.co2 - rest
    fold = np.minimum(elapsed, FOLDS) / STRETCHES
    co2 = rest + away * np.exp(-fold * np.arange(STRETCHES + 1.0)[:, None])
    # Where bicarbonate is what buffers, protons follow carbon dioxide.
    start = np.tile(now.state, STRETCHES + 1)
    follow = np.log(np.maximum(co2, _NO_CO2_MOL_L) / np.maximum(now.co2, _NO_CO2_MOL_L))
    start[0] += np.clip(follow, -_LARGEST_SHIFT, _LARGEST_SHIFT).reshape(-1)
    there = find_ph(_under(amounts, co2), start)
    folds = _folds_after(
        elapsed, fold, co2, there.carbon.reshape(co2.shape), there.carbon_yield.reshape(co2.shape)
    )
    last = there.state.reshape(4, STRETCHES + 1, -1)[:, -1]
    return find_ph(replace(amounts, co2=rest + away * np.exp(-folds)), last.copy()).carbon


def roughly_after(amounts: Amounts, rest: Array, elapsed: Array) -> Found:
    """The state after a time under the air, by the mean yield from now to rest.

    As ``carbon_after``; each search starts from the state before it, which spares it half of its way.
    """
    now = find_ph(amounts)
    follow = np.log(np.maximum(rest, _NO_CO2_MOL_L) / np.maximum(now.co2, _NO_CO2_MOL_L))
    start = now.state.copy()
    # A start too alkaline draws in carbonate without end.
    start[0] = np.clip(start[0] + follow, *_START_LN_H)
    there = _found_near(replace(amounts, co2=rest), start)
    away = now.co2 - rest
    is_away = np.abs(away) > _LEAST_AWAY_MOL_L
    mean = np.where(is_away, (now.carbon - there.carbon) / np.where(is_away, away, 1.0), 1.0)
    left = np.exp(-elapsed / np.maximum(mean, 1.0))
    co2 = rest + away * left
    between = there.state + (now.state - there.state) * left
    between[0] = np.clip(between[0], *_START_LN_H)
    return _found_near(replace(amounts, co2=co2), between)


def _found_near(amounts: Amounts, start: Array) -> Found:
    """``find_ph`` from a start that may lead nowhere: what overflows on the way is thrown away there."""
    with np.errstate(over="ignore", invalid="ignore"):
        return find_ph(amounts, start)


def _folds_after(elapsed: Array, fold: Array, co2: Array, carbon: Array, carbon_yield: Array) -> Array:
    """E-foldings of the distance to rest that this time has brought."""
    shrunk = 1.0 - np.exp(-fold)
    moved = np.diff(co2, axis=0)
    is_moving = np.abs(moved) > _NO_CO2_MOL_L
    mean = np.where(is_moving, np.diff(carbon, axis=0) / np.where(is_moving, moved, 1.0), carbon_yield[1:])
    first, final = carbon_yield[:-1], carbon_yield[1:]
    # The yield along a stretch: the parabola with its yield at both ends and its mean.
    bend = 3.0 * (first + final - 2.0 * mean)
    tilt = final - first - bend

    def time_within(done: Array, a: Array, b: Array, c: Array) -> Array:
        gone = -np.expm1(-done) / np.where(shrunk > 0.0, shrunk, 1.0)
        # done - gone * shrunk loses its digits for short times; there it is done**2 / 2 of a tiny number
        # anyway.
        inner = done - gone * shrunk
        square = inner - 0.5 * (gone * shrunk) ** 2
        scale = np.where(shrunk > 0.0, shrunk, 1.0)
        return np.asarray(a * done + b * inner / scale + c * square / scale**2)

    whole = time_within(fold, first, tilt, bend)
    reached = np.concatenate((np.zeros_like(fold)[None], np.cumsum(whole, axis=0)))
    at = np.clip((reached <= elapsed).sum(axis=0) - 1, 0, STRETCHES - 1)[None]
    a, b, c = (np.take_along_axis(part, at, axis=0)[0] for part in (first, tilt, bend))
    left = elapsed - np.take_along_axis(reached, at, axis=0)[0]
    done = np.minimum(left / np.maximum(np.take_along_axis(mean, at, axis=0)[0], _LEAST_YIELD), 2.0 * fold)
    for _ in range(_REFINEMENTS):
        gone = -np.expm1(-done) / np.where(shrunk > 0.0, shrunk, 1.0)
        here = np.maximum(a + b * gone + c * gone**2, _LEAST_YIELD)
        done = np.maximum(done + (left - time_within(done, a, b, c)) / here, 0.0)
    return np.asarray(at[0] * fold + done)


def _under(amounts: Amounts, co2: Array) -> Amounts:
    """The same solution under several airs, side by side; co2 : a row for each, a column a sample."""
    times = co2.shape[0]
    temperature = amounts.temperature_c
    return Amounts(
        table=amounts.table,
        temperature_c=temperature if temperature.size == 1 else np.tile(temperature, times),
        totals=np.tile(amounts.totals, times),
        strong_charge=np.tile(amounts.strong_charge, times),
        other_ions=np.tile(amounts.other_ions, times),
        calcium=np.tile(amounts.calcium, times),
        magnesium=np.tile(amounts.magnesium, times),
        co2=co2.reshape(-1),
    )
