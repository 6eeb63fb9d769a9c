"""Replies about plants in words: every plant with its days from seed, every cause as a mere possibility."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from types import MappingProxyType

from bot.assistant.garden_replies import (
    CameUpShown,
    HarvestShown,
    LotsShown,
    PlantNotes,
    SiteSeen,
    SitesShown,
    StockShown,
)
from bot.rendering.brevity import Part, said
from bot.rendering.describe import sites_shown
from bot.rendering.equipment import equipment_lines
from bot.rendering.markup import Line, Strong, joined, line, name
from bot.rendering.voice import Voice, number
from domain.germination import Caution, Outlook
from domain.harvest import Ahead, Yield
from domain.nursery import Care, Ready
from domain.plantings import Conflict, Planting
from domain.plots import ConflictCode, End, Plot, spoken
from domain.seeds import Record
from domain.troubles import Trouble

__all__ = ["garden_lines", "in_units", "notes_parts", "plant_shown"]

MOST = 8
MOST_CAUSES = 3
MOST_YIELDS = 6
_DEGREES = re.compile(r"(?:(\d+)-)?(\d+) °C")

CAUTIONS: Mapping[Caution, str] = MappingProxyType(
    {
        "too_warm": "it may be too warm for it",
        "too_cold": "it may be too cold for it",
        "needs_light": "it needs light: press it on, do not cover",
        "needs_cold": "it may want some weeks in the fridge first",
        "may_be_dry": "the plug may have dried out",
    }
)

CONFLICTS: Mapping[ConflictCode, str] = MappingProxyType(
    {
        "site_taken": "{there} still stands there by my log. Gone? Say: pulled the {their_crop} in {site}",
        "nothing_there": "By my log nothing stands in {sites}. What is it, and when was it sown?",
        "other_crop": "By my log it is {there}. Which is right?",
        "no_such_crop": "By my log no {crop} stands anywhere. When was it sown?",
        "which_one": "Which {crop}: {there}? Say the site.",
        "which_crop": "What was sown in {sites}?",
        "too_many": "My log has fewer there ({there}). How many were sown?",
        "sites_differ": "The sites do not come out even with {there}. Say which goes where.",
        "rest_unsaid": "The others of {there}: still where they were?",
    }
)

ENDS: Mapping[End, str] = MappingProxyType(
    {
        "lost": "lost",
        "removed": "pulled",
        "resown": "sown over",
        "harvested": "harvested",
        "told anew": "told anew",
    }
)


def notes_parts(notes: PlantNotes, voice: Voice, now: datetime) -> list[Part]:
    """Under what was kept: what must be settled first, then what to look at and to do."""
    parts = [said(_conflict(conflict)) for conflict in notes.conflicts[:2]]
    if notes.not_taken is not None:
        told, moved = notes.not_taken
        parts.append(
            said(f"Moved {moved}, not {told}: one goes to each site. Name a site for each: to C1, C2")
        )
    if notes.named and not notes.outlooks and (notes.troubles or not notes.conflicts):
        parts.append(said(joined([plant_shown(planting) for planting in notes.named[:3]]) + ".", rank=1))
    if notes.gone:
        parts.append(said(f"Gone: {joined([_plot(plot) for plot in notes.gone[:4]])}.", rank=3))
    for trouble in notes.troubles[:1]:
        parts += _trouble(trouble, notes.troubles[1:], voice)
    if notes.lamp_cm is not None:
        low, high = notes.lamp_cm
        parts.append(said(f"Lamp {low:.0f}–{high:.0f} cm above the leaves (or its sheet).", rank=1))
    parts.append(Part(tuple(equipment_lines(notes)), rank=2))
    for outlook in notes.outlooks[:2]:
        parts.append(said(*_expected(outlook, voice, now), rank=1))
    parts += [
        said(f"About {number(s.left, 0)}{f' {s.unit}' if s.unit else ''} {name(s.item)} left.", rank=1)
        for s in notes.low
    ]
    return parts


def garden_lines(
    reply: SitesShown | CameUpShown | LotsShown | HarvestShown | StockShown, voice: Voice
) -> list[Line]:
    """The answer to a question about plants."""
    match reply:
        case SitesShown():
            return _sites(reply, voice)
        case CameUpShown():
            return _seedlings(reply, voice)
        case LotsShown():
            return _lots(reply)
        case HarvestShown():
            return _harvests(reply, voice)
        case StockShown():
            return _stock(reply)


def _stock(reply: StockShown) -> list[Line]:
    left = [
        line(f"{number(each.left, 0)}{f' {each.unit}' if each.unit else ''} {name(each.item)} left")
        for each in reply.supplies[:MOST]
    ]
    return left or [line("No stock told so far. Say: we have 20 plugs")]


def plant_shown(planting: Planting, *, at_site: str | None = None) -> str:
    """``A1–A3: 3 basil, day 12, seedling``; with ``at_site``, what stands there, without naming it."""
    where = sites_shown(planting.sites)
    at = f"{where[:1].upper()}{where[1:]}: " if where and at_site is None else ""
    there = planting.count if at_site is None else planting.count_at(at_site)
    count = f"{there} " if there > 1 else ""
    days = f", day {planting.days}" if planting.days is not None else ""
    return f"{at}{count}{name(planting.crop)}{days}, {planting.stage}"


def in_units(text: str, voice: Voice) -> str:
    """A text of a table with its degrees in the household's own unit."""

    def shown(hit: re.Match[str]) -> str:
        low, high = (voice.temperature(float(each)) for each in (hit[1] or hit[2], hit[2]))
        return high if low == high else f"{low.split(' ')[0]}–{high}"

    return _DEGREES.sub(shown, text)


