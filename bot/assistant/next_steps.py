"""What to do after what was logged without a reading: mix the fresh fill, dose by the jar's answer."""

from __future__ import annotations

from collections.abc import Sequence

from bot.assistant.advise import aim_of
from bot.assistant.scene import Scene
from domain.dosing import Plan, plan
from domain.dosing.questions import mix_plan
from domain.facts import Dose, Fact, JarTest, Reading, WaterChange

__all__ = ["next_steps"]


def next_steps(scene: Scene, facts: Sequence[Fact]) -> Plan | None:
    """The plan that these facts ask for; ``None`` where they ask for none.

    scene : with the facts in its journal.
    """
    if any(isinstance(fact, JarTest) for fact in facts):
        return plan(scene.tank, aim_of(scene.bands), now=scene.at)
    return _fresh_mix(scene, facts)


def _fresh_mix(scene: Scene, facts: Sequence[Fact]) -> Plan | None:
    """The feed for a fill that was just logged, in the order in which it goes in.

    ``None`` where the facts tell of no such fill, of one that was fed already, or of one that was read since.
    """
    change = next((fact for fact in reversed(facts) if isinstance(fact, WaterChange)), None)
    if change is None or _is_fed(change, facts) or not scene.is_recent(change.when or scene.at):
        return None
    if any(isinstance(e.fact, Reading) and e.happened_at >= (change.when or scene.at) for e in scene.trusted):
        return None
    planned = mix_plan(scene.tank, aim_of(scene.bands), volume_l=_litres(scene, change))
    return planned if planned.outcome == "steps" else None


def _is_fed(change: WaterChange, facts: Sequence[Fact]) -> bool:
    said = change.feed not in (None, "plain") or change.ec_ms_cm is not None
    return said or any(isinstance(fact, Dose) and fact.product == "nutrient" for fact in facts)


def _litres(scene: Scene, change: WaterChange) -> float | None:
    """How much fresh water went in; ``None``: the whole tank."""
    if change.litres is not None:
        return change.litres
    return change.fraction * scene.tank.volume_l.value if change.fraction is not None else None
