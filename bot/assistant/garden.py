"""What is said of plants: the notes under a message that was kept, and answers to questions about them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from bot.assistant.equipment import lamp_note, pump_note
from bot.assistant.garden_replies import (
    CameUp,
    CameUpShown,
    HarvestShown,
    LotsShown,
    PlantNotes,
    SiteSeen,
    SitesShown,
)
from bot.assistant.scene import Scene
from domain.facts import Emerged, Fact, Moved, Observation, Question, Sow
from domain.germination import USUAL_VIABLE, outlook, outlooks, warmth_since
from domain.harvest import YieldBy, first_harvests, yields
from domain.light import LAMP_DISTANCE_CM
from domain.nursery import nursery_care, ready_to_move
from domain.plantings import Planting
from domain.plots import is_nursery, labels
from domain.seeds import Record, best_of, is_better, lots_named, records
from domain.stages import Stage
from domain.supplies import low_supplies
from domain.troubles import Circumstances, Trouble, troubles_in

__all__ = ["all_up", "answer", "notes", "stage_asked"]

PLANT_KINDS = frozenset(
    ("sow", "reseed", "emerged", "lost", "moved", "tended", "harvest", "stage", "observation")
)
_OF_THE_LAMP = frozenset(("leggy", "bleached"))
RECENT = timedelta(days=7)
_COMING = re.compile(r"\b(?:com(?:e|es|ing)|be|sprout\w*|germinat\w*|emerg\w*|pop\w*)\s*(?:up|out)?\b", re.I)
_CAME = re.compile(
    r"\b(?:came|has come|have come|come|popped|sprouted|emerged|germinated|is|are)\s*(?:\w+\s+){0,3}?up\b|"
    r"\b(?:sprouted|emerged|germinated)\b",
    re.I,
)
_DUE_UP = re.compile(r"\b(?:due|going|expected|supposed|should|will|when)\b", re.I)
_YIELD_BY: tuple[tuple[re.Pattern[str], YieldBy], ...] = (
    (re.compile(r"\b(?:per|by|each|every) (?:site|place|plant)s?\b", re.I), "site"),
    (re.compile(r"\b(?:per|by|each|every|a) weeks?\b|\bweekly\b", re.I), "week"),
)
_SO_FAR = re.compile(
    r"\bhow (?:much|many)\b|\b(?:did|have) (?:we|i|you) (?:\w+ )?(?:pick|harvest|get|cut)|\bso far\b",
    re.IGNORECASE,
)
"""Asks what was picked, not what can be."""
_STAGES: tuple[tuple[re.Pattern[str], Stage], ...] = (
    (re.compile(r"\b(?:seedlings?|sprouts?|baby|young)\b", re.I), "seedling"),
    (re.compile(r"\b(?:flowering|in flower|blooming)\b", re.I), "flowering"),
    (re.compile(r"\b(?:fruiting|in fruit|with fruit)\b", re.I), "fruiting"),
)


def notes(scene: Scene, message_key: str, facts: Sequence[Fact]) -> PlantNotes | None:
    """What a message about plants calls for; ``None`` where it is about none.

    scene : with the message in it.
    """
    about_plants = [fact for fact in facts if fact.kind in PLANT_KINDS]
    ids = {entry.id for entry in scene.entries if entry.message_key == message_key}
    low = tuple(each for each in low_supplies(scene.supplies) if each.low_by in ids)
    if not about_plants and not low:
        return None
    garden = scene.garden
    sown = [sowing for sowing in garden.sowings if sowing.entry_id in ids and sowing.waiting]
    expected = [outlook(each, warmth_since(scene.trusted, each.sown_at), scene.at) for each in sown]
    noted = [fact.text for fact in about_plants if isinstance(fact, Observation)]
    named = tuple(
        _only_there(p, about_plants)
        for p in scene.plantings
        if any(_is_about(fact, p) for fact in about_plants)
    )
    signs = troubles_in(" ".join(noted), _circumstances(scene)) if noted else ()
    return PlantNotes(
        named=named,
        gone=tuple(plot for plot in garden.ended if plot.ended_in == message_key),
        troubles=signs,
        conflicts=tuple(conflict for conflict in garden.conflicts if conflict.message_key == message_key),
        outlooks=tuple(each for each in expected if each is not None),
        low=low,
        lamp_cm=_lamp_cm(signs, named),
        lamp=lamp_note(scene, " ".join(noted)),
        pump=pump_note(scene, " ".join(noted)),
    )


def _lamp_cm(signs: Sequence[Trouble], named: Sequence[Planting]) -> tuple[float, float] | None:
    """How far the lamp should hang above what shows a sign of too much or too little of it."""
    if not signs or signs[0].sign not in _OF_THE_LAMP or not named:
        return None
    return LAMP_DISTANCE_CM.get(named[0].stage)


def answer(
    scene: Scene, question: Question, text: str
) -> SitesShown | CameUpShown | LotsShown | HarvestShown | None:
    """The answer to a question about plants; ``None`` for one that is about something else.

    text : the message it came in, which tells what came up from what is to come.
    """
    if (
        question.about in ("due", "site", "seed_lot")
        and question.lot is None
        and _asks_of_seedlings(question, text)
    ):
        return _seedlings(scene, question, only_ahead=bool(_DUE_UP.search(text)) or question.about == "due")
    if question.about == "site" and question.sites:
        return _sites(scene, labels(question.sites))
    if question.about == "seed_lot":
        return _lots(scene, question)
    if question.about == "harvest":
        return _harvests(scene, question, text)
    return None


def all_up(scene: Scene, fact: Emerged) -> bool:
    """Whether all that stands in the sites that are told to be up was told to be up before."""
    sites = labels(fact.sites)
    there = [p for p in scene.plantings if set(sites) & set(p.sites) and fact.crop in (None, p.crop)]
    known = {site for planting in there for site in planting.sites}
    return (
        bool(sites)
        and set(sites) <= known
        and all(p.up_count is not None and p.up_count >= p.count for p in there)
    )


def stage_asked(text: str) -> Stage:
    """The stage that a question about bands names; ``vegetative``, the grown plant, where it names none."""
    return next((stage for pattern, stage in _STAGES if pattern.search(text)), "vegetative")


def _asks_of_seedlings(question: Question, text: str) -> bool:
    if question.about == "due":
        return bool(
            re.search(r"\b(?:come|coming) up\b|\bsprout|\bgerminat|\bemerg|\bseedlings?\b", text, re.I)
        )
    return bool(_CAME.search(text)) or bool(
        _DUE_UP.search(text) and _COMING.search(text) and question.about == "site"
    )


def _is_about(fact: Fact, planting: Planting) -> bool:
    """Whether a fact names the planting, by its site, else by its crop."""
    sites = labels(
        getattr(fact, "to_sites", None) if isinstance(fact, Moved) else getattr(fact, "sites", None)
    )
    crop = getattr(fact, "crop", None)
    if sites:
        there = any(
            site == at or (site.endswith("*") and at.startswith(site[:-1]))
            for site in sites
            for at in planting.sites
        )
        return there and crop in (None, planting.crop)
    return crop is not None and crop == planting.crop and not isinstance(fact, Sow)


def _only_there(planting: Planting, facts: Sequence[Fact]) -> Planting:
    """The planting without the sites that no fact names, where it is known how many stand at each."""
    sites = {site for fact in facts for site in (*labels(getattr(fact, "sites", None)), *_goals(fact))}
    there = tuple(at for at in planting.sites if any(_matches(site, (at,)) for site in sites))
    counts = tuple(planting.count_at(at) for at in there)
    if not there or planting.count != sum(planting.site_counts):
        return planting
    return replace(planting, sites=there, site_counts=counts, count=sum(counts))


def _goals(fact: Fact) -> tuple[str, ...]:
    return labels(fact.to_sites) if isinstance(fact, Moved) else ()


def _circumstances(scene: Scene) -> Circumstances:
    latest = scene.latest_reading()
    ph = getattr(latest.fact, "ph", None) if latest is not None else None
    water = getattr(latest.fact, "water_temp_c", None) if latest is not None else None
    return Circumstances(ph=ph, water_temp_c=water, air_temp_c=None)


def _sites(scene: Scene, asked: Sequence[str]) -> SitesShown:
    standing = [p for p in scene.plantings if any(_matches(site, p.sites) for site in asked)]
    rows = [site for site in asked if site.endswith("*")]
    named = [site for site in asked if not site.endswith("*")]
    for row in rows:
        named += sorted({at for p in standing for at in p.sites if at.startswith(row[:-1])} - set(named))
    seen = []
    for label in named:
        there = tuple(p for p in standing if label in p.sites)
        ended = [plot for plot in scene.garden.ended if plot.site == label]
        last = max(ended, key=lambda plot: plot.ended_at or plot.started_at, default=None)
        seen.append(SiteSeen(label=label, plantings=there, last=None if there else last))
    if not standing or not all(is_nursery(label) for label in named):
        return SitesShown(sites=tuple(seen), ahead=first_harvests(standing, scene.at), now=scene.at)
    grown = [p for p in standing if any(is_nursery(at) for at in p.sites)]
    care = nursery_care(grown, scene.choices.bands)
    return SitesShown(sites=tuple(seen), ahead=(), now=scene.at, nursery=care, ready=ready_to_move(grown))


def _matches(site: str, sites: Sequence[str]) -> bool:
    return site in sites or (site.endswith("*") and any(at.startswith(site[:-1]) for at in sites))


def _seedlings(scene: Scene, question: Question, *, only_ahead: bool) -> CameUpShown:
    sowings = [s for s in scene.garden.sowings if question.crop in (None, s.crop)]
    since = scene.at - RECENT
    came = []
    for sowing in sowings:
        fresh = [each for each in sowing.came if each.at >= since]
        if fresh:
            came.append(
                CameUp(
                    crop=sowing.crop,
                    sites=tuple(site for site in sowing.sites if site not in sowing.waiting_sites),
                    lot=sowing.lot,
                    count=sum(each.count for each in fresh),
                    days=max(0, (fresh[-1].at - sowing.sown_at).days),
                    at=fresh[-1].at,
                )
            )
    return CameUpShown(
        since=None if only_ahead else since,
        came=() if only_ahead else tuple(came),
        coming=outlooks(sowings, scene.trusted, scene.at),
        viable=USUAL_VIABLE,
        now=scene.at,
    )


def _lots(scene: Scene, question: Question) -> LotsShown:
    sowings = [s for s in scene.garden.sowings if question.crop in (None, s.crop)]
    if question.lot is not None:
        chosen: Sequence[Record] = records(lots_named(question.lot, sowings), scene.at)
    else:
        chosen = [record for record in records(sowings, scene.at) if record.name is not None]
    by_crop: dict[str, list[Record]] = {}
    for record in chosen:
        if record.tried:
            by_crop.setdefault(record.crop, []).append(record)
    several = {crop: found for crop, found in by_crop.items() if len(found) > 1}
    best = tuple(top for found in several.values() if (top := best_of(found)) is not None)
    level = tuple(crop for crop, found in several.items() if not _tells_apart(found))
    return LotsShown(asked=question.lot, records=tuple(chosen), best=best, level=level, now=scene.at)


def _tells_apart(found: Sequence[Record]) -> bool:
    return any(is_better(one, other) for one in found for other in found if one is not other)


def _harvests(scene: Scene, question: Question, text: str) -> HarvestShown:
    sites = labels(question.sites)
    asked = [
        planting
        for planting in scene.plantings
        if question.crop in (None, planting.crop)
        and (not sites or any(_matches(s, planting.sites) for s in sites))
    ]
    picks = [
        pick
        for pick in scene.garden.picks
        if question.crop in (None, pick.crop)
        and (not sites or (pick.site and _matches_one(pick.site, sites)))
    ]
    by: YieldBy = next((by for pattern, by in _YIELD_BY if pattern.search(text)), "crop")
    ahead = first_harvests(asked, scene.at) if by == "crop" else ()
    given = yields(picks, by, scene.zone)
    is_so_far = bool(given and _SO_FAR.search(text))
    crop, ahead = question.crop, () if is_so_far else ahead
    return HarvestShown(crop=crop, ahead=ahead, given=given, now=scene.at, by=by, is_so_far=is_so_far)


def _matches_one(at: str, sites: Sequence[str]) -> bool:
    return any(_matches(site, (at,)) for site in sites)
