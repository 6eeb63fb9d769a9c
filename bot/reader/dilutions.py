"""Doses of what was thinned with water first: the journal keeps the neat amount, for that is what acts."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from bot.reader.fillers import words
from bot.reader.findings import Builder, Finding, Scene
from bot.reader.patterns import Hit
from domain.facts import Dose

__all__ = ["thinned"]

_WORD = re.compile(r"\b(?:pre)?dilut\w*|\bwatered down\b")
_IN_WATER = re.compile(
    r"\bdiluted (?:down )?(?:first )?(?:in|into|with) (?!\d+\s*(?:[:+/]|in\b|to\b))"
    r"(?:(?!\d+\s*[:+])\S+ ){0,3}?"
    r"(?:water|cup|glass|jug|bucket|can|l|ml|litres?|liters?|bottle)\b"
)
"""``2 ml diluted in a cup of water``: the amount is the neat one."""
_NUMBER = r"(\d+(?:[.,]\d+)?)"
_RATIO = re.compile(
    rf"{_NUMBER}(?: parts?)?\s*(:|\+|/|\bto\b|\bin\b)\s*{_NUMBER}\b(?!\s*(?:ml|l|litres?|liters?)\b)"
)
_PLAIN_RATIO = re.compile(r"\b(1)\s*(:|\bin\b)\s*(\d{1,4})\b(?!\s*(?:ml|l|litres?|liters?|am|pm)\b)")
_FOLD = re.compile(rf"\b{_NUMBER}\s*(?:x|times|fold)\b|\bx\s*{_NUMBER}\b")
_PERCENT = re.compile(rf"\bto {_NUMBER}\s*%")
_STOPS = words(", . ; ! ? nl and then but ADDED TOPPED PH EC PPM TEMP #vol #mass #cnt #oz")
_MOST_ITEMS = 12
_PRODUCTS = words("#prod DOWN UP BASE FOOD")


@dataclass(frozen=True, slots=True)
class _Dilution:
    """How much of what was poured is neat, ``None`` where nobody said. ``ends``: the last item of it."""

    share: float | None
    ends: int


def thinned(build: Builder) -> Builder:
    """The builder of a dose with the neat amount in place of that of a dilution."""

    def built(scene: Scene, hit: Hit) -> Finding | None:
        finding = build(scene, hit)
        if finding is None or not finding.facts:
            return finding
        dilution = _dilution_of(hit)
        if dilution is None:
            return finding
        if dilution.share is None:
            return Finding(reason="ambiguous", ends=dilution.ends, weak=finding.weak)
        doses = tuple(
            replace(fact, amount=fact.amount * dilution.share)
            if isinstance(fact, Dose) and fact.amount is not None
            else fact
            for fact in finding.facts
        )
        return replace(finding, facts=doses, ends=dilution.ends)

    return built


def _dilution_of(hit: Hit) -> _Dilution | None:
    """What the words of a dose and those right after it say of thinning; ``None`` where they say nothing."""
    items, text = hit.line.items, hit.line.cleaned.text
    end = hit.last + 1
    while end < len(items) and end - hit.last <= _MOST_ITEMS:
        goes_on = items[end].key == "," and end + 1 < len(items) and items[end + 1].key.startswith("dilut")
        if items[end].key in _STOPS and not goes_on:
            break
        end += 1
    start = items[hit.first].start
    said = text[start : items[end].start if end < len(items) else len(text)]
    following = items[hit.last + 1].key if hit.last + 1 < len(items) else ""
    if following in ("mix", "mixture") and items[hit.last].key in ("#prod", "DOWN", "UP", "BASE"):
        return _Dilution(None, hit.last + 1)
    if _WORD.search(said) is None:
        ratio = _PLAIN_RATIO.search(said)
        if ratio is None or (len(ratio[3]) == 2 and ratio[2] == ":" and ratio.end() > _product(hit) - start):
            return None
        return _Dilution(_share(ratio), end - 1)
    whole = text[start : start + len(said) + 40]
    if _IN_WATER.search(whole) is not None:
        return None
    return _Dilution(_stated_share(said), end - 1)


def _product(hit: Hit) -> int:
    """Where the product that was dosed stands in the text; where the dose starts if it is not named."""
    items = hit.line.items
    places = (items[i].start for i in range(hit.first, len(items)) if items[i].key in _PRODUCTS)
    return next(places, items[hit.first].start)


def _stated_share(said: str) -> float | None:
    ratio = _RATIO.search(said)
    if ratio is not None:
        return _share(ratio)
    fold = _FOLD.search(said)
    if fold is not None:
        times = _float(fold[1] or fold[2])
        return 1 / times if times > 1 else None
    percent = _PERCENT.search(said)
    return _float(percent[1]) / 100 if percent is not None and 0 < _float(percent[1]) < 100 else None


def _share(ratio: re.Match[str]) -> float | None:
    """The neat share of ``a:b``.

    ``1:9`` is one part beside nine. ``1:10`` is said of one part in ten, as ``1 in 10`` is, so a round second
    number is the whole (common practice).
    """
    neat, other = _float(ratio[1]), _float(ratio[3])
    if not 0 < neat <= other:
        return None
    is_whole = ratio[2] in ("in", "/") or (ratio[2] != "+" and other % 5 == 0)
    share = neat / other if is_whole else neat / (neat + other)
    return share if share < 1 else None


def _float(typed: str) -> float:
    return float(typed.replace(",", "."))
