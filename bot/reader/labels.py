"""Labels of bottles and bags, as a household copies them into the chat."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from domain.chemistry.reagents import REAGENTS, reagent_named
from domain.facts import Product, ProductRole
from domain.tank import UNLABELLED

__all__ = ["adjuster_from_label", "nutrient_from_label"]

P2O5_TO_H3PO4 = 2 * 97.995 / 141.945
"""Phosphoric acid per phosphorus pentoxide, by molar masses; some labels state strength as P2O5."""

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_PERCENT = re.compile(rf"{_NUMBER}\s*(?:%|percent|pct)\s*(?:\(?\s*(w\s*/?\s*[wv]|m\s*/?\s*[mv])\b)?", re.I)
_MOLAR = re.compile(rf"{_NUMBER}\s*(?:mol\s*/\s*l|mol/litre|molar|M)\b")
_NORMAL = re.compile(rf"{_NUMBER}\s*(?:normal|eq\s*/\s*l|N)\b")
_GRAMS_PER_LITRE = re.compile(rf"{_NUMBER}\s*g\s*/\s*l(?:itre|iter)?\b", re.I)
_P2O5 = re.compile(rf"{_NUMBER}\s*%?\s*(?:as\s+)?P[2₂]O[5₅]|P[2₂]O[5₅]\s*:?\s*{_NUMBER}\s*%", re.I)
_NOT_A_LABEL = re.compile(
    r"\b(?:eyes?|skin|face|mouth|hands?|swallow\w*|dr[au]nk|spill?\w*|splash\w*|instead|added|poured)\b", re.I
)
"""Words of an accident or a dose: no bottle says so of itself."""
_NO_LABEL = re.compile(r"\bno label\b|\bunlabell?ed\b", re.I)
_NOT_STATED = re.compile(
    r"\b(?:unknown|not sure|idk|don'?t know|dunno|no idea|not (?:said|stated|given)|nothing)\b|^\?+$",
    re.I,
)

_GRADE = re.compile(
    r"\b(\d{1,2}(?:[.,]\d+)?)\s*[-–:/]\s*(\d{1,2}(?:[.,]\d+)?)\s*[-–:/]\s*(\d{1,2}(?:[.,]\d+)?)\b"
)
_RATE = re.compile(
    rf"{_NUMBER}\s*(ml|millilit(?:er|re)s?|g|grams?|tsp|teaspoons?|tbsp|tablespoons?)\s*"
    r"(?:of each|each)?\s*(?:per|/|a|for(?: every)?|to(?: a)?)\s*(?:each\s+)?"
    r"(\d+(?:[.,]\d+)?)?\s*(l|lit(?:er|re)s?|gal|gallons?|us gal|us gallons?)\b",
    re.I,
)
_PARTS = re.compile(r"\b([A-C])\s*(?:\+|&|and|,)\s*([A-C])(?:\s*(?:\+|&|and|,)\s*([A-C]))?\b", re.I)
_IN_ML_OR_G = {"m": ("ml", 1.0), "g": ("g", 1.0), "ts": ("ml", 5.0), "te": ("ml", 5.0)}
_TABLESPOON_ML = 15.0
_GALLON_L = 3.785411784
"""US gallon, exact by definition (NIST Handbook 44, Appendix C)."""


def adjuster_from_label(text: str, role: ProductRole) -> Product | None:
    """The adjuster that a label describes.

    text : ``phosphoric acid 10 %``, ``KOH 0.5 N``, ``citric acid 500 g/L``, ``no label``.
    role : ``ph_down`` or ``ph_up``.
    Returns a product without a strength where the label does not say; one named ``unlabelled`` where there
    is no label at all; ``None`` where the text is no label, or one of an acid as pH up or a base as pH down.
    """
    if _NOT_A_LABEL.search(text):
        return None
    if _NO_LABEL.search(text):
        return Product(role=role, name=UNLABELLED)
    reagent = reagent_named(text)
    if reagent is None:
        return Product(role=role) if _NOT_STATED.search(text) or _PERCENT.search(text) else None
    if REAGENTS[reagent].acid != (role == "ph_down"):
        return None
    return replace(Product(role=role, reagent=reagent), **_strength(text, reagent))


def _strength(text: str, reagent: str) -> dict[str, Any]:
    percent_of_acid = _PERCENT.search(text)
    as_oxide = _P2O5.search(text) if reagent == "phosphoric acid" else None
    if as_oxide and not (percent_of_acid and percent_of_acid.start() < as_oxide.start()):
        return _if_possible("percent_w_w", _float(as_oxide[1] or as_oxide[2]) * P2O5_TO_H3PO4)
    if match := percent_of_acid:
        percent = _float(match[1])
        by_volume = (match[2] or "").lower().replace(" ", "").replace("/", "") in {"wv", "mv"}
        return _if_possible("percent_w_v" if by_volume else "percent_w_w", percent)
    if match := _GRAMS_PER_LITRE.search(text):
        return {"percent_w_v": _float(match[1]) / 10}
    if match := _MOLAR.search(text):
        return {"molar_mol_l": _float(match[1])}
    if match := _NORMAL.search(text):
        return {"normal_eq_l": _float(match[1])}
    return {}


def _if_possible(kind: str, percent: float) -> dict[str, Any]:
    return {kind: percent} if 0 < percent <= 100 else {}


def nutrient_from_label(text: str) -> Product | None:
    """The nutrient that a label describes; ``None`` where the text gives neither a dose nor a grade.

    text : ``2.5 ml per litre of A and B each, 4-3-6``, ``10 ml per gallon``, ``1 g/L 5-12-26``.
    """
    grade, rate, parts = _GRADE.search(text), _RATE.search(text), _PARTS.search(text)
    if not grade and not rate:
        return None
    n, p, k = (_float(figure) for figure in grade.groups()) if grade else (None, None, None)
    dose, unit = _per_litre(rate) if rate else (None, None)
    return Product(
        role="nutrient",
        dose_per_litre=dose,
        dose_unit=unit,
        n_pct=n,
        p2o5_pct=p,
        k2o_pct=k,
        parts=tuple(part.upper() for part in parts.groups() if part) if parts else None,
    )


def _per_litre(rate: re.Match[str]) -> tuple[float, str]:
    amount, measure, volume, volume_unit = rate.groups()
    word = measure.lower()
    if word.startswith(("tb", "tabl")):
        unit, each = "ml", _TABLESPOON_ML
    else:
        unit, each = _IN_ML_OR_G.get(word[:2]) or _IN_ML_OR_G[word[0]]
    litres = _float(volume or "1") * (_GALLON_L if "gal" in volume_unit.lower() else 1.0)
    return _float(amount) * each / litres, unit


def _float(figure: str) -> float:
    return float(figure.replace(",", "."))
