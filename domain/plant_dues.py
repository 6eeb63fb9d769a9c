"""What falls due with the plants: to look for seedlings, to sow again, to pick, to get more supplies.

Every date follows from the journal alone and stays where it is while nothing new is logged, so that nobody is
told twice. Plantings of one crop that fall due on one day are told together, and what was already past when
the household told of it is not.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from domain.due import Due, dated, dated_key, evening, once_due, where
from domain.facts import Setting
from domain.folds import Start
from domain.germination import Outlook, outlook, warmth_since
from domain.growth_dues import growth_dues
from domain.harvest import Ahead, first_harvests
from domain.journal import Entry
from domain.nursery import Ready, ready_to_move
from domain.plantings import Garden, garden
from domain.supplies import Shelves, Supply, low_supplies, supplies

__all__ = ["plant_dues"]

_DAY = timedelta(days=1)
FIRST_SOWINGS = 3
"""Who has sown more often and never told of a seedling does not follow them, and is not told to sow again."""
MISSED = timedelta(days=7)
"""A nudge that nobody took up for so long is dropped: common practice."""


def plant_dues(
    entries: Sequence[Entry],
    now: datetime,
    zone: ZoneInfo,
    folded: Garden | None = None,
    supplied: Start[Shelves] | None = None,
    bands: Sequence[Setting] = (),
) -> list[Due]:
    """The due dates of plants and supplies, in no order.

    entries : the net journal; doubted entries do not count. now : aware. zone : the household's clock.
    folded : what the same entries say of plants, where that is known already.
    supplied : the supplies after the first of these entries, where that is known already.
    bands : the household's own bands.
    """
    grown = folded if folded is not None else garden(entries, now)
    dues = [
        *_seedlings(grown, entries, now, zone),
        *_harvests(grown, now, zone),
        *_moves(grown, zone),
        *growth_dues(grown, bands, now, zone),
        *(_stock(supply, zone) for supply in low_supplies(supplies(entries, now, supplied))),
    ]
    return [due for due in dues if now - due.due_at <= MISSED or due.task == "stock"]


def _seedlings(grown: Garden, entries: Sequence[Entry], now: datetime, zone: ZoneInfo) -> Iterable[Due]:
    """Looks and new sowings. The window goes by the warmth before the sowing, for later readings must not
    move a date that was told."""
    follows = len(grown.sowings) <= FIRST_SOWINGS or any(sowing.came for sowing in grown.sowings)
    looks: dict[str, list[Outlook]] = {}
    resows: dict[str, list[Outlook]] = {}
    for sowing in grown.sowings:
        if not sowing.waiting or sowing.picked:
            continue
        before = bisect_right(entries, sowing.sown_at, key=lambda entry: entry.happened_at)
        warmth = warmth_since(entries[:before], sowing.sown_at)
        expected = outlook(sowing, warmth, now)
        if expected is None:
            continue
        told_at = sowing.said_at
        if not sowing.came and evening(expected.opens_at, zone) >= told_at and now < expected.give_up_at:
            looks.setdefault(f"look:{sowing.crop}:{dated_key(expected.opens_at, zone)}", []).append(expected)
        if follows and expected.give_up_at >= told_at:
            resows.setdefault(f"reseed:{sowing.crop}:{dated_key(expected.give_up_at, zone)}", []).append(
                expected
            )
    for key, group in looks.items():
        yield _look(key, group, zone)
    for key, group in resows.items():
        yield _resow(key, group, zone)


def _look(key: str, group: Sequence[Outlook], zone: ZoneInfo) -> Due:
    first = group[0]
    text = f"look for {first.sowing.crop} seedlings{where(s for o in group for s in o.sowing.waiting_sites)}"
    at = f" at {first.temperature_c:.0f} °C" if first.temperature_c is not None else ""
    why = (
        f"sown {dated(first.sowing.sown_at, zone)}; they come after {first.days_low:.0f} to "
        f"{first.days_high:.0f} days{at}"
    )
    return once_due(key, "look", text, why, evening(first.opens_at, zone))


def _resow(key: str, group: Sequence[Outlook], zone: ZoneInfo) -> Due:
    first = group[0]
    due_at = evening(first.give_up_at, zone)
    later = outlook(first.sowing, first.temperature_c, due_at) or first
    age = round((due_at - first.sowing.sown_at) / _DAY)
    text = f"sow {first.sowing.crop} again{where(s for o in group for s in o.sowing.waiting_sites)}"
    sown = f"sown {dated(first.sowing.sown_at, zone)}, not up after {age} days"
    why = f"{sown}; about {max(1, round(later.chance * 100))} in 100 such seeds still come"
    return once_due(key, "reseed", text, why, due_at)


def _harvests(grown: Garden, now: datetime, zone: ZoneInfo) -> Iterable[Due]:
    groups: dict[str, list[Ahead]] = {}
    for ahead in first_harvests(grown.plantings, now):
        if ahead.state not in ("early", "open") or ahead.from_at is None or ahead.planting.drawing_count == 0:
            continue
        if evening(ahead.from_at, zone) >= ahead.planting.said_at:
            groups.setdefault(f"pick:{ahead.planting.crop}:{dated_key(ahead.from_at, zone)}", []).append(
                ahead
            )
    for key, group in groups.items():
        planting, from_at = group[0].planting, group[0].from_at
        if from_at is None or planting.sown_at is None:
            continue
        age = round((from_at - planting.sown_at) / _DAY)
        sites = where(site for each in group for site in each.planting.sites)
        text = f"see whether the {planting.crop} can be picked{sites}"
        yield once_due(
            key,
            "pick",
            text,
            f"day {age} from seed, the first harvest begins about now",
            evening(from_at, zone),
        )


def _moves(grown: Garden, zone: ZoneInfo) -> Iterable[Due]:
    """To look whether seedlings can leave the nursery."""
    groups: dict[str, list[Ready]] = {}
    for ready in ready_to_move(grown.plantings):
        due_at = evening(ready.at, zone)
        if due_at >= ready.planting.said_at:
            groups.setdefault(f"move:{ready.planting.crop}:{dated_key(due_at, zone)}", []).append(ready)
    for key, group in groups.items():
        first = group[0]
        sown_at = first.planting.sown_at or first.planting.said_at
        age = round((evening(first.at, zone) - sown_at) / _DAY)
        sites = where(site for ready in group for site in ready.planting.sites)
        text = f"move the {first.planting.crop}{sites} to the tank"
        why = f"day {age} from seed; ready with 2 to 4 true leaves, roots out of the plug (common practice)"
        yield once_due(key, "move", text, why, evening(first.at, zone))


def _stock(supply: Supply, zone: ZoneInfo) -> Due:
    told = supply.low_since or supply.told_at
    unit = f" {supply.unit}" if supply.unit else ""
    pace = f"; about {supply.a_week:.0f}{unit} go a week" if supply.a_week >= 0.5 else ""
    why = f"about {supply.left:.0f}{unit} left of {supply.told:.0f}{pace}"
    key = f"stock:{supply.item.casefold()}"
    return once_due(key, "stock", f"get more {supply.item}", why, evening(told, zone))
