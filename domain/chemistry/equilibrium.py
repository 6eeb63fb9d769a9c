"""Finds the one state in which charges balance and calcium and magnesium are shared out: Newton over arrays.

Three unknowns are found together for each sample: the free calcium, the free magnesium, and either the proton
activity (``find_ph``) or the amount of a reagent that brings about a wanted pH (``find_amount``). What all
species together hold of protons, calcium and magnesium has a simple derivative by the logarithms of the three
activities: the sum of products of what each species holds, less the same for each ligand's mean (a
covariance, since the ligand's total stays), but for carbonate under the open air, whose total follows. The
ionic strength is one sweep behind.

Columns are samples. Nothing here knows what a reagent or a source water is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from domain.chemistry.species import (
    LN10,
    Table,
    debye_huckel_a,
    log_gamma_per_charge,
    temperature_terms,
)

__all__ = ["Added", "Amounts", "Found", "NoEquilibrium", "find_amount", "find_ph"]

Array = NDArray[np.float64]

MOST_SWEEPS = 60
BLOCK = 1024
"""Columns worked on at a time: more no longer fit the processor's cache, and cost five times as much each."""
_LARGEST_STEP = 1.5 * LN10
"""A Newton step changes no unknown by more than one and a half powers of ten."""
_SETTLED = 1e-5
"""In natural logarithms: 4e-6 pH; what is left after such a step is a twentieth of it. An amount is settled
within this share of ``_SCALE_MOL_L``."""
_SCALE_MOL_L = 1e-3
MOST_REAGENT_MOL_L = 1.0
"""An amount that passes this is taken as none that would do; a tank never needs a fiftieth of it."""
_TRACE_MOL_L = 1e-15
"""Stands for none of a metal, so that its logarithm exists."""


class NoEquilibrium(ArithmeticError):
    """No balance of charge was found: the composition is no aqueous solution."""


@dataclass(frozen=True, slots=True)
class Amounts:
    """What is dissolved, for each sample.

    table : the species that can form.
    temperature_c : one column, or a column a sample. [degC]
    totals : a row for each ligand of ``table``, a column a sample. [mol/L]
    strong_charge, other_ions, calcium, magnesium : see ``solution.Solution``; a column a sample. [mol/L]
    co2 : dissolved carbon dioxide that the air imposes; ``None`` where carbon is closed in. Where it is
        given, the carbonate row of ``totals`` is not read. [mol/L]
    """

    table: Table
    temperature_c: Array
    totals: Array
    strong_charge: Array
    other_ions: Array
    calcium: Array
    magnesium: Array
    co2: Array | None = None


@dataclass(frozen=True, slots=True)
class Added:
    """What one mole of a reagent brings: moles of each ligand (a column), strong charge, other ions.

    least : the least amount that makes sense; below zero for what can be taken away as well. [mol/L]
    """

    totals: Array
    strong_charge: float
    other_ions: float
    least: float = 0.0


@dataclass(frozen=True, slots=True)
class Found:
    """A balanced state, a column a sample.

    state : rows ln aH+, ln [Ca++], ln [Mg++] and the activity term; a start for a solution close to this one.
    amount : of the reagent, where that was looked for; else zero. [mol/L]
    excess : positive less negative charge that is left: none, but where the amount would have to be below
        zero; then above zero where acid is needed. [eq/L]
    carbon : dissolved inorganic carbon in all its forms. [mol/L]
    co2 : dissolved carbon dioxide. [mol/L]
    carbon_yield : under the open air, by how much carbon changes with dissolved carbon dioxide while
        alkalinity stays; NaN where carbon is closed in.
    concentrations : a row for each species of the table. [mol/L]
    ionic_strength : [mol/L]
    """

    state: Array
    amount: Array
    excess: Array
    carbon: Array
    co2: Array
    carbon_yield: Array
    concentrations: Array
    ionic_strength: Array


@dataclass(slots=True)
class _Balance:
    """How the balances stand in one state.

    excess : positive less negative charge. [eq/L]
    positive : the positive charge; above zero. [eq/L]
    protons : free ones. [mol/L]
    metals : rows calcium and magnesium, free and held. [mol/L]
    slopes : a symmetric 3 x 3 matrix a sample (the first two axes): excess charge, calcium and magnesium, by
        ln aH+, ln [Ca++] and ln [Mg++].
    means : what a mole of each ligand holds of protons (to its fullest form), calcium and magnesium.
    by_co2 : rows excess charge, calcium and magnesium, by ln [CO2] of the open air.
    carbon, co2, concentrations : see ``Found``.
    ionic : see ``Found.ionic_strength``.
    """

    excess: Array
    positive: Array
    protons: Array
    metals: Array
    slopes: Array
    means: Array
    by_co2: Array
    carbon: Array
    co2: Array
    concentrations: Array
    ionic: Array


_PRODUCT = np.array([[0, 1, 2], [1, 3, 5], [2, 5, 4]])
"""Which row of ``Table.squares`` belongs where in the slopes."""

