"""Finds the one state in which charges balance and calcium and magnesium are shared out: Newton over arrays.

Three unknowns are found together for each sample: the free calcium, the free magnesium, and either the proton
activity (``find_ph``) or the amount of a reagent that brings about a wanted pH (``find_amount``). The
derivatives of a ligand's mean number of protons or metal ions are covariances over its species, so that no
species is treated by name. The ionic strength follows one sweep behind.

Columns are samples. Nothing here knows what a reagent or a source water is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from domain.chemistry.species import (
    CO2_PROTONS,
    LN10,
    Table,
    debye_huckel_a,
    log_gamma_per_charge,
    p_kw,
    temperature_terms,
)

__all__ = ["Added", "Amounts", "Found", "NoEquilibrium", "find_amount", "find_ph"]

Array = NDArray[np.float64]

MOST_SWEEPS = 60
_LARGEST_STEP = 1.5 * LN10
"""A Newton step changes no unknown by more than one and a half powers of ten."""
_SETTLED = 1e-6
"""In natural logarithms: 4e-7 pH. An amount is settled within this share of ``_SCALE_MOL_L``."""
_SCALE_MOL_L = 1e-3
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
    """What one mole of a reagent brings: moles of each ligand (a column), strong charge, other ions."""

    totals: Array
    strong_charge: float
    other_ions: float


@dataclass(frozen=True, slots=True)
class Found:
    """A balanced state, a column a sample.

    ln_h : natural logarithm of the proton activity.
    amount : of the reagent, where that was looked for; else zero. [mol/L]
    charge_brought : by that amount: below zero where acid was needed, whichever the reagent is. [eq/L]
    carbon : dissolved inorganic carbon in all its forms. [mol/L]
    co2 : dissolved carbon dioxide. [mol/L]
    ionic_strength : [mol/L]
    """

    ln_h: Array
    amount: Array
    charge_brought: Array
    carbon: Array
    co2: Array
    ionic_strength: Array


@dataclass(slots=True)
class _State:
    """What one sweep starts from: logarithms, and ``gamma``, see ``log_gamma_per_charge``."""

    ln_h: Array
    ln_ca: Array
    ln_mg: Array
    gamma: Array


@dataclass(slots=True)
class _Shares:
    """How each ligand (a row) is spread over its species: total, uncounted charge, and means over species."""

    totals: Array
    charge: Array
    h: Array
    hh: Array
    ca: Array
    mg: Array
    h_ca: Array
    h_mg: Array
    zz: Array
    co2: Array


@dataclass(slots=True)
class _Sides:
    """Positive (row 0) and negative (row 1) charge, both above zero, and their changes with the
    logarithms."""

    value: Array
    by_h: Array
    by_ca: Array
    by_mg: Array
    water_ions: Array


class _Equations:
    """The balances of one set of samples at one temperature."""

    def __init__(self, amounts: Amounts) -> None:
        self.amounts = amounts
        self.table = amounts.table
        self.is_open = amounts.co2 is not None
        self.ln_k = amounts.table.coefficients @ temperature_terms(amounts.temperature_c)
        self.kw = 10.0 ** -p_kw(amounts.temperature_c)
        self.a = debye_huckel_a(amounts.temperature_c)
        self.calcium = np.maximum(amounts.calcium, _TRACE_MOL_L)
        self.magnesium = np.maximum(amounts.magnesium, _TRACE_MOL_L)

    def first_guess(self, ln_h: Array) -> _State:
        """All metal free, the ionic strength as if every ligand carried one charge."""
        amounts = self.amounts
        ionic = 0.5 * (
            amounts.other_ions + 4.0 * (self.calcium + self.magnesium) + amounts.totals.sum(axis=0)
        )
        gamma = log_gamma_per_charge(ionic, self.a)
        return _State(ln_h.copy(), np.log(self.calcium), np.log(self.magnesium), gamma)

    def shares(self, state: _State, totals: Array) -> _Shares:
        """How the ligands are spread in this state; an open solution takes its carbon from the air."""
        unknowns = np.stack((state.ln_h, state.ln_ca, state.ln_mg, state.gamma))
        weights = np.exp(self.ln_k + self.table.exponents @ unknowns)
        sums = (self.table.moments @ weights).reshape(8, len(self.table.ligands), -1)
        share_of_co2 = weights[self.table.co2] / sums[0, 0]
        if self.amounts.co2 is not None:
            totals = totals.copy()
            totals[0] = self.amounts.co2 / share_of_co2
        h, hh, ca, mg, h_ca, h_mg, zz = sums[1:] / sums[0]
        charge = h + self.table.uncounted_charge
        return _Shares(totals, charge, h, hh, ca, mg, h_ca, h_mg, zz, totals[0] * share_of_co2)

    def sides(self, state: _State, shares: _Shares, strong: Array) -> _Sides:
        """Both sides of the balance of charge."""
        split, totals = self.table.split, shares.totals
        per_charge = np.exp(state.gamma)
        protons = np.exp(state.ln_h) * per_charge
        hydroxide = self.kw * np.exp(-state.ln_h) * per_charge
        value = split @ (totals * shares.charge)
        value[0] += protons + np.maximum(strong, 0.0)
        value[1] += hydroxide + np.maximum(-strong, 0.0)
        by_h = split @ (totals * (shares.hh - shares.h**2))
        by_h[0] += protons
        by_h[1] -= hydroxide
        by_ca = split @ (totals * (shares.h_ca - shares.h * shares.ca))
        by_mg = split @ (totals * (shares.h_mg - shares.h * shares.mg))
        if self.is_open:
            carried = -shares.charge[0] * totals[0]
            by_h[1] += carried * (shares.h[0] - CO2_PROTONS)
            by_ca[1] += carried * shares.ca[0]
            by_mg[1] += carried * shares.mg[0]
        return _Sides(value, by_h, by_ca, by_mg, protons + hydroxide)

    def metal(self, shares: _Shares, free: Array, wanted: Array, *, magnesium: bool) -> tuple[Array, ...]:
        """A metal's balance in logarithms: its derivatives by ln aH+, ln [Ca++], ln [Mg++], what is off, and
        how much of it there is."""
        totals = shares.totals
        own, other, h_own = (
            (shares.mg, shares.ca, shares.h_mg) if magnesium else (shares.ca, shares.mg, shares.h_ca)
        )
        bound = totals * own
        there = free + bound.sum(axis=0)
        by_h = (totals * h_own - bound * shares.h).sum(axis=0)
        by_own = there - (bound * own).sum(axis=0)
        by_other = -(bound * other).sum(axis=0)
        if self.is_open:
            by_h += bound[0] * (shares.h[0] - CO2_PROTONS)
            by_own += bound[0] * own[0]
            by_other += bound[0] * other[0]
        by_ca, by_mg = (by_other, by_own) if magnesium else (by_own, by_other)
        return by_h / there, by_ca / there, by_mg / there, np.log(there / wanted), there

    def gamma(
        self, state: _State, shares: _Shares, water_ions: Array, other_ions: Array
    ) -> tuple[Array, Array]:
        """Ionic strength of this state, and what it makes of the activity coefficients."""
        metals = np.exp(state.ln_ca) + np.exp(state.ln_mg)
        ions = other_ions + 4.0 * metals + (shares.totals * shares.zz).sum(axis=0) + water_ions
        ionic = 0.5 * np.maximum(ions, 0.0)
        return ionic, log_gamma_per_charge(ionic, self.a)


def find_ph(amounts: Amounts, ln_h: Array | None = None) -> Found:
    """The proton activity at which charges balance.

    ln_h : where to start from, if something better than pH 7 is known.
    Raises NoEquilibrium where the sweeps do not settle.
    """
    equations = _Equations(amounts)
    columns = amounts.totals.shape[1]
    none = np.zeros(columns)
    state = equations.first_guess(np.full(columns, -7.0 * LN10) if ln_h is None else ln_h)
    for _ in range(MOST_SWEEPS):
        shares = equations.shares(state, amounts.totals)
        sides = equations.sides(state, shares, amounts.strong_charge)
        up, down = sides.value
        # In logarithms the balance is close to straight lines over many pH, where the plain sum is a wall.
        charge = [by[0] / up - by[1] / down for by in (sides.by_h, sides.by_ca, sides.by_mg)]
        ca = equations.metal(shares, np.exp(state.ln_ca), equations.calcium, magnesium=False)
        mg = equations.metal(shares, np.exp(state.ln_mg), equations.magnesium, magnesium=True)
        step = _newton((*charge, np.log(up / down)), ca[:4], mg[:4])
        step = np.clip(step, -_LARGEST_STEP, _LARGEST_STEP)
        ionic, gamma = equations.gamma(state, shares, sides.water_ions, amounts.other_ions)
        # Written so that a NaN, which stays one, keeps no other sample waiting.
        moving = (np.abs(step).max(axis=0) >= _SETTLED) | (np.abs(gamma - state.gamma) >= _SETTLED)
        state = _State(state.ln_h + step[0], state.ln_ca + step[1], state.ln_mg + step[2], gamma)
        if not moving.any():
            return Found(state.ln_h, none, none, shares.totals[0], shares.co2, ionic)
    raise NoEquilibrium("charges balance at no pH")


def find_amount(amounts: Amounts, added: Added, ln_h: Array) -> Found:
    """The amount of a reagent at which the solution has this proton activity.

    ln_h : natural logarithm of the proton activity that is wanted, a column a sample.
    The amount is below zero where the opposite is needed, and NaN where no amount does it.
    """
    equations = _Equations(amounts)
    state = equations.first_guess(ln_h)
    amount = np.zeros(amounts.totals.shape[1])
    brought = added.totals * equations.table.not_carbon if equations.is_open else added.totals
    for _ in range(MOST_SWEEPS):
        totals = np.maximum(amounts.totals + added.totals * amount, 0.0)
        shares = equations.shares(state, totals)
        sides = equations.sides(state, shares, amounts.strong_charge + added.strong_charge * amount)
        per_mole = added.strong_charge + (brought * shares.charge).sum(axis=0)
        by_metal = [by[0] - by[1] for by in (sides.by_ca, sides.by_mg)]
        ca = equations.metal(shares, np.exp(state.ln_ca), equations.calcium, magnesium=False)
        mg = equations.metal(shares, np.exp(state.ln_mg), equations.magnesium, magnesium=True)
        step = _newton(
            (per_mole * _SCALE_MOL_L, *by_metal, sides.value[0] - sides.value[1]),
            ((brought * shares.ca).sum(axis=0) * _SCALE_MOL_L / ca[4], *ca[1:4]),
            ((brought * shares.mg).sum(axis=0) * _SCALE_MOL_L / mg[4], *mg[1:4]),
        )
        other_ions = amounts.other_ions + added.other_ions * amount
        ionic, gamma = equations.gamma(state, shares, sides.water_ions, other_ions)
        amount = amount + step[0] * _SCALE_MOL_L
        metals = np.clip(step[1:], -_LARGEST_STEP, _LARGEST_STEP)
        moved = np.abs(step).max(axis=0) + np.abs(gamma - state.gamma)
        state = _State(state.ln_h, state.ln_ca + metals[0], state.ln_mg + metals[1], gamma)
        if not (moved >= _SETTLED).any():
            break
    known = np.where(moved < _SETTLED, amount, np.nan)
    return Found(ln_h, known, per_mole * known, shares.totals[0], shares.co2, ionic)


def _newton(*equations: tuple[Array, ...]) -> Array:
    """The step that the linearised equations ask for: a row for each unknown, a column a sample.

    equations : each its derivatives by the three unknowns, and by how much it is off.
    """
    matrix = np.stack([np.stack(equation[:3], axis=-1) for equation in equations], axis=-2)
    off = np.stack([equation[3] for equation in equations], axis=-1)
    step = np.linalg.solve(matrix, -off[..., None])[..., 0].T
    return np.asarray(step, dtype=np.float64)
