"""What is reckoned beside the first orders when somebody or the tank is in danger."""

from __future__ import annotations

from bot.assistant.advise import aim_of
from bot.assistant.cases import advice_code, caution_code
from bot.assistant.replies import EmergencyAdvice
from bot.assistant.scene import Scene
from domain.facts import Dose, Emergency
from domain.happenings import is_noted
from domain.rescue import overdose_rescue, roots_last, system_named
from domain.safety import country_of_zone

__all__ = ["caution", "emergency_advice"]

_ROOTS_DRY = ("pump_stopped", "power_cut", "leak")


def emergency_advice(scene: Scene, fact: Emergency, message_key: str, text: str) -> EmergencyAdvice:
    """First orders, and for a tank the litres to swap or the hours that its roots have.

    message_key : of the message that tells of it; what an earlier version of it said does not count.
    text : of that message.
    """
    before = scene.after((), message_key)
    zone = scene.choices.zone_name
    tank = before.tank
    return EmergencyAdvice(
        emergency=fact,
        code=advice_code(fact.about, text),
        country=country_of_zone(zone) if zone else None,
        since=fact.when or scene.at,
        asked_at=scene.at,
        rescue=(
            overdose_rescue(tank, fact, aim_of(before.bands), is_noted=_is_noted(before, fact))
            if fact.about == "overdose" and not tank.fish
            else None
        ),
        roots=(
            roots_last(
                system_named(scene.choices.system_name),
                None if tank.temperature_c.is_assumed else tank.temperature_c.value,
            )
            if fact.about in _ROOTS_DRY
            else None
        ),
    )


def caution(scene: Scene, text: str) -> EmergencyAdvice | None:
    """What must be said of a text that tells of no emergency yet may lead to one; ``None`` where nothing."""
    code = caution_code(text)
    if code is None:
        return None
    zone = scene.choices.zone_name
    return EmergencyAdvice(
        emergency=Emergency(about="exposure"), code=code, country=country_of_zone(zone) if zone else None
    )


def _is_noted(before: Scene, fact: Emergency) -> bool:
    """The dose was logged before anybody noticed that it was too large."""
    if not fact.product or not fact.amount:
        return False
    dose = Dose(product=fact.product, amount=fact.amount, unit=fact.unit or "ml")
    return is_noted(before.tank.happenings, dose, fact.when or before.at)
