"""What the assistant asks back about a message: with buttons whose answers complete it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import timedelta

from bot.assistant.origin import Origin
from bot.assistant.replies import Asked, Choice, Reply, Unread
from bot.assistant.scene import Scene
from bot.assistant.two_hands import SameDose
from bot.reader import Found, Unclear, read
from bot.reader.places import zones_named
from domain.facts import Dose, Fact, Reading, Setting, Sow, TopUp
from storage.engine import Transaction

__all__ = ["ask_back", "ask_group", "ask_if_mix", "ask_if_one", "ask_scale", "ask_zone", "may_ask_scale"]

QUESTION_LIFE = timedelta(hours=12)
"""How long a question of ours can be answered; a number from yesterday is not worth asking about."""

_PPM_SCALES = (Choice(label="Meter: 500 scale", text="500"), Choice(label="Meter: 700 scale", text="700"))
_GROUPS = (
    Choice(label="Leafy green", text="leafy"),
    Choice(label="Herb", text="herb"),
    Choice(label="Fruiting", text="fruiting"),
    Choice(label="Root", text="root"),
    Choice(label="Flower", text="flower"),
)
_STRENGTH_UNITS = (Choice(label="ppm", text="ppm"), Choice(label="µS/cm", text="us_cm"))


async def ask_if_one(tx: Transaction, scene: Scene, origin: Origin, found: Found, same: SameDose) -> Asked:
    """Whether a dose, top-up or sowing is the one that was told of; until that is known it counts once."""
    one, two = f"One {same.thing}", f"Two {same.thing}s"
    choices = (Choice(label=one, text="one"), Choice(label=two, text="two"))
    start, end = found.span
    payload = {
        **_source(scene, origin),
        "bit": origin.text[start:end],
        "choices": [choice.text for choice in choices],
        "thing": same.thing,
    }
    number = await _ask(tx, scene, "twice", payload)
    return Asked(
        topic="twice",
        question=number,
        choices=choices,
        about=_told_twice(found.fact),
        thing=same.thing,
        who=same.who,
        at=same.at,
        asked_at=scene.at,
    )


def _told_twice(fact: Fact) -> str:
    """What of it was told twice, in a few words."""
    if isinstance(fact, Dose):
        return f"{fact.amount:g} {fact.unit}"
    if isinstance(fact, TopUp):
        return f"{fact.litres:g} L" if fact.litres is not None else "a top-up"
    count = f"{fact.count} " if isinstance(fact, Sow) and fact.count is not None else ""
    return f"{count}{getattr(fact, 'crop', None) or 'seed'}"


async def ask_if_mix(tx: Transaction, scene: Scene, origin: Origin, found: Found, parts: int) -> Asked:
    """Whether a dose was of the mix or neat: ten times between them is no small matter."""
    dose = found.fact
    assert isinstance(dose, Dose)  # noqa: S101 — only doses are asked about
    start, end = found.span
    role = "ph down" if dose.product == "ph_down" else "ph up"
    choices = (
        Choice(label=f"{dose.amount:g} ml of the mix", text=f"added {dose.amount / parts:.4g} ml {role}"),
        Choice(label=f"{dose.amount:g} ml neat", text=f"added {dose.amount:g} ml {role}"),
    )
    payload = {
        **_source(scene, origin),
        "bit": origin.text[start:end],
        "choices": [choice.text for choice in choices],
    }
    number = await _ask(tx, scene, "unclear", payload)
    return Asked(topic="portion", question=number, choices=choices, about=f"{dose.amount:g} ml")


async def may_ask_scale(tx: Transaction, scene: Scene, facts: Iterable[Fact]) -> bool:
    """Whether a household that speaks in ppm has never been asked on which scale."""
    in_ppm = any(isinstance(fact, Reading) and fact.ppm is not None for fact in facts)
    if not in_ppm or scene.choices.ppm_scale is not None or "meter" in scene.choices.skipped:
        return False
    return not await tx.questions.was_asked(scene.household_id, "ppm_scale")


async def ask_scale(tx: Transaction, scene: Scene) -> Asked:
    payload: dict[str, object] = {"choices": [choice.text for choice in _PPM_SCALES]}
    number = await _ask(tx, scene, "ppm_scale", payload)
    return Asked(topic="ppm_scale", question=number, choices=_PPM_SCALES)


async def ask_group(tx: Transaction, scene: Scene, crop: str) -> Asked:
    payload: dict[str, object] = {"crop": crop, "choices": [choice.text for choice in _GROUPS]}
    number = await _ask(tx, scene, "crop_group", payload)
    return Asked(topic="crop_group", question=number, choices=_GROUPS, about=crop)


def _source(scene: Scene, origin: Origin) -> dict[str, object]:
    """What is needed to read the message again once a question about it is answered."""
    said_at = origin.said_at or scene.at
    by = origin.by or (scene.person.id, scene.person.name)
    return {"message": origin.message, "text": origin.text, "said_at": said_at.isoformat(), "by": list(by)}


async def ask_zone(tx: Transaction, scene: Scene, setting: Setting) -> Asked:
    options = tuple(Choice(label=zone, text=zone) for zone in zones_named(setting.value or ""))
    number = await _ask(tx, scene, "zone", {"choices": [c.text for c in options]})
    return Asked(topic="zone", question=number, choices=options, about=setting.value or "")


async def ask_back(tx: Transaction, scene: Scene, origin: Origin, unclear: Unclear) -> Reply:
    """Asks about one unclear thing; its buttons complete the message as if it had been typed so."""
    source = _source(scene, origin)
    if _lacks_strength_unit(scene, unclear):
        payload = {**source, "choices": [choice.text for choice in _STRENGTH_UNITS]}
        number = await _ask(tx, scene, "strength_unit", payload)
        return Asked(topic="strength_unit", question=number, choices=_STRENGTH_UNITS, about=unclear.text)
    choices = tuple(Choice(label=text, text=text) for text in unclear.suggestions[:4])
    if not choices:
        return Unread(text=unclear.text, reason=unclear.reason)
    start, end = unclear.span
    payload = {**source, "bit": origin.text[start:end], "choices": [choice.text for choice in choices]}
    number = await _ask(tx, scene, "unclear", payload)
    return Unread(text=unclear.text, reason=unclear.reason, choices=choices, question=number)


def _lacks_strength_unit(scene: Scene, unclear: Unclear) -> bool:
    """Whether the text would be clear once we know what the household's meter shows."""
    if scene.choices.strength_unit is not None or unclear.reason != "ambiguous":
        return False
    known = replace(scene.reader_settings, strength_unit="ppm")
    again = read(unclear.text, now=scene.at.astimezone(scene.zone), zone=scene.zone, settings=known)
    return bool(again.facts) and not again.unclear


async def _ask(tx: Transaction, scene: Scene, topic: str, payload: dict[str, object]) -> int:
    """Opens a question of ours in this chat."""
    return await tx.questions.ask(
        scene.household_id,
        scene.chat.id,
        scene.person.id,
        topic,
        payload,
        scene.now,
        scene.now + QUESTION_LIFE,
    )