def _trouble(trouble: Trouble, others: Sequence[Trouble], voice: Voice) -> list[Part]:
    """What to do first, what to look at, what it may be; the whole of it stands behind ``why``."""
    causes = [*trouble.causes, *(other.causes[0] for other in others)][:MOST_CAUSES]
    first, *rest = trouble.remedies
    look = trouble.look + ("" if trouble.look.endswith("?") else ".")
    then = [said(in_units(f"If it goes on: {rest[0]}.", voice), rank=5)] if rest else []
    return [
        Part((line(Strong("First"), in_units(f": {first}.", voice)),)),
        *then,
        Part((line(f"Look: {look}"),), rank=3),
        Part((line(f"May be: {joined(causes, 'or')}."),), 2, (line(f"May be: {causes[0]}, or other."),)),
    ]


def _conflict(conflict: Conflict) -> str:
    there = joined(
        list(
            dict.fromkeys(
                f"{name(crop)}{f' in {name(spoken(site))}' if site else ''}"
                for crop, site in conflict.candidates
            )
        )[:4],
        "or",
    )
    crop, site = conflict.candidates[0] if conflict.candidates else (conflict.crop or "plant", None)
    said = CONFLICTS[conflict.code].format(
        there=there or "what stands",
        their_crop=name(crop),
        site=name(spoken(site or "")),
        sites=sites_shown(tuple(name(each) for each in conflict.sites)) or "there",
        crop=name(conflict.crop or "plant"),
    )
    return said[:1].upper() + said[1:]


def _expected(outlook: Outlook, voice: Voice, now: datetime) -> list[str]:
    """When a sowing should come up, and what to mind."""
    warnings = [CAUTIONS[code] for code in outlook.cautions[:2]]
    mind = [f"Mind: {joined(warnings)}."] if warnings else []
    at = f" at {voice.temperature(outlook.temperature_c)}" if outlook.temperature_c is not None else ""
    if now >= outlook.opens_at:
        return [f"{_of(outlook, now)}: {_state(outlook, voice, now)}.", *mind]
    days = f"{outlook.days_low:.0f}–{outlook.days_high:.0f} days"
    up = (
        f"{name(outlook.sowing.crop).capitalize()} up in {days}{at}, from {voice.day(outlook.opens_at, now)}."
    )
    return [up, *mind]


def _of(outlook: Outlook, now: datetime) -> str:
    sowing = outlook.sowing
    where = sites_shown(sowing.waiting_sites)
    count = f"{sowing.waiting} " if sowing.waiting > 1 else ""
    return f"{count}{name(sowing.crop)}{f' in {where}' if where else ''}, day {(now - sowing.sown_at).days}"


def _state(outlook: Outlook, voice: Voice, now: datetime) -> str:
    if now < outlook.opens_at:
        return f"due from {voice.day(outlook.opens_at, now)} to {voice.day(outlook.closes_at, now)}"
    if now <= outlook.closes_at:
        return f"due now, until {voice.day(outlook.closes_at, now)}"
    chance = f"about {max(1, round(100 * outlook.chance))} in 100 still come"
    return f"late, {chance}" + ("; sow again" if now >= outlook.give_up_at else "; wait a little")