_NEXT, _LAST = np.array([[1], [2], [0]]), np.array([[2], [0], [1]])
_RIGHT, _LEFT = _NEXT.T, _LAST.T
"""The rows and columns that a cofactor of a 3 x 3 matrix is made of."""


class _Equations:
    """The balances of one set of samples."""

    def __init__(self, amounts: Amounts) -> None:
        self.amounts = amounts
        self.table = amounts.table
        self.ln_k = amounts.table.coefficients @ temperature_terms(amounts.temperature_c)
        self.a = debye_huckel_a(amounts.temperature_c)
        self.metals = np.maximum(np.stack((amounts.calcium, amounts.magnesium)), _TRACE_MOL_L)

    def first_guess(self, ln_h: Array) -> Array:
        """All metal free, every ligand with one charge. Rows: ln aH+, ln [Ca++], ln [Mg++], see ``gamma``."""
        amounts = self.amounts
        ionic = 0.5 * (amounts.other_ions + 4.0 * self.metals.sum(axis=0) + amounts.totals.sum(axis=0))
        return np.stack((ln_h, *np.log(self.metals), self.gamma(ionic)))

    def gamma(self, ionic_strength: Array) -> Array:
        """-ln of the activity coefficient of a singly charged ion."""
        return log_gamma_per_charge(ionic_strength, self.a)

    def balance(self, state: Array, totals: Array, strong: Array, other_ions: Array) -> _Balance:
        """How the balances stand. state : as from ``first_guess``."""
        table, co2 = self.table, self.amounts.co2
        weights = np.exp(self.ln_k + table.exponents @ state)
        sums = (table.sums @ weights).reshape(4, 1 + len(table.ligands), -1)
        per_weight = np.ones_like(sums[0])
        per_weight[1:] = totals / sums[0, 1:]
        if co2 is not None:
            per_weight[1] = co2 / weights[table.co2]
        held = sums[1:] * per_weight
        means = sums[1:, 1:] / sums[0, 1:]
        concentrations = weights * per_weight[table.ligand_of]
        products = table.squares @ concentrations
        fixed = 0 if co2 is None else 1
        spread = means[:, None, fixed:] * held[None, :, 1 + fixed :]
        strong = strong + (table.full_charge * totals).sum(axis=0)
        all_held = held.sum(axis=1)
        return _Balance(
            excess=strong + all_held[0],
            positive=np.maximum(strong, 0.0) + weights[table.proton],
            protons=weights[table.proton],
            metals=all_held[1:],
            slopes=products[_PRODUCT] - spread.sum(axis=2),
            means=means,
            by_co2=held[:, 1],
            carbon=per_weight[1] * sums[0, 1],
            co2=concentrations[table.co2],
            concentrations=concentrations,
            ionic=0.5 * np.maximum(other_ions + products[-1], 0.0),
        )


def find_ph(amounts: Amounts, start: Array | None = None) -> Found:
    """The proton activity at which charges balance.

    start : a state near the one looked for, if one is known; else the search starts from pH 7.
    Raises NoEquilibrium where the sweeps do not settle.
    """
    if amounts.totals.shape[1] > BLOCK:
        return _by_blocks(
            amounts, lambda part, columns: find_ph(part, None if start is None else start[:, columns])
        )
    equations = _Equations(amounts)
    neutral = np.full(amounts.totals.shape[1], -7.0 * LN10)
    state = equations.first_guess(neutral) if start is None else start.copy()
    for _ in range(MOST_SWEEPS):
        now = equations.balance(state, amounts.totals, amounts.strong_charge, amounts.other_ions)
        # As a ratio of charges, in logarithms, the balance is close to straight over many pH; the plain sum
        # is a wall where nothing buffers.
        negative = now.positive - now.excess
        now.slopes[0] /= negative
        now.slopes[0, 0] += now.protons * (1.0 / now.positive - 1.0 / negative)
        now.slopes[1:] /= now.metals[:, None]
        off = np.log(np.concatenate(((now.positive / negative)[None], now.metals / equations.metals)))
        step = np.clip(_newton(now.slopes, off), -_LARGEST_STEP, _LARGEST_STEP)
        moved = _move(state, step, equations.gamma(now.ionic))
        # Asked so that a NaN, which stays one, keeps no other sample waiting.
        if not (moved >= _SETTLED).any():
            if start is not None and np.isnan(state).any():
                break
            return _settled(amounts, state, now, step, negative)
    if start is not None:
        # Where a start that looked near leads nowhere, the long way is left.
        return find_ph(amounts)
    raise NoEquilibrium("charges balance at no pH")


