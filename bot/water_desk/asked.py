"""What is typed on the command line, in canonical units; what cannot be used is refused in one line."""

from __future__ import annotations

import re
from collections.abc import Callable

from bot.reader.labels import adjuster_from_label
from domain.bottles import bottle_of
from domain.chemistry.described import WaterSaid
from domain.chemistry.reagents import REAGENTS, mol_per_g, mol_per_ml, reagent_named
from domain.dosing.described import Addition
from domain.facts import Product, ProductRole
from domain.units import (
    UNITS,
    alkalinity_eq_l_from,
    calcium_mol_l_from,
    ec_ms_cm_from,
    litres_from,
    phosphate_mol_l_from,
    temperature_c_from,
)

__all__ = ["Refused", "addition", "adjuster", "ph_of", "volume_l", "water_said"]

Ask = Callable[[str], float]


class Refused(ValueError):
    """Something on the command line cannot be used; its text is one line that says what to do."""


_MOST_VOLUME_L = 100_000.0
_MOST_DOSE_MOL_L = 0.03
"""Ten times what any tank needs: beyond it an amount or a volume is a slip."""
_DROP_ML = 0.05
"""Pharmacists' rule: 20 drops a ml."""


def volume_l(text: str | None) -> float:
    """The volume of the water. [L]"""
    if text is None:
        raise Refused('--volume is needed, e.g. --volume 40L or --volume "10 gal"')
    litres = _within("--volume", text, litres_from, 0.0, _MOST_VOLUME_L, "litres")
    if litres <= 0.0:
        raise Refused("--volume must be more than nothing, e.g. --volume 40L")
    return litres


def ph_of(option: str, text: str) -> float:
    """A pH as a tank can have it."""
    return _within(option, text, _number, 3.5, 9.5, "pH")


def water_said(
    *,
    ph: str | None = None,
    alkalinity: str | None = None,
    ec: str | None = None,
    phosphate: str | None = None,
    calcium: str | None = None,
    temperature: str | None = None,
) -> WaterSaid:
    """The water as the options describe it. Raises Refused for one that cannot be read or is out of range."""

    def value(option: str, text: str | None, ask: Ask, low: float, high: float, unit: str) -> float | None:
        return None if text is None else _within(option, text, ask, low, high, unit)

    return WaterSaid(
        ph=None if ph is None else ph_of("--ph", ph),
        alkalinity_eq_l=value("--alkalinity", alkalinity, alkalinity_eq_l_from, 0.0, 0.02, "eq/L"),
        ec_ms_cm=value("--ec", ec, ec_ms_cm_from, 0.0, 6.0, "mS/cm"),
        phosphate_mol_l=value("--phosphate", phosphate, phosphate_mol_l_from, 0.0, 0.01, "mol/L"),
        calcium_mol_l=value("--calcium", calcium, calcium_mol_l_from, 0.0, 0.02, "mol/L"),
        temperature_c=value("--temperature", temperature, temperature_c_from, 0.0, 45.0, "°C"),
    )


def adjuster(text: str | None, role: ProductRole) -> Product:
    """The adjuster that moves pH this way; without a label's words, one of unknown strength."""
    if text is None:
        return Product(role=role)
    product = adjuster_from_label(text, role)
    if product is None:
        raise Refused(f'--adjuster "{text}" names none I know, e.g. --adjuster "{_EXAMPLES[role]}"')
    if product.reagent is not None and REAGENTS[product.reagent].acid != (role == "ph_down"):
        way = "lowers" if role == "ph_up" else "raises"
        raise Refused(f'{product.reagent} {way} pH; for this dose try --adjuster "{_EXAMPLES[role]}"')
    if re.search(r"\d", text) and not bottle_of(product).is_known:
        raise Refused(f'--adjuster "{text}" gives no strength that I can use, e.g. "{_EXAMPLES[role]}"')
    return product


_EXAMPLES: dict[ProductRole, str] = {"ph_down": "phosphoric acid 10% w/w", "ph_up": "potassium hydroxide 10%"}


_ADDED = re.compile(r"\s*(\d{1,6}(?:[.,]\d{1,6})?)\s*([a-zµ]+(?:/l)?)\s+(?:of\s+)?(.{2,80})", re.I)


def addition(text: str, litres: float) -> Addition:
    """``2 ml phosphoric acid 10%``, ``3 g citric acid`` or ``1 mmol/L nitric acid`` in so much water.

    litres : of the water it goes into. [L]
    """
    found = _ADDED.fullmatch(text)
    reagent = reagent_named(found[3]) if found else None
    if found is None or reagent is None:
        raise Refused(f'--add "{text}": write amount and adjuster, e.g. --add "2 ml phosphoric acid 10%"')
    amount, unit = float(found[1].replace(",", ".")), found[2].lower()
    mol_l = amount * 1e-3 if unit == "mmol/l" else _moles(text, amount, unit, found[3], reagent) / litres
    if mol_l > _MOST_DOSE_MOL_L:
        raise Refused(f'--add "{text}" in {litres:g} L is ten times what a tank needs: check it and --volume')
    return Addition(text, reagent, mol_l)


def _moles(text: str, amount: float, spelling: str, label: str, reagent: str) -> float:
    """How much reagent the amount of the product holds. [mol]"""
    product = adjuster_from_label(label, "ph_down" if REAGENTS[reagent].acid else "ph_up")
    unit = UNITS.get(spelling)
    if unit is not None and unit.canonical == "g":
        pure = Product(role="ph_down", reagent=reagent, percent_w_w=100.0)
        has_figure = product is not None and bottle_of(product).is_known
        per_g = mol_per_g(product if product is not None and has_figure else pure)
        if per_g is not None:
            return amount * unit.factor * per_g
    per_unit_ml = {"ml": unit.factor, "drop": _DROP_ML}.get(unit.canonical) if unit else None
    strength = mol_per_ml(product) if product is not None else None
    if per_unit_ml is None:
        raise Refused(f'--add "{text}": measure it in ml, g, drops or mmol/L')
    if strength is None:
        raise Refused(f'--add "{text}" gives no strength, e.g. --add "2 ml {reagent} 10%"')
    return amount * per_unit_ml * strength


def _within(option: str, text: str, ask: Ask, low: float, high: float, unit: str) -> float:
    try:
        value = ask(text)
    except ValueError as refused:
        raise Refused(f'{option} "{text}": {str(refused).rstrip(".")}') from None
    if not low <= value <= high:
        raise Refused(f'{option} "{text}" is outside {low:g} to {high:g} {unit}: no tank has that, check it')
    return value


def _number(text: str) -> float:
    if not re.fullmatch(r"\s*\d{1,3}(?:[.,]\d{1,4})?\s*", text):
        raise ValueError("I need a number, such as 6.8")
    return float(text.replace(",", "."))