def _seedlings(reply: CameUpShown, voice: Voice) -> list[Line]:
    lines: list[Line] = []
    if reply.since is not None:
        if not reply.came:
            lines.append(line("Nothing told to be up in the last 7 days."))
        for came in reply.came[:MOST]:
            where = sites_shown(came.sites)
            lot = f" ({name(came.lot)})" if came.lot else ""
            what = f"{came.count} {name(came.crop)}{f' in {where}' if where else ''}"
            lines.append(
                line(Strong(f"Up: {what}"), f", {voice.day(came.at, reply.now)}, day {came.days}{lot}")
            )
    for outlook in reply.coming[:MOST]:
        warnings = [CAUTIONS[code] for code in outlook.cautions[:1] if reply.now > outlook.closes_at]
        mind = f"; {warnings[0]}" if warnings else ""
        lines.append(line(f"{_of(outlook, reply.now)}: {_state(outlook, voice, reply.now)}{mind}"))
    if not reply.coming and reply.since is None:
        lines.append(line("Nothing is waiting to come up."))
    if any(reply.now > outlook.closes_at for outlook in reply.coming):
        lines.append(
            line(f"The chance takes {round(100 * reply.viable)} in 100 seeds to be good (from memory).")
        )
    return lines


def _lots(reply: LotsShown) -> list[Line]:
    if not reply.records:
        asked = f" “{name(reply.asked)}”" if reply.asked else ""
        return [line(f"I know no packet{asked}. Name it when you sow: sowed basil in A1, lot Green Gate 7")]
    lines = [line(*_record(record, reply.now)) for record in reply.records[:MOST]]
    lines += [line(f"Best for {name(r.crop)}: {name(r.name or '')}.") for r in reply.best]
    if reply.level:
        lines.append(
            line(f"Too few seeds to tell the packets of {joined([name(c) for c in reply.level])} apart.")
        )
    return lines


def _record(record: Record, now: datetime) -> tuple[str, ...]:
    packet = name(record.name) if record.name else "no packet named"
    head = Strong(f"{name(record.crop)}, {packet}")
    age = now.year - record.packed if record.packed is not None else None
    old = f"; packet of {record.packed}, {age} year{'' if age == 1 else 's'} old" if age and age > 0 else ""
    waiting = f"; {record.waiting} still to come" if record.waiting else ""
    if not record.tried or record.likely is None:
        return head, f": nothing told yet{waiting}{old}"
    span = f"likely {100 * record.likely.low:.0f}–{100 * record.likely.high:.0f} %"
    days = f", after {_span(record.days[0], record.days[2])} days" if record.days else ""
    return head, f": {record.came} of {record.tried} up ({span}){days}{waiting}{old}"


def _span(low: float, high: float) -> str:
    return f"{low:.0f}" if round(low) == round(high) else f"{low:.0f}–{high:.0f}"


def _harvests(reply: HarvestShown, voice: Voice) -> list[Line]:
    if reply.by != "crop":
        return _yields(reply)
    lines = [line(_given(given)) for given in reply.given[:MOST]]
    if reply.is_so_far:
        return lines
    lines += [line(*_ahead(ahead, voice, reply.now)) for ahead in reply.ahead[:MOST]]
    if not reply.ahead:
        lines.append(line(f"No {name(reply.crop) if reply.crop else 'plants'} stand now by my log."))
    return lines if reply.given else [*lines, line("Nothing picked so far.")]


def _yields(reply: HarvestShown) -> list[Line]:
    """By site, the best first; by week, the newest first."""
    if not reply.given:
        return [line("Nothing picked so far.")]
    by_week = reply.by == "week"
    if by_week:
        given = sorted(reply.given, key=lambda each: str(each.key), reverse=True)
    else:
        given = sorted(reply.given, key=lambda each: -each.grams)
    whose = f" of {name(reply.crop)}" if reply.crop else ""
    lines = [line(Strong(f"Picked{whose} by {reply.by}"))]
    lines += [line(f"{_key_shown(each)}: {_weighed(each)}") for each in given[:MOST_YIELDS]]
    left = len(given) - MOST_YIELDS
    return [*lines, line(f"and {left} more")] if left > 0 else lines


def _key_shown(given: Yield) -> str:
    if isinstance(given.key, date):
        return f"week of {given.key.day} {given.key:%b}"
    return name(spoken(given.key)) or "no site told"


