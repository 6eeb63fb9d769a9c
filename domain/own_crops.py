"""Crops that a household adds to the table: their names, and the group whose ways they follow.

A crop is added by saying what it wants (a ``band`` setting) or by its name alone (a ``crop`` setting). Which
group it belongs to is asked once (a ``crop_group`` setting); until then it is grown for what any tank gives.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from statistics import median
from types import MappingProxyType
from typing import cast, get_args

from domain.crops import Crop, CropGroup, Span, crop_names, crops
from domain.facts import Setting
from domain.sources import COMMON_PRACTICE

__all__ = ["CROP_SETTINGS", "group_named", "like_its_group", "own_crops", "own_group"]

CROP_SETTINGS = frozenset(("band", "crop", "crop_group"))
"""Settings that say something of a crop."""

_GROUPS: frozenset[str] = frozenset(get_args(CropGroup))


def own_crops(settings: Iterable[Setting]) -> tuple[str, ...]:
    """The household's own crops as it named them first, in that order.

    settings : of ``CROP_SETTINGS``; others are passed over.
    """
    found: dict[str, str] = {}
    for setting in settings:
        said = setting.value if setting.name == "crop" else setting.crop
        if setting.name in CROP_SETTINGS and said and said.casefold() not in crop_names():
            found.setdefault(said.casefold(), said)
    return tuple(found.values())


def own_group(crop: str, settings: Sequence[Setting]) -> CropGroup | None:
    """The group that the household gave one of its own crops last; ``None`` where it has not said."""
    for setting in reversed(settings):
        if setting.name == "crop_group" and (setting.crop or "").casefold() == crop.casefold():
            return group_named(setting.value or "")
    return None


def group_named(word: str) -> CropGroup | None:
    """The group that a word stands for; ``None`` for any other."""
    return cast(CropGroup, word) if word in _GROUPS else None


@cache
def like_its_group(group: CropGroup) -> Crop:
    """A crop of which only the group is known: for its days the middle of the table's crops of that group.

    What it wants of the tank is left open: that is the household's to say.
    """
    kin = [crop for crop in crops().values() if crop.group == group]

    def middle(spans: Iterable[Span]) -> Span:
        every = list(spans)
        lows = [span.low for span in every if span.low is not None]
        highs = [span.high for span in every if span.high is not None]
        return Span(median(lows) if lows else None, median(highs) if highs else None)

    open_ended = Span(None, None)
    return Crop(
        name=group,
        botanical_name="",
        other_names=(),
        group=group,
        ph=open_ended,
        ec_ms_cm=open_ended,
        days_to_emergence=middle(crop.days_to_emergence for crop in kin),
        germination_temp_c=open_ended,
        germination_temp_best_c=None,
        needs_light_to_germinate=None,
        dli=middle(crop.dli for crop in kin),
        air_temp_day_c=open_ended,
        days_to_first_harvest=middle(crop.days_to_first_harvest for crop in kin),
        sources=MappingProxyType({"maturity": (COMMON_PRACTICE,), "germination": (COMMON_PRACTICE,)}),
        notes="",
    )
