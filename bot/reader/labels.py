"""Labels of bottles and bags, as a household copies them into the chat."""

from __future__ import annotations

import re

from domain.chemistry.reagents import reagent_named
from domain.facts import Product, ProductRole

__all__ = ["adjuster_from_label", "nutrient_from_label"]

P2O5_TO_H3PO4 = 2 * 97.995 / 141.945
"""Phosphoric acid per phosphorus pentoxide, by molar masses; some labels state strength as P2O5."""

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_PERCENT = re.compile(rf"{_NUMBER}\s*(?:%|percent|pct)\s*(?:\(?\s*(w\s*/?\s*[wv]|m\s*/?\s*[mv])\b)?", re.I)
_MOLAR = re.compile(rf"{_NUMBER}\s*(?:mol\s*/\s*l|mol/litre|molar|M)\b")
_NORMAL = re.compile(rf"{_NUMBER}\s*(?:normal|eq\s*/\s*l|N)\b")
_GRAMS_PER_LITRE = re.compile(rf"{_NUMBER}\s*g\s*/\s*l(?:itre|iter)?\b", re.I)
_UNKNOWN = re.compile(
    r"\b(?:no label|unknown|not sure|don'?t know|dunno|no idea|not said|not stated)\b|^\?+$", re.I
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
    Returns a product without a strength where the label does not say, and ``None`` where the text is no label.
    """
    reagent = reagent_named(text)
    strength = _strength(text, reagent)
    if reagent is None and not strength and not _UNKNOWN.search(text):
        return None
    if reagent is None:
        strength = {}
    return Product(role=role, reagent=reagent, name=" ".join(text.split())[:60], **strength)


def _strength(text: str, reagent: str | None) -> dict[str, float]:
    if match := _PERCENT.search(text):
        percent = _float(match[1])
        if not 0 < percent <= 100:
            return {}
        if reagent == "phosphoric acid" and re.search(r"P2O5|P₂O₅", text, re.I):
            percent *= P2O5_TO_H3PO4
        by_volume = (match[2] or "").lower().replace(" ", "").replace("/", "") in {"wv", "mv"}
        return {"percent_w_v": percent} if by_volume else {"percent_w_w": percent}
    if match := _GRAMS_PER_LITRE.search(text):
        return {"percent_w_v": _float(match[1]) / 10}
    if match := _MOLAR.search(text):
        return {"molar_mol_l": _float(match[1])}
    if match := _NORMAL.search(text):
        return {"normal_eq_l": _float(match[1])}
    return {}


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
        name=" ".join(text.split())[:60],
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