def _weighed(given: Yield) -> str:
    times = f"{given.picks} pick{'' if given.picks == 1 else 's'}"
    unweighed = f", {given.unweighed} not weighed" if given.unweighed and given.grams else ""
    return f"{f'{number(given.grams, 0)} g in ' if given.grams else ''}{times}{unweighed}"


def _given(given: Yield) -> str:
    times = f"{given.picks} pick{'' if given.picks == 1 else 's'}"
    unweighed = f", {given.unweighed} not weighed" if given.unweighed and given.grams else ""
    weight = f"{number(given.grams, 0)} g in " if given.grams else ""
    return f"So far {weight}{times} of {name(str(given.key))}{unweighed}."


def _ahead(ahead: Ahead, voice: Voice, now: datetime) -> tuple[str, ...]:
    head = Strong(plant_shown(ahead.planting))
    if ahead.from_at is None or ahead.to_at is None:
        return head, ": no first harvest known for it"
    span = f"{voice.day(ahead.from_at, now)} to {voice.day(ahead.to_at, now)}"
    return head, {
        "early": f": first pick about {span}",
        "open": f": may be ready, first pick is about {span}",
        "over": f": was due {span}; look whether it is past its best",
        "picked": ": picked before; take about a third at a time",
        "unknown": ": no first harvest known for it",
    }[ahead.state]


def _sites(reply: SitesShown, voice: Voice) -> list[Line]:
    lines: list[Line] = []
    for site in reply.sites[:MOST]:
        lines += _site(site, voice, reply.now)
    if len(reply.sites) == 1:
        for ahead in reply.ahead:
            if ahead.state in ("early", "open") and ahead.from_at is not None and ahead.to_at is not None:
                span = _between(ahead.from_at, ahead.to_at, voice, reply.now)
                lines.append(line(f"First pick of the {name(ahead.planting.crop)} about {span}."))
    lines += [line(_ready(ready, voice, reply.now)) for ready in reply.ready[:MOST_CAUSES]]
    if reply.nursery is not None:
        lines.append(line(_care(reply.nursery, voice)))
    return lines or [line("Nothing stands there by my log.")]


def _ready(ready: Ready, voice: Voice, now: datetime) -> str:
    crop = name(ready.planting.crop).capitalize()
    if now < ready.at:
        return f"{crop}: ready to move about {voice.day(ready.at, now)}."
    return f"{crop}: ready to move, with 2–4 true leaves and roots out of the plug."


def _care(care: Care, voice: Voice) -> str:
    """The feed and the light of a nursery in a line."""
    feed = "plain water until they are up"
    if care.feed is not None:
        feed = f"feed at {voice.strength_span(care.feed.ideal_low, care.feed.ideal_high)}"
    return f"There: {feed}, light {care.light_hours.replace('-', '–')} h a day."


def _site(site: SiteSeen, voice: Voice, now: datetime) -> list[Line]:
    label = name(spoken(site.label))
    label = label[:1].upper() + label[1:]
    if site.plantings:
        return [
            line(Strong(f"{label}: {plant_shown(p, at_site=site.label)}"), _lot(p, voice, now))
            for p in site.plantings
        ]
    if site.last is None or site.last.ended_at is None or site.last.end is None:
        return [line(f"{label} is free.")]
    last = site.last
    age = f", day {(last.ended_at - last.started_at).days}" if last.was_sown and last.ended_at else ""
    when = voice.day(last.ended_at, now) if last.ended_at else ""
    return [line(f"{label} is free; last {name(last.crop)}, {ENDS[last.end or 'removed']} {when}{age}.")]


def _between(low: datetime, high: datetime, voice: Voice, now: datetime) -> str:
    return f"{voice.day(low, now)} to {voice.day(high, now)}"


def _plot(plot: Plot) -> str:
    """``A3: basil, day 8``."""
    at = f"{name(spoken(plot.site))}: " if plot.site else ""
    days = f", day {(plot.ended_at - plot.started_at).days}" if plot.was_sown and plot.ended_at else ""
    return f"{at}{name(plot.crop)}{days}"


def _lot(planting: Planting, voice: Voice, now: datetime) -> str:
    lot = f", {name(planting.lot)}" if planting.lot else ""
    up = f", up since {voice.day(planting.up_at, now)}" if planting.up_at else ""
    return f"{lot}{up}"
