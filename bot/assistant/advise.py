"""What the water is like and what to add, put together from the domain for one reply."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import combinations

from bot.assistant import charting, diagnose, garden
from bot.assistant.replies import Advice, BandsShown, Logged, PlantsShown, Reply
from bot.assistant.scene import Scene
from bot.reader import read
from domain.bands import Standing, TankBands, Verdict, tank_bands, verdict
from domain.crops import crop_names
from domain.dosing import Aim, Plan, plan, question_plan, stands_low, what_if
from domain.facts import Dose, Fact, Question, Reading, TopUp
from domain.journal import Entry
from domain.plantings import Planting
from domain.rescue import mended
from domain.site_tasks import site_tasks
from domain.sites import spots
from domain.stages import Stage
from domain.tanks import due_key

__all__ = ["aim_of", "answer", "bands_shown", "crop_in", "logged", "plants_shown"]

SETTLES_WITHIN = timedelta(minutes=30)
"""So soon after an adjuster went in a reading in band is no reason to rest: common practice."""
_DOSES = frozenset({"ph_down", "ph_up", "adjuster", "nutrient", "dilute", "top_up", "mix"})
_THOUGHT_OF = re.compile(r"^.*?\b(?:add(?:ed|ing)?|pour(?:ed)?|put(?: in)?|give)\b", re.I | re.S)
_TOP_UP = re.compile(r"\btop(?:ped|ping)?[ -]?ups?\b|\btop(?:ped|ping)? (?:it |the tank )?up\b", re.I)
_WATER = re.compile(r"\d+(?:[.,]\d+)?\s*(?:l|lit(?:er|re)s?|gal(?:lon)?s?)\b", re.I)


def logged(
    scene: Scene, revision: int, message_key: str, facts: tuple[Fact, ...], *, edited: bool = False
) -> Logged:
    """The reply to facts that were kept: what the newest reading means, and what to do about it.

    revision, message_key : where the facts stand in the journal; the scene is the one with them in it.
    """
    happened_at = next((fact.when for fact in facts if fact.when is not None), scene.at)
    reply = Logged(
        revision=revision,
        facts=facts,
        edited=edited,
        said_at=scene.at,
        earlier=None if scene.is_recent(happened_at) else happened_at,
        retest_at=_retest_at(scene) if any(isinstance(fact, Dose) for fact in facts) else None,
        plants=garden.notes(scene, message_key, facts),
    )
    latest = scene.latest_reading()
    if latest is None or latest.message_key != message_key or not isinstance(latest.fact, Reading):
        return _judged_alone(scene, reply, facts)
    planned = _plan_now(scene, latest.fact)
    return replace(
        reply,
        reading=latest.fact,
        verdicts=tuple(judged(latest.fact, scene.bands)),
        strength_before=_strength_before(scene, latest.fact, planned),
        bands=scene.bands,
        plan=planned,
        assumed=scene.assumed,
    )


def _judged_alone(scene: Scene, reply: Logged, facts: tuple[Fact, ...]) -> Logged:
    """A reading of neither pH nor strength says what it means, and nothing is dosed by it."""
    reading = next((fact for fact in reversed(facts) if isinstance(fact, Reading)), None)
    is_now = reading is not None and scene.is_recent(reading.when or scene.at)
    if reading is None or not is_now or reading.ph is not None or reading.ec_ms_cm is not None:
        return reply
    verdicts = tuple(judged(reading, scene.bands))
    return replace(reply, reading=reading, verdicts=verdicts, bands=scene.bands) if verdicts else reply


def _plan_now(scene: Scene, reading: Reading) -> Plan:
    """What the tank needs now. Where every value is borne and the water stands high enough that is nothing,
    which most readings are, and it need not be worked out."""
    tank, bands = scene.tank, scene.bands
    values = list(judged(reading, bands))
    if tank.ec_ms_cm is not None:
        values.append(verdict(tank.ec_ms_cm.value, bands.ec))
    settling = tank.doses_since(scene.at - SETTLES_WITHIN, "ph_down", "ph_up")
    if settling or stands_low(tank) or any(value.needs_action for value in values):
        aim = aim_of(bands)
        return mended(tank, aim, scene.trusted) or plan(tank, aim, now=scene.at)
    return Plan("nothing", reason="in_band")


def _strength_before(scene: Scene, reading: Reading, planned: Plan) -> Verdict | None:
    """The strength read earlier that the plan acts on, where this reading gives none."""
    known = scene.tank.ec_ms_cm
    about_strength = any(step.role == "nutrient" or step.action == "drain_refill" for step in planned.steps)
    if reading.ec_ms_cm is not None or known is None or not about_strength or planned.reason == "overdose":
        return None
    return verdict(known.value, scene.bands.ec)


def judged(reading: Reading, bands: TankBands) -> Iterator[Verdict]:
    """One verdict for each value that has a band."""
    if reading.ph is not None:
        yield verdict(reading.ph, bands.ph)
    if reading.ec_ms_cm is not None:
        yield verdict(reading.ec_ms_cm, bands.ec)
    if reading.water_temp_c is not None:
        yield verdict(reading.water_temp_c, bands.water_temp)
    if reading.dissolved_oxygen_mg_l is not None:
        yield verdict(reading.dissolved_oxygen_mg_l, bands.dissolved_oxygen)


def answer(scene: Scene, question: Question, text: str) -> Reply:
    """The reply to a question. ``text``: the message it came in, for what a question has no field for."""
    about_plants = garden.answer(scene, question, text)
    if about_plants is not None:
        return about_plants
    match question.about:
        case "why" if (explained := diagnose.why(scene, text)) is not None:
            return explained
        case "trend":
            return charting.trends_asked(scene, text)
        case "bands":
            return bands_shown(scene, question.crop, garden.stage_asked(text))
        case "site":
            if question == Question(about="site"):
                return plants_shown(scene)
            return PlantsShown(plantings=_asked_for(scene, question), now=scene.at)
        case _:
            return _advice(scene, question, text)


def plants_shown(scene: Scene) -> PlantsShown:
    """All that stands; with the sites, where the household plants in sites."""
    in_sites = any(planting.sites for planting in scene.plantings)
    tasks = site_tasks(scene.garden, scene.trusted, scene.at)
    shown = spots(scene.garden, scene.choices.sites, tasks) if in_sites else ()
    return PlantsShown(plantings=scene.plantings, now=scene.at, spots=shown)


def _asked_for(scene: Scene, question: Question) -> tuple[Planting, ...]:
    def fits(planting: Planting) -> bool:
        sites = set(question.sites or ())
        in_sites = not sites or bool(sites & set(planting.sites or ()))
        return in_sites and question.crop in (None, planting.crop) and question.lot in (None, planting.lot)

    return tuple(planting for planting in scene.plantings if fits(planting))


def crop_in(text: str, own: Sequence[str] = ()) -> str | None:
    """The crop that a text names, by the longest name in it; ``None`` where it names none.

    own : the household's own crops.
    """
    words = text.lower().split()
    known = crop_names() | {crop.lower(): crop for crop in own}
    parts = sorted(combinations(range(len(words) + 1), 2), key=lambda ends: ends[0] - ends[1])
    return next((known[part] for a, b in parts if (part := " ".join(words[a:b])) in known), None)


def bands_shown(scene: Scene, crop: str | None, stage: Stage = "vegetative") -> BandsShown:
    """The bands of one crop in one stage, or of all that stands on the tank."""
    if crop is None:
        assumed = tuple(code for code in scene.assumed if code == "crops")
        return BandsShown(bands=scene.bands, assumed=assumed)
    bands = tank_bands((Standing(crop, stage, 1),), scene.choices.bands)
    return BandsShown(bands=bands, crop=crop, stage=stage)


def _latest_of_this_water(scene: Scene) -> Entry | None:
    """The newest reading, if the whole water was not changed since."""
    latest, filled_at = scene.latest_reading(), scene.tank.filled_at
    return None if latest is not None and filled_at is not None and latest.happened_at < filled_at else latest


def _advice(scene: Scene, question: Question, text: str) -> Advice:
    latest = _latest_of_this_water(scene)
    reading = latest.fact if latest is not None and isinstance(latest.fact, Reading) else None
    return Advice(
        question=question,
        plan=_plan(scene, question, text),
        bands=scene.bands,
        assumed=tuple(code for code in scene.assumed if code != "tank_volume" or not question.volume_l),
        reading=reading,
        reading_at=latest.happened_at if latest is not None else None,
        asked_at=scene.at,
        strength=scene.tank.ec_ms_cm.value if scene.tank.ec_ms_cm is not None else None,
        strength_first=_strength_first(scene, question),
        ph=scene.tank.ph.value if scene.tank.ph is not None else None,
        verdicts=tuple(judged(reading, scene.bands)) if reading is not None else (),
    )


def _strength_first(scene: Scene, question: Question) -> bool:
    """Whether pH is asked about while the strength is out: feed moves pH, so that it comes before."""
    known = scene.tank.ec_ms_cm if _latest_of_this_water(scene) is not None else None
    about_ph = question.about in ("ph_down", "ph_up", "adjuster") and question.ph_from is None
    return about_ph and known is not None and verdict(known.value, scene.bands.ec).needs_action


def _plan(scene: Scene, question: Question, text: str) -> Plan:
    """The plan that answers a question; for one that asks for no dose, what the tank needs now."""
    aim = aim_of(scene.bands)
    if question.about == "what_if":
        supposed = _supposed(scene, text)
        if supposed is not None:
            return supposed
    is_of_now = question.volume_l is None and question.ph_from is None and question.ph_to is None
    if is_of_now and (swap := mended(scene.tank, aim, scene.trusted)) is not None:
        return swap
    if question.about in _DOSES:
        return question_plan(scene.tank, aim, question, now=scene.at)
    return plan(scene.tank, aim, now=scene.at)


def _supposed(scene: Scene, text: str) -> Plan | None:
    """What a dose or a top-up that is only thought of would do; ``None`` where the text names none."""
    water = _WATER.search(text) if _TOP_UP.search(text) else None
    done = f"topped up {water[0]}" if water else _THOUGHT_OF.sub("added ", text, count=1)
    taken = read(done, now=scene.at, zone=scene.zone, settings=scene.reader_settings)
    for found in taken.facts:
        match found.fact:
            case Dose() as dose if dose.unit in ("ml", "g"):
                return what_if(
                    scene.tank, role=dose.product, amount=dose.amount, unit=dose.unit, now=scene.at
                )
            case TopUp(litres=float(litres)):
                return what_if(scene.tank, role=None, amount=litres, unit="l", now=scene.at)
    return None


def aim_of(bands: TankBands) -> Aim:
    """The edges that a dose is chosen by."""
    ph, ec = bands.ph, bands.ec
    return Aim(
        ph_low=ph.tolerable_low,
        ph_ideal_low=ph.ideal_low,
        ph_ideal_high=ph.ideal_high,
        ph_high=ph.tolerable_high,
        ec_low=ec.tolerable_low,
        ec_ideal_low=ec.ideal_low,
        ec_ideal_high=ec.ideal_high,
        ec_high=ec.tolerable_high,
    )


def _retest_at(scene: Scene) -> datetime | None:
    dues = scene.dues_at(scene.at)
    return next((due.due_at for due in dues if due.key == due_key("retest", scene.other_tank)), None)