def find_amount(amounts: Amounts, added: Added, ln_h: Array) -> Found:
    """The amount of a reagent at which the solution has this proton activity.

    ln_h : natural logarithm of the proton activity that is wanted, a column a sample.
    The amount is the least (none) where the opposite of the reagent is needed, and NaN where the sweeps do
    not settle or pass ``MOST_REAGENT_MOL_L``.
    """
    if amounts.totals.shape[1] > BLOCK:
        return _by_blocks(amounts, lambda part, columns: find_amount(part, added, ln_h[columns]))
    equations = _Equations(amounts)
    state = equations.first_guess(ln_h)
    amount = np.zeros_like(ln_h)
    ligands = added.totals.copy()
    if amounts.co2 is not None:
        ligands[0] = 0.0
    charge = added.strong_charge + (amounts.table.full_charge * ligands).sum()
    for _ in range(MOST_SWEEPS):
        now = equations.balance(
            state,
            amounts.totals + added.totals * amount,
            amounts.strong_charge + added.strong_charge * amount,
            amounts.other_ions + added.other_ions * amount,
        )
        per_mole = (now.means * ligands).sum(axis=1)
        per_mole[0] += charge
        now.slopes[:, 0] = per_mole * _SCALE_MOL_L
        now.slopes[1:] /= now.metals[:, None]
        off = np.concatenate((now.excess[None], np.log(now.metals / equations.metals)))
        # Where the opposite reagent is needed the amount stays at its least, and only the metals are shared
        # out.
        is_opposite = (amount == added.least) & (now.excess * per_mole[0] > 0.0)
        off[0, is_opposite] = 0.0
        now.slopes[0, 1:, is_opposite] = 0.0
        step = _newton(now.slopes, off)
        step[0, is_opposite] = 0.0
        before = amount
        amount = np.clip(before + step[0] * _SCALE_MOL_L, added.least, MOST_REAGENT_MOL_L)
        step = np.clip(step, -_LARGEST_STEP, _LARGEST_STEP)
        moved = _move(state, step, equations.gamma(now.ionic), kept=1)
        moved = np.maximum(moved, np.abs(amount - before) / _SCALE_MOL_L)
        if not (moved >= _SETTLED).any():
            break
    known = np.where((moved < _SETTLED) & (amount < MOST_REAGENT_MOL_L), amount, np.nan)
    unasked = np.full_like(known, np.nan)
    return Found(state, known, now.excess, now.carbon, now.co2, unasked, now.concentrations, now.ionic)


def _settled(amounts: Amounts, state: Array, now: _Balance, step: Array, negative: Array) -> Found:
    """The state after the last step, which was too small to matter but for carbon: in water that nothing
    buffers a little carbon is much pH."""
    none = np.zeros_like(now.carbon)
    carbon, carbon_yield = now.carbon, none + np.nan
    if amounts.co2 is not None:
        carbon = carbon * (1.0 + (now.means[:, 0] * step).sum(axis=0))
        pushed = np.concatenate((now.by_co2[:1] / negative, now.by_co2[1:] / now.metals))
        answer = _newton(now.slopes, pushed)
        carbon_yield = (
            (1.0 + (now.means[:, 0] * answer).sum(axis=0)) * carbon / np.maximum(now.co2, _TRACE_MOL_L)
        )
    return Found(state, none, none, carbon, now.co2, carbon_yield, now.concentrations, now.ionic)


def _newton(slopes: Array, off: Array) -> Array:
    """The step that the linearised equations ask for: a row for each unknown, a column a sample.

    slopes : equations by unknowns by samples. off : by how much each equation is off.
    By Cramer's rule, all samples at once: for three unknowns ten times as fast as a general solver.
    """
    cofactors = slopes[_NEXT, _RIGHT] * slopes[_LAST, _LEFT] - slopes[_NEXT, _LEFT] * slopes[_LAST, _RIGHT]
    determinant = (slopes[0] * cofactors[0]).sum(axis=0)
    return np.asarray(-(off[:, None] * cofactors).sum(axis=0) / determinant)


def _move(state: Array, step: Array, gamma: Array, kept: int = 0) -> Array:
    """Takes the step, but for the first ``kept`` unknowns; tells how far each sample moved."""
    state[kept:3] += step[kept:]
    changed = np.maximum(np.abs(step[kept:]).max(axis=0), np.abs(gamma - state[3]))
    state[3] = gamma
    return np.asarray(changed)


def _by_blocks(amounts: Amounts, find: Callable[[Amounts, slice], Found]) -> Found:
    """``find`` for some columns at a time, its answers put side by side."""
    total = amounts.totals.shape[1]
    blocks = [slice(start, start + BLOCK) for start in range(0, total, BLOCK)]
    parts = [find(_columns(amounts, block), block) for block in blocks]
    names = [field.name for field in fields(Found)]
    return Found(*(np.concatenate([getattr(part, name) for part in parts], axis=-1) for name in names))


def _columns(amounts: Amounts, columns: slice) -> Amounts:
    temperature = amounts.temperature_c
    return replace(
        amounts,
        temperature_c=temperature if temperature.size == 1 else temperature[columns],
        totals=amounts.totals[:, columns],
        strong_charge=amounts.strong_charge[columns],
        other_ions=amounts.other_ions[columns],
        calcium=amounts.calcium[columns],
        magnesium=amounts.magnesium[columns],
        co2=None if amounts.co2 is None else amounts.co2[columns],
    )
