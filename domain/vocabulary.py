"""The words that a fact may carry where only some are allowed."""

from __future__ import annotations

from typing import Any, Literal, get_args

__all__ = [
    "ChoreTask",
    "EmergencyAbout",
    "Feed",
    "GrowthStage",
    "ProductRole",
    "QuestionAbout",
    "TendTask",
    "names_of",
]

ProductRole = Literal["ph_down", "ph_up", "nutrient", "other"]
Feed = Literal["plain", "half", "full"]
EmergencyAbout = Literal["exposure", "overdose", "spill", "leak", "pump_stopped", "power_cut"]
TendTask = Literal["thin", "prune", "pinch", "train", "pollinate"]
GrowthStage = Literal["flowering", "fruiting", "bolting"]
ChoreTask = Literal[
    "rinse_filter",
    "clean_pump",
    "clean_tank",
    "calibrate_ph_meter",
    "calibrate_ec_meter",
    "clean_probe",
    "refill_probe_cap",
    "adjust_lights",
    "check_pump",
    "check_timer",
]
QuestionAbout = Literal[
    "ph_down",
    "ph_up",
    "adjuster",
    "nutrient",
    "dilute",
    "top_up",
    "bands",
    "status",
    "trend",
    "due",
    "site",
    "seed_lot",
    "why",
    "what_if",
    "mix",
    "harvest",
]


def names_of(choices: Any) -> tuple[str, ...]:
    """The allowed words of one of the ``Literal`` types of this module."""
    return get_args(choices)
